"""What an entry touches because a lot that it takes stood on it or in it: mats, trays and covers, crates and tanks."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from sqlalchemy import Connection

from lotwalk.errors import Problem
from lotwalk.kinds.library import Kinds
from lotwalk.kinds.model import Mention, With
from lotwalk.ledger.bearing.model import CONTAINS, Bearer, Moment, moment_of
from lotwalk.ledger.lookup import some
from lotwalk.ledger.model import Pending, ThingRow, UseRow
from lotwalk.ledger.names import Names
from lotwalk.ledger.read.bearing import contacts_within
from lotwalk.ledger.standing import Standing
from lotwalk.values.roles import Role

_EMPTIED = "emptied"
"""The fact that whatever stood in an item is in it no longer."""
_TAKES = (Role.TOOK, Role.HANDLED, None)
"""The roles in which a lot is taken from what it stands on, or worked on there; None waits for its verdict."""


class _Taken(NamedTuple):
    pending: Pending
    mention: Mention
    bearer: Bearer


class Taking:
    """Gives the entries of a batch the uses that follow from what the lots which they take stand on."""

    def __init__(self, connection: Connection, kinds: Kinds, names: Names, standing: Standing) -> None:
        self.connection = connection
        self.kinds = kinds
        self.names = names
        self.standing = standing

    def take(self, pendings: Sequence[Pending]) -> list[Problem]:
        """Add those uses to the entries. Returns what is wrong with the rows that name what a lot stands on."""
        problems: list[Problem] = []
        taken = [one for pending in pendings for one in self._taken(pending, problems)]
        emptied = self._emptied(pendings, taken)
        for pending, mention, bearer in taken:
            at = moment_of(pending)
            between = emptied[bearer.item.id] if bearer.fact == CONTAINS else ()
            if not any(bearer.since.surely_before(one) and one.surely_before(at) for one in between):
                _touch(pending, mention, bearer.item)
        return problems

    def _taken(self, pending: Pending, problems: list[Problem]) -> Iterator[_Taken]:
        """What the lots that an entry takes stand on, by its own words or else by those of their makers."""
        for mention in pending.checked.mentions:
            stands = mention.field.stands
            if stands is None or not pending.uses:
                continue
            # Rows that name one lot are summed, under the path of the first.
            used = {use.thing.id for use in pending.uses if use.role in _TAKES}
            for code in mention.codes:
                lot = self.names.find(code)
                if lot and lot.id in used:
                    yield from (_Taken(pending, mention, one) for one in self._under(lot, mention, stands, problems))

    def _under(self, lot: ThingRow, mention: Mention, stands: With, problems: list[Problem]) -> list[Bearer]:
        under = [one for one in self.standing.under(lot) if self.kinds.thing_matches(one.item.kind, stands.kinds)]
        if mention.with_only is None:
            return under
        # What is not in the book, or of another kind, is told where the codes themselves are looked up.
        named = [thing for code in mention.with_only if (thing := self.names.find(code))]
        items = [one.item for one in under]
        apart = [one.code for one in named if self.kinds.thing_matches(one.kind, stands.kinds) and one not in items]
        if apart:
            what, expected = f"{lot.code} does not stand on {some(apart)}", "what its sowing named, or a count"
            problems.append(Problem(what, expected, mention.path, line=mention.line))
        return [one for one in under if one.item in named]

    def _emptied(self, pendings: Iterable[Pending], taken: Sequence[_Taken]) -> dict[int, list[Moment]]:
        """When the items in which what is taken stood were emptied, by their database keys."""
        held = [one for one in taken if one.bearer.fact == CONTAINS]
        found: dict[int, list[Moment]] = defaultdict(list)
        if not held:
            return found
        items = {one.bearer.item.id for one in held}
        emptying = self.kinds.telling(_EMPTIED)
        amended = {one.amendment.seq for one in pendings if one.amendment}
        for pending in pendings:
            if pending.checked.kind.name in emptying:
                for item in {use.thing.id for use in pending.uses if _in_contact(use)} & items:
                    found[item].append(moment_of(pending))
        spans = {
            (bearer.item.id, bearer.since.start, pending.checked.at.end)
            for pending, _, bearer in held
            if bearer.item.id not in self.names.new
        }
        for use in contacts_within(self.connection, sorted(spans), emptying):
            if use.seq not in amended:
                found[use.thing].append(Moment(use.start, use.end, use.group, use.line))
        return found


def _in_contact(use: UseRow) -> bool:
    return use.role in (None, Role.TOUCHED, Role.CLEARED) and use.thing.cls == "item"


def _touch(pending: Pending, mention: Mention, item: ThingRow) -> None:
    """Let an entry touch an item, beside the lot that it took off it, unless it touches that anyway."""
    stands = mention.field.stands
    assert stands is not None, "only a field that takes lots off something is looked at"
    if any(use.thing.id == item.id and use.role is stands.role for use in pending.uses):
        return
    beside = [place for place, use in enumerate(pending.uses) if use.field == mention.path]
    place = beside[-1] + 1 if beside else len(pending.uses)
    pending.uses.insert(place, UseRow(stands.role, item, mention.path))
