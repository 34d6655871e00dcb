"""Entries as events of EPCIS 2.0: what, when, where, why, from and to whom."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from typing import Any, TypeAlias

from lotwalk.balance.movements import wrapping
from lotwalk.exchange.epcis_file import OBJECT, Mapped, Vocabulary
from lotwalk.exchange.epcis_names import Names
from lotwalk.exchange.reading import Reader, uses
from lotwalk.exchange.scope import Scope
from lotwalk.kinds.roles import facts
from lotwalk.ledger.model import Version
from lotwalk.ledger.read.versions import entries
from lotwalk.ledger.use import Use
from lotwalk.values.codes import fold
from lotwalk.values.roles import Role
from lotwalk.values.times import read_when, zone

Event: TypeAlias = dict[str, Any]
_COVERED = "covered"


@dataclass(slots=True)
class Events:
    """Makes events, and gathers what they name: lots, places, partners and documents, each with its identifier."""

    scope: Scope
    reader: Reader
    names: Names
    vocabulary: Vocabulary
    lots: dict[str, str] = field(default_factory=dict)
    places: dict[str, str] = field(default_factory=dict)
    partners: dict[str, str] = field(default_factory=dict)
    documents: dict[str, str] = field(default_factory=dict)
    certificates: dict[str, str] = field(default_factory=dict)
    _papers: dict[str, list[tuple[Version, str]]] | None = None

    def event(self, version: Version) -> Event | None:
        """Return the event that an entry is, without an identifier; None where it is none, or not to be told."""
        mapped = self.vocabulary.mapped(version, inside=self.scope.customer is None)
        lots = self._lots(version, mapped.lots) if mapped else []
        taken = self._lots(version, Role.TOOK, every=True) if mapped and mapped.type != OBJECT else []
        if mapped is None or not lots or (mapped.type != OBJECT and not taken):
            return None
        event: Event = {"type": mapped.type, **self._when(version)}
        source, destination = self._partner(version, mapped.source), self._partner(version, mapped.destination)
        if papers := self._certificates(version, [use.code for use in lots] + ([source] if source else [])):
            event["certificationInfo"] = papers
        if mapped.type == OBJECT:
            event |= {"action": mapped.action, "quantityList": self._quantities(lots)}
        else:
            event |= {"inputQuantityList": self._quantities(taken), "outputQuantityList": self._quantities(lots)}
        event["bizStep"] = mapped.step
        if mapped.disposition:
            event["disposition"] = mapped.disposition
        event |= self._where(version, mapped)
        event |= self._parties(version, mapped, source, destination)
        if days := dict(self._days(version, mapped)):
            event["ilmd"] = days
        event["farm:entry"] = version.name
        return event

    def _lots(self, version: Version, role: Role, *, every: bool = False) -> list[Use]:
        """The lots in a role that may be told; with `every`, also those beside what was asked about.

        What went around what was delivered was not sent for itself.
        """
        kinds = self.reader.kinds
        around = wrapping(kinds) if role is Role.TOOK and version.kind in kinds.telling("delivered") else ()
        found = []
        for use in uses(version, role):
            thing = self.reader.thing(use.code)
            if thing is not None and thing.kind in around:
                continue
            counted = thing is not None and thing.cls == "lot" and self.reader.kinds.things[thing.kind].counted
            if counted and (every or self.scope.holds(use.code)):
                found.append(use)
        return found

    def _when(self, version: Version) -> Event:
        read = read_when(version.at, zone(version.zone))
        moment = version.end - 59 if read.precision == "span" else version.start
        written = datetime.fromtimestamp(moment, zone(version.zone))
        offset = f"{written:%z}"
        told = {"eventTime": written.isoformat(), "eventTimeZoneOffset": f"{offset[:3]}:{offset[3:5]}"}
        return told if read.precision == "minute" else told | {"farm:when": read.written}

    def _quantities(self, lots: Sequence[Use]) -> list[Event]:
        found = []
        for use in lots:
            self.lots[use.code] = self.names.lot(use.code)
            element: Event = {"epcClass": self.lots[use.code]}
            if use.amount is not None and use.unit and use.unit in self.vocabulary.units:
                element |= {"quantity": number(use.amount), "uom": self.vocabulary.units[use.unit]}
            found.append(element)
        return found

    def _where(self, version: Version, mapped: Mapped) -> Event:
        """Where it was done, and where the lots are then. What was sent is nowhere until it arrives."""
        here = self._place(version.place)
        then = self.reader.words(version, mapped.place) if mapped.place else ""
        told = {"readPoint": {"id": here}}
        return told if mapped.destination else told | {"bizLocation": {"id": self._place(then or version.place)}}

    def _place(self, code: str | None) -> str:
        if not code:
            return self.names.farm_itself
        self.places[code] = self.names.thing(code)
        return self.places[code]

    def _partner(self, version: Version, path: Sequence[str]) -> str:
        if not path:
            return ""
        codes = self.reader.follow(version, path)
        thing = self.reader.thing(codes[0]) if codes else None
        return thing.code if thing else ""

    def _parties(self, version: Version, mapped: Mapped, source: str, destination: str) -> Event:
        told: Event = {}
        documents = []
        for name, form in mapped.documents.items():
            if words := self.reader.words(version, name):
                self.documents[words] = self.names.own("document", words)
                documents.append({"type": form, "bizTransaction": self.documents[words]})
        if documents:
            told["bizTransactionList"] = documents
        if source or destination:
            told["sourceList"] = [{"type": "owning_party", "source": self._party(source)}]
            told["destinationList"] = [{"type": "owning_party", "destination": self._party(destination)}]
        return told

    def _party(self, code: str) -> str:
        """The identifier of a partner, or of the farm itself."""
        if not code:
            return self.names.farm_itself
        self.partners[code] = self.names.thing(code)
        return self.partners[code]

    def _days(self, version: Version, mapped: Mapped) -> Iterator[tuple[str, str]]:
        for attribute, name in mapped.days.items():
            seconds = {"at": version.start, "until": version.end}.get(name)
            if seconds is not None:
                yield f"cbvmda:{attribute}", datetime.fromtimestamp(seconds, zone(version.zone)).date().isoformat()
            elif words := ", ".join(self.reader.follow(version, (name,))):
                yield f"cbvmda:{attribute}", words

    def _certificates(self, version: Version, codes: Sequence[str]) -> list[str]:
        """The papers in force that vouch for these lots or for the partner they came from."""
        if self._papers is None:
            self._papers = self._read_papers()
        day = datetime.fromtimestamp(version.start, zone(version.zone)).date().isoformat()
        found = set()
        for code in codes:
            for paper, number_ in self._papers.get(fold(code), ()):
                issued, expires = (self.reader.words(paper, name) for name in ("issued", "expires"))
                thing = self.reader.thing(code)
                lasting = thing is not None and thing.cls == "lot"
                if lasting or ((not issued or issued <= day) and (not expires or day <= expires)):
                    self.certificates[number_] = self.names.thing(number_)
                    found.add(self.certificates[number_])
        return sorted(found)

    def _read_papers(self) -> dict[str, list[tuple[Version, str]]]:
        """The entries of papers that vouch for something, with the paper's own code, by the code of what they cover."""
        found: dict[str, list[tuple[Version, str]]] = defaultdict(list)
        for kind in self.reader.kinds.telling(_COVERED):
            for paper in entries(self.scope.connection, kind):
                own = uses(paper, Role.NAMES)
                for mention in self.reader.content(paper).mentions if own else ():
                    for code in mention.codes:
                        thing = self.reader.thing(code)
                        if thing and _COVERED in facts(mention.field, mention.scope, (thing.kind, thing.cls)):
                            found[fold(code)].append((paper, own[0].code))
        return found


def number(amount: Decimal) -> int | float:
    """Return an amount as a number of JSON."""
    return int(amount) if amount == amount.to_integral_value() else float(amount)


def renamed(value: Any, urns: Mapping[str, str]) -> Any:
    """Return the same with other forms of identifiers."""
    if isinstance(value, dict):
        return {name: renamed(inner, urns) for name, inner in value.items()}
    if isinstance(value, list):
        return [renamed(inner, urns) for inner in value]
    return urns.get(value, value) if isinstance(value, str) else value
