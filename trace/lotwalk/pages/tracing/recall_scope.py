"""The scope of a recall: what is still here to be held, the balance, the levels, and every lot and delivery."""

from lotwalk.balance.model import Balance, LotBalance
from lotwalk.pages.tracing.desk import Desk
from lotwalk.pages.tracing.flow import TICK, Column, Flow
from lotwalk.recall.answer import Answer
from lotwalk.recall.response.package_marks import bag_list
from lotwalk.recall.words.common import code_list, count, delivered_totals, size_words, total_words
from lotwalk.recall.words.tables import hold_rows

HOLD, BALANCE, LOTS = "Lots to hold now", "Balance of the scope", "All lots and deliveries of the widest scope"


def add_holds(flow: Flow, desk: Desk, answer: Answer) -> None:
    """Place what of the scope is, or may be, still on the farm, the closest level first."""
    flow.page()
    flow.heading(HOLD, keep=90)
    found = answer.urgent.holds
    if not found.lots:
        flow.words("Nothing of it is on hand, as far as the book knows. Look in the store all the same.", bold=True)
    else:
        flow.words("Put what is not on hold apart, mark it, and record it. Look for what was never counted, too.")
        names = desk.names([one.code for one in found.lots])
        rows = [
            (
                row.level,
                row.lot,
                "; ".join(filter(None, (row.kind, names.get(row.lot, "")))),
                row.on_hand,
                row.place,
                row.held,
                f"{TICK}put apart",
            )
            for row in hold_rows(found.lots, desk.kinds, desk.units)
        ]
        columns = (
            Column("Level", 6),
            Column("Lot", 16, bold=True),
            Column("What", 28),
            Column("On hand", 22),
            Column("Place", 10),
            Column("On hold", 10),
            Column("Found", 11),
        )
        flow.grid(columns, rows)
    first = {one.code for one in found.lots}
    further = [one for one in answer.holds.lots if one.code not in first]
    if further:
        told = f"Of a wider level, {count(len(further), 'more lot')} on hand or still growing"
        flow.words(f"{told}: {code_list([one.code for one in further])}.")
    if found.old:
        told = f"Of {count(len(found.old), 'older lot')} some is not accounted for either, though none should be left"
        flow.words(f"{told}: {code_list(found.old)}.")


def add_balance(flow: Flow, desk: Desk, found: Balance) -> None:
    """Place the balance of the scope: what was made against where it went, and the percentage accounted for."""
    flow.heading(BALANCE)
    totals = delivered_totals(found)
    if not totals:
        flow.words("Nothing of the scope was delivered in a measured amount.")
    for one in totals:
        flow.words(total_words(one, desk.units), bold=True)
    delivered = [one for one in found.lots if one.sums.delivered]
    even = [one for one in delivered if one.sums.unaccounted == 0 and not one.sums.on_hand]
    rows = [
        (
            one.code,
            desk.amount(one.sums.made, one.unit) or "not said",
            desk.amount(one.sums.delivered, one.unit),
            desk.amount(one.sums.disposed, one.unit),
            desk.amount(one.sums.returned, one.unit),
            _there(desk, one),
            desk.amount(one.reckoned.unaccounted, one.unit),
            "" if one.reckoned.percent is None else f"{one.reckoned.percent:.1f} %",
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


def _there(desk: Desk, one: LotBalance) -> str:
    if one.growing:
        return f"{desk.amount(one.growing, one.unit)}, still growing"
    return desk.amount(one.sums.on_hand, one.unit) if one.sums.on_hand is not None else "not counted"


def add_lots(flow: Flow, desk: Desk, answer: Answer) -> None:
    """Place every lot of the scope by its code, and every delivery."""
    scope = answer.scope
    flow.heading(LOTS)
    flow.words(f"{size_words(scope)}, at whatever level.", bold=True)
    for told in by_kind(desk, answer):
        flow.words(told)
    rows = [
        (
            one.at,
            one.code,
            desk.contact(one.customer).title if one.customer else "",
            ", ".join(map(desk.item, one.items)),
        )
        for one in scope.deliveries
    ]
    columns = (Column("Delivered", 14), Column("Delivery", 10, bold=True), Column("Customer", 28), Column("Lots", 48))
    flow.grid(columns, rows)


def by_kind(desk: Desk, answer: Answer) -> list[str]:
    """Return a sentence for each kind of lot: how many, and their codes, with what stands on the packages."""
    found: dict[str, list[str]] = {}
    for one in answer.balance.lots:
        found.setdefault(one.kind, []).append(one.code)
    return [
        f"{count(len(codes), kind.title.lower(), kind.plural.lower())}: {bag_list(sorted(codes), answer.bags)}"
        for name, codes in sorted(found.items())
        if (kind := desk.kinds.things[name])
    ]
