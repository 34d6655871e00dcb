"""What makes a scope wide: things long in use without a clean break, through which much of it was reached."""

from collections.abc import Sequence
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from lotwalk.ledger.read.breaks import source_uses
from lotwalk.recall.model import WITHIN, Candidate, Recall
from lotwalk.recall.words.common import count, minute
from lotwalk.recall.words.evidence import outcome
from lotwalk.walk.model import EVER

_MANY = 10
"""Uses. What was used less often between two clean breaks widens no scope by itself."""
_SHARE = 4
"""One part in so many of the scope's deliveries: below that, another cause makes it wide. Common sense, no source."""

_MOST = 4
"""So many examinations are named in a sentence."""


@dataclass(frozen=True, slots=True)
class Wide:
    """A candidate in a spell in which it was used `uses` times, from the first second to the last.

    `deliveries` is how many of the scope's it reaches, `of` how many those are.
    """

    candidate: Candidate
    uses: int
    first: int
    last: int
    deliveries: int
    of: int

    def words(self, zone: ZoneInfo) -> str:
        """Return it as a sentence."""
        code, between = self.candidate.thing.code, f"{self._day(self.first, zone)} and {self._day(self.last, zone)}"
        percent = 100 * self.deliveries // self.of
        reached = f"{self.deliveries:,} of the {self.of:,} deliveries ({percent} %) could have been reached through it"
        missing, used = "cleaning that counts", "used"
        if self.candidate.thing.cls == "water-source":
            missing, used = "passing water test", "drawn from"
        told = f"{code} has no {missing} between {between}: it was {used} {count(self.uses, 'time')}, and {reached}."
        return f"{told}{self._in_hand()}"

    def _in_hand(self) -> str:
        """What examined it in that time all the same: samples and papers clear nothing, and must not go unsaid."""
        inside = [one for one in self.candidate.evidence if one.side == WITHIN]
        named = [f"{one.kind.replace('-', ' ')} {one.entry} {outcome(one)}" for one in inside[:_MOST]]
        more = f" and {len(inside) - _MOST} more" if len(inside) > _MOST else ""
        return f" In hand from that time: {', '.join(named)}{more}." if named else ""

    @staticmethod
    def _day(second: int, zone: ZoneInfo) -> str:
        return minute(second, zone)[:10]


def wide(connection: Connection, found: Recall, most: int = 5) -> list[Wide]:
    """Return what widens a recall's scope most, the most often used first; nothing where no spell is long."""
    reaching = [one for one in found.candidates if one.spell and len(one.deliveries) * _SHARE >= len(found.deliveries)]
    used = _uses(connection, reaching) if found.deliveries else {}
    long = sorted((number for number in used if used[number][0] >= _MANY), key=lambda number: -used[number][0])
    return [
        Wide(reaching[number], *used[number], len(reaching[number].deliveries), len(found.deliveries))
        for number in long[:most]
    ]


def _uses(connection: Connection, candidates: Sequence[Candidate]) -> dict[int, tuple[int, int, int]]:
    """How often each was used as a source in its spell, the first second of that and the last."""
    spells = []
    for one in candidates:
        assert one.spell is not None
        low, high = one.spell.start, one.spell.end
        spells.append((one.thing.id, -EVER if low is None else low, EVER if high is None else high))
    return source_uses(connection, spells)
