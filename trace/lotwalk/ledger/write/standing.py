"""What the entries that made or registered things say of them: units, pack sizes, what a lot stands on, a place's usual
water and tools. Looks among the batch first, then in the database."""

import hashlib
import json
import unicodedata
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from sqlalchemy import Connection

from lotwalk.kinds.library import Kinds
from lotwalk.ledger.bearing.model import Bearer, Said, bearers, said, stored_said
from lotwalk.ledger.model import Pending, ThingRow
from lotwalk.ledger.use import Use
from lotwalk.ledger.write.names import Names
from lotwalk.store.sql import in_force, in_roles, select_keys, seq_of
from lotwalk.values.roles import MAKES, Role
from lotwalk.values.units import Amount

_MAKERS = (
    f"SELECT u.thing, e.seq FROM {{listed}} JOIN use u ON u.thing = j.value AND {in_roles('u', *MAKES)}"
    f" JOIN entry e ON e.seq = {seq_of()} WHERE {in_force()} ORDER BY e.seq"
)
_RECORDS = (
    "SELECT e.seq, e.record, CASE WHEN s.in_order = 1 THEN s.id ELSE 0 END FROM {listed}"
    " JOIN entry e ON e.seq = j.value LEFT JOIN sheet s ON s.id = e.sheet"
)
_NEVER_IN_CODES = ",;=\"'"


@dataclass(frozen=True, slots=True)
class Measured:
    """How a lot's maker measured it: its canonical unit, and the size of one pack where it gave one."""

    unit: str | None
    pack: Amount | None


@dataclass(frozen=True, slots=True)
class _Maker:
    """What is kept of a maker: units of what it made, its amounts by field, its code lists, what bears what it made."""

    kind: str
    unit: dict[str, str]
    sizes: dict[str, Amount]
    lists: dict[str, list[str]]
    said: Said


class Standing:
    """Answers about makers, within one transaction."""

    def __init__(
        self, connection: Connection, names: Names, kinds: Kinds, amended: Collection[int] = frozenset()
    ) -> None:
        # `amended` are the versions that the batch replaces: they make nothing any more.
        self._amended = amended
        self.connection = connection
        self.names = names
        self.kinds = kinds
        self._makers: dict[int, _Maker | None] = {}

    def fetch(self, things: Iterable[ThingRow]) -> None:
        """Read the makers of many things at once."""
        missing = sorted({thing.id for thing in things if thing.id not in self._makers})
        if missing:
            self._makers.update(dict.fromkeys(missing))
            rows = select_keys(self.connection, _MAKERS, missing)
            made_by: dict[int, int] = {thing: seq for thing, seq in rows if seq not in self._amended}
            # One entry may have registered hundreds of things: its text is read once.
            records = select_keys(self.connection, _RECORDS, set(made_by.values()))
            stored = {seq: _stored(json.loads(record), group) for seq, record, group in records}
            self._makers.update({thing: stored[seq] for thing, seq in made_by.items()})

    def note(self, pending: Pending) -> None:
        """Remember an entry of this batch as the maker of what it makes."""
        checked, uses = pending.checked, pending.uses
        made = [use for use in uses if use.role in MAKES]
        if not made:
            return
        maker = _Maker(
            kind=checked.kind.name,
            unit={use.thing.code: use.unit for use in made if use.unit},
            sizes={name: value for name, value in checked.values.items() if isinstance(value, Amount)},
            lists={
                name: [value] if isinstance(value, str) else [code for code in value if isinstance(code, str)]
                for name, value in checked.values.items()
                if checked.kind.fields[name].things and isinstance(value, str | list)
            },
            said=said(pending),
        )
        for use in made:
            self._makers[use.thing.id] = maker

    def made(self, lot: ThingRow) -> Measured | None:
        """Return how the lot's maker measured it, or None where none is in force."""
        maker = self._maker(lot)
        if maker is None:
            return None
        field = self._pack_field(maker.kind)
        return Measured(maker.unit.get(lot.code), maker.sizes.get(field) or self._named_size(maker, field))

    def unit(self, lot: ThingRow) -> str | None:
        """Return the canonical unit in which the lot's maker measured it, where it did."""
        maker = self._maker(lot)
        return maker.unit.get(lot.code) if maker else None

    def _named_size(self, maker: _Maker, field: str) -> Amount | None:
        """The size that a paper named by the maker gives, such as the product that was packed."""
        if field:
            self.names.fetch(code for codes in maker.lists.values() for code in codes)
        for codes in maker.lists.values() if field else ():
            for code in codes:
                thing = self.names.find(code)
                if thing and thing.cls == "paper" and (size := self.size(thing, field)):
                    return size
        return None

    def size(self, thing: ThingRow, field: str) -> Amount | None:
        """Return the amount that a thing's record gives in this field, such as a product's pack size."""
        maker = self._maker(thing)
        return maker.sizes.get(field) if maker else None

    def under(self, lot: ThingRow) -> list[Bearer]:
        """Return the items on and in which a lot stands since it was made."""
        maker = self._maker(lot)
        if maker is None:
            return []
        self.names.fetch(code for code, _ in maker.said.touched())
        return bearers(maker.said, self.kinds, self.names)

    def usual(self, place: ThingRow) -> dict[str, list[str]]:
        """Return the codes that a place's record names, by field."""
        maker = self._maker(place)
        return maker.lists if maker else {}

    def shared_code(self, parts: Sequence[str], *, taken: bool = False) -> str:
        """Return the code of a thing that two fields name together, such as `HOLT:RD-7781`.

        `taken`: a thing of another kind has that code already.
        """
        joined = ":".join(unicodedata.normalize("NFC", part).strip() for part in parts)
        code = "".join(
            "_" if letter in _NEVER_IN_CODES or letter.isspace() or not letter.isprintable() else letter
            for letter in joined
        ).replace("..", "_")
        # Where the code does not say all that the parts said, two of them could be one; a digest keeps them apart.
        plain = "_" not in joined and code == joined.replace(" ", "_")
        if len(code) <= 64 and plain and not taken:
            return code
        return f"{code[:51]}~{hashlib.sha256(joined.encode()).hexdigest()[:12]}"

    def _maker(self, thing: ThingRow) -> _Maker | None:
        if thing.id not in self._makers:
            self.fetch([thing])
        return self._makers[thing.id]

    def _pack_field(self, kind: str) -> str:
        """The name of the field that holds a pack's size: the second of the made lot's product of two."""
        for field in self.kinds[kind].fields.values():
            if field.makes:
                for name in field.amount:
                    if isinstance(name, tuple):
                        return name[1]
        return ""


def _stored(record: dict[str, Any], group: int) -> _Maker:
    uses = [Use.read(use) for use in record["uses"]]
    lists: dict[str, list[str]] = {}
    for use in uses:
        lists.setdefault(use.field, []).append(use.code)
    return _Maker(
        kind=record["kind"],
        unit={use.code: use.unit for use in uses if use.role is Role.MADE and use.unit},
        sizes={
            name: Amount(Decimal(read[0]), read[1], str(record["fields"].get(name)))
            for name, read in record["read"].items()
            if len(read) == 2 and isinstance(read[1], str)
        },
        lists=lists,
        said=stored_said(record, group),
    )
