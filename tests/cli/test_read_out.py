"""What a caller reads out: the whole of what a package or a paper says is its thing, and from less nothing starts.

Scissors SC-2 cut H-PEA-1116; SOL-1116 is a mix of that day. P-1 (printed 42-7) went out as D-1 under INV 77, and P-2
(printed 42-8) as D-2 under INV 78; both are best before 17 March. No complaint C-2 was recorded.
"""

import pytest

from lotwalk.book import Book
from lotwalk.sheets.reader import read_sheet

FARM = """
common: {by: TO, at: 2026-03-01 08:00}
entries:
- {kind: person, code: TO, name: Tess Orr}
- {kind: supplier, code: SEEDS, name: Seeds}
- {kind: customer, code: CAFE, name: Cafe}
- {kind: equipment, codes: SC-1..SC-2, type: tool}
- {kind: seed-receipt, lot: S-1, crop: pea, supplier: SEEDS, supplier_lot: TB 44/71, amount: 5 kg}
- {kind: supplies-receipt, lot: BL-1, product: Bleach, type: sanitiser}
- {kind: solution, at: 2026-03-09, lot: SOL-1116, product: BL-1, volume: 10 L}
- {kind: sowing, at: 2026-03-02 09:00, batch: T-1, seed: S-1 200 g, trays: 2, equipment: none, water: none}
- {kind: harvest, at: 2026-03-10 09:00, lot: H-PEA-1116, from: T-1 2, amount: 900 g, cut: above the medium,
   equipment: SC-2}
- {kind: packing, at: 2026-03-10 12:00, lot: P-1, from: H-PEA-1116 400 g, amount: 400 g, printed: 42-7,
   best_before: 2026-03-17, equipment: none, water: none}
- {kind: packing, at: 2026-03-10 13:00, lot: P-2, from: H-PEA-1116 400 g, amount: 400 g, printed: 42-8,
   best_before: 2026-03-17, equipment: none, water: none}
- {kind: delivery, at: 2026-03-10 15:00, code: D-1, customer: CAFE, items: P-1 300 g, document: INV 77}
- {kind: delivery, at: 2026-03-11 15:00, code: D-2, customer: CAFE, items: P-2 300 g, document: INV 78, order: "77"}
"""


@pytest.fixture
def farm(where, monkeypatch):
    """The farm on either engine, named in the environment."""
    book = Book.start(where, name="F", location="L", timezone="UTC", measures="metric", clock=lambda: 1_773_400_000)
    book.load(read_sheet(FARM, "farm.yaml"))
    book.ledger.engine.dispose()
    monkeypatch.setenv("LOTWALK_LEDGER", where)
    return where


@pytest.mark.parametrize("command", [("recall",), ("trace", "--back"), ("export", "spreadsheet"), ("report", "trace")])
def test_a_code_that_was_never_recorded_is_not_found_inside_of_another(lotwalk, farm, command):
    done = lotwalk(*command, "C-2")
    assert done.status == 2
    assert "C-2 is not in the book" in done.err
    assert "H-PEA-1116" not in done.out + done.err


@pytest.mark.parametrize(
    ("words", "offered"),
    [
        ("1116", ["H-PEA-1116 (harvest lot)", "SOL-1116 (solution)"]),
        ("42", ["P-1 (printed code of packing E11, 2026-03-10 12:00: `42-7`)", "P-2 (printed code of packing E12"]),
        ("INV", ["D-1 (document of delivery E13", "D-2 (document of delivery E14"]),
        ("2026-03", ["P-1 (best before of packing E11", "P-2 (best before"]),
        ("TB44", ["S-1 (supplier's lot of seed receipt E6"]),
    ],
)
def test_a_part_of_what_is_printed_is_offered_and_nothing_starts_from_it(lotwalk, farm, words, offered):
    done = lotwalk("recall", words)
    assert (done.status, done.out) == (2, "")
    assert f"{words} is not in the book; it is only a part of what stands there" in done.err
    for one in offered:
        assert one in done.err


@pytest.mark.parametrize(
    ("words", "code", "field", "entry"),
    [
        ("42-7", "P-1", "printed", "E11"),
        (" 42 - 7 ", "P-1", "printed", "E11"),
        ("inv77", "D-1", "document", "E13"),
        ("INV  78", "D-2", "document", "E14"),
        ("77", "D-2", "order", "E14"),
        ("tb44/71", "S-1", "supplier_lot", "E6"),
        ("h-pea -1116", "H-PEA-1116", None, None),
    ],
)
def test_the_whole_of_what_one_thing_says_is_that_thing_and_it_is_said(lotwalk, farm, words, code, field, entry):
    answer = lotwalk("recall", words, "--format", "json").json
    assert answer["asked"] == [code]
    (about,) = answer["asked_about"]
    assert about["read_as"]["words"] == words
    assert (about["read_as"]["code"], about["read_as"]["field"], about["read_as"]["entry"]) == (code, field, entry)
    told = lotwalk("recall", words, "--all").out
    assert f"Asked: {code}" in told
    assert f"is no code. It is read as {code}" in told
    walked = lotwalk("trace", words, "--back", "--format", "json").json["asked"]
    assert (walked["code"], walked["read_as"]["code"]) == (code, code)


def test_a_code_itself_is_read_as_nothing_else(lotwalk, farm):
    (about,) = lotwalk("recall", "p-1", "--format", "json").json["asked_about"]
    assert (about["code"], about["read_as"]) == ("P-1", None)
    assert "is no code" not in lotwalk("recall", "P-1").out


def test_what_several_things_say_is_offered(lotwalk, farm):
    done = lotwalk("recall", "2026-03-17")
    assert (done.status, done.out) == (2, "")
    assert "it is said of several things; expected one of them: P-2 (best before" in done.err
    assert "; P-1 (best before" in done.err


@pytest.mark.parametrize("words", ["C-2", "11-16", "nobody"])
def test_show_lists_what_only_holds_the_words_and_shows_none_of_it(lotwalk, farm, words):
    done = lotwalk("show", words)
    assert done.status == 2
    assert "harvest lot" not in done.out.splitlines()[0] if done.out else "nothing in the book says it" in done.err


def test_show_says_as_what_it_read_the_words(lotwalk, farm):
    done = lotwalk("show", "42-7")
    assert (done.status, done.lines[0]) == (0, "P-1: packed lot")
    assert "42-7 is no code. It is read as P-1: printed code of packing E11" in done.out


def test_an_older_match_is_found_among_many_newer_records_that_hold_the_words(lotwalk, farm):
    # Six hundred later deliveries have 42-7 somewhere in them, and one earlier packing has another 42-7 on its label.
    book = Book.open(farm)
    pack = {"from": "H-PEA-1116 10 g", "amount": "10 g", "equipment": "none", "water": "none", "by": "TO"}
    book.record("packing", lot="P-0", printed="42-7", at="2026-03-10 10:00", **pack)
    book.record_all(
        [
            {"kind": "delivery", "at": "2026-03-12", "by": "TO", "code": f"D-X{number}", "customer": "CAFE",
             "items": "P-2 1 g", "document": f"42-7/{number}"}
            for number in range(600)
        ]
    )  # fmt: skip
    book.ledger.engine.dispose()
    done = lotwalk("recall", "42-7")
    assert done.status == 2
    assert "it is said of several things; expected one of them: P-1 (printed code" in done.err
    assert "P-0 (printed code" in done.err
