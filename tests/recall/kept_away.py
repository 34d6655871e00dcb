"""A farm on which one person was kept away, and what a recall says of it.

Five crops that share nothing but people: each has its own seed, batch, harvest and delivery, no water, no item. TO does
all the work, save that BOB cuts H-1, H-2, H-3 and H-4. BOB is kept away from 10 March 07:00 to 13 March 07:00.

| lot | cut by | on | which is |
| --- | --- | --- | --- |
| H-1 | BOB | 7 March 09:00 | 70 hours before BOB is kept away |
| H-2 | BOB | 11 March 09:00 | in between |
| H-3 | BOB | 14 March 09:00 | 26 hours after the return |
| H-4 | BOB | 16 March 09:00 | 74 hours after the return |
| H-5 | TO | 11 March 10:00 | |

With two days before and two after, BOB is followed from 8 March 07:00 to 15 March 07:00:59: to H-2 and H-3.
"""

from datetime import UTC, datetime

from lotwalk.book import Book
from lotwalk.recall.asking.asked import ask
from lotwalk.recall.recall import recall
from lotwalk.sheets.reader import read_sheet

CUTS = {
    "1": ("BOB", "2026-03-07 09:00"),
    "2": ("BOB", "2026-03-11 09:00"),
    "3": ("BOB", "2026-03-14 09:00"),
    "4": ("BOB", "2026-03-16 09:00"),
    "5": ("TO", "2026-03-11 10:00"),
}
REGISTER = """
- {kind: person, at: 2026-02-01 08:00, by: TO, code: TO, name: Tess Orr}
- {kind: person, at: 2026-02-01 08:00, by: TO, code: BOB, name: Bob Ash}
- {kind: supplier, at: 2026-02-01 08:00, by: TO, code: SEEDS, name: Seeds}
- {kind: customer, at: 2026-02-01 08:00, by: TO, code: CAFE, name: Corner Cafe}
"""
CROP = """
- {{kind: seed-receipt, at: 2026-02-01 08:00, by: TO, lot: S-{n}, crop: pea, supplier: SEEDS, amount: 5 kg}}
- {{kind: sowing, at: 2026-02-20 09:00, by: TO, batch: T-{n}, seed: S-{n} 200 g, trays: 1, water: none}}
- {{kind: harvest, at: {at}, by: {by}, lot: H-{n}, from: T-{n}, amount: 900 g, cut: above the medium}}
- {{kind: delivery, at: 2026-03-17 09:00, by: TO, code: D-{n}, customer: CAFE, items: H-{n} 900 g}}
"""


def crop(n, by, at):
    return CROP.format(n=n, by=by, at=at)


def away(at, who="BOB"):
    return f"- {{kind: fitness, at: {at}, by: TO, person: {who}, state: excluded}}\n"


def back(at, who="BOB"):
    return f"- {{kind: fitness, at: {at}, by: TO, person: {who}, state: back}}\n"


def complaint(code="Q-1", about="D-2", type="illness", at="2026-03-20 09:00"):
    return (
        f"- {{kind: complaint, at: {at}, by: TO, code: {code}, customer: CAFE, type: {type}, deliveries: {about},"
        " description: they rang}\n"
    )


CROPS = "".join(crop(n, *cut) for n, cut in CUTS.items())
KEPT = away("2026-03-10 07:00") + back("2026-03-13 07:00")


class Kept:
    """The farm's book. What is loaded is recorded on 25 March, in the order of loading."""

    def __init__(self, where):
        self.book = Book.start(where, name="F", location="L", timezone="UTC", measures="metric", clock=_now)
        self.load(REGISTER + CROPS)

    def load(self, text):
        """Load entries, and return their names."""
        sheet = read_sheet(f"entries:\n{text.strip()}\n", "sheet.yaml")
        return [receipt.name for receipt in self.book.load(sheet, again=True)]

    def recall(self, *codes, **more):
        with self.book.ledger.reading() as connection:
            return recall(connection, ask(connection, codes), self.book.ledger.kinds, **more)


def _now():
    return datetime(2026, 3, 25, 12, tzinfo=UTC).timestamp()


def second(text):
    """Epoch seconds of a time in UTC."""
    return int(datetime.fromisoformat(text).replace(tzinfo=UTC).timestamp())


def people(found):
    """The people among the candidates: their codes, with the first and last second in which they are followed."""
    return [
        (one.thing.code, one.spell.start, one.spell.end) if one.spell else (one.thing.code,)
        for one in found.candidates
        if one.thing.cls == "person"
    ]
