"""Whom to call in a recall, in which order, what they hold, and what to say."""

from collections.abc import Sequence

from lotwalk.pages.tracing.case import Case
from lotwalk.pages.tracing.desk import Contact, Desk
from lotwalk.pages.tracing.flow import TICK, Column, Flow
from lotwalk.recall.model import Delivered
from lotwalk.recall.words import code_list

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


def add_calls(flow: Flow, desk: Desk, case: Case) -> None:
    """Place a row for each customer, those with the most affected deliveries first, with room for the answers."""
    flow.page()
    flow.heading("Customers to call, in this order")
    for number, sentence in enumerate(SCRIPT, 1):
        flow.words(f"{number}. {sentence}")
    if not case.scope.customers:
        flow.words("No customer got anything in this scope, on the evidence in this book.", bold=True)
        return
    rows = []
    for number, code in enumerate(in_order(case.scope.customers, case.scope.deliveries), 1):
        theirs = [one for one in case.scope.deliveries if one.customer == code]
        rows.append((f"{number}", _who(desk.contact(code)), _held(desk, theirs), _TICKS))
    columns = (Column("", 3, bold=True), Column("Customer", 22), Column("What they got", 46), Column("Answer", 20))
    flow.grid(columns, rows)
    unknown = [one for one in case.scope.deliveries if one.customer is None]
    if unknown:
        flow.words("Deliveries to nobody in the book:", bold=True)
        flow.words(_held(desk, unknown))


def in_order(customers: Sequence[str], deliveries: Sequence[Delivered]) -> list[str]:
    """Return the customers in the order in which to call them: those with the most deliveries first."""
    counts = [one.customer for one in deliveries]
    return sorted(customers, key=lambda code: (-counts.count(code), code))


def _who(contact: Contact) -> str:
    person = f"Ask for {contact.person}" if contact.person else "Nobody is named to ask for"
    phone = contact.phone or "NO NUMBER IN THE BOOK"
    return "\n".join(part for part in (contact.title, person, phone, contact.email, contact.address) if part)


def _held(desk: Desk, deliveries: Sequence[Delivered]) -> str:
    return "\n".join(f"{one.at}  {one.code}: {'; '.join(map(desk.item, one.items))}" for one in deliveries)


def add_notice(flow: Flow, desk: Desk, case: Case) -> None:
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
            *_products(desk, case),
            "The reason: ........................................................................................",
            *_ACTIONS,
            "Call: ................................................................   Ask for: ....................",
            "Name, date, signature: ...............................................................................",
        ]
    )


def _products(desk: Desk, case: Case) -> list[str]:
    """A line for each product among what was delivered: what it is called, and the codes of its lots."""
    lots = list(dict.fromkeys(item.lot for one in case.scope.deliveries for item in one.items))
    names = desk.names(lots)
    sizes = {code: str(version.fields.get("pack_size", "")) for code, version in desk.makers(lots).items()}
    products: dict[tuple[str, str], list[str]] = {}
    for lot in lots:
        products.setdefault((names.get(lot, ""), sizes.get(lot, "")), []).append(lot)
    return [
        f"{name or 'Product: ..............'}{f', packs of {size}' if size else ''}: lots {code_list(sorted(codes))}"
        for (name, size), codes in sorted(products.items())
    ]
