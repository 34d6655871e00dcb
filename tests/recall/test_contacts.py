"""How many contacts lie between a candidate and what was asked about, on a small farm and worked out by hand."""

from tests.recall.test_by_hand import opened

from lotwalk.book import Book
from lotwalk.recall.asking.asked import ask
from lotwalk.recall.recall import recall
from lotwalk.recall.traceback.ranking import rank, rows_of

__all__ = ["opened"]

DAYS = """
common: {by: TO}
entries:
- {kind: harvest, at: 2026-03-12 09:00, lot: H-1, from: T-1 1, amount: 900 g, cut: above the medium, equipment: KN-1}
- {kind: harvest, at: 2026-03-12 10:00, lot: H-2, from: T-2 1, amount: 900 g, cut: above the medium, equipment: KN-1}
- {kind: delivery, at: 2026-03-12 15:00, code: D-1, customer: CAFE, items: H-1 900 g}
- {kind: delivery, at: 2026-03-12 15:00, code: D-2, customer: SHOP, items: H-2 900 g}
"""


def _candidates(book: Book, *codes: str):
    with book.ledger.reading() as connection:
        return recall(connection, ask(connection, codes), book.ledger.kinds)


def _contacts(book: Book, *codes: str) -> dict[str, tuple[int, int]]:
    return {one.thing.code: (one.explains, one.contacts) for one in _candidates(book, *codes).candidates}


def test_an_ingredient_is_at_none_and_what_came_over_one_shared_knife_at_one(opened):
    """D-2 was made of H-2, that of T-2, and that of S-2: each was made and then taken, so no contact. The knife itself
    touched the cut of H-2. It came from the cut of H-1, which is one contact: so T-1 and S-1, which that cut took,
    are one contact from D-2."""
    found = _contacts(opened(DAYS), "D-2")
    assert {code: found[code] for code in ("H-2", "T-2", "S-2", "KN-1")} == dict.fromkeys(
        ("H-2", "T-2", "S-2", "KN-1"), (1, 0)
    )
    assert {code: found[code] for code in ("T-1", "S-1")} == {"T-1": (1, 1), "S-1": (1, 1)}


def test_two_complaints_are_summed(opened):
    """S-1 is in D-1, at none, and one contact from D-2 over the knife. S-2 comes to D-2 alone: the cut of H-2 was an
    hour after that of H-1, so the knife brought nothing of it to D-1."""
    found = _contacts(opened(DAYS), "D-1", "D-2")
    assert found["S-1"] == (2, 1)
    assert found["S-2"] == (1, 0)
    assert found["KN-1"] == (2, 0)


def test_what_was_made_of_one_another_and_reaches_the_same_is_one_row(opened):
    """T-2, H-2 and S-2 reach D-2 alone; so do no others. S-2 was sown as T-2, which was cut as H-2: one row. S-1
    and T-1 reach both over the knife; H-1 was made by that cut, and left nothing on it."""
    found = _candidates(opened(DAYS), "D-1", "D-2")
    rows = rows_of(rank(found.candidates, len(found.asked), found.further))
    assert {frozenset(row.codes) for row in rows} >= {
        frozenset({"T-2", "H-2", "S-2"}),
        frozenset({"T-1", "S-1"}),
    }
    numbers = [one.row for one in rank(found.candidates, len(found.asked), found.further)]
    assert numbers == sorted(numbers)
    assert len(numbers) == len(found.candidates)
