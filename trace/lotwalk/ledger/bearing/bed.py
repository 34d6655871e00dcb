"""Which lots stand on an item, within one transaction, when something happens to it."""

import json
from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterable, Sequence
from itertools import accumulate
from typing import NamedTuple

from lotwalk.ledger.bearing.facts import BEARS, CARRIES, CONTAINS, FILLED, FINISHED, VACATED
from lotwalk.ledger.bearing.finishing import History, crops
from lotwalk.ledger.bearing.ground import Ground, tells_of
from lotwalk.ledger.bearing.kept import Kept
from lotwalk.ledger.bearing.left import Left
from lotwalk.ledger.bearing.model import Bearer, Moment, Said, bearers, carried, said, stored_said
from lotwalk.ledger.evidence import BookEvidence
from lotwalk.ledger.model import Pending, ThingRow
from lotwalk.ledger.read.bearing import EVER, contacts_within, last_breaks, texts_of
from lotwalk.values.roles import Role

_FEW = 4


class _Stand(NamedTuple):
    """A lot on an item, the moments that end it, and the last second on which it can stand there."""

    lot: ThingRow
    bearer: Bearer
    ends: tuple[Moment, ...]
    until: int


class Bed:
    """Answers what stands on items.

    Nothing that still bears passes a clean break, so what came to stand on an item before its latest one stands there
    no longer, and is not read.
    """

    def __init__(self, ground: Ground, evidence: BookEvidence, keeps: int) -> None:
        # `keeps` is how many seconds things keep of which nothing else is known.
        self.ground = ground
        self.kept = Kept(ground, Left(ground, evidence, keeps), self._stood_on)
        self.kinds = ground.kinds
        self.evidence = evidence
        self._doubted = False
        self._making = {*self.kinds.telling(BEARS), *self.kinds.telling(CONTAINS)}
        self._carrying = {*self.kinds.telling(CARRIES), *self.kinds.telling(FILLED)}
        self._emptying = set(self.kinds.telling(VACATED))
        self._emptied_by = {*self._making, *self._emptying}
        things = self.kinds.things
        self._growing = {one for one in things if any(tells_of(self.kinds, one, fact) for fact in (BEARS, CARRIES))}
        holding = {one for one in things if any(tells_of(self.kinds, one, fact) for fact in (CONTAINS, FILLED))}
        self.bearing_kinds = self._growing | holding
        self._said: dict[int, list[tuple[ThingRow, Bearer]]] = defaultdict(list)
        self._read: dict[int, tuple[int, int]] = {}
        self._texts: set[int] = set()
        self._emptied: dict[int, set[Moment]] = defaultdict(set)
        self._stands: dict[int, tuple[list[int], list[int], list[_Stand]]] = {}
        self._crops = crops(self.kinds)
        self._histories: dict[int, History] = {}

    def may_bear(self, item: ThingRow) -> bool:
        """Return whether anything can stand on such an item."""
        return item.kind in self.bearing_kinds

    def grows(self, item: ThingRow) -> bool:
        """Return whether something may stand on such an item until it is finished."""
        return item.kind in self._growing

    def doubt_breaks(self) -> None:
        """From now on take no clean break as a sign, since its verdict may hold no more by what the batch says."""
        self._doubted = True
        self._read.clear()

    def see(self, pendings: Sequence[Pending]) -> None:
        """Take note of what the entries of the batch say."""
        self.kept.see(pendings)
        for pending in pendings:
            name = pending.checked.kind.name
            if name in self._making or name in self._carrying:
                self._note(said(pending))

    def fetch(self, wanted: Iterable[tuple[ThingRow, Moment]]) -> None:
        """Read what the ledger says of what stood on many items at some moments."""
        spans: dict[int, tuple[int, int]] = {}
        for item, at in wanted:
            for key in (item.id, *self.ground.predecessors(item.id)) if self.may_bear(item) else ():
                if key not in self.ground.names.new:
                    low, high = spans.get(key, (at.start, at.end))
                    spans[key] = min(low, at.start), max(high, at.end)
        fresh = {
            key: span
            for key, span in spans.items()
            if key not in self._read or span[0] < self._read[key][0] or span[1] > self._read[key][1]
        }
        if not fresh:
            return
        self._read |= fresh
        connection, amended = self.ground.connection, self.ground.amended
        breaks = {} if self._doubted else last_breaks(connection, [(key, low) for key, (low, _) in fresh.items()])
        reach = [(key, breaks.get(key, -EVER), high) for key, (_, high) in sorted(fresh.items())]
        found = contacts_within(connection, reach, self._making | self._carrying | self._emptying)
        for use in found:
            self._stands.pop(use.thing, None)
            if use.kind in self._emptying and use.seq not in amended:
                self._emptied[use.thing].add(Moment(use.start, use.end, use.group, use.line))
        bearing = {use.seq for use in found if use.kind in self._making or use.kind in self._carrying}
        for record, group in texts_of(connection, bearing - set(amended) - self._texts):
            self._note(stored_said(json.loads(record), group))
        self._texts |= bearing

    def ever_in(self, item: ThingRow, since: int) -> list[ThingRow]:
        """Return the lots that stood on or in an item at any time from a second on, or came there later."""
        self.fetch([(item, Moment(since, EVER, 0, 0))])
        keys = (item.id, *self.ground.predecessors(item.id))
        return list({stand.lot.id: stand.lot for key in keys for stand in self._of(key)[2]}.values())

    def on(self, item: ThingRow, at: Moment, kind: str, *, takes: bool = False) -> list[ThingRow]:
        """Return the lots that stand on an item when an entry of a kind touches it; `takes`: it takes lots too."""
        found: dict[int, ThingRow] = {}
        for key in (item.id, *self.ground.predecessors(item.id)):
            starts, furthest, stands = self._of(key)
            place = bisect_right(starts, at.end)
            while place and furthest[place - 1] >= at.start:
                place -= 1
                lot, bearer, ends, until = stands[place]
                # Whoever fills a crate, takes something out of it or washes it may have emptied it of all else first.
                empty = bearer.fact == CONTAINS and (takes or kind in self._emptied_by)
                if until < at.start or empty or at.surely_before(bearer.since):
                    continue
                if not any(end.surely_before(at) for end in ends):
                    found[lot.id] = lot
        return list(found.values())

    def _stood_on(self, item: ThingRow, at: Moment) -> list[ThingRow]:
        self.fetch([(item, at)])
        return self.on(item, at, "")

    def _note(self, entry: Said) -> None:
        names = self.ground.names
        if entry.kind in self._making:
            lots = [lot for role, code, _ in entry.uses if role is Role.MADE and (lot := names.find(code))]
            for bearer in bearers(entry, self.kinds, names) if lots else ():
                for lot in lots if bearer.fact else ():
                    self._add(lot, bearer)
        for lot, later in carried(entry, self.kinds, names) if entry.kind in self._carrying else ():
            for bearer in later:
                self._add(lot, bearer)

    def _add(self, lot: ThingRow, bearer: Bearer) -> None:
        self._said[bearer.item.id].append((lot, bearer))
        self._stands.pop(bearer.item.id, None)

    def _of(self, item: int) -> tuple[list[int], list[int], list[_Stand]]:
        """What came to stand on an item, by when; the latest second until which any of the first so many stands; and
        what it was."""
        if item not in self._stands:
            came = sorted(self._said.get(item, ()), key=lambda one: one[1].since)
            emptied = sorted({*self._emptied.get(item, ()), *self.ground.emptied_now(item)})
            stands = [self._stand(lot, bearer, emptied) for lot, bearer in came]
            starts = [one.bearer.since.start for one in stands]
            self._stands[item] = starts, list(accumulate((one.until for one in stands), max)), stands
        return self._stands[item]

    def _stand(self, lot: ThingRow, bearer: Bearer, emptied: Sequence[Moment]) -> _Stand:
        if lot.kind not in self._crops:
            ended = self.evidence.telling(FINISHED, lot.code)
        else:
            history = self._histories.get(lot.id) or History(self.evidence, lot.code)
            ended = self._histories.setdefault(lot.id, history).ends([bearer.item.code])
        ends = [Moment(one.start, one.end, one.group, one.line) for one in ended]
        if bearer.fact == CONTAINS:
            # Of many the first few tell: what was emptied then stays so.
            place = bisect_left(emptied, bearer.since)
            ends += [one for one in emptied[place : place + _FEW] if bearer.since.surely_before(one)]
        return _Stand(lot, bearer, tuple(ends), min((one.end for one in ends), default=EVER))
