"""The call sheet of a recall: one customer after another, with what they got and room for what they answer."""

from collections import defaultdict
from collections.abc import Sequence

from lotwalk.pages.cautions import caution
from lotwalk.pages.tracing.desk import Desk
from lotwalk.pages.tracing.flow import HEADING, SMALL, Column, Flow
from lotwalk.pages.tracing.products import goods
from lotwalk.recall.answer import Answer
from lotwalk.recall.model import Delivered
from lotwalk.recall.response.urgent import in_date
from lotwalk.recall.words.common import code_list, count
from lotwalk.recall.words.tables import CallRow, call_rows, first_call_rows

SHEET = "Customers to call, in this order"

SCRIPT = (
    "Say who you are and that this is a food recall. Let them write down the lot codes and read them back.",
    "Say: stop using it, selling it and serving it now; put it apart and mark it.",
    "Ask how much they got, used, sold and still have, and whom they passed it on to. Those must be told today.",
    "Say what is to be done with it: kept for you to fetch, or destroyed in front of a witness.",
    "Ask for their name. Note the time, and send their letter at once, so that the call is confirmed in writing.",
    "Promise nothing and guess nothing: of what it is and how it came about, say what the regulator agreed to.",
)

_D = "." * 12
ANSWER = (
    f"[  ] reached   [  ] NOT reached   at {_D}   spoke to {_D}{_D}   letter sent at {_D}   by {_D}",
    f"found {_D}   used {_D}   sold {_D}   returned {_D}   destroyed {_D}   passed on to {_D}{_D}",
)
"""The lines under what a customer got, for what they answer."""

_COLUMNS = (
    Column("Delivered", 16),
    Column("Delivery", 11),
    Column("Lot", 14, bold=True),
    Column("Product", 25),
    Column("Pack", 8),
    Column("Best before", 12),
    Column("Printed", 14),
    Column("Amount", 11, right=True),
    Column("In date", 8),
)
_BLOCK = 110.0


def add_calls(flow: Flow, desk: Desk, answer: Answer) -> None:
    """Place each customer with what they got, in the order in which to call them, and room for the answer."""
    flow.page()
    flow.heading(SHEET)
    private = caution("private-addresses")
    flow.words(f"{private.subject}. {private.says}", size=SMALL)
    for number, sentence in enumerate(SCRIPT, 1):
        flow.words(f"{number}. {sentence}")
    first = answer.urgent
    if not first.calls:
        flow.words("No customer got any of it, on the evidence in this book.", bold=True)
    of: dict[str | None, list[Delivered]] = defaultdict(list)
    for one in first.scope.deliveries:
        of[one.customer].append(one)
    rows = zip(
        first_call_rows(first.calls, desk.units), call_rows((one.call for one in first.calls), desk.units), strict=True
    )
    for number, (row, got) in enumerate(rows, 1):
        flow.keep(_BLOCK)
        flow.space(4)
        flow.words(f"{number}. {desk.contact(got.customer).title}", size=HEADING, bold=True)
        flow.words(_reached_by(desk, got))
        _add_got(flow, desk, answer, of[got.customer])
        told = f"{got.got} in all{f', of what was asked about {row.asked}' if row.asked else ''}."
        flow.words(f"{told}{f' In the book: {got.told}.' if got.told else ''}")
        for line in ANSWER:
            flow.words(line)
    if of[None]:
        flow.words("Deliveries to nobody in the book:", bold=True)
        _add_got(flow, desk, answer, of[None])
    further = [one.customer for one in answer.calls if one.customer not in of]
    if further:
        who = f"{count(len(further), 'more customer')} got something of a wider level: {code_list(sorted(further))}."
        flow.words(f"{who} They are on this sheet where it is printed with --level.")


def _reached_by(desk: Desk, got: CallRow) -> str:
    contact = desk.contact(got.customer)
    parts = (
        f"Ask for {got.contact}" if got.contact else "Nobody is named to ask for",
        got.phone or "NO NUMBER IN THE BOOK",
        contact.email,
        contact.address,
    )
    return "   ".join(filter(None, parts))


def _add_got(flow: Flow, desk: Desk, answer: Answer, deliveries: Sequence[Delivered]) -> None:
    bags, on = answer.marks, answer.urgent.on
    rows = [
        (
            one.at,
            one.delivery,
            one.lot,
            one.product,
            one.pack,
            one.bag.best_before,
            one.bag.printed,
            one.amount,
            "yes" if in_date(bags, one.lot, on) else "no",
        )
        for one in goods(desk, deliveries, bags)
    ]
    flow.grid(_COLUMNS, rows)
