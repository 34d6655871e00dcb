"""Reads one table of a report definition: its kinds, columns, groups and charts."""

from collections.abc import Mapping

from lotwalk.errors import NotUnderstood
from lotwalk.judge.ruleset.limits import KNOWN
from lotwalk.kinds.library import Kinds
from lotwalk.kinds.model import Field, Kind
from lotwalk.pages.definitions.definition_words import Collected, near
from lotwalk.pages.definitions.model import Chart, Column, Section
from lotwalk.values.text import Fields, Written

VERDICT = "verdict"
ENTRY, KIND, ROLE, REST, TOLD = "entry", "kind", "role", "rest", "told"
WORDS: Mapping[str, str] = {
    ENTRY: "the entry's name, such as E12",
    KIND: "the kind of record",
    VERDICT: "what the book makes of it",
    ROLE: "how the entry uses the thing that the report is printed for",
    REST: "all other fields, with their titles",
}
"""Values that are no field of a record. `told.FACT` names the entries that tell a fact on which the verdict rests."""

ENTRIES, ALL, DAY = "entries", "all", "day"
KEYS = ("kinds", "columns", "below", "group", "order", "before", "naming", "charts", "rows", "empty")
"""The keys of a section that may stand at the top of a report, too: there they hold for each of its sections."""

WORKED: Mapping[str, tuple[str, ...]] = {
    "lots-behind": ("code", "kind", "what", "amount", "at", "by", "entry", "link"),
    "items-behind": ("code", "kind", "used", "cleaned"),
    "water-behind": ("code", "name", "used", "tested"),
    "lots-ahead": ("code", "kind", "what", "amount", "at", "by", "entry", "link"),
    "deliveries-ahead": ("code", "customer", "name", "items", "at", "by", "entry", "link"),
    "crops": ("at", "what", "entry", "seed", "cut", "customers", "cleaned"),
    "water-standing": ("question", "answer", "basis"),
    "water-failures": ("entry", "at", "result", "action", "reopened"),
    "gaps-causes": ("severity", "text", "gaps", "concerns", "do", "action", "id"),
    "gaps-open": ("severity", "text", "about", "do", "basis", "action", "id"),
    "gaps-closed": ("severity", "text", "about", "do", "basis", "action", "id"),
    "due": ("by", "text", "about", "do", "basis"),
    "paragraphs": ("rule", "says", "kept", "report", "status", "gaps", "page"),
}
"""Rows that the program works out, with the values that they have."""

_COLUMN_KEYS = ("title", "value", "width", "joined", "labelled", "mark", "most", "within")
_CHART_KEYS = ("title", "value", "by", "limit", "results")
_MOST_COLUMNS = 16


class SectionReader:
    """Reads one section. `key` leads to it: `sections[2].`, or nothing for a report of one table."""

    def __init__(self, collected: Collected, kinds: Kinds, key: str, fields: Fields) -> None:
        self._collected = collected
        self._library = kinds
        self._key = key
        self._fields = fields
        self._kinds: list[Kind] = []
        self._rows = ENTRIES

    def section(self, empty: str) -> Section:
        """Return the section; `empty` is what the report says when there is nothing in it."""
        fields, key = self._fields, self._key
        self._rows = self._collected.choice(f"{key}rows", fields.get("rows", ENTRIES), (ENTRIES, *WORKED))
        if self._rows == ENTRIES:
            self._read_kinds()
        columns = self._columns()
        return Section(
            title=self._collected.plain(f"{key}title", fields["title"]) if key and "title" in fields else "",
            rows=self._rows,
            kinds=tuple(kind.name for kind in self._kinds),
            columns=columns,
            below=self._values("below"),
            group=self._grouped("group"),
            order=self._grouped("order"),
            before=self._yes("before"),
            naming=self._yes("naming"),
            charts=tuple(self._charts()),
            empty=self._collected.plain(f"{key}empty", fields.get("empty", empty)) if key else empty,
        )

    @property
    def kinds(self) -> list[Kind]:
        """The kinds of record that it lists."""
        return self._kinds

    def _yes(self, name: str) -> bool:
        return self._collected.yes(f"{self._key}{name}", self._fields.get(name, "no"), self._fields.get(name, "no"))

    def _read_kinds(self) -> None:
        key = f"{self._key}kinds"
        names = self._collected.listed(key, self._fields.get("kinds", []))
        if not names:
            what = "there is none" if "kinds" in self._fields else "it is missing"
            self._collected.wrong(key, what, "at least one kind of record")
        for name in self._library.names if names == (ALL,) else names:
            try:
                self._kinds.append(self._library[name])
            except NotUnderstood as why:
                self._collected.wrong(key, why.what, why.expected)

    def _values(self, name: str) -> tuple[str, ...]:
        values = self._collected.listed(f"{self._key}{name}", self._fields.get(name, []))
        for value in values:
            self.check_value(f"{self._key}{name}", value)
        return values

    def _grouped(self, name: str) -> str:
        if name not in self._fields:
            return ""
        value = self._collected.plain(f"{self._key}{name}", self._fields[name])
        if value != DAY:
            self.check_value(f"{self._key}{name}", value)
        return value

    def _columns(self) -> tuple[Column, ...]:
        key = f"{self._key}columns"
        value = self._fields.get("columns", [])
        if not isinstance(value, list) or not 1 <= len(value) <= _MOST_COLUMNS:
            what = "this is no list of columns" if "columns" in self._fields else "it is missing"
            self._collected.wrong(key, what, f"1 to {_MOST_COLUMNS} columns")
            return ()
        return tuple(self._column(f"{key}[{number}]", one) for number, one in enumerate(value, 1))

    def _column(self, key: str, written: Written) -> Column:
        collected = self._collected
        fields = collected.mapping(key, written, _COLUMN_KEYS)
        names = collected.one_or_more(f"{key}.value", fields.get("value", ""))
        for name in names:
            self.check_value(f"{key}.value", name, written)
        return Column(
            title=collected.plain(f"{key}.title", fields.get("title", "")),
            values=tuple(names),
            width=self._width(f"{key}.width", fields.get("width", ""), written),
            joined=collected.yes(f"{key}.joined", fields.get("joined", "no"), written),
            labelled=collected.yes(f"{key}.labelled", fields.get("labelled", "no"), written),
            mark=collected.listed(f"{key}.mark", fields.get("mark", [])),
            most=self._limit(f"{key}.most", fields.get("most"), "amount", written),
            within=self._limit(f"{key}.within", fields.get("within"), "range", written),
        )

    def _width(self, key: str, value: Written, column: Written) -> float:
        digits = str(value)
        if not (digits.isascii() and digits.isdigit() and 1 <= int(digits[:4]) <= 100 and len(digits) <= 3):
            what = f"{value or 'nothing'} is no width"
            self._collected.wrong(key, what, "a whole number from 1 to 100, its share", column)
            return 1
        return int(digits)

    def _limit(self, key: str, value: Written | None, form: str, written: Written) -> str:
        """Return the name of a limit of the rule set; a range may be one of amounts or of numbers."""
        if value is None:
            return ""
        known = [name for name, (read, *_) in KNOWN.items() if read in (form, "numbers" if form == "range" else form)]
        return self._collected.choice(key, value, known, written)

    def _charts(self) -> list[Chart]:
        key = f"{self._key}charts"
        found = []
        for number, one in enumerate(self._collected.rows(key, self._fields.get("charts", []), "a list of charts"), 1):
            place = f"{key}[{number}]"
            fields = self._collected.mapping(place, one, _CHART_KEYS)
            names = self._collected.one_or_more(f"{place}.value", fields.get("value", ""))
            by = str(fields.get("by", ""))
            for name in (*names, *((by,) if by else ())):
                self.check_value(f"{place}.value", name, one)
            limit = fields.get("limit", "")
            if limit:
                self._collected.choice(f"{place}.limit", limit, KNOWN, one)
            results = self._collected.yes(f"{place}.results", fields.get("results", "no"), one)
            title = self._collected.plain(f"{place}.title", fields.get("title", ""))
            found.append(Chart(title, names, by, str(limit), results))
        return found

    def check_value(self, key: str, value: str, written: Written | None = None) -> None:
        """A value is a word of `WORDS`, a field, or fields of what a field names: `solution.product`."""
        wrong = self._collected.wrong
        if self._rows != ENTRIES:
            known = WORKED.get(self._rows, ())
            if known and value not in known:
                wrong(key, f"{self._rows} have no {value}{near(value, known)}", " or ".join(known), written)
            return
        if value in WORDS or not self._kinds:
            return
        first, *rest = value.split(".")
        if first == TOLD:
            if len(rest) != 1 or not self._library.telling(rest[0]):
                wrong(key, f"no kind of record tells {'.'.join(rest) or 'that'}", "such as told.washed", written)
            return
        fields: list[Field] = [kind.fields[first] for kind in self._kinds if first in kind.fields]
        if not fields:
            fitting = sorted({*WORDS, *(name for kind in self._kinds for name in kind.fields)})
            wrong(key, f"no kind of this report has a field {first}{near(first, fitting)}", "a field", written)
        elif rest and not all(field.form == "codes" or rest[0] in field.fields for field in fields):
            wrong(key, f"{first} names no thing, so {value} leads nowhere", "a field that holds codes", written)
        for name in rest:
            if not self._known(name):
                wrong(key, f"no kind of record has a field {name}", "a field of what made or names it", written)

    def _known(self, name: str) -> bool:
        """Return whether some kind of record has a field of that name, or one inside its rows."""
        fields = [field for kind in self._library.names for field in self._library[kind].fields.values()]
        return any(name == field.name or name in field.fields for field in fields)
