"""Reads the text of a rule set, with every mistake named by file, line and key."""

import difflib
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from lotwalk.errors import NotUnderstood, Problem, Refused
from lotwalk.judge.ruleset.limits import (
    ACTIVE_LIMITS,
    CONFIDENCES,
    KNOWN,
    NO_SOURCE,
    Active,
    Heat,
    HeatRow,
    Limit,
    Table,
    read_number,
    read_value,
    read_words,
    read_yes,
)
from lotwalk.judge.words import is_fahrenheit
from lotwalk.science.chlorine import TableRow
from lotwalk.values.text import Fields, Written, line_of
from lotwalk.values.units import Amount, Units
from lotwalk.values.yaml_text import lines_of

_SECTIONS = tuple(dict.fromkeys(key.partition(".")[0] for key in KNOWN))
_TOP = ("title", "based_on", "for", "cautions", "actives", "heat", *_SECTIONS)
_CITATION = ("source", "confidence", "note")


@dataclass(slots=True)
class RulesFile:
    """One rule set as its own file gives it, before what it is based on is put under it."""

    title: str = ""
    purpose: str = ""
    based_on: str | None = None
    cautions: tuple[str, ...] = ()
    limits: dict[str, Limit] = field(default_factory=dict)
    taken_away: set[str] = field(default_factory=set)
    actives: dict[str, Active] = field(default_factory=dict)
    heat: Heat | None = None


def read_documents(text: str, names: list[str]) -> list[RulesFile]:
    """Return the rule sets in a text, parted by `---`; `names` are their files. Raises Refused."""
    problems: list[Problem] = []
    documents = lines_of(text, names, problems)
    if not documents:
        raise Refused([Problem("it is empty", "a title and limits", source=names[0])])
    parts = []
    for place, written in enumerate(documents):
        parts.append(_Reader(names[min(place, len(names) - 1)], problems).rules(written))
    if problems:
        raise Refused(problems)
    return parts


class _Reader:
    """Reads one rule set, collecting what is wrong with it."""

    def __init__(self, source: str, problems: list[Problem]) -> None:
        self._source = source
        self._problems = problems

    def wrong(self, key: str, what: str, expected: str, line: int) -> None:
        """Take note of a mistake."""
        self._problems.append(Problem(what, expected, key, self._source, line))

    def rules(self, written: Written) -> RulesFile:
        """Return the rule set that a document holds."""
        part = RulesFile()
        top = self._mapping("", written, _TOP)
        part.title = self._text("title", top.get("title"), top)
        part.purpose = " ".join(str(top.get("for", "")).split())
        part.based_on = str(top["based_on"]) if "based_on" in top else None
        part.cautions = tuple(" ".join(text.split()) for text in self._words("cautions", top.get("cautions")))
        for section in _SECTIONS:
            if section in top:
                self._section(section, top[section], part)
        actives = self._mapping("actives", top.get("actives", Fields()), None)
        part.actives = {name: self._active(name, active) for name, active in actives.items()}
        part.heat = self._heat(top["heat"]) if "heat" in top else None
        return part

    def _section(self, section: str, written: Written, part: RulesFile) -> None:
        names = [key.partition(".")[2] for key in KNOWN if key.startswith(f"{section}.")]
        for name, limit in self._mapping(section, written, names).items():
            key = f"{section}.{name}"
            if key in KNOWN:
                read = self._limit(key, limit, KNOWN[key])
                if read == "none":
                    part.taken_away.add(key)
                elif isinstance(read, Limit):
                    part.limits[key] = read

    def _limit(self, key: str, written: Written, form: tuple[str, ...]) -> Limit | str | None:
        fields = self._mapping(key, written, ("value", *_CITATION))
        if "value" not in fields:
            self.wrong(key, "it has no value", "value, source and confidence", line_of(written))
            return None
        if fields["value"] == "none":
            return "none"
        cited = self._citation(key, fields)
        try:
            value = read_value(form, fields["value"])
        except NotUnderstood as why:
            self.wrong(f"{key}.value", why.what, why.expected, line_of(fields["value"]))
            return None
        shown = fields["value"]
        return Limit(key, value, ", ".join(map(str, shown)) if isinstance(shown, list) else str(shown), *cited)

    def _citation(self, key: str, fields: Fields) -> tuple[str, str, str]:
        confidence = str(fields.get("confidence", ""))
        if confidence not in CONFIDENCES:
            self.wrong(f"{key}.confidence", f"{confidence or 'nothing'} is written", _either(CONFIDENCES), fields.line)
        source = " ".join(str(fields.get("source", "")).split())
        if not source and confidence != "practice":
            self.wrong(f"{key}.source", "no source is written", "where the number is published", fields.line)
        return source or NO_SOURCE, confidence, " ".join(str(fields.get("note", "")).split())

    def _active(self, name: str, written: Written) -> Active:
        key = f"actives.{name}"
        fields = self._mapping(key, written, ("names", "table", *ACTIVE_LIMITS))
        limits = {}
        for limit, form in ACTIVE_LIMITS.items():
            read = self._limit(f"{key}.{limit}", fields[limit], form) if limit in fields else None
            if isinstance(read, Limit):
                limits[limit] = read
        names = self._words(f"{key}.names", fields.get("names"))
        table = self._table(f"{key}.table", fields["table"]) if "table" in fields else None
        return Active(str(name), names, limits, table)

    def _table(self, key: str, written: Written) -> Table:
        fields = self._mapping(key, written, ("rows", *_CITATION))
        rows = []
        for place, row in self._rows(key, fields, ("at_least", "ph_at_most", "temperature", "or")):
            least = self._amount(place, row, "at_least", "concentration")
            temperature, fahrenheit = self._temperatures(place, row)
            ph = self._number(place, row, "ph_at_most")
            if temperature:
                rows.append(TableRow(least.value if least else None, ph, temperature.value, fahrenheit))
        return Table(tuple(rows), *self._citation(key, fields))

    def _heat(self, written: Written) -> Heat:
        fields = self._mapping("heat", written, ("rows", *_CITATION))
        rows = []
        for place, row in self._rows("heat", fields, ("temperature", "or", "contact", "porous")):
            temperature, fahrenheit = self._temperatures(place, row)
            contact = self._amount(place, row, "contact", "time", needed=True)
            if temperature and contact:
                rows.append(HeatRow(temperature, contact, self._yes(place, row, "porous"), fahrenheit))
        return Heat(tuple(rows), *self._citation("heat", fields))

    def _rows(self, key: str, fields: Fields, names: Collection[str]) -> list[tuple[str, Fields]]:
        rows = fields.get("rows")
        if not isinstance(rows, list) or not rows:
            self.wrong(f"{key}.rows", "there are no rows", "a list of rows", fields.line)
            return []
        places = [f"{key}.rows[{number}]" for number in range(1, len(rows) + 1)]
        return [(place, self._mapping(place, row, names)) for place, row in zip(places, rows, strict=True)]

    def _amount(self, key: str, row: Fields, name: str, dimension: str, *, needed: bool = False) -> Amount | None:
        if name not in row:
            if needed:
                self.wrong(f"{key}.{name}", "it is missing", f"a {dimension} with its unit", row.line)
            return None
        try:
            return Units.load("metric").read(str(row[name]), (dimension,))
        except NotUnderstood as why:
            self.wrong(f"{key}.{name}", why.what, why.expected, line_of(row[name]))
            return None

    def _temperatures(self, place: str, row: Fields) -> tuple[Amount | None, Decimal | None]:
        """Return a row's temperature in degC, and the same as the source prints it in degF, where `or` says so."""
        celsius = self._amount(place, row, "temperature", "temperature", needed=True)
        other = self._amount(place, row, "or", "temperature")
        if celsius is None or other is None:
            return celsius, None
        if (is_fahrenheit(celsius), is_fahrenheit(other)) != (False, True) or abs(celsius.value - other.value) > 1:
            expected = (
                f"{celsius.written} as the source prints it in degF, such as `temperature: 13 degC` and `or: 55 degF`"
            )
            self.wrong(f"{place}.or", f"{other.written} is not that temperature in degF", expected, line_of(row["or"]))
        return celsius, other.value

    def _number(self, key: str, row: Fields, name: str) -> Any:
        return self._read(f"{key}.{name}", row[name], read_number) if name in row else None

    def _yes(self, key: str, row: Fields, name: str) -> bool:
        return bool(self._read(f"{key}.{name}", row[name], read_yes)) if name in row else False

    def _words(self, key: str, written: "Written | None") -> tuple[str, ...]:
        return self._read(key, written, read_words) or () if written is not None else ()

    def _read(self, key: str, written: Written, read: Any) -> Any:
        try:
            return read(written)
        except NotUnderstood as why:
            self.wrong(key, why.what, why.expected, line_of(written))
            return None

    def _text(self, key: str, written: "Written | None", within: Fields) -> str:
        if not isinstance(written, str) or not written.strip():
            self.wrong(key, "it is missing", "a line of words", within.line)
            return ""
        return str(written)

    def _mapping(self, key: str, written: Written, names: Collection[str] | None) -> Fields:
        if not isinstance(written, Fields):
            self.wrong(key, "this is no mapping", f"keys such as {_either(names or ('chlorine',))}", line_of(written))
            return Fields(line=line_of(written))
        for name, value in written.items():
            if names is not None and name not in names:
                near = difflib.get_close_matches(name, names, n=1)
                expected = f"{near[0]} (did you mean that?)" if near else _either(names)
                self.wrong(f"{key}.{name}" if key else name, "there is no such key", expected, line_of(value))
        return written


def _either(names: Collection[str] | Mapping[str, Any]) -> str:
    listed = list(names)
    return listed[0] if len(listed) == 1 else f"{', '.join(listed[:-1])} or {listed[-1]}"
