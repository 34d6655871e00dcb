"""Of which lots there was something left at some moment, as far as entries tell."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from decimal import Decimal

from lotwalk.ledger.bearing.facts import BEARS, FINISHED
from lotwalk.ledger.bearing.ground import Ground
from lotwalk.ledger.bearing.model import Moment, moment_of
from lotwalk.ledger.evidence import BookEvidence
from lotwalk.ledger.model import Pending, ThingRow
from lotwalk.ledger.read.keeping import Dealing, dealings
from lotwalk.values.roles import Role

_DEALT = (Role.TOOK, Role.HANDLED, Role.TENDED, Role.MADE, Role.ABOUT)


class Left:
    """Answers of which lots there was something left. In doubt there was.

    A crop grows until it is finished. Of anything else that was never all taken, nothing is left once it would no
    longer keep and nobody has had to do with it; `keeps` is how many seconds things keep. What was bought keeps.
    """

    def __init__(self, ground: Ground, evidence: BookEvidence, keeps: int) -> None:
        self._ground = ground
        self._evidence = evidence
        self._keeps = keeps
        self._growing = set(ground.kinds.telling(BEARS))
        self._now: list[Dealing] = []

    def see(self, pendings: Iterable[Pending]) -> None:
        """Take note of what the entries of the batch do."""
        for one in pendings:
            at, kind = moment_of(one), one.checked.kind.name
            self._now += [
                Dealing(
                    use.thing.id,
                    one.seq,
                    kind,
                    use.role,
                    *at,
                    None if use.amount is None else format(use.amount),
                    use.assumed,
                )
                for use in one.uses
                if use.role in _DEALT and use.role is not None and use.thing.cls == "lot"
            ]

    def dealings(self, lots: Collection[int]) -> dict[int, list[Dealing]]:
        """Return what was done with each of the lots (database keys), by entries stored and by those of the batch."""
        found: dict[int, list[Dealing]] = defaultdict(list)
        for one in dealings(self._ground.connection, [lot for lot in lots if lot not in self._ground.names.new]):
            if one.seq not in self._ground.amended:
                found[one.lot].append(one)
        for one in self._now:
            if one.lot in lots:
                found[one.lot].append(one)
        return found

    def is_left(self, lot: ThingRow, dealt: Sequence[Dealing], at: Moment) -> bool:
        """Return whether something of a lot was there; `dealt` is what was done with it at any time."""
        # That it was taken to be there then, or later, does not show that it was.
        dealt = [one for one in dealt if not one.assumed or _moment(one).surely_before(at)]
        made = [one for one in dealt if one.role is Role.MADE]
        before = [one for one in dealt if _moment(one).surely_before(at)]
        if made and all(at.surely_before(_moment(one)) for one in made):
            return False
        if any(one.role is Role.TOOK and one not in before for one in dealt):
            return True
        return not self._all_taken(lot, made, before) and not self._too_old(lot, made, dealt, at)

    def _all_taken(self, lot: ThingRow, made: Sequence[Dealing], before: Sequence[Dealing]) -> bool:
        """Whether all of a lot was taken by what came before, and nobody had to do with it afterwards."""
        worked_on = {one.seq for one in before if one.role in (Role.HANDLED, Role.TENDED)}
        takes = [one for one in before if one.role is Role.TOOK and one.seq not in worked_on]
        finished = {one.seq for one in self._evidence.telling(FINISHED, lot.code)} if takes else set()
        whole = sum(Decimal(one.amount) for one in made if one.amount is not None)
        gone = sum(Decimal(one.amount) for one in takes if one.amount is not None)
        ends = [one for one in takes if one.amount is None or one.seq in finished]
        if takes and whole and gone >= whole:
            ends = takes
        last = max((_moment(one) for one in ends), default=None)
        return last is not None and all(_moment(one).surely_before(last) or one.seq not in worked_on for one in before)

    def _too_old(self, lot: ThingRow, made: Sequence[Dealing], dealt: Sequence[Dealing], at: Moment) -> bool:
        """Whether nothing keeps as long as that, and nobody has had to do with it since."""
        grows = any(one.kind in self._growing for one in made)
        if grows or self._ground.kinds.things[lot.kind].bought:
            return False
        return max((one.end for one in dealt), default=at.end) + self._keeps < at.start


def _moment(one: Dealing) -> Moment:
    return Moment(one.start, one.end, one.group, one.line)
