"""A farm with nothing but its register, and balances told in a line each."""

from decimal import Decimal
from textwrap import dedent

from lotwalk.balance.limits import Limits
from lotwalk.balance.model import Balance, Sums
from lotwalk.balance.reckoning import balance
from lotwalk.book import Book
from lotwalk.judge.ruleset.rules import RuleSet
from lotwalk.sheets.reader import read_sheet

REGISTER = """
    common: {at: 2026-03-01 08:00, by: TO}
    entries:
    - {kind: person, code: TO, name: Tess Orr}
    - {kind: customer, code: CAFE, name: Corner Cafe}
    - {kind: supplier, code: HOLT, name: Holt Seeds}
    - {kind: lab, code: LAB, name: County Laboratory}
    - {kind: equipment, codes: M-1..M-4, type: medium}
    - {kind: product, code: PEA-50, name: Pea shoots 50 g, commodity: pea shoots, pack_size: 50 g}
    - {kind: supplies-receipt, lot: BOXES, product: 50 g boxes, type: packaging, amount: 500 boxes}
    - {kind: seed-receipt, lot: S-1, crop: pea, supplier: HOLT, amount: 5 kg}
    - {kind: seed-receipt, lot: S-2, crop: radish, supplier: HOLT, amount: 2 lb}
    - {kind: seed-receipt, lot: S-3, crop: pea, supplier: HOLT, amount: 1 kg}
"""

LIMITS = Limits.of(RuleSet.load("general"))


def start(where: str) -> Book:
    """Begin the farm's ledger and register who and what there is."""
    book = Book.start(where, name="Tarn End", location="Tarn Lane", timezone="Europe/London", measures="metric")
    load(book, REGISTER)
    return book


def load(book: Book, sheet: str) -> list[str]:
    """Load a sheet, of which every entry is by TO and every harvest a cut one, and return the names of its entries."""
    text = dedent(sheet.removeprefix("\n")).replace("harvest, at", "harvest, cut: above the medium, at")
    if text.startswith("- "):
        text = "common: {by: TO}\nentries:\n" + text
    return [receipt.name for receipt in book.load(read_sheet(text, "sheet.yaml"))]


def weighed(book: Book, *codes: str) -> Balance:
    """The balance of these lots."""
    with book.ledger.reading() as connection:
        return balance(connection, codes, book.ledger.kinds)


def told(book: Book, code: str) -> str:
    """A lot's balance in a line, without what is nothing: `made 1000, used 200 sowing, missing 800`."""
    (lot,) = weighed(book, code).lots
    marks = [f"unmeasured {', '.join(lot.unmeasured)}"] if lot.unmeasured else []
    marks += [f"other unit {', '.join(lot.unlike)}"] if lot.unlike else []
    marks += ["void"] if lot.void else []
    return ", ".join([f"{lot.unit}: {line(lot.sums)}" if lot.unit else line(lot.sums), *marks])


def line(sums: Sums) -> str:
    """Sums in a line."""
    parts = [f"made {plain(sums.made)}"]
    parts += [f"returned {plain(sums.returned)}"] if sums.returned else []
    parts += [f"used {plain(amount)} {kind}" for kind, amount in sums.used.items() if amount]
    parts += [
        f"{name} {plain(amount)}"
        for name, amount in (("delivered", sums.delivered), ("disposed", sums.disposed), ("sampled", sums.sampled))
        if amount
    ]
    parts += [f"on hand {plain(sums.on_hand)}"] if sums.on_hand is not None else []
    parts += [f"missing {plain(sums.unaccounted)}"] if sums.unaccounted else []
    return ", ".join(parts)


def plain(amount: Decimal | None) -> str:
    """An amount as people write it."""
    return "?" if amount is None else format(amount.normalize(), "f")
