"""Lots as the checks follow them: who made and took each, what was made of it, and whether any is left."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from functools import cached_property

from lotwalk.balance.limits import Limits
from lotwalk.balance.model import LotBalance
from lotwalk.balance.reckoning import balance
from lotwalk.checks.records import Records
from lotwalk.ledger.entry import Entry
from lotwalk.values.roles import Role


class Lots:
    """The lots of the book, read at once."""

    def __init__(self, records: Records) -> None:
        self.records = records
        self.taken: dict[str, list[Entry]] = defaultdict(list)
        """The entries that took of each lot, by time."""
        self._named: dict[str, list[Entry]] = defaultdict(list)
        for record in records.followed:
            for code in _used(record, Role.TOOK):
                self.taken[code].append(record)
            for use in record.version.uses:
                if not self._named[use.code] or self._named[use.code][-1] is not record:
                    self._named[use.code].append(record)

    def naming(self, code: str) -> list[Entry]:
        """Return the entries that name a thing, by time."""
        return self._named.get(code, [])

    def made_by(self, record: Entry) -> list[str]:
        """Return the lots that an entry made."""
        return _used(record, Role.MADE)

    def onward(self, codes: Iterable[str]) -> list[str]:
        """Return these lots and every lot that was made of them, through any number of steps."""
        reached = dict.fromkeys(codes)
        waiting = list(reached)
        while waiting:
            for record in self.taken.get(waiting.pop(), ()):
                for made in self.made_by(record):
                    if made not in reached:
                        reached[made] = None
                        waiting.append(made)
        return list(reached)

    def bought(self, code: str) -> Iterator[str]:
        """Yield the lots from outside that a lot is, or was made of."""
        seen, waiting = {code}, [code]
        while waiting:
            one = waiting.pop()
            thing = self.records.thing(one)
            kind = self.records.kinds.things.get(thing.kind) if thing else None
            if kind and kind.bought and kind.counted:
                yield one
                continue
            made = self.records.maker(one)
            for taken in _used(made, Role.TOOK) if made else ():
                if taken not in seen:
                    seen.add(taken)
                    waiting.append(taken)

    @cached_property
    def balances(self) -> dict[str, LotBalance]:
        """The balance of every lot, by its code."""
        connection = self.records.connection
        return {lot.code: lot for lot in balance(connection, self.records.weighed(), self.records.kinds).lots}

    def used_up(self, code: str) -> bool:
        """Return whether the book shows that nothing is left of a lot. What is not known may be left."""
        lot = self.balances.get(code)
        if lot is None:
            return False
        if lot.sums.on_hand is not None:
            return lot.sums.on_hand <= 0
        missing = lot.sums.unaccounted
        return any(taking.rest for taking in lot.takings) or (missing is not None and missing <= 0)

    def nearly_gone(self, code: str) -> bool:
        """Return whether the book accounts for as much of a lot as the rule set asks, with nothing of it on hand."""
        lot = self.balances.get(code)
        percent = lot.sums.percent if lot else None
        if lot is None or percent is None or (lot.sums.on_hand or 0) > 0:
            return self.used_up(code)
        return self.used_up(code) or percent >= Limits.of(self.records.rules).accounted[0]


def _used(record: Entry, role: Role) -> list[str]:
    return list(dict.fromkeys(use.code for use in record.version.uses if use.role is role))
