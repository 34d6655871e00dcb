"""The recall's second step: each candidate cause as one row, with all that it reaches."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping

from lotwalk.recall.model import Candidate, Delivered
from lotwalk.recall.traceback.causes import Behind, Cause
from lotwalk.recall.traceback.joined import joined
from lotwalk.recall.traceforward.reachability import Codes
from lotwalk.recall.traceforward.scope import Scope
from lotwalk.walk.frontier import Frontier
from lotwalk.walk.model import EVER, LEVEL_OF, Spell, Start


def start_of(cause: Cause, behind: Behind) -> Start:
    """Return where the walk forward from a candidate starts."""
    key, spell = cause
    if spell is None:
        return Start(key, None, behind.rank)
    low = -EVER if spell.start is None else spell.start
    return Start(key, (low, EVER if spell.end is None else spell.end), behind.rank)


def window_of(row: Candidate) -> tuple[int, int] | None:
    """Return the first and last second of a candidate's spell; None where it has none."""
    if row.spell is None:
        return None
    return (-EVER if row.spell.start is None else row.spell.start, EVER if row.spell.end is None else row.spell.end)


def candidates_of(
    frontier: Frontier,
    causes: Mapping[Cause, Behind],
    delivered: Mapping[int, Delivered],
    asked: Collection[int],
    span: tuple[int, int],
) -> list[Candidate]:
    """Return the candidates, the narrowest first. `asked` are the things asked about, `span` the time of the others."""
    table = _Table(frontier, delivered)
    starts = [[start_of(cause, behind)] for cause, behind in causes.items()]
    reached = Scope(frontier).reached(starts, table.keys)
    others = table.bits(key for key, one in delivered.items() if key not in asked and span[0] <= one.start <= span[1])
    alike = [(behind.explains, table.delivered(bits)) for behind, bits in zip(causes.values(), reached, strict=True)]
    rows = joined(frontier, [*causes], alike)
    found = []
    for (cause, behind), bits, row in zip(causes.items(), reached, rows, strict=True):
        lots, deliveries, customers = table.told(bits)
        found.append(
            Candidate(
                thing=frontier.things[cause[0]],
                link=behind.link,
                level=LEVEL_OF[behind.rank],
                spell=cause[1],
                explains=behind.explains,
                others=(bits & others).bit_count(),
                lots=lots,
                deliveries=deliveries,
                customers=customers,
                assumed=behind.assumed,
                contacts=behind.contacts,
                joined=row,
            )
        )
    found.sort(key=lambda one: (len(one.deliveries), len(one.lots), one.thing.code, _begin(one.spell)))
    return found


class _Table:
    """The affected lots and deliveries as columns, each in the order of its code; deliveries come after the lots."""

    def __init__(self, frontier: Frontier, delivered: Mapping[int, Delivered]) -> None:
        things = frontier.things
        lots = [key for key in frontier.lowest if things[key].cls == "lot" and things[key].counted]
        lots.sort(key=lambda key: things[key].code)
        deliveries = sorted(frontier.lowest.keys() & delivered.keys(), key=lambda key: things[key].code)
        self.keys = [*lots, *deliveries]
        self._column = {key: number for number, key in enumerate(self.keys)}
        self._lots = [things[key].code for key in lots]
        self._deliveries = [things[key].code for key in deliveries]
        to: dict[str, list[int]] = defaultdict(list)
        for key in deliveries:
            if customer := delivered[key].customer:
                to[customer].append(key)
        self._customers = {code: self.bits(to[code]) >> len(lots) for code in sorted(to)}

    def bits(self, keys: Iterable[int]) -> int:
        """Return the columns of those of the things that have one."""
        digits = bytearray(b"0") * (len(self.keys) + 1)
        for key in keys:
            if key in self._column:
                digits[-1 - self._column[key]] = ord("1")
        return int(digits, 2)

    def delivered(self, bits: int) -> int:
        """Return the deliveries among the columns."""
        return bits >> len(self._lots)

    def told(self, bits: int) -> tuple[Codes, Codes, tuple[str, ...]]:
        """Return the lots, the deliveries and the customers among the columns."""
        lots = Codes(self._lots, bits & ((1 << len(self._lots)) - 1))
        delivered = self.delivered(bits)
        to = tuple(code for code, mine in self._customers.items() if delivered & mine)
        return lots, Codes(self._deliveries, delivered), to


def _begin(spell: Spell | None) -> int:
    return -EVER if spell is None or spell.start is None else spell.start
