"""Letters of a recall: one a customer, and a notice to hang up where a customer sells to people nobody knows by name.

Each is a file of its own, so that it can be handed over or sent as it is: nothing stands on it but what that customer
got, and neither causes nor other customers are named in it or in the file's own description.

What a letter says follows 21 CFR 7.49 (read in a copy as far as (c)(1)(ii); the rest from memory): it names the product
so that it is found, gives the reason and the hazard, says what to do, asks to tell those it was passed on to, gives a
ready way to answer, and praises nothing.
"""

from dataclasses import dataclass
from typing import BinaryIO

from lotwalk.pages.report import begin
from lotwalk.pages.sheet.frame import MARGIN, Facts, Frame
from lotwalk.pages.sheet.layout import paper_size
from lotwalk.pages.tracing.desk import Contact, Desk
from lotwalk.pages.tracing.flow import ANSWER, HEADING, TEXT, Column, Flow, draw_flow
from lotwalk.pages.tracing.products import Goods, goods
from lotwalk.pages.typeface.fonts import load_fonts
from lotwalk.recall.answer import Answer
from lotwalk.recall.model import Delivered

TITLE = "Food recall"
NOTICE = "Food recall: please check what you bought"

_SELLS_ON = "sells_on"
"""What the record of a customer tells who sells to people nobody knows by name."""

_D = "." * 30
REASON = f"The reason, and the hazard, as agreed with the regulator: {_D * 3}"

TO_DO = (
    "Stop using, selling and serving it now. Put it apart, and mark it so that nobody takes it.",
    "If any of it went on to others, tell them today, and give them a copy of this letter.",
    "Until you hear from us: keep it cold and apart for us to fetch [  ]    destroy it, and write down how much [  ]",
    "Answer at once, also if you have none left: call us, or fill in the lines below and send them back.",
)

REPLY = (
    f"We got {_D[:16]}   still have {_D[:16]}   used {_D[:16]}   sold {_D[:16]}   destroyed {_D[:16]}",
    f"We passed it on to {_D}{_D}   and told them on {_D[:16]}",
    f"Name {_D}   Date, time {_D[:20]}   Signature {_D}",
)

BOUGHT = (
    "Do not eat it, and do not give it to others. Wash your hands after you touched it.",
    "Bring it back to where you bought it, or throw it away in a closed bag.",
    "If you feel ill, ask a doctor, and say what you ate. Anybody may call us with a question.",
)

_LETTER = (
    Column("Product", 26, bold=True),
    Column("Pack", 9),
    Column("Best before", 13),
    Column("Printed on it", 16),
    Column("Lot", 15, bold=True),
    Column("Delivered", 17),
    Column("Delivery", 11),
    Column("Amount", 12, right=True),
)
_NOTICE = (
    Column("Product", 34, bold=True),
    Column("Pack", 12),
    Column("Best before", 18, bold=True),
    Column("Printed on it", 20),
    Column("Lot", 18),
)


@dataclass(frozen=True, slots=True)
class Letter:
    """A letter to a customer, or a notice for the people who buy from one; `name` is its file's, without the ending."""

    customer: str
    name: str
    notice: bool
    goods: tuple[Goods, ...]


def letters(desk: Desk, answer: Answer) -> list[Letter]:
    """Return a letter for each customer to call, in that order, and behind a market stall's the notice for its own."""
    of: dict[str, list[Delivered]] = {one.call.customer: [] for one in answer.urgent.calls}
    for one in answer.urgent.scope.deliveries:
        if one.customer in of:
            of[one.customer].append(one)
    found = []
    for customer, deliveries in of.items():
        got = tuple(goods(desk, deliveries, answer.marks))
        found.append(Letter(customer, customer, False, got))
        if desk.tells(customer, _SELLS_ON):
            found.append(Letter(customer, f"{customer}-notice", True, got))
    return found


def write_letter(desk: Desk, letter: Letter, *, reason: str = "", page_size: str = "", out: BinaryIO) -> int:
    """Write a letter or a notice as a PDF, and return its number of pages.

    `reason` is what was agreed with the regulator; without it there is a line on which to write it. Raises
    NotUnderstood for an unknown page size.
    """
    size = paper_size(page_size or desk.paper, False)
    fonts = load_fonts()
    frame = Frame("letter", _facts(desk, letter), size, fonts)
    flow = Flow(frame.width, frame.height)
    if letter.notice:
        _add_notice(flow, desk, letter, reason)
    else:
        _add_letter(flow, desk, letter, reason)
    canvas = begin(out, desk, NOTICE if letter.notice else TITLE, "Recall of food that was delivered", "en")
    canvas.setPageSize(size)
    frame.prepare(canvas)
    for number, page in enumerate(flow.pages, 1):
        frame.draw_head(canvas, number, len(flow.pages))
        draw_flow(canvas, page, MARGIN, size[1] - frame.top)
        frame.draw_foot(canvas)
        canvas.showPage()
    canvas.save()
    return len(flow.pages)


def _facts(desk: Desk, letter: Letter) -> Facts:
    """What stands around a letter: who sends it, and when it was printed; nothing of the book."""
    printed = desk.facts("", (), (), ())
    return Facts(
        title=NOTICE if letter.notice else f"{TITLE.upper()}            URGENT [  ]",
        farm=desk.settings.name,
        location=desk.settings.location,
        about=(desk.reached_by,) if desk.reached_by else (),
        aside=printed.aside[-1:],
        cautions=(),
        signatures=(),
        head="",
    )


def _add_letter(flow: Flow, desk: Desk, letter: Letter, reason: str) -> None:
    contact = desk.contact(letter.customer)
    flow.space(6)
    flow.words(f"To: {_addressed(contact)}", bold=True)
    flow.space(6)
    flow.words("We recall the following, which we delivered to you:", size=HEADING, bold=True)
    rows = [
        (
            one.product or "....................",
            one.pack,
            one.bag.best_before,
            one.bag.printed,
            one.lot,
            one.at,
            one.delivery,
            one.amount,
        )
        for one in letter.goods
    ]
    flow.grid(_LETTER, rows, size=TEXT)
    flow.space(4)
    flow.words(f"The reason, as agreed with the regulator: {reason}" if reason else REASON, size=ANSWER)
    flow.space(4)
    flow.words("What to do", size=HEADING, bold=True)
    for number, sentence in enumerate(TO_DO, 1):
        flow.words(f"{number}. {sentence}", size=ANSWER)
    flow.space(4)
    flow.words(f"Call us: {_number(desk)}", size=ANSWER, bold=True)
    flow.keep(70)
    flow.space(6)
    flow.words("Your answer", size=HEADING, bold=True)
    for line in REPLY:
        flow.space(5)
        flow.words(line)


def _add_notice(flow: Flow, desk: Desk, letter: Letter, reason: str) -> None:
    flow.space(6)
    where = desk.contact(letter.customer).name or letter.customer
    days = sorted({one.at[:10] for one in letter.goods})
    sold = days[0] if len(days) == 1 else f"{days[0]} to {days[-1]}"
    flow.words(f"Sold at {where}, from what was brought there on {sold}:", size=HEADING, bold=True)
    seen = dict.fromkeys(
        (one.product or "....................", one.pack, one.bag.best_before, one.bag.printed, one.lot)
        for one in letter.goods
    )
    flow.grid(_NOTICE, list(seen), size=ANSWER)
    flow.space(6)
    flow.words(f"The reason, as agreed with the regulator: {reason}" if reason else REASON, size=ANSWER)
    flow.space(6)
    for number, sentence in enumerate(BOUGHT, 1):
        flow.words(f"{number}. {sentence}", size=HEADING)
    flow.space(6)
    flow.words(f"Call us: {_number(desk)}", size=HEADING, bold=True)


def _addressed(contact: Contact) -> str:
    return ", ".join(filter(None, (contact.name or contact.code, contact.address)))


def _number(desk: Desk) -> str:
    return desk.reached_by or f"{_D}   ask for {_D}"
