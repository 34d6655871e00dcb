"""What a record uses without naming it: the media that a batch stands on, and a place's usual water and tools."""

import pytest
from tests.ledger.farm import current, load, refused, uses

SOWING = """
    - {kind: sowing, at: 2026-03-02, by: TO, batch: T-1, seed: S-1 200 g, trays: 3, equipment: "M-01..M-03, SHEARS"}
"""


TWO = {"touched M-01", "touched M-03"}


def harvested(book, rows: str, more: str = "") -> set[str]:
    """The items that a harvest of these rows touches, and what becomes of the batch."""
    (receipt,) = load(
        book,
        f"- {{kind: harvest, at: 2026-03-09, by: TO, lot: H-1, from: {rows}, amount: 1 kg, cut: with roots{more}}}\n",
    )
    return {use for use in uses(book, receipt.name) if use.startswith(("touched", "took", "handled"))}


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        # The tool that sowed is not what the batch stands on.
        ("T-1", {"took T-1", "touched M-01", "touched M-02", "touched M-03"}),
        # Of three trays.
        ("{batch: T-1, trays: 2}", {"took T-1 2 count", "handled T-1", "touched M-01", "touched M-02", "touched M-03"}),
        ("{batch: T-1, trays: 2, finished: yes}", {"took T-1 2 count", "touched M-01", "touched M-02", "touched M-03"}),
        ("{batch: T-1, trays: M-02}", {"took T-1 1 count", "handled T-1", "touched M-02"}),
        ("{batch: T-1, trays: M-03..M-03, finished: no}", {"took T-1 1 count", "handled T-1", "touched M-03"}),
        ("[{batch: T-1, trays: M-01}, {batch: T-1, trays: M-03}]", {"took T-1 2 count", "handled T-1"} | TWO),
    ],
)  # fmt: skip
@pytest.mark.parametrize("together", [True, False], ids=["one sheet", "two sheets"])
def test_a_harvest_touches_the_media_it_names_or_else_all(lite, rows, expected, together):
    if together:
        (_, receipt) = load(
            lite,
            f"{SOWING}    - {{kind: harvest, at: 2026-03-09, by: TO, lot: H-1, from: {rows}, amount: 1 kg,"
            " cut: with roots}\n",
        )
        found = {use for use in uses(lite, receipt.name) if use.startswith(("touched", "took", "handled"))}
    else:
        load(lite, SOWING)
        found = harvested(lite, rows)
    assert found == expected


@pytest.mark.parametrize(
    ("trays", "problem"),
    [
        ("M-04", "from[0].batch: T-1 does not stand on M-04; expected what its sowing named, or a count"),
        ("M-99", "from[0].trays: M-99 is not in the book"),
        ("SHEARS", "from[0].trays: SHEARS is a tool; expected a medium or tray or cover"),
    ],
)
def test_a_harvest_may_name_only_what_the_batch_stands_on(lite, trays, problem):
    load(lite, SOWING)
    (found,) = refused(
        lite,
        f"""
        - kind: harvest
          at: 2026-03-09
          by: TO
          lot: H-1
          from: {{batch: T-1, trays: {trays}}}
          amount: 1 kg
          cut: with roots
        """,
    )
    assert found.startswith(f"sheet.yaml:5: {problem}")


CHECK = "- {{kind: growing-check, at: 2026-03-05, by: TO, batches: T-1{more}}}\n"


@pytest.mark.parametrize(
    ("more", "expected", "silent"),
    [
        # SHED's usual water is WELL, its usual tool KNIFE. A tool makes `tended` `handled`.
        (", place: SHED", {"handled T-1", "drew WELL assumed", "touched KNIFE assumed"}, ()),
        (", place: SHED, water: MAINS", {"handled T-1", "drew MAINS", "touched KNIFE assumed"}, ()),
        (", place: SHED, equipment: none", {"tended T-1", "drew WELL assumed"}, ()),
        (", place: SHED, equipment: none, water: none", {"tended T-1"}, ()),
        (", place: SHED, equipment: SHEARS", {"handled T-1", "drew WELL assumed", "touched SHEARS"}, ()),
        # WASH names nothing usual, and without a place nothing is assumed: silence is counted.
        (", place: WASH", {"tended T-1"}, ("water", "equipment")),
        ("", {"tended T-1"}, ("water", "equipment")),
        (", water: WELL", {"tended T-1", "drew WELL"}, ("equipment",)),
    ],
)
def test_silence_is_filled_with_what_is_usual_at_the_place(lite, more, expected, silent):
    load(lite, SOWING)
    (receipt,) = load(lite, CHECK.format(more=more))
    assert {use for use in uses(lite, receipt.name) if not use.startswith(("by", "place"))} == expected
    assert current(lite, receipt.name).silent == silent


@pytest.mark.parametrize(
    ("more", "expected", "silent"),
    [
        # What is named is a mat and no tool, so the usual tool was used.
        ("place: SHED, equipment: M-01", {"touched M-01", "touched KNIFE assumed"}, ()),
        ("place: SHED, equipment: [M-01, SHEARS]", {"touched M-01", "touched SHEARS"}, ()),
        ("place: SHED", {"touched KNIFE assumed"}, ("medium",)),
        ("place: SHED, equipment: none", set(), ()),
        ("equipment: M-01, water: none", {"touched M-01"}, ("tool",)),
        ("equipment: KNIFE, water: none", {"touched KNIFE"}, ("medium",)),
        ("water: none", set(), ("equipment",)),
    ],
)
def test_a_sowing_says_apart_what_it_grew_on_and_what_it_was_worked_with(lite, more, expected, silent):
    (receipt,) = load(
        lite, f"- {{kind: sowing, at: 2026-03-02, by: TO, batch: T-2, seed: S-1 9 g, trays: 1, {more}}}\n"
    )
    assert {use for use in uses(lite, receipt.name) if use.startswith("touched")} == expected
    assert current(lite, receipt.name).silent == silent


def test_a_place_made_on_the_same_sheet_counts(book):
    receipts = load(
        book,
        SOWING
        + """
    - {kind: place, at: 2026-03-02, by: TO, code: LOFT, name: Loft, use: growing, usual_tools: [SHEARS, KNIFE]}
    - {kind: growing-check, at: 2026-03-05, by: TO, batches: T-1, place: LOFT}
    """,
    )
    assert {use for use in uses(book, receipts[-1].name) if "touched" in use} == {
        "touched SHEARS assumed",
        "touched KNIFE assumed",
    }


def test_what_was_assumed_stays_when_the_place_changes(book):
    """E12 is SHED's record. What was resolved when an entry was recorded is hashed with it, and stays."""
    load(book, SOWING)
    (before,) = load(book, CHECK.format(more=", place: SHED"))
    book.amend(12, {"usual_tools": "SHEARS", "usual_water": None}, because="the knife is gone", by=["TO"])
    (after,) = load(book, CHECK.format(more=", place: SHED, note: later"))
    assert {"touched KNIFE assumed", "drew WELL assumed"} <= uses(book, before.name)
    assert uses(book, after.name) == {"by TO", "place SHED", "handled T-1", "touched SHEARS assumed"}
    assert current(book, after.name).silent == ("water",)
