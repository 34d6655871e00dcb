"""Whom to call in a recall, in which order, what they hold, and what to say."""

from collections import defaultdict
from collections.abc import Sequence

from lotwalk.ledger.read.likeness import first_said, sayers
from lotwalk.pages.tracing.desk import Desk
from lotwalk.pages.tracing.flow import TICK, Column, Flow
from lotwalk.recall.answer import Answer
from lotwalk.recall.model import Delivered
from lotwalk.recall.response.package_marks import BARE, bag_list
from lotwalk.recall.words.tables import CallRow, call_rows

_TICKS = "\n".join(
    (
        f"{TICK}reached, at ......",
        "by telephone / ......",
        f"{TICK}confirmed in writing",
        "found ..............",
        "returned ...........",
        "destroyed ..........",
        "passed on to .......",
    )
)

SCRIPT = (
    "Say who you are and that this is a food recall. Let them write down the lot codes and read them back.",
    "Say: stop using it, selling it and serving it now; put it apart and mark it.",
    "Ask how much they got, used, sold and still have, and whom they passed it on to. Those must be told today.",
    "Say what is to be done with it: kept for you to fetch, or destroyed in front of a witness.",
    "Ask for their name. Note the time, and send the notice below at once, so that the call is confirmed in writing.",
    "Promise nothing and guess nothing: of what it is and how it came about, say what the regulator agreed to.",
)

_ACTIONS = (
    "Stop using, selling and serving it now. Put it apart, and mark it so that nobody takes it.",
    "If any of it went on to others, tell them today, and give them this notice.",
    "Until you hear from us: keep it cold and apart for us to fetch [  ]   destroy it, and write down how much [  ]",
    "Tell us at once, even if you have none left: how much you got, used, passed on, and still have.",
)


def add_calls(flow: Flow, desk: Desk, answer: Answer) -> None:
    """Place a row for each customer, in the order in which to call them, with room for the answers."""
    flow.page()
    flow.heading("Customers to call, in this order")
    for number, sentence in enumerate(SCRIPT, 1):
        flow.words(f"{number}. {sentence}")
    if not answer.calls:
        flow.words("No customer got anything in this scope, on the evidence in this book.", bold=True)
        return
    flow.words("The closest level comes first, and in it who got most. Record each call, also one that nobody answers.")
    of: dict[str | None, list[Delivered]] = defaultdict(list)
    for one in answer.scope.deliveries:
        of[one.customer].append(one)
    rows = [
        (
            str(number),
            _who(desk, row),
            f"Level {row.level}: {row.got}, in all\n{_held(desk, answer, of[row.customer])}",
            _TICKS,
        )
        for number, row in enumerate(call_rows(answer.calls, desk.units), 1)
    ]
    columns = (Column("", 3, bold=True), Column("Customer", 22), Column("What they got", 46), Column("Answer", 20))
    flow.grid(columns, rows)
    if of[None]:
        flow.words("Deliveries to nobody in the book:", bold=True)
        flow.words(_held(desk, answer, of[None]))


def _who(desk: Desk, row: CallRow) -> str:
    contact = desk.contact(row.customer)
    parts = (
        contact.title,
        f"Ask for {row.contact}" if row.contact else "Nobody is named to ask for",
        row.phone or "NO NUMBER IN THE BOOK",
        contact.email,
        contact.address,
        f"In the book: {row.told}" if row.told else "",
    )
    return "\n".join(filter(None, parts))


def _held(desk: Desk, answer: Answer, deliveries: Sequence[Delivered]) -> str:
    """Each delivery with its lots, their amounts and what stands on the packages."""
    bags = answer.bags
    return "\n".join(
        f"{one.at}  {one.code}: {'; '.join(bags.get(item.lot, BARE).beside(desk.item(item)) for item in one.items)}"
        for one in deliveries
    )


def _delivered(answer: Answer) -> list[str]:
    return list(dict.fromkeys(item.lot for one in answer.scope.deliveries for item in one.items))


def add_notice(flow: Flow, desk: Desk, answer: Answer) -> None:
    """Place the notice that confirms the calls in writing, with what a recall message must say."""
    flow.page()
    flow.heading("Notice to send")
    flow.words(
        "Have it read by the regulator before it goes out. Mark it URGENT where they assign class I or II. It holds"
        " nothing that praises any product."
    )
    flow.framed(
        [
            "FOOD RECALL            URGENT [  ]",
            f"From: {desk.settings.name}, {desk.settings.location}",
            "To: ........................................................    Date and time: ....................",
            "We recall the following, delivered by us:",
            *_products(desk, answer),
            "The reason: ........................................................................................",
            *_ACTIONS,
            "Call: ................................................................   Ask for: ....................",
            "Name, date, signature: ...............................................................................",
        ]
    )


def _products(desk: Desk, answer: Answer) -> list[str]:
    """A line for each product among what was delivered: what it is called, and its lots with what stands on them."""
    lots = _delivered(answer)
    names = desk.names(lots)
    keys = desk.keys(lots)
    said = sayers(desk.connection, desk.kinds, keys)
    sizes = {keys[key]: str(first_said(versions, "pack_size") or "") for key, versions in said.items()}
    on = answer.bags
    products: dict[tuple[str, str], list[str]] = {}
    for lot in lots:
        products.setdefault((names.get(lot, ""), sizes.get(lot, "")), []).append(lot)
    return [
        f"{name or 'Product: ..............'}{f', packs of {size}' if size else ''}: lots {bag_list(sorted(codes), on)}"
        for (name, size), codes in sorted(products.items())
    ]
