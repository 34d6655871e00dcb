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


HALL = """
    - {kind: equipment, at: 2026-03-01, by: TO, codes: "TABLE, TABLE-2", type: surface}
    - {kind: place, at: 2026-03-01, by: TO, code: HALL, name: Hall, use: pack, usual_tools: "KNIFE, TABLE"}
"""
CUT = """
    - {{kind: harvest, at: 2026-03-12, by: TO, lot: H-1, from: T-1, amount: 1 kg, cut: with roots, place: HALL{more}}}
"""


@pytest.mark.parametrize(
    ("more", "tools"),
    [
        ("", {"touched KNIFE assumed", "touched TABLE assumed"}),
        (", equipment: TABLE-2", {"touched KNIFE assumed", "touched TABLE-2"}),
        (", equipment: SHEARS", {"touched SHEARS", "touched TABLE assumed"}),
        (", equipment: BENCH", {"touched BENCH", "touched KNIFE assumed"}),
        (", equipment: [SHEARS, TABLE]", {"touched SHEARS", "touched TABLE"}),
        (", equipment: none", set()),
    ],
)
def test_what_an_entry_names_stands_for_what_is_usual_of_its_own_sort_alone(lite, more, tools):
    """In the hall a knife and a table are usual. Who names a table has not said that nothing was cut with a knife."""
    load(lite, SOWING + HALL)
    (receipt,) = load(lite, CUT.format(more=more))
    on = {"touched M-01", "touched M-02", "touched M-03"}
    assert {use for use in uses(lite, receipt.name) if use.startswith("touched")} - on == tools


def test_an_amended_place_says_which_entries_were_recorded_without_what_is_usual_now(book):
    """At WASH (E13) nothing is usual. Then SHEARS are, which are a tool.

    Of what was recorded there E22 names no tool. E23 names a knife, E24 says none, E25 was at no place, and E26 was
    cut before the day from which the record of the place speaks.
    """
    load(book, SOWING + "    - {kind: equipment, at: 2026-02-01, by: TO, codes: BUCKET, type: container}\n")
    cut = "    - {{kind: growing-check, at: {at}, by: TO, batches: T-1, note: {note}, water: none{more}}}\n"
    load(
        book,
        "".join(
            [
                cut.format(at="2026-03-05", note="a", more=", place: WASH, equipment: BUCKET"),
                cut.format(at="2026-03-05", note="b", more=", place: WASH, equipment: KNIFE"),
                cut.format(at="2026-03-05", note="c", more=", place: WASH, equipment: none"),
                cut.format(at="2026-03-05", note="d", more=""),
                cut.format(at="2026-02-27", note="e", more=", place: WASH"),
            ]
        ),
    )
    (receipt,) = book.amend(13, {"usual_tools": "SHEARS"}, because="they hang there", by=["TO"])
    assert receipt.notices == (
        "SHEARS counts as usual at WASH in what is recorded from now on; 1 entry there since 2026-03-01 08:00 names"
        " none and stays as it is (E22): amend it if it was used",
    )
    assert "touched SHEARS assumed" not in uses(book, "E22")
    book.amend(22, {"note": "with the shears"}, because="they were used", by=["TO"])
    assert "touched SHEARS assumed" in uses(book, "E22")
    (again,) = book.amend(13, {"name": "Wash-up"}, because="better", by=["TO"])
    assert again.notices == ()


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
