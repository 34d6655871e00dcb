"""A small farm on which lots stand on mats, under domes and in crates, and what the tests ask of it."""

from textwrap import dedent

from lotwalk.book import Book
from lotwalk.ledger.model import Receipt
from lotwalk.ledger.read.things import find_thing
from lotwalk.ledger.read.versions import versions
from lotwalk.sheets.reader import read_sheet
from lotwalk.walk.model import Start
from lotwalk.walk.walk import walk

REGISTER = """
    common: {by: TO, at: 2026-03-01 08:00}
    entries:
    - {kind: person, code: TO, name: Tess Orr}
    - {kind: supplier, code: SEEDS, name: Seeds}
    - {kind: customer, code: CAFE, name: Corner Cafe}
    - {kind: lab, code: LAB, name: County Laboratory}
    - {kind: water-source, code: WELL, name: the well, type: ground}
    - {kind: water-source, code: MAINS, name: town water, type: municipal}
    - {kind: equipment, codes: M-1..M-4, type: medium}
    - {kind: equipment, codes: TR-5, type: tray}
    - {kind: equipment, codes: DM-1, type: cover}
    - {kind: equipment, codes: "KN-1, KN-2", type: tool}
    - {kind: equipment, codes: "CR-1, CR-2, BUCKET", type: container}
    - {kind: equipment, codes: "RK-1, RK-2", type: rack}
    - {kind: equipment, codes: VAN-1, type: vehicle}
    - {kind: place, code: ROOM, name: Growing room, use: growing, usual_items: RK-1}
    - {kind: place, code: COLD, name: Cold store, use: cold store, usual_items: RK-2}
    - {kind: seed-receipt, lot: S-1, crop: pea, supplier: SEEDS, amount: 5 kg}
    - {kind: seed-receipt, lot: S-2, crop: radish, supplier: SEEDS, amount: 5 kg}
    - {kind: supplies-receipt, lot: BL-1, product: Bleach, type: sanitiser, active: chlorine, label_min: 50 ppm,
       label_max: 200 ppm, label_contact: 1 min}
    - {kind: solution, at: 2026-03-02 07:00, lot: SOL-1, product: BL-1, volume: 10 L}
"""
"""E2 to E20. What a test records first is E21."""

FIRST = 21


def start(where: str) -> Book:
    """Begin the farm's ledger, and register who and what there is."""
    book = Book.start(where, name="F", location="L", timezone="UTC", measures="metric", clock=lambda: 1_774_500_000)
    load(book, REGISTER)
    return book


def load(book: Book, sheet: str, name: str = "sheet.yaml") -> list[Receipt]:
    """Load a sheet; of entries alone everything is by TO."""
    text = dedent(sheet.removeprefix("\n"))
    whole = text if text.startswith(("common:", "in_order:")) else f"common: {{by: TO}}\nentries:\n{text}"
    return book.load(read_sheet(whole, name))


def forward(book: Book, code: str, window: tuple[int, int] | None = None) -> set[str]:
    """What is reached from a thing; with a window (first and last second) only from uses in it."""
    return _reached(book, "forward", code, window)


def back(book: Book, code: str) -> set[str]:
    """What may be behind a thing."""
    return _reached(book, "back", code, None)


def _reached(book: Book, direction: str, code: str, window: tuple[int, int] | None) -> set[str]:
    with book.ledger.reading() as connection:
        thing = find_thing(connection, code)
        assert thing is not None, code
        return walk(connection, direction, [Start(thing.id, window)]).codes()


def history(book: Book, number: int) -> list:
    """Every version of an entry, the oldest first."""
    with book.ledger.reading() as connection:
        return versions(connection, number)


def uses(book: Book, number: int, *roles: str) -> set[str]:
    """What an entry uses by now, in some roles, as `touched M-1`; what is assumed says so."""
    return {
        f"{use.role.word} {use.code}{' assumed' if use.assumed else ''}"
        for use in history(book, number)[-1].uses
        if not roles or use.role.word in roles
    }


def dip(code: str, at: str) -> str:
    """A line of a sheet: a dip that passes, where nothing stands on the item."""
    return (
        f"- {{kind: sanitising, at: {at}, items: {code}, solution: SOL-1, reading: 100 ppm, contact: 2 min,"
        " washed: yes, temperature: 20 C, ph: 7}\n"
    )


def second(day: int, hour: int = 0) -> int:
    """The second at which a day of March 2026 begins, or an hour of it."""
    return 1_772_323_200 + (day - 1) * 86_400 + hour * 3_600
