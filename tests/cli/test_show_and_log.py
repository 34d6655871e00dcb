"""`show` and `log`: what was recorded, for people and for programs."""

import csv
import io

import pytest


def test_a_thing_is_shown_with_its_record_and_all_that_names_it_in_order_of_time(lotwalk, ledger):
    told = lotwalk("show", "m-003")
    assert told.lines[0] == "M-003: growing medium"
    rows = [line for line in told.lines if " E" in line and "2026" in line]
    assert [line.split("  ")[0] for line in rows[1:]] == [
        "2026-03-01 08:00",
        "2026-03-02 09:30",
        "2026-03-10 09:30",
        "2026-03-10 11:00",
    ]
    assert "in contact, did not pass" in rows[-1]
    shown = lotwalk("show", "M-003", "--format", "json").json
    assert (shown["code"], shown["kind"], shown["class"], shown["void"]) == ("M-003", "medium", "item", False)
    assert [(one["entry"], one["role"]) for one in shown["entries"]] == [
        ("E5", "names"),
        ("E14", "touched"),
        ("E16", "touched"),
        ("E19", "touched"),
    ]


def test_an_entry_is_shown_with_its_fields_uses_verdict_and_history(lotwalk, ledger):
    told = lotwalk("show", "E19").out
    for words in (
        "E19: Sanitising", "M-001..M-003", "110 ppm", "Contact time", "Counts as clean: M-001 and M-002 (2)",
        "Does NOT count as clean: M-003 (1)", "M-003 was not washed", "recorded", "typed by tess",
    ):  # fmt: skip
        assert words in told
    entry = lotwalk("show", "E19", "--format", "json").json
    assert entry["verdict"]["passed"] == ["M-001", "M-002"]
    assert entry["verdict"]["failed"] == ["M-003"]
    assert entry["from"] == "2026-03-10T11:00:00-04:00"
    assert entry["until"] == "2026-03-10T11:00:59-04:00"


@pytest.mark.parametrize(
    ("words", "entry", "code"),
    [("0302", "E11", "S-1"), ("INV 77", "E21", "D-1"), ("2026-03-17", "E20", "P-1")],
    ids=["a supplier's lot", "a document's number", "a best-before date"],
)
def test_what_people_read_out_finds_its_thing(lotwalk, ledger, words, entry, code):
    assert lotwalk("show", *words.split()).lines[0].startswith(f"{code}: ")
    found = lotwalk("show", words, "--format", "json").json
    assert found["asked"] == words
    assert [(one["entry"], one["codes"]) for one in found["matches"]] == [(entry, [code])]


def test_several_matches_are_listed(lotwalk, ledger):
    told = lotwalk("show", "brushed")
    assert lotwalk("record", "washing", "--items", "M-004", "--method", "brushed twice", "--by", "TO").status == 0
    told = lotwalk("show", "brushed").out
    assert "`brushed` is no code. These entries say it:" in told
    assert "E17" in told
    assert "E24" in told


def test_what_was_typed_does_not_steer_the_terminal(lotwalk, ledger):
    nasty = "\x1b]0;owned\x07 \u202etxet"
    assert lotwalk("record", "person", "--code", "XX", "--name", nasty, "--by", "TO").status == 0
    for arguments in (["show", "XX"], ["show", "E24"], ["log", "person"]):
        told = lotwalk(*arguments).out
        assert "owned" in told
        assert not {"\x1b", "\x07", "\u202e"} & set(told)


def test_a_log_has_the_columns_of_its_kind_in_words(lotwalk, ledger):
    told = lotwalk("log", "delivery").lines
    assert told[0] == "Delivery: 2 entries"
    heads = " ".join(told[1:3]).split()
    assert set(heads) >= {"When", "Entry", "Code", "Customer", "Items", "Document", "By"}
    assert "Vehicle" not in heads, "nothing stands in that column"
    rows = list(csv.DictReader(io.StringIO(lotwalk("log", "delivery", "--format", "csv").out)))
    assert [(row["Code"], row["Customer"], row["Items"]) for row in rows] == [
        ("D-1", "CAFE", "P-1, packs 5"),
        ("D-2", "SHOP", "P-1, packs 3"),
    ]
    assert "Vehicle" in rows[0]


def test_a_log_is_of_a_period_both_ends_included(lotwalk, ledger):
    def codes(*period):
        entries = lotwalk("log", "harvest", *period, "--format", "json").json["entries"]
        return [entry["fields"]["lot"] for entry in entries]

    assert codes() == ["H-1", "H-2"]
    assert codes("--from", "2026-03-10", "--until", "2026-03-10") == ["H-1", "H-2"]
    assert codes("--from", "2026-03-10 09:30") == ["H-2"]
    assert codes("--until", "2026-03-10 09:29") == ["H-1"]
    assert codes("--until", "2026-03-09") == []
    assert lotwalk("log", "harvest", "--until", "2026-03-09").out.strip() == "No entry of kind harvest in that time."


def test_amended_and_void_entries_are_marked(lotwalk, ledger):
    why = ("--because", "the other scale", "--by", "TO")
    lotwalk("amend", "E15", "--set", "amount=950 g", *why)
    lotwalk("void", "E16", *why)
    told = lotwalk("log", "harvest").out
    assert told.startswith("Harvest: 1 entry\n")
    assert "amended" in told
    assert "950 g" in told
    (entry,) = lotwalk("log", "harvest", "--format", "json").json["entries"]
    assert (entry["entry"], entry["amended"], entry["in_force"]) == ("E15", True, True)
    every = lotwalk("log", "harvest", "--all-versions", "--format", "json").json["entries"]
    assert [(one["entry"], one["fields"]["amount"], one["in_force"], one["void"]) for one in every] == [
        ("E15", "900 g", False, False),
        ("E15", "950 g", True, False),
        ("E16", "400 g", False, False),
        ("E16", "400 g", False, True),
    ]
    assert "VOID: the other scale" in " ".join(lotwalk("log", "harvest", "--all-versions").out.split())


def test_the_books_own_change_of_a_verdict_is_no_amendment(lotwalk, ledger):
    lotwalk("record", "washing", "--items", "M-003", "--method", "brushed", "--by", "TO", "--at", "2026-03-10 10:20")
    (entry,) = lotwalk("log", "sanitising", "--format", "json").json["entries"]
    assert entry["amended"] is False
    assert entry["amends"]["evidence"] == ["E24"]
    assert "judged anew" in lotwalk("show", "E19").out
    assert "amended" not in lotwalk("log", "sanitising").out


def test_a_water_source_is_shown_with_what_its_tests_come_to(lotwalk, ledger):
    assert "geometric mean" not in lotwalk("show", "MAINS").out
    # Drinking Water, example 6.4: the geometric mean of 12, 28, 37 and 25 is 23.6.
    for day, found in enumerate(("12 CFU/100 mL", "28 CFU/100 mL", "37 CFU/100 mL", "25 CFU/100 mL"), start=2):
        lotwalk("record", "water-test", "--at", f"2026-03-0{day}", "--by", "TO", "--source", "MAINS", "--e-coli", found)
    told = " ".join(lotwalk("show", "MAINS").out.split())
    assert "E. coli in MAINS, 4 tests of 2026-03-02 to 2026-03-05: geometric mean 23.6 [" in told
    level = lotwalk("show", "MAINS", "--format", "json").json["level"]
    assert (level["tests"], level["geometric_mean"]["value"]) == (4, "23.6")
