"""What lies exactly on a limit: the label's highest strength, and a mending on the day of the failure.

Each case is a small farm's sheet, and the answer is read off the label or the calendar.
"""

import pytest

from lotwalk.book import Book
from lotwalk.sheets.reader import read_sheet

FARM = """
common: {by: TO, at: 2026-03-01 08:00}
entries:
- {kind: person, code: TO, name: Tess Orr}
- {kind: water-source, code: WELL, name: Well, type: ground, used_for: [harvest]}
- {kind: equipment, codes: M-1, type: medium}
- {kind: supplies-receipt, lot: BL-1, product: Bleach, type: sanitiser, active: chlorine, label_min: 50 ppm,
   label_max: 200 ppm, label_contact: 1 min}
- {kind: solution, at: 2026-03-02 08:00, lot: SOL-1, product: BL-1, volume: 10 L}
"""


@pytest.fixture
def book(tmp_path):
    book = Book.start(
        str(tmp_path / "farm.db"), name="F", location="L", timezone="UTC", measures="metric",
        clock=lambda: 1_774_500_000,
    )  # fmt: skip
    book.load(read_sheet(FARM, "farm.yaml"))
    yield book
    book.ledger.engine.dispose()


def judged(book, sheet):
    """Load a sheet, and return the last verdict that the book gives for it."""
    return [receipt.verdict for receipt in book.load(read_sheet(sheet, "day.yaml")) if receipt.verdict][-1]


@pytest.mark.parametrize(
    ("reading", "passes", "too_strong"),
    [
        ("49 ppm", False, False),
        ("50 ppm", True, False),
        ("200 ppm", True, False),
        ("50-200 ppm", True, False),
        ("201 ppm", True, True),
        ("50-201 ppm", True, True),
    ],
)
def test_a_label_of_50_to_200_takes_in_both_of_its_ends(book, reading, passes, too_strong):
    """The mat was wet for two minutes, and the label asks for one. At 25 degC and pH 7 the Food Code's table too asks
    for 50 ppm. Too strong is told, and undoes nothing.
    """
    verdict = judged(
        book,
        f"""
- {{kind: sanitising, at: 2026-03-02 09:00, by: TO, items: M-1, solution: SOL-1, reading: {reading}, contact: 2 min,
   washed: yes, temperature: 25 C, ph: 7}}
""",
    )
    assert (verdict.passed == ("M-1",)) is passes
    told = [reason.text for reason in verdict.reasons if reason.kind == "residue"]
    assert any("is above the label's highest, 200 ppm" in text for text in told) is too_strong
    assert bool(told) is too_strong


@pytest.mark.parametrize(("closed", "passes"), [("2026-03-01", False), ("2026-03-02", True), ("2026-03-03", True)])
def test_what_is_mended_on_the_day_of_the_failure_is_mended(book, closed, passes):
    """The sample of the 2nd fails and that of the 4th is clean. A mending closed on the 1st was of something else."""
    verdict = judged(
        book,
        f"""
- {{kind: water-test, at: 2026-03-02 09:00, by: TO, source: WELL, e_coli: 4 MPN/100 mL}}
- {{kind: corrective-action, at: 2026-03-02 15:00, by: TO, about: WELL, cause: a crack, action: mended,
   closed: {closed}}}
- {{kind: water-test, at: 2026-03-04 09:00, by: TO, source: WELL, e_coli: <1 MPN/100 mL}}
""",
    )
    assert (verdict.passed == ("WELL",)) is passes
