"""What a mass balance tells people: a line for each lot, why it does not balance, and the total."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from lotwalk.balance.limits import ACCOUNTED
from lotwalk.balance.model import LotBalance, ScopeTotal, total, written
from lotwalk.balance.onward import Onward
from lotwalk.balance.weighing import Weighing
from lotwalk.cli.output import print_table, say
from lotwalk.cli.words import code_list, count
from lotwalk.kinds.library import Kinds
from lotwalk.values.units import Units

CAUTION = (
    "This is arithmetic on what is in the book. It does not show that any food is safe, whether it balances or not."
)

_MOST = 12
"""So many entries are named; of more the rest is counted."""


class BalanceView:
    """The answer."""

    def __init__(self, weighed: Weighing, units: Units, kinds: Kinds) -> None:
        self.weighed = weighed
        self.found = weighed.found
        self.further = weighed.further
        self.limits = weighed.limits
        self.units = units
        self.kinds = kinds

    def json(self) -> dict[str, Any]:
        """Return the balances as JSON, with the tolerance that they are held against."""
        low, high = self.limits.accounted
        out = self.found.json() | {
            "tolerance_percent": {"from": written(low), "to": written(high)},
            "balanced": self.weighed.balanced,
        }
        for lot, one in zip(self.found.lots, out["lots"], strict=True):
            one["balanced"] = self.weighed.balances(lot)
            if lot.code in self.further:
                one["onward"] = [further.json() for further in self.further[lot.code]]
        return out

    def csv(self) -> tuple[Sequence[str], Sequence[Sequence[object]]]:
        """Return a row for each lot; `used` is the sum, `used_by` the kinds of record with the amount of each."""
        columns = ("code", "kind", "unit", "made", "returned", "used", "used_by", "delivered", "disposed", "sampled")
        more = ("counted", "on_hand", "unaccounted", "accounted_percent", "balanced")
        rows = []
        for lot in self.found.lots:
            one = lot.json() | {
                "used": written(total(lot.sums.used.values())),
                "used_by": "; ".join(f"{kind} {written(amount)}" for kind, amount in lot.sums.used.items()),
                "balanced": "yes" if self.weighed.balances(lot) else "no",
            }
            rows.append([one[column] for column in (*columns, *more)])
        return (*columns, *more), rows

    def table(self) -> None:
        """Print the lots, what is to be said of each, the total of several, and where they went on to."""
        rows = [[lot.code, *self._cells(lot, lot.unit)] for lot in self.found.lots]
        print_table(*_filled(("Lot", *_COLUMNS), rows), whole=1)
        for lot in self.found.lots:
            for line in self._notes(lot):
                say(f"{lot.code}: {line}")
        self._print_totals()
        for code, further in self.further.items():
            self._print_onward(code, further)
        low, high = self.limits.accounted
        tolerance = self.limits.basis.get(ACCOUNTED, "no rule gives a tolerance")
        bad = [lot.code for lot in self.found.lots if not self.weighed.balances(lot)]
        told = f"Does NOT balance: {code_list(bad)}." if bad else "Every lot balances."
        say(f"{told} Balanced is {low:f} to {high:f} % accounted for ({tolerance}).")
        say(CAUTION)

    def _cells(self, one: LotBalance | ScopeTotal, unit: str | None) -> list[str]:
        sums, reckoned = one.sums, one.reckoned
        used = "; ".join(f"{self._show(amount, unit)} {self._kind(kind)}" for kind, amount in sums.used.items())
        went = (sums.delivered, sums.disposed, sums.sampled)
        return [
            "not known" if sums.made is None else self._show(sums.made, unit),
            self._some(sums.returned, unit),
            used,
            *(self._some(amount, unit) for amount in went),
            "" if sums.on_hand is None else self._show(sums.on_hand, unit),
            self._some(one.growing, unit),
            "" if reckoned.unaccounted is None else self._some(reckoned.unaccounted, unit),
            "" if reckoned.percent is None else f"{reckoned.percent:.1f} %",
        ]

    def _kind(self, name: str) -> str:
        return self.kinds[name].title.lower()

    def _some(self, amount: Decimal, unit: str | None) -> str:
        return self._show(amount, unit) if amount else ""

    def _show(self, amount: Decimal, unit: str | None) -> str:
        if unit == "count" and amount != amount.to_integral_value():
            return f"{amount:.2f}"  # a share of a tray
        return self.units.show(amount, unit) if unit else f"{amount:f}"

    def _notes(self, lot: LotBalance) -> list[str]:
        notes = []
        if lot.void:
            notes.append("the entry that made it is void.")
        elif lot.sums.made is None:
            notes.append("nobody wrote down how much there was, so it cannot be weighed up.")
        if lot.unmeasured:
            notes.append(f"{_entries(lot.unmeasured)} took from it and {_do(lot.unmeasured)} not say how much.")
        if lot.unlike:
            notes.append(f"left out, since in another unit than the lot's {lot.unit}: {_entries(lot.unlike)}.")
        if lot.sums.on_hand is not None and lot.sums.on_hand < 0:
            notes.append("more of it was taken since it was counted than was found then.")
        if lot.sums.unaccounted is not None and lot.sums.unaccounted < 0:
            notes.append("more of it was taken or found than there was.")
        if lot.growing:
            notes.append(
                "it still stands where it was sown, as far as the book knows: no harvest and no disposal has finished"
                " it. Look whether it does."
            )
        short = lot.sums.percent is not None and lot.sums.percent < self.limits.accounted[0]
        if short and lot.sums.on_hand is None and not lot.growing and not lot.void:
            notes.append(f"never counted, so all that is left stands as missing. Count it{self._how(lot)}.")
        return notes

    def _how(self, lot: LotBalance) -> str:
        kinds = self.kinds.telling("counted")
        return f": `lotwalk record {kinds[0]} --lot {lot.code}`" if kinds else ""

    def _print_totals(self) -> None:
        found = self.found
        if len(found.lots) < 2:
            return
        rows = [
            [
                f"{'Bought' if one.bought else 'Made here'}, {count(len(one.lots), 'lot')}",
                *self._cells(one, one.unit),
            ]
            for one in found.totals
            if one.sums.came_in or one.sums.taken or one.sums.on_hand is not None
        ]
        title = "All of them, each without what was used to make another of them, so that nothing is counted twice:"
        if rows:
            print_table(*_filled(("Total", *_COLUMNS), rows), title=title)
        if found.left_out:
            say(f"In no total, since nobody wrote down how much there was: {code_list(found.left_out)}.")

    def _print_onward(self, code: str, further: Sequence[Onward]) -> None:
        if not further:
            say(f"Nothing was made of {code}.")
            return
        rows = [
            [
                one.code,
                self.kinds.things[one.kind].title,
                f"{100 * float(one.share):.1f} %",
                "not known" if one.made is None else self._show(one.made, one.unit),
                self._some(one.delivered, one.unit),
                "" if one.on_hand is None else self._show(one.on_hand, one.unit),
            ]
            for one in further
        ]
        title = f"With some of {code} inside; a blend is shared out in proportion to what went in:"
        print_table(("Lot", "Kind", f"Of {code}", "That is", "Delivered", "On hand"), rows, title=title, whole=1)


_COLUMNS = (
    "Made",
    "Returned",
    "Used",
    "Delivered",
    "Disposed",
    "Sampled",
    "On hand",
    "Growing",
    "Missing",
    "Accounted",
)


def _filled(columns: Sequence[str], rows: Sequence[Sequence[str]]) -> tuple[list[str], list[list[str]]]:
    """The columns in which something stands."""
    kept = [number for number, _ in enumerate(columns) if any(row[number] for row in rows)]
    return [columns[number] for number in kept], [[row[number] for number in kept] for row in rows]


def _entries(names: Sequence[str]) -> str:
    more = len(names) - _MOST
    return f"{', '.join(names[:_MOST])}{f' and {more} more' if more > 0 else ''}"


def _do(names: Sequence[str]) -> str:
    return "does" if len(names) == 1 else "do"
