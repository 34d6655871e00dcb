"""One lot of a supplier that two receipts write in two ways, `TB-77` and `TB 77`. Only the farm knows if it is one.

The book takes them for two, since a supplier may have both. So it says so wherever it matters, and does not put them
together by itself.
"""

import re
import unicodedata
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass

from sqlalchemy import Connection

from lotwalk.finding import Finding, finding
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.model import Pending, Version
from lotwalk.ledger.read.things import thing_codes
from lotwalk.ledger.read.uses import beside, versions_using
from lotwalk.values.codes import fold
from lotwalk.values.roles import Role
from lotwalk.values.text import Written

CHECK = "supplier-lot-spelled"
_BETWEEN = re.compile(r"[\s._/\\\-\u2010-\u2015]+")
"""What people put between the parts of a number, or leave out."""
_DIGEST = re.compile(r"~[0-9a-f]{12}$")
"""How a code ends that does not hold all of what was written."""


@dataclass(frozen=True, slots=True)
class Bought:
    """A receipt of a supplier's lot: its number, what it made, the supplier, the lot as written, and its code here.

    `span` are the entry's first and last second.
    """

    number: int
    made: tuple[str, ...]
    supplier: str
    lot: str
    code: str
    span: tuple[int, int]

    @property
    def name(self) -> str:
        """The entry's name."""
        return f"E{self.number}"

    @property
    def words(self) -> str:
        """What was made by which entry, such as `S-2 (E21)`."""
        return f"{', '.join(self.made)} ({self.name})" if self.made else self.name


@dataclass(frozen=True, slots=True)
class Alike:
    """A supplier's lot that was met, and receipts of one of the same supplier that is written otherwise."""

    met: Bought
    others: tuple[Bought, ...]

    @property
    def sentence(self) -> str:
        """What to say to whoever follows the one and may have to follow the other."""
        spelled = ", ".join(f"`{one.lot}` of {one.words}" for one in self.others)
        makes = [code for one in self.others for code in one.made] or [one.code for one in self.others]
        return (
            f"The same lot of {self.met.supplier} may be written otherwise: `{self.met.lot}` here, and {spelled}. If it"
            f" is one lot, ask for {', '.join(dict.fromkeys(makes))} as well."
        )

    def json(self) -> dict[str, object]:
        """Return it as JSON."""
        return {
            "supplier": self.met.supplier,
            "lot": self.met.lot,
            "code": self.met.code,
            "others": [
                {"lot": one.lot, "code": one.code, "entry": one.name, "made": list(one.made)} for one in self.others
            ],
        }


def squashed(written: str) -> str:
    """Return letters and digits alone, whatever their case: what is the same in two ways of writing a number."""
    return _BETWEEN.sub("", fold(unicodedata.normalize("NFC", written)))


def _without_digest(code: str) -> str:
    return squashed(_DIGEST.sub("", code))


def findings(connection: Connection, kinds: Kinds) -> Iterator[Finding]:
    """Yield each receipt in force of a supplier's lot that an earlier one writes otherwise."""
    for group in _groups(_stored(connection, kinds, None)):
        yield from _of_group(group)


def at_once(
    connection: Connection, kinds: Kinds, pendings: Sequence[Pending], amended: Collection[int]
) -> dict[int, list[str]]:
    """Return what to say of the receipts of a batch, by the number (`seq`) of the entry.

    `amended` are the versions that the batch replaces.
    """
    fresh = {one.seq: found for one in pendings if (found := _new(one))}
    if not fresh:
        return {}
    like = {_without_digest(one.code) for one in fresh.values()}
    stored = [one for seq, one in _stored_by_seq(connection, kinds, like) if seq not in amended]
    groups = list(_groups([*stored, *fresh.values()]))
    told: dict[int, list[str]] = {}
    for seq, receipt in fresh.items():
        for group in groups:
            concerned = [one for one in _of_group(group) if receipt.name in one.about]
            if concerned:
                told[seq] = [one.told for one in concerned]
    return told


def spelled_too(
    connection: Connection, kinds: Kinds, asked: Collection[int], reached: Collection[int]
) -> tuple[Alike, ...]:
    """Return the suppliers' lots that are written otherwise too: those reached, and those of which came what was asked.

    Both are things by their database keys.
    """
    codes = {row.id: row.code for kind in _shared_kinds(kinds) for row in thing_codes(connection, kind)}
    came = {one.other for one in beside(connection, asked, [Role.MADE], [Role.TOOK])}
    here = {fold(codes[key]) for key in {*asked, *came, *reached} if key in codes}
    if not here:
        return ()
    found: list[Alike] = []
    for group in _groups(_stored(connection, kinds, {_without_digest(code) for code in here})):
        others = tuple(one for one in group if fold(one.code) not in here)
        met = {fold(one.code): one for one in reversed(group) if fold(one.code) in here}
        found += [Alike(one, others) for one in met.values() if others]
    return tuple(sorted(found, key=lambda one: one.met.number))


def _shared_kinds(kinds: Kinds) -> frozenset[str]:
    return frozenset(shared.kind for name in _receiving(kinds) if (shared := kinds[name].shared))


def _receiving(kinds: Kinds) -> list[str]:
    return [name for name in kinds.names if kinds.says(name, "x-shared") and kinds[name].shared]


def _stored(connection: Connection, kinds: Kinds, like: Collection[str] | None) -> list[Bought]:
    return [one for _, one in _stored_by_seq(connection, kinds, like)]


def _stored_by_seq(connection: Connection, kinds: Kinds, like: Collection[str] | None) -> Iterator[tuple[int, Bought]]:
    """The receipts in force, by version, of lots that are written in more than one way; `like` some of these."""
    receiving = _receiving(kinds)
    spelled: dict[str, list[int]] = defaultdict(list)
    codes: dict[int, str] = {}
    for kind in _shared_kinds(kinds):
        for row in thing_codes(connection, kind):
            codes[row.id] = row.code
            spelled[_without_digest(row.code)].append(row.id)
    keys = [key for word, some in spelled.items() if (len(some) > 1 if like is None else word in like) for key in some]
    for key, _, version in versions_using(connection, keys, [Role.TOOK], receiving) if keys else ():
        if found := _read(version, codes[key], kinds):
            yield version.seq, found


def _read(version: Version, code: str, kinds: Kinds) -> Bought | None:
    shared = kinds[version.kind].shared
    made = tuple(version.codes(Role.MADE))
    parts = [version.fields.get(name) for name in shared.by] if shared else []
    return _bought(version.number, made, parts, code, (version.start, version.end))


def _new(pending: Pending) -> Bought | None:
    shared = pending.checked.kind.shared
    if shared is None or (pending.amendment and pending.amendment.void):
        return None
    code = next((use.thing.code for use in pending.uses if use.thing.kind == shared.kind), None)
    made = tuple(use.thing.code for use in pending.uses if use.role is Role.MADE)
    parts = [pending.checked.fields.get(name) for name in shared.by]
    at = pending.checked.at
    return _bought(pending.number, made, parts, code, (at.start, at.end)) if code else None


def _bought(
    number: int, made: tuple[str, ...], parts: Sequence[Written | None], code: str, span: tuple[int, int]
) -> Bought | None:
    supplier, lot = parts[0], parts[-1]
    if not isinstance(supplier, str) or not isinstance(lot, str):
        return None
    return Bought(number, made, supplier.strip(), lot.strip(), code, span)


def _groups(receipts: Iterable[Bought]) -> Iterator[list[Bought]]:
    """Receipts that may be of one lot of one supplier, which is not one here; each in the order of the book."""
    groups: dict[tuple[str, str], list[Bought]] = defaultdict(list)
    for one in receipts:
        groups[fold(one.supplier), squashed(one.lot)].append(one)
    for group in groups.values():
        if len({fold(one.code) for one in group}) > 1:
            yield sorted(group, key=lambda one: one.number)


def _of_group(group: Sequence[Bought]) -> Iterator[Finding]:
    first = group[0]
    for other in group[1:]:
        if fold(other.code) == fold(first.code):
            continue
        yield finding(
            CHECK,
            other.made[:1] or (other.name,),
            about=(*other.made, other.name, *first.made, first.name),
            text=f"{other.words} is of the lot `{other.lot}` of {other.supplier}, and {first.words} of `{first.lot}`:"
            " the same letters and digits. A recall of the one does not reach the other.",
            do=f"If it is one lot, amend {other.name} to say `{first.lot}`, or {first.name} to say `{other.lot}`: what"
            " stands on the bag. If they are two, close this by a corrective action that names it.",
            basis="the book's own order: a supplier's lot is followed by what is written",
            span=other.span,
        )
