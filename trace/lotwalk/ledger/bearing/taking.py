"""What an entry touches because a lot that it takes stood on it or in it: mats, trays and covers, crates and tanks."""

from collections.abc import Collection, Iterator, Sequence
from typing import NamedTuple

from lotwalk.errors import Problem
from lotwalk.kinds.model import Mention, With
from lotwalk.ledger.bearing.facts import CONTAINS
from lotwalk.ledger.bearing.ground import Ground
from lotwalk.ledger.bearing.model import AT_LAST, Bearer, Moment, follows, moment_of
from lotwalk.ledger.model import Pending, ThingRow, UseRow
from lotwalk.ledger.write.lookup import some
from lotwalk.values.roles import Role

_TAKES = (Role.TOOK, Role.HANDLED, None)
"""The roles in which a lot is taken from what it stands on, or worked on there; None waits for its verdict."""


class _Row(NamedTuple):
    """A lot that an entry takes, by which of its fields."""

    pending: Pending
    mention: Mention
    stands: With
    lot: ThingRow


def take(ground: Ground, pendings: Sequence[Pending]) -> list[Problem]:
    """Let entries touch what the lots that they take stand on.

    Returns what is wrong with the rows that name what a lot stands on; all that it stands on is touched there.
    """
    problems: list[Problem] = []
    rows = [row for pending in pendings for row in _rows(ground, pending)]
    ground.fetch([row.lot for row in rows])
    taken = [(row, bearer) for row in rows for bearer in _under(ground, row, problems)]
    emptied = ground.emptied([(bearer, moment_of(row.pending)) for row, bearer in taken])
    for row, bearer in taken:
        if not _was_emptied(bearer, moment_of(row.pending), emptied):
            _touch(row, bearer.item)
    return problems


def taken_by(ground: Ground, pending: Pending) -> frozenset[int]:
    """Return the items (database keys) that an entry touches since what it takes stands on them."""
    kind = pending.checked.kind
    # A field may name items beside lots, as that of a move does.
    named: dict[str, set[int]] = {}
    for mention in pending.checked.mentions:
        if mention.field.stands:
            found = (ground.names.find(code) for code in mention.codes)
            named.setdefault(mention.path, set()).update(thing.id for thing in found if thing)
    return frozenset(
        use.thing.id
        for use in pending.uses
        if use.thing.cls == "item"
        and use.role is Role.TOUCHED
        and (
            follows(kind, use.field, use.thing, ground.kinds)
            or (use.field in named and use.thing.id not in named[use.field])
        )
    )


def take_again(ground: Ground, pending: Pending) -> bool:
    """Let a stored entry, filed once more, touch what the lots that it takes stand on by now.

    Returns whether that is anything else than before. Where no entry in force says any more what a lot stands on, what
    the entry touched stays: silence shows nothing.
    """
    before = taken_by(ground, pending)
    lots = {row.mention.path: row.lot for row in _rows(ground, pending)}
    # Where it is put by the entry itself says nothing of where it was.
    at = moment_of(pending)
    unknown = {path for path, lot in lots.items() if all(one.since == at for one in ground.under(lot, AT_LAST))}
    own = [use for use in pending.uses if use.thing.id not in before or use.field in unknown]
    named = {
        mention.path: mention.with_only
        for mention in pending.checked.mentions
        if mention.field.stands and mention.with_only is not None
    }
    # What a row names is the grower's word, and is touched though by now nothing is known to stand on it.
    own += [
        use
        for use in pending.uses
        if use.thing.id in before and use not in own and use.thing.code in named.get(use.field, ())
    ]
    pending.uses = own
    take(ground, [pending])
    return taken_by(ground, pending) != before


def _rows(ground: Ground, pending: Pending) -> Iterator[_Row]:
    """The lots that an entry takes off what they stand on."""
    # Rows that name one lot are summed, under the path of the first.
    used: Collection[int] | None = None
    for mention in pending.checked.mentions:
        stands = mention.field.stands
        if stands is None:
            continue
        if used is None:
            used = {use.thing.id for use in pending.uses if use.role in _TAKES}
        for code in mention.codes:
            lot = ground.names.find(code)
            if lot and lot.id in used:
                yield _Row(pending, mention, stands, lot)


def _under(ground: Ground, row: _Row, problems: list[Problem]) -> list[Bearer]:
    """What a lot stands on: what the row says, or else all."""
    kinds, only = row.stands.kinds, row.mention.with_only
    under = ground.under(row.lot, moment_of(row.pending))
    under = [one for one in under if ground.kinds.thing_matches(one.item.kind, kinds)]
    if only is None:
        return under
    # What is not in the book, or of another kind, is told where the codes themselves are looked up.
    named = [thing for code in only if (thing := ground.names.find(code))]
    keys = {one.item.id for one in under}
    apart = [one.code for one in named if ground.kinds.thing_matches(one.kind, kinds) and one.id not in keys]
    if apart:
        what, expected = f"{row.lot.code} does not stand on {some(apart)}", "what its sowing named, or a count"
        problems.append(Problem(what, expected, row.mention.path, line=row.mention.line))
        return under
    wanted = {thing.id for thing in named}
    return [one for one in under if one.item.id in wanted]


def _was_emptied(bearer: Bearer, at: Moment, emptied: dict[int, list[Moment]]) -> bool:
    """Whether an item was surely emptied after a lot came into it and before something happened."""
    return bearer.fact == CONTAINS and any(
        bearer.since.surely_before(one) and one.surely_before(at)
        for item in (bearer.item.id, *bearer.before)
        for one in emptied[item]
    )


def _touch(row: _Row, item: ThingRow) -> None:
    """Let an entry touch an item, beside the lot that it took off it, unless it touches that anyway."""
    uses = row.pending.uses
    if any(use.thing.id == item.id and use.role is row.stands.role for use in uses):
        return
    beside = [place for place, use in enumerate(uses) if use.field == row.mention.path]
    place = beside[-1] + 1 if beside else len(uses)
    uses.insert(place, UseRow(row.stands.role, item, row.mention.path))
