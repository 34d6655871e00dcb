"""The scope of a recall: what is still here to be held, the balance, the rings, and every lot and delivery."""

from collections.abc import Sequence

from lotwalk.balance.model import Balance, LotBalance
from lotwalk.pages.tracing.case import Case
from lotwalk.pages.tracing.desk import Desk
from lotwalk.pages.tracing.flow import Column, Flow
from lotwalk.pages.tracing.recall_front import delivered_totals, told_total
from lotwalk.recall.words import RINGS, code_list, count


def add_holds(flow: Flow, desk: Desk, found: Balance) -> None:
    """Place the lots of the scope that may still be on the farm, those with something on hand first."""
    flow.heading("Lots to hold now")
    flow.words(
        "Put them apart and mark them. On hand is what the last count found, less what went out since. What was never"
        " counted may all still be here: look."
    )
    lots = [one for one in found.lots if _may_be_here(one)]
    if not lots:
        flow.words("By the book nothing of the scope is left on the farm. Look all the same.", bold=True)
        return
    sold = {one.kind for one in found.lots if one.sums.delivered}
    first = [one for one in lots if one.sums.on_hand or one.kind in sold]
    if first:
        _add_held(flow, desk, sorted(first, key=lambda one: (not one.sums.on_hand, one.code)))
    others = [one for one in lots if one not in first]
    if others:
        flow.words("Look for these too. What is used up by now was not written down as used up.", bold=True)
        for told in by_kind(desk, others):
            flow.words(told)


def _add_held(flow: Flow, desk: Desk, lots: Sequence[LotBalance]) -> None:
    names = desk.names([one.code for one in lots])
    rows = [
        (
            one.code,
            "; ".join(part for part in (desk.kinds.things[one.kind].title, names.get(one.code, "")) if part),
            desk.amount(one.sums.on_hand, one.unit) if one.sums.on_hand is not None else "never counted",
            desk.amount(one.sums.unaccounted, one.unit) or "not known",
            "[ ] held",
        )
        for one in lots
    ]
    flow.grid(
        (
            Column("Lot", 16, bold=True),
            Column("What", 30),
            Column("On hand", 16, right=True),
            Column("Unaccounted for", 16, right=True),
            Column("Found and held", 16),
        ),
        rows,
    )


def _may_be_here(lot: LotBalance) -> bool:
    """Whether something of a lot is on hand, or it is not known where all of it went."""
    return bool(lot.sums.on_hand) or lot.sums.unaccounted is None or lot.sums.unaccounted > 0


def add_balance(flow: Flow, desk: Desk, found: Balance) -> None:
    """Place the balance of the scope: what was made against where it went, and the percentage accounted for."""
    flow.heading("Balance of the scope")
    totals = delivered_totals(found)
    if not totals:
        flow.words("Nothing of the scope was delivered in a measured amount.")
    for one in totals:
        flow.words(told_total(desk, one), bold=True)
    delivered = [one for one in found.lots if one.sums.delivered]
    even = [one for one in delivered if one.sums.unaccounted == 0 and not one.sums.on_hand]
    rows = [
        (
            one.code,
            desk.amount(one.sums.made, one.unit) or "not said",
            desk.amount(one.sums.delivered, one.unit),
            desk.amount(one.sums.disposed, one.unit),
            desk.amount(one.sums.returned, one.unit),
            desk.amount(one.sums.on_hand, one.unit) if one.sums.on_hand is not None else "not counted",
            desk.amount(one.sums.unaccounted, one.unit),
            "" if one.sums.percent is None else f"{one.sums.percent:.1f} %",
        )
        for one in delivered
        if one not in even
    ]
    if rows:
        titles = ("Made", "Delivered", "Disposed", "Came back", "On hand", "Unaccounted", "Accounted")
        flow.grid((Column("Lot", 16, bold=True), *(Column(title, 12, right=True) for title in titles)), rows)
    if even:
        flow.words(
            f"{count(len(even), 'delivered lot')} accounted for in full: {code_list([one.code for one in even])}."
        )
    if found.left_out:
        flow.words(f"In no total, since their amount is not known: {code_list(found.left_out)}.")


def add_rings(flow: Flow, case: Case) -> None:
    """Place the running totals ring by ring."""
    flow.heading("The scope ring by ring", keep=150)
    flow.words("Each ring holds those before it: the further out, the longer the way from what was asked.")
    rows = [
        (
            str(one.ring),
            RINGS[one.ring] + (" (chosen)" if one.ring == case.ring else ""),
            str(one.lots),
            str(one.deliveries),
            str(one.customers),
        )
        for one in case.found.totals
    ]
    flow.grid(
        (
            Column("Ring", 6, bold=True),
            Column("Reached from what was asked", 52),
            Column("Lots", 12, right=True),
            Column("Deliveries", 12, right=True),
            Column("Customers", 12, right=True),
        ),
        rows,
    )


def add_lots(flow: Flow, desk: Desk, case: Case, found: Balance) -> None:
    """Place every lot of the scope by its code; what was delivered stands with the customers to call."""
    flow.heading(f"All lots in the scope: {len(case.scope.lots)}")
    for told in by_kind(desk, found.lots):
        flow.words(told)


def by_kind(desk: Desk, lots: Sequence[LotBalance]) -> list[str]:
    """Return a sentence for each kind of lot: how many, and their codes."""
    found: dict[str, list[str]] = {}
    for one in lots:
        found.setdefault(one.kind, []).append(one.code)
    return [
        f"{count(len(codes), kind.title.lower(), kind.plural.lower())}: {code_list(sorted(codes))}"
        for name, codes in sorted(found.items())
        if (kind := desk.kinds.things[name])
    ]
