"""Writes an EPCIS 2.0 document (JSON-LD): the events, what they name, and declarations of what was corrected."""

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from lotwalk.exchange.epcis_events import Event, Events, renamed
from lotwalk.exchange.epcis_file import Vocabulary, read_vocabulary
from lotwalk.exchange.epcis_hash import event_id
from lotwalk.exchange.epcis_names import Names
from lotwalk.exchange.export_request import Desk, period_words
from lotwalk.ledger.model import Version
from lotwalk.ledger.read.versions import all_versions

CONTEXT = "https://ref.gs1.org/standards/epcis/2.0.0/epcis-context.jsonld"
_ATTRIBUTES = "urn:epcglobal:cbv:mda:"
_TYPE = "urn:epcglobal:epcis:vtype:"
_PARTNER = {
    "name": "name",
    "street": "streetAddressOne",
    "city": "city",
    "region": "state",
    "postcode": "postalCode",
    "country": "countryCode",
}
"""Attributes of a party by the field of a partner's record (CBV 2.0, master data; from memory)."""


@dataclass(slots=True)
class Document:
    """A document, and how many events and declarations of error are in it."""

    content: dict[str, Any]
    events: int
    errors: int
    notices: Sequence[str] = field(default_factory=list)

    def text(self) -> str:
        """Return the document as JSON."""
        return json.dumps(self.content, ensure_ascii=False, indent=1) + "\n"


def document(desk: Desk, own: Sequence[Path] = (), *, urns: bool = False) -> Document:
    """Return the document that answers a question, lots with a GS1 number as Digital Links or, with `urns`, as URNs.

    `own` are the folders of the grower's own kinds.
    """
    vocabulary = read_vocabulary(desk.ledger.kinds, own)
    names = Names(desk.farm, desk.reader, vocabulary.article)
    maker = Events(desk.scope, desk.reader, names, vocabulary)
    namespaces = {"farm": names.namespace, "cbvmda": _ATTRIBUTES}
    told = _told(desk, vocabulary, maker, namespaces)
    errors = _errors(desk, vocabulary, maker, namespaces, {event["eventID"] for _, event in told})
    listed = [event for _, event in sorted([*told, *errors], key=lambda pair: pair[0])]
    content: dict[str, Any] = {
        "@context": [CONTEXT, namespaces],
        "type": "EPCISDocument",
        "schemaVersion": "2.0",
        "creationDate": desk.farm.newest.isoformat(),
        "farm:head": desk.farm.head,
        "farm:asked": desk.asked,
        "farm:period": period_words(desk.scope.question, desk.farm.settings.zone),
        "farm:says": list(vocabulary.says),
        "epcisHeader": {"epcisMasterData": {"vocabularyList": list(_vocabularies(desk, maker))}},
        "epcisBody": {"eventList": listed},
    }
    return Document(renamed(content, names.urns) if urns else content, len(told), len(errors), names.notices)


_Ordered = tuple[tuple[int, int, int], Event]


def _told(desk: Desk, vocabulary: Vocabulary, maker: Events, namespaces: Mapping[str, str]) -> list[_Ordered]:
    versions = desk.scope.entries(vocabulary.kinds)
    desk.reader.learn(use.code for version in versions for use in version.uses)
    found = []
    for version in versions:
        if event := maker.event(version):
            found.append((_order(version), {"eventID": event_id(event, namespaces), **event}))
    return found


def _errors(
    desk: Desk,
    vocabulary: Vocabulary,
    maker: Events,
    namespaces: Mapping[str, str],
    told: set[str],
) -> list[_Ordered]:
    """Return each event that was told once and stands no more, declared an error, with what stands instead."""
    past = desk.scope.corrected(vocabulary.kinds)
    histories = all_versions(desk.connection, sorted({one.number for one in past}))
    found = []
    seen: set[str] = set()
    for version in past:
        history = histories[version.number]
        later = next((one for one in history if one.seq > version.seq and one.amended_by), None)
        event = maker.event(version) if later else None
        if event is None or later is None:
            continue
        name = event_id(event, namespaces)
        # Where an amendment changed nothing that an event tells, the event stands.
        if name in told or name in seen:
            continue
        seen.add(name)
        error: dict[str, Any] = {"declarationTime": datetime.fromtimestamp(later.recorded_at, UTC).isoformat()}
        error["reason"] = "did_not_occur" if history[-1].void else "incorrect_data"
        instead = maker.event(history[-1]) if not history[-1].void else None
        if instead and (corrective := event_id(instead, namespaces)) in told:
            error["correctiveEventIDs"] = [corrective]
        found.append((_order(version), {"eventID": name, **event, "errorDeclaration": error}))
    return found


def _order(version: Version) -> tuple[int, int, int]:
    return version.start, version.number, version.seq


def _vocabularies(desk: Desk, maker: Events) -> Iterator[dict[str, Any]]:
    """What the events name, each with what people call it; a UUID says nothing to anybody."""
    farm = maker.names.farm_itself
    its = {"name": desk.farm.settings.name, "streetAddressOne": desk.farm.settings.location}
    places = {farm: its, **{name: _fields(desk, code, {"name": "name"}) for code, name in maker.places.items()}}
    parties = {farm: its, **{name: _fields(desk, code, _PARTNER) for code, name in maker.partners.items()}}
    lots = {name: _lot(desk, code) for code, name in maker.lots.items()}
    papers = {name: {"name": words} for words, name in maker.documents.items()}
    papers |= {name: _paper(desk, code) for code, name in maker.certificates.items()}
    for kind, elements in (
        ("EPCClass", lots),
        ("BusinessLocation", places),
        ("SourceDest", parties),
        ("BusinessTransaction", papers),
    ):
        if elements:
            listed = [
                {
                    "id": name,
                    "attributes": [{"id": _ATTRIBUTES + key, "attribute": words} for key, words in its.items()],
                }
                for name, its in sorted(elements.items())
            ]
            yield {"type": _TYPE + kind, "vocabularyElementList": listed}


def _fields(desk: Desk, code: str, named: Mapping[str, str]) -> dict[str, str]:
    made = desk.reader.maker(code)
    found = {key: words for name, key in named.items() if made and (words := desk.reader.words(made, name))}
    return found or {"name": code}


def _lot(desk: Desk, code: str) -> dict[str, str]:
    """A lot's code, and what it is: its product, what it was bought as, or the crop that it grew from."""
    made = desk.reader.maker(code)
    paths = (("product", "name"), ("product", "product"), ("product",), ("crop",), ("behind", "crop"))
    said = next((told for path in paths if made and (told := desk.reader.follow(made, path))), [])
    kind = desk.reader.thing(code)
    what = ", ".join(said) or (desk.ledger.kinds.things[kind.kind].title if kind else "")
    return {"lotNumber": code, "descriptionShort": what} if what else {"lotNumber": code}


def _paper(desk: Desk, code: str) -> dict[str, str]:
    made = desk.reader.maker(code)
    told = [words for name in ("type", "issuer") if made and (words := desk.reader.words(made, name))]
    return {"name": ", ".join([code, *told])}
