"""Whether the rows of one entry say what its hashed text says: its columns, and the uses by which it is walked."""

import json
from collections.abc import Callable, Mapping, Sequence
from typing import Any, NamedTuple

from lotwalk.kinds.library import Kinds
from lotwalk.ledger.record import PLAIN, alike_text
from lotwalk.ledger.use import Use
from lotwalk.ledger.verdict import FIRST_JUDGE, Verdict
from lotwalk.ledger.write.derive import SHARING_SINCE, derived, shared
from lotwalk.store.nodes import parts_of
from lotwalk.values.canonical import canonical
from lotwalk.values.merkle import leaf_hash
from lotwalk.values.roles import Role

_TOOK = Role.TOOK.word


class Wrong(Exception):
    """What is wrong, and the first entry (`E12`) that it is wrong with, where there is one."""

    def __init__(self, entry: str | None, why: str) -> None:
        super().__init__(why)
        self.entry = entry
        self.why = why


class Told(NamedTuple):
    """The columns of an entry and of its sheet that its text tells."""

    seq: int
    first: int
    amends: int | None
    void: int
    kind: str
    at_from: int
    at_to: int
    recorded_at: int
    line: int
    judged: int
    silent: str
    alike: str
    sheet: str | None
    sheet_name: str | None
    in_order: int | None


class Row(NamedTuple):
    """An entry as stored. After an edit behind the ledger's back a column may hold anything."""

    told: Told
    record: Any
    digest: Any
    root: Any
    peaks: Any
    sheet_id: Any

    @classmethod
    def of(cls, columns: Sequence[Any]) -> "Row":
        """Return the row of these columns, which are those of `ENTRY`."""
        told = len(Told._fields)
        return cls(Told._make(columns[:told]), *columns[told:])


ENTRY = (
    "e.seq, e.first, e.amends, e.void, e.kind, e.at_from, e.at_to, e.recorded_at, e.line, e.judged, e.silent,"
    " e.alike, s.digest, s.name, s.in_order, e.record, e.digest, e.root, e.peaks, e.sheet"
)
"""The columns of a Row, of `entry e` and `sheet s`."""

USE = "u.node, u.role, t.code, u.at_from, u.at_to, u.grp, u.line, u.amount, u.unit, u.assumed, u.thing"
"""The columns of a stored use, of `use u` and `thing t`."""


def read(row: Row, name: str) -> tuple[dict[str, Any], bytes]:
    """Return what an entry's text says, and its digest, once it was seen to be in the canonical form. Raises Wrong."""
    record = _parsed(row, name)
    if PLAIN.encode(record) != row.record and canonical(record).decode() != row.record:
        raise Wrong(name, "its text is not in the canonical form")
    return record, _hashed(row, name)


def _parsed(row: Row, name: str) -> dict[str, Any]:
    try:
        record: dict[str, Any] = json.loads(row.record)
    except (ValueError, TypeError):
        raise Wrong(name, "its text cannot be read") from None
    return record


def _hashed(row: Row, name: str) -> bytes:
    try:
        digest = leaf_hash(row.record.encode())
    except (ValueError, AttributeError):
        raise Wrong(name, "its text cannot be read") from None
    if not is_(row.digest, digest):
        raise Wrong(name, "its text is not what was hashed when it was recorded")
    return digest


def is_(stored: object, expected: bytes) -> bool:
    """Whether a column holds these bytes; after an edit it may hold anything."""
    return isinstance(stored, bytes | memoryview) and bytes(stored) == expected


def first_of(record: Mapping[str, Any]) -> int:
    """Return the number of an entry's first version, as its text tells it."""
    return int(record["amends"]["first"] if "amends" in record else record["seq"])


def check_columns(row: Row, record: Mapping[str, Any], name: str) -> None:
    """Compare an entry's columns with its text. Raises Wrong."""
    amends = record.get("amends") or {}
    sheet = record.get("sheet") or {}
    expected = Told(
        seq=record["seq"],
        first=first_of(record),
        amends=amends.get("seq"),
        void=int(amends.get("void") == "yes"),
        kind=record["kind"],
        at_from=record["from"],
        at_to=record["to"],
        recorded_at=record["recorded"],
        line=sheet.get("line", 0),
        judged=record["verdict"].get("judge", FIRST_JUDGE) if "verdict" in record else 0,
        silent=" ".join(record["silent"]),
        alike=alike_text(record),
        sheet=sheet.get("digest"),
        sheet_name=sheet.get("name"),
        in_order=int(sheet["in_order"] == "yes") if sheet else None,
    )
    # One and True are equal, and no column holds the one for the other.
    if row.told != expected or list(map(type, row.told)) != list(map(type, expected)):
        for column, stored, value in zip(Told._fields, row.told, expected, strict=True):
            if stored != value or type(stored) is not type(value):
                raise Wrong(name, f"the stored {column} is not what was recorded")
    if not sheet and row.sheet_id is not None:
        raise Wrong(name, "the stored sheet is not what was recorded")


def check_uses(
    row: Row,
    record: Mapping[str, Any],
    name: str,
    found: Sequence[Any],
    kind_of: Callable[[str], str | None],
    kinds: Kinds,
    *,
    derives: bool,
) -> None:
    """Compare the stored uses of an entry, whose columns are those of `USE`, with its text. Raises Wrong.

    `kind_of` gives the kind of the thing with a code, as far as it is known. `derives`: what older records imply is
    stored too.
    """
    group = row.sheet_id if row.told.in_order else 0
    same = (record["from"], record["to"], group, row.told.line)
    for one in found:
        if one[3:7] != same:
            raise Wrong(name, f"the stored time or line of its use of {one[2]} is not what was recorded")
    told = []
    named, cleared = Role.named, Role.CLEARED
    for use in record["uses"]:
        role = named(use["role"])
        thing_class = _class(kind_of(use["code"]), kinds) if role is cleared else ""
        told.append((role, thing_class, use.get("part", 0), use))
    if derives and record.get("form", 1) < SHARING_SINCE:
        told += [(use.role, "", use.part, use.json()) for use in _shared(record, kind_of, kinds)]
    nodes = dict(enumerate(parts_of(row.told.seq)))
    expected = {
        (
            nodes[part],
            role.stored,
            use["code"],
            use.get("amount") if measured else None,
            use.get("unit") if measured else None,
            int("assumed" in use),
        )
        for part, role, use, measured in derived(told)
    }
    stored = {(one[0], one[1], one[2], one[7], one[8], one[9]) for one in found}
    if stored != expected:
        odd = sorted({str(use[2]) for use in stored ^ expected})
        raise Wrong(name, f"its stored uses are not what was recorded: {', '.join(odd[:5])}")


def _class(kind: str | None, kinds: Kinds) -> str:
    thing = kinds.things.get(kind or "")
    return thing.cls if thing else ""


def _shared(record: Mapping[str, Any], kind_of: Callable[[str], str | None], kinds: Kinds) -> list[Use]:
    """The uses by which an entry of an older form shares mixes."""

    def is_bath(code: str) -> bool:
        thing = kinds.things.get(kind_of(code) or "")
        return thing is not None and thing.bath

    if not any(use["role"] == _TOOK and is_bath(use["code"]) for use in record["uses"]):
        return []
    verdict = Verdict.read(record["verdict"]) if "verdict" in record else None
    return shared([Use.read(use) for use in record["uses"]], verdict, is_bath, older=True)
