"""Checks one written entry against its kind: what each field says, and which things it names."""

import difflib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import TypeAlias

from lotwalk.errors import NotUnderstood, Problem, Refused
from lotwalk.kinds.library import Kinds
from lotwalk.kinds.model import Checked, Field, Kind, Mention, Setting, Value
from lotwalk.kinds.readers import hint, read_codes, read_files, read_scalar, read_trays, read_words
from lotwalk.kinds.rows import row_mappings
from lotwalk.kinds.written import as_written
from lotwalk.values.text import Fields, Written, line_of, plain
from lotwalk.values.times import When
from lotwalk.values.unit_table import plain_decimal
from lotwalk.values.units import Amount

__all__ = ["Setting", "check"]

Values: TypeAlias = dict[str, Value]

_APART = ("kind", "at", "by", "files")
"""Fields that a checked entry holds apart from the rest."""


def check(kind: Kind, written: Mapping[str, object], setting: Setting, kinds: Kinds) -> Checked:
    """Return what an entry of this kind says, nothing looked up in a ledger yet.

    `written` is what a person wrote, or Python values that stand for it (True, a number, a date, a tuple).
    Raises Refused with every problem, each with its field and line.
    """
    line = line_of(written)
    reading = _Reading(setting, [])
    entry = reading.as_written(written)
    if reading.problems:
        raise Refused(reading.problems)
    entry.pop("kind", None)
    values = reading.fields(entry, kind.fields, kind.needs, "", line, f"a record of kind {kind.name}")
    reading.problems.extend(_out_of_order(kind, values, entry))
    if reading.problems:
        understood = {name: value for name, value in entry.items() if name in values}
        raise Refused(reading.problems, tuple(_mentions(kind, understood, values, _texts(values.get("by", [])))))
    at = values.pop("at")
    assert isinstance(at, When)  # its form is fixed in common.yaml
    by = values.pop("by", [])
    files = values.pop("files", [])
    place = values.get("place")
    return Checked(
        kind=kind,
        at=at,
        by=_texts(by),
        place=str(place) if place else None,
        fields={name: plain(value) for name, value in entry.items() if name not in _APART},
        values=values,
        mentions=tuple(_mentions(kind, entry, values, _texts(by))),
        files=_texts(files),
        silent=tuple(name for name, field in kind.fields.items() if field.says_silence and name not in values),
        zone=setting.zone,
        line=line,
    )


def _out_of_order(kind: Kind, values: Values, entry: Mapping[str, Written]) -> Iterable[Problem]:
    """Yield a problem for each pair of dates that runs backwards."""
    for first, last in kind.order:
        if first in values and last in values and str(values[last]) < str(values[first]):
            expected = f"{entry[first]} or a later day, or an earlier one in `{first}`"
            yield Problem(f"{entry[last]} is before `{first}`", expected, last, line=line_of(entry[last]))


def _texts(value: Value) -> tuple[str, ...]:
    return tuple(item for item in value if isinstance(item, str)) if isinstance(value, list) else ()


@dataclass(frozen=True, slots=True)
class _Reading:
    """One check under way. `problems` grows with each thing that cannot be understood."""

    setting: Setting
    problems: list[Problem]

    def as_written(self, written: Mapping[str, object]) -> Fields:
        """Return the entry as text; fields that are None are left out."""
        entry = Fields(line=line_of(written), empty=written.empty if isinstance(written, Fields) else ())
        for name, value in written.items():
            try:
                if value is not None:
                    entry[str(name)] = as_written(value)
            except NotUnderstood as why:
                self.problems.append(why.problem(str(name)))
        return entry

    def fields(
        self,
        written: Mapping[str, Written],
        fields: Mapping[str, Field],
        needs: tuple[tuple[str, ...], ...],
        path: str,
        line: int,
        whole: str,
    ) -> Values:
        """Return what the fields of an entry or of a row were read as."""
        values: Values = {}
        for name in written.empty if isinstance(written, Fields) else ():
            if name not in fields and name != "kind":
                self.problems.append(_alone(name, fields, path, whole, line))
        for name, value in written.items():
            field = fields.get(name)
            if field is None:
                self.problems.append(_unknown(name, fields, path, whole, line_of(value) or line))
                continue
            try:
                values[name] = self._field(value, field, f"{path}{name}", line_of(value) or line)
            except NotUnderstood as why:
                self.problems.append(why.problem(f"{path}{name}", line_of(value) or line))
        for name, field in fields.items():
            if field.required and name not in written:
                self.problems.append(Problem("missing", hint(field), f"{path}{name}", line=line))
        if needs and not any(all(name in written for name in group) for group in needs):
            wanted = " or ".join(" and ".join(group) for group in needs)
            self.problems.append(Problem(f"{wanted} must be given", "", path.rstrip("."), line=line))
        return values

    def _field(self, value: Written, field: Field, path: str, line: int) -> Value:
        if field.form == "rows":
            return self._rows(value, field, path, line)
        if field.read == "codes":
            return read_codes(value, field)
        if field.read == "trays":
            return read_trays(value, field)
        if field.read == "words":
            return read_words(value, field)
        if field.read == "files":
            return read_files(value, field)
        if isinstance(value, str):
            return read_scalar(value, field, self.setting)
        raise NotUnderstood(f"a {'list' if isinstance(value, list) else 'mapping'} stands here", hint(field))

    def _rows(self, value: Written, field: Field, path: str, line: int) -> list[Values]:
        rows = row_mappings(value, field)
        fewest, most = field.many
        if len(rows) < fewest or (most is not None and len(rows) > most):
            raise NotUnderstood(f"{len(rows)} rows", hint(field))
        return [
            self.fields(
                row, field.fields, field.needs, f"{path}[{number}].", line_of(row) or line, f"a row of {field.name}"
            )
            for number, row in enumerate(rows)
        ]


def _unknown(name: str, fields: Mapping[str, Field], path: str, whole: str, line: int) -> Problem:
    close = difflib.get_close_matches(name.casefold(), fields, 1)
    expected = f"{close[0]}, if that is what you mean" if close else f"one of {', '.join(fields)}"
    return Problem(f"there is no field `{name}` in {whole}", expected, path.rstrip("."), line=line)


def _alone(name: str, fields: Mapping[str, Field], path: str, whole: str, line: int) -> Problem:
    """A name without a value that is no field: in braces, what stands after a comma reads as one."""
    if name.islower() and difflib.get_close_matches(name, fields, 1):
        return _unknown(name, fields, path, whole, line)
    expected = f"a list in brackets, as in [A, {name}], or in quotes, where a comma stands inside braces"
    return Problem(f"`{name}` stands alone, and is no field of {whole}", expected, path.rstrip("."), line=line)


def _mentions(kind: Kind, entry: Mapping[str, Written], values: Values, by: tuple[str, ...]) -> Iterable[Mention]:
    """Yield what the entry names and makes, in the order of the kind's fields."""
    for name, field in kind.fields.items():
        if name not in entry:
            continue
        line = line_of(entry[name])
        if name == "by":
            yield Mention(name, field, by, values, line=line)
        elif field.form == "codes":
            yield from _mention(name, field, values, values, line)
        elif field.form == "rows":
            yield from _row_mentions(field, values, line)


def _row_mentions(field: Field, values: Values, line: int) -> Iterable[Mention]:
    rows = values[field.name]
    assert isinstance(rows, list)  # that is how rows are read
    for number, row in enumerate(rows):
        assert isinstance(row, dict)
        scope = {**values, **row}
        for name, inner in field.fields.items():
            if inner.form == "codes" and name in row:
                yield from _mention(f"{field.name}[{number}].{name}", inner, row, scope, line)


def _mention(path: str, field: Field, beside: Values, scope: Values, line: int) -> Iterable[Mention]:
    codes = _codes(beside[field.name])
    if not codes:
        return
    amount, packs = _amount(field, beside)
    only = beside.get(field.stands.only) if field.stands and field.stands.only else None
    yield Mention(
        path=path,
        field=field,
        codes=codes,
        scope=scope,
        amount=amount,
        packs=packs,
        with_only=_texts(only) if isinstance(only, list) else None,
        line=line,
    )


def _codes(value: Value) -> tuple[str, ...]:
    return (value,) if isinstance(value, str) else _texts(value)


def _amount(field: Field, beside: Values) -> tuple[Amount | None, int | None]:
    """Return the amount that stands beside a code: canonical, or as packs whose size is not said here."""
    for source in field.amount:
        if isinstance(source, tuple):
            packs, size = beside.get(source[0]), beside.get(source[1])
            if isinstance(packs, int) and isinstance(size, Amount):
                return Amount(plain_decimal(size.value * packs), size.unit, f"{packs} x {size.written}"), None
            if isinstance(packs, int):
                return None, packs
            continue
        value = beside.get(source)
        if isinstance(value, Amount):
            return _as_packs(value, field) or (value, None)
        if isinstance(value, list):
            return Amount(Decimal(len(value)), "count", str(len(value))), None
        if isinstance(value, int):
            return Amount(Decimal(value), "count", str(value)), None
    return None, None


def _as_packs(amount: Amount, field: Field) -> tuple[Amount | None, int | None] | None:
    """Return `amount: 12 packs` as 12 packs, where packs of what is already there may be meant."""
    in_packs = not field.makes and any(isinstance(source, tuple) for source in field.amount)
    whole = amount.unit == "count" and amount.value == amount.value.to_integral_value()
    return (None, int(amount.value)) if in_packs and whole else None
