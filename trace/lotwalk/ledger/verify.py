"""Whether the ledger is what was recorded: every hash, every column and every use is derived again and compared.

An edit made behind the ledger's back is found and the first entry that is wrong is named. A cleanly cut tail leaves
no trace inside: it is found only against an older head, such as one on a printed page.
"""

import hashlib
import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from sqlalchemy import Connection, text

from lotwalk.kinds.library import Kinds
from lotwalk.ledger.model import Head
from lotwalk.store import tables
from lotwalk.values.canonical import canonical
from lotwalk.values.codes import fold
from lotwalk.values.merkle import Peaks, leaf_hash

_BATCH = 2_000
_ENTRIES = (
    "SELECT e.seq, e.first, e.amends, e.void, e.kind, e.at_from, e.at_to, e.recorded_at, e.line, e.judged, e.silent,"
    " e.record, e.digest, e.root, e.peaks, s.digest AS sheet_digest, s.in_order, s.id AS sheet_id"
    " FROM entry e LEFT JOIN sheet s ON s.id = e.sheet ORDER BY e.seq"
)
_USES = (
    "SELECT u.node, u.role, t.code, u.at_from, u.at_to, u.grp, u.line, u.amount, u.unit, u.assumed, t.id"
    " FROM use u JOIN thing t ON t.id = u.thing ORDER BY u.node"
)


@dataclass(frozen=True, slots=True)
class Verification:
    """The answer: how many entries, the head, and the first entry (`E12`) that is wrong, with the reason."""

    entries: int
    head: Head
    ok: bool
    first_bad: str | None
    why: str


@dataclass(frozen=True, slots=True)
class _Wrong(Exception):
    entry: str | None
    why: str


def verify(connection: Connection, kinds: Kinds, older: Head | None = None) -> Verification:
    """Derive the whole log again. `older` is a head known from elsewhere that the log must still contain."""
    peaks = Peaks(0, ())
    things: dict[int, tuple[str, str]] = {}
    uses = _grouped(connection)
    held = next(uses, None)
    try:
        for row in _rows(connection):
            name = f"E{row['first']}"
            record = _check_text(row, name, peaks)
            peaks = peaks.append(leaf_hash(row["record"].encode()))
            _check_root(row, name, peaks)
            _check_columns(row, record, name)
            found: list[Any] = []
            if held and held[0] < row["seq"]:
                raise _Wrong(None, f"uses are stored for entry number {held[0]}, which there is not")
            if held and held[0] == row["seq"]:
                found = held[1]
                held = next(uses, None)
            _check_uses(row, record, found, things, name)
            if older and older.size == peaks.size and older.root != peaks.root():
                raise _Wrong(name, "the log up to this entry is not the one whose head is given")
        if held:
            raise _Wrong(None, f"uses are stored for entry number {held[0]}, which there is not")
        if older and older.size > peaks.size:
            raise _Wrong(None, f"{older.size - peaks.size} entries at the end are missing: the head given has more")
        _check_things(connection, kinds, things)
        _check_attachments(connection)
        _check_settings(connection)
    except _Wrong as wrong:
        size = connection.execute(text("SELECT count(*) FROM entry")).scalar() or 0
        return Verification(size, Head(peaks.size, peaks.root()), False, wrong.entry, wrong.why)
    return Verification(peaks.size, Head(peaks.size, peaks.root()), True, None, "")


def _rows(connection: Connection) -> Iterator[dict[str, Any]]:
    result = connection.execution_options(yield_per=_BATCH).execute(text(_ENTRIES))
    names = list(result.keys())
    for row in result:
        yield dict(zip(names, row, strict=True))


def _grouped(connection: Connection) -> Iterator[tuple[int, list[Any]]]:
    rows = connection.execution_options(yield_per=_BATCH).execute(text(_USES))
    for seq, group in groupby(rows, key=lambda row: row[0] >> 1):
        yield seq, list(group)


def _check_text(row: Mapping[str, Any], name: str, peaks: Peaks) -> dict[str, Any]:
    if row["seq"] != peaks.size + 1:
        raise _Wrong(name, f"entry number {peaks.size + 1} is missing")
    try:
        record: dict[str, Any] = json.loads(row["record"])
        same = canonical(record).decode() == row["record"]
    except (ValueError, TypeError):
        raise _Wrong(name, "its text cannot be read") from None
    if not same:
        raise _Wrong(name, "its text is not in the canonical form")
    if bytes(row["digest"]) != leaf_hash(row["record"].encode()):
        raise _Wrong(name, "its text is not what was hashed when it was recorded")
    return record


def _check_root(row: Mapping[str, Any], name: str, peaks: Peaks) -> None:
    if bytes(row["root"]) != peaks.root() or bytes(row["peaks"]) != peaks.to_bytes():
        raise _Wrong(name, "the log's root does not follow from the entries up to here")


def _check_columns(row: Mapping[str, Any], record: dict[str, Any], name: str) -> None:
    amends = record.get("amends") or {}
    sheet = record.get("sheet") or {}
    expected = {
        "seq": record["seq"],
        "first": amends.get("first", record["seq"]),
        "amends": amends.get("seq"),
        "void": int(amends.get("void") == "yes"),
        "kind": record["kind"],
        "at_from": record["from"],
        "at_to": record["to"],
        "recorded_at": record["recorded"],
        "judged": int("verdict" in record),
        "silent": " ".join(record["silent"]),
        "sheet_digest": sheet.get("digest"),
        "line": sheet.get("line", row["line"]),
        "in_order": int(sheet["in_order"] == "yes") if sheet else None,
    }
    for column, value in expected.items():
        if row[column] != value:
            raise _Wrong(name, f"the stored {column} is not what was recorded")


def _check_uses(
    row: Mapping[str, Any], record: dict[str, Any], found: list[Any], things: dict[int, tuple[str, str]], name: str
) -> None:
    group = row["sheet_id"] if row["in_order"] else 0
    same = (record["from"], record["to"], group or 0, row["line"])
    expected = set()
    apart = any("part" in use for use in record["uses"])
    for use in record["uses"]:
        part = use.get("part", 0)
        item_cleared = use["role"] == "cleared"
        amount, unit, assumed = use.get("amount"), use.get("unit"), int("assumed" in use)
        expected.add((part, use["role"], use["code"], amount, unit, assumed))
        if apart and not part and not item_cleared:
            expected.add((1, use["role"], use["code"], None, None, assumed))
    stored = set()
    introduced = {use["code"]: (use["kind"], use["type"]) for use in record["uses"] if "kind" in use}
    for one in found:
        if tuple(one[3:7]) != same:
            raise _Wrong(name, f"the stored time or line of its use of {one[2]} is not what was recorded")
        stored.add((one[0] & 1, tables.ROLE_NAMES.get(one[1]), one[2], one[7], one[8], one[9]))
        if one[2] in introduced:
            things[one[10]] = introduced[one[2]]
    if stored != expected:
        odd = sorted({str(use[2]) for use in stored ^ expected})
        raise _Wrong(name, f"its stored uses are not what was recorded: {', '.join(odd[:5])}")


def _check_things(connection: Connection, kinds: Kinds, things: dict[int, tuple[str, str]]) -> None:
    rows = connection.execute(text("SELECT id, code, fold, kind, cls, type, bought, farm_wide, counted FROM thing"))
    for number, code, folded, kind, cls, type_, bought, wide, counted in rows:
        if number not in things:
            raise _Wrong(None, f"no entry makes {code}")
        kind_of = kinds.things.get(kind)
        if kind_of is None or (kind, type_ or "") != things[number] or folded != fold(code):
            raise _Wrong(None, f"{code} is not stored as what it was recorded as")
        expected = (
            kind_of.cls,
            int(kind_of.bought),
            int(kind_of.farm_wide or type_ in kind_of.farm_wide_types),
            int(kind_of.counted),
        )
        if (cls, bought, wide, counted) != expected:
            raise _Wrong(None, f"{code} is not stored as a {kind_of.title.lower()}")


def _check_attachments(connection: Connection) -> None:
    for digest, name, content in connection.execute(text("SELECT digest, name, content FROM attachment")):
        if hashlib.sha256(bytes(content)).hexdigest() != digest:
            raise _Wrong(None, f"the attached file {name} is not the one that was recorded")


def _check_settings(connection: Connection) -> None:
    rows = connection.execute(
        text(
            "SELECT f.seq, f.name, f.location, f.timezone, f.measures, f.rules, f.rules_digest, e.record"
            " FROM farm f JOIN entry e ON e.seq = f.seq ORDER BY f.seq"
        )
    )
    held: dict[str, str] = {}
    for seq, *stored, content in rows:
        record = json.loads(content)
        held |= {name: value for name, value in record["fields"].items() if isinstance(value, str)}
        names = ("name", "location", "timezone", "measures", "rules")
        told = [held.get(name, stored[number]) for number, name in enumerate(names)]
        if stored[:5] != told:
            raise _Wrong(f"E{seq}", "the farm's settings are not stored as they were recorded")
        if record["rules"] != stored[5] and seq == 1:
            raise _Wrong(f"E{seq}", "the rule set is not the one that was recorded")
