"""What the labels of things say, read from the ledger: who they are, what they hold, whether they are on hold."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from sqlalchemy import Connection

from lotwalk.errors import NotUnderstood, Problem, Refused
from lotwalk.judge.dangers.allergens import declares_nothing
from lotwalk.kinds.library import Kinds
from lotwalk.kinds.roles import facts
from lotwalk.ledger.entry import content_of
from lotwalk.ledger.model import Settings, ThingRow, Version
from lotwalk.ledger.read.likeness import how_much, sayers
from lotwalk.ledger.read.things import find_thing, void_among
from lotwalk.ledger.read.uses import mentions
from lotwalk.ledger.read.versions import entries
from lotwalk.pages.cautions import caution
from lotwalk.pages.labels.label_allergens import NOT_DECLARED, Allergens
from lotwalk.pages.labels.label_layout import Content, Said
from lotwalk.pages.labels.label_symbols import Choices, data_matrix, qr
from lotwalk.pages.labels.label_text import LabelText, label_text
from lotwalk.pages.rows.values import Values
from lotwalk.recall.asking.called import Called
from lotwalk.values.codes import expand, fold
from lotwalk.values.gs1 import RESOLVER, Article, gtin14, has_prefix
from lotwalk.values.text import Written

AUTO, PLAIN, LINK, MATRIX = "auto", "plain", "gs1-link", "gs1-datamatrix"
SYMBOLS = (AUTO, PLAIN, LINK, MATRIX)
"""What the machine-readable code holds. `auto`: a GS1 Digital Link where the farm has the numbers, else the code."""

_UNKNOWN = "a code that is in it, or --new with a kind of thing for tags printed ahead"
_HELD, _RELEASED = "held", "released"
_PREFIX, _ADDRESS = "company_prefix", "link_address"


@dataclass(slots=True)
class Contents:
    """Makes the contents of labels at one state of the ledger; `notices` gathers what the person should know."""

    connection: Connection
    kinds: Kinds
    settings: Settings
    symbol: str = AUTO
    notices: list[str] = field(default_factory=list)
    _settings: Mapping[str, Written] = field(default_factory=dict)
    _allergens: Allergens | None = None

    def of(self, codes: str) -> list[Content]:
        """Return the contents for codes and ranges, in the order written, each once.

        Raises NotUnderstood for what is no list of codes, Refused with every code that has no label.
        """
        found: list[ThingRow] = []
        problems: list[Problem] = []
        for code in _once(codes):
            thing = find_thing(self.connection, code)
            if thing is None:
                problems.append(Problem(f"{code} is not in the book", _UNKNOWN))
            else:
                found.append(thing)
        void = void_among(self.connection, [thing.id for thing in found])
        problems += [Problem(f"{thing.code} is void", "a code in force") for thing in found if thing.id in void]
        if problems:
            raise Refused(problems)
        made = sayers(self.connection, self.kinds, [thing.id for thing in found])
        called = Called(self.connection, self.kinds, [thing.id for thing in found])
        return [self._content(thing, made.get(thing.id, ()), called.name(thing.id)) for thing in found]

    def ahead(self, codes: str, thing_kind: str) -> list[Content]:
        """Return the contents of tags for things that are not registered yet. Raises Refused for codes that are."""
        if thing_kind not in self.kinds.things:
            raise NotUnderstood(
                f"there is no kind of thing named {thing_kind}", f"one of {', '.join(self.kinds.things)}"
            )
        listed = _once(codes)
        there = [thing.code for code in listed if (thing := find_thing(self.connection, code))]
        if there:
            raise Refused([Problem(f"{code} is in the book already", "it without --new") for code in there])
        title = self.kinds.things[thing_kind].title
        lines = (Said(title, may_go=True, loud=True), Said(self.settings.name, may_go=True))
        return [Content(code, qr(code), lines) for code in listed]

    def _content(self, thing: ThingRow, made: Sequence[Version], called: str) -> Content:
        text = label_text(thing.kind, self.kinds)
        reader = _Lines(self, thing, made, called)
        symbols, said = self._symbols(thing.code, text, reader)
        lines = list(reader.lines(text))
        if said:
            lines.append(Said(said.replace("(", " (").replace(")", ") ").strip()))
        return Content(thing.code, symbols, lines, self._held(thing))

    def _symbols(self, code: str, text: LabelText, reader: "_Lines") -> tuple[Choices, str]:
        """Return the symbols to choose from, and what a GS1 code says in digits and letters beside it."""
        if self.symbol == PLAIN or (self.symbol == AUTO and not self._farm.get(_PREFIX)):
            return qr(code), ""
        number = reader.first((text.article,)) if text.article else ""
        if not number and self.symbol == AUTO:
            return qr(code), ""
        try:
            article = self._article(number, code, reader.first((text.best_before,)) if text.best_before else "")
        except NotUnderstood as why:
            if self.symbol != AUTO:
                raise
            self.notices.append(f"{code}: a plain QR code with the lot, since {why.what}.")
            return qr(code), ""
        if self.symbol == MATRIX:
            return data_matrix(article.elements()), article.elements()
        return qr(article.link(str(self._farm.get(_ADDRESS, RESOLVER)))), article.elements()

    def _article(self, number: str, code: str, best_before: str) -> Article:
        prefix = str(self._farm.get(_PREFIX, ""))
        if not number:
            raise NotUnderstood(f"the product of {code} has no GTIN", "one in its record, or plain codes")
        if not prefix:
            raise NotUnderstood("the farm has no GS1 company prefix", "one in the farm's settings, or plain codes")
        gtin = gtin14(number)
        if not has_prefix(gtin, prefix):
            raise NotUnderstood(
                f"the GTIN {number} does not start with the farm's prefix {prefix}", "a number of the farm's own"
            )
        if self.symbol == MATRIX and set(code) & set("()"):
            raise NotUnderstood(f"the code {code} holds a bracket, which marks GS1's identifiers", "a Digital Link")
        return Article(gtin, code, best_before)

    def not_declared(self, code: str) -> list[str]:
        """Return the allergens in a lot that its product does not declare, and take note of them for the person."""
        if self._allergens is None:
            self._allergens = Allergens(self.connection, self.kinds, self.settings)
        missing = self._allergens.not_declared(code)
        if missing:
            it = "it" if len(missing) == 1 else "them"
            self.notices.append(
                f"{code}: {NOT_DECLARED}: {', '.join(missing)}. Its product does not declare {it}: mend that, and print"
                " the label anew. Do not use this one."
            )
        return missing

    @property
    def _farm(self) -> Mapping[str, Written]:
        """The fields of the newest settings."""
        if not self._settings:
            names = [name for name in self.kinds.names if self.kinds[name].settings]
            newest = max((one for name in names for one in entries(self.connection, name)), key=lambda one: one.seq)
            self._settings = newest.fields
        return self._settings

    def _held(self, thing: ThingRow) -> bool:
        """Return whether the newest word on the thing is that it is held, not that it is released."""
        telling = {*self.kinds.telling(_HELD), *self.kinds.telling(_RELEASED)}
        newest = ""
        for one in mentions(self.connection, thing):
            if one.version.kind in telling:
                told = self._told(one.version, thing)
                newest = next((fact for fact in (_HELD, _RELEASED) if fact in told), newest)
        return newest == _HELD

    def _told(self, version: Version, thing: ThingRow) -> set[str]:
        return {
            fact
            for mention in content_of(version, self.kinds).mentions
            if fold(thing.code) in map(fold, mention.codes)
            for fact in facts(mention.field, mention.scope, (thing.kind, thing.cls))
        }


@dataclass(slots=True)
class _Lines:
    """Reads the lines of one thing's label: what its own entry says, else that of the lot of which it is some."""

    contents: Contents
    thing: ThingRow
    made: Sequence[Version]
    called: str

    def lines(self, text: LabelText) -> Iterable[Said]:
        """Yield the lines that say something; the first stands out, and so does an allergen that is not declared."""
        first = True
        for line in text.lines:
            words = caution(line.caution).says if line.caution else self.first(line.values)
            missing = self.contents.not_declared(self.thing.code) if line.allergens else []
            if words and not (missing and declares_nothing(words)):
                yield Said(f"{line.title}: {words}" if line.title else words, line.may_go, loud=first)
                first = False
            if missing:
                yield Said(f"{NOT_DECLARED}: {', '.join(missing)}", loud=True)

    def first(self, values: Iterable[str]) -> str:
        """Return the first of the values that says something, in one line."""
        return next((words for value in values if (words := " ".join(self._read(value).split()))), "")

    def _read(self, value: str) -> str:
        settings = self.contents.settings
        known = {
            "kind": self.contents.kinds.things[self.thing.kind].title,
            "called": self.called,
            "type": self.thing.type or "",
            "farm": settings.name,
            "location": settings.location,
        }
        if value in known:
            return known[value]
        if not self.made:
            return ""
        if value == "day":
            return datetime.fromtimestamp(self.made[-1].start, settings.zone).date().isoformat()
        values = Values(self.contents.connection, self.contents.kinds, settings.zone)
        kinds, own = self.contents.kinds, self.made[0]
        saying = (one for one in self.made if one is own or value not in how_much(one, kinds))
        return next((", ".join(told) for one in saying if (told := values.read(one, value))), "")


def _once(codes: str) -> list[str]:
    return list({fold(code): code for code in expand(codes)}.values())
