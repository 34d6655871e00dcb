"""The conversation at the sink: what the book answers at once to a weak, a strong, an old and a good solution."""

import re

import pytest

from lotwalk import demo

STORES = """
common: {at: 2026-03-11 08:00, by: TO}
entries:
- {kind: supplies-receipt, lot: CL-1, product: Rinsewell 5, type: sanitiser, active: sodium hypochlorite, strength: 5 %,
   label_min: 100 ppm, label_max: 200 ppm, label_contact: 2 min, expires: 2027-01-31}
- {kind: solution, at: 2026-03-11 16:00, lot: MIX, product: CL-1, volume: 10 L, target: 120 ppm, reading: 120 ppm,
   discard_at: 2026-03-11 20:00}
- {kind: washing, at: 2026-03-11 16:10, items: M-001..M-003, method: brushed}
"""


@pytest.fixture
def sink(ledger, lotwalk):
    sheet = ledger.parent / "stores.yaml"
    sheet.write_text(STORES)
    assert lotwalk("load", sheet).status == 0

    def record(kind, *options):
        done = lotwalk("record", kind, "--by", "TO", *options)
        assert (done.status, done.err) == (0, "")
        return done.lines[1:]

    return record


def test_a_weak_solution(sink):
    assert sink("solution-check", "--solution", "MIX", "--reading", "60 ppm", "--at", "2026-03-11 16:20") == [
        "  Note: Reading 60 ppm of MIX is below the label's 100 ppm: add 12 mL of CL-1 to the 10 L of MIX to "
        "reach 120 ppm, wait, read again."
    ]
    dip = ("--items", "M-001..M-004", "--solution", "MIX", "--contact", "2 min", "--at", "2026-03-11 16:30")
    told = sink("sanitising", *dip, "--reading", "60 ppm")
    assert told[0] == "Does NOT count as clean: M-001..M-004 (4)"
    assert told[-1] == (
        "Now: wash M-004, add 12 mL of CL-1 to the 10 L of MIX to reach 120 ppm, wait, read again, then dip "
        "M-001..M-004 again."
    )


def test_what_to_do_now_is_kept_with_the_entry(sink, lotwalk):
    dip = ("--items", "M-001..M-004", "--solution", "MIX", "--contact", "2 min", "--at", "2026-03-11 16:30")
    done = lotwalk("record", "sanitising", "--by", "TO", *dip, "--reading", "60 ppm")
    assert (
        lotwalk("show", done.out.partition(":")[0], "--format", "json")
        .json["verdict"]["now"]
        .startswith("wash M-004, add 12 mL")
    )
    told = " ".join(lotwalk("show", done.out.partition(":")[0]).out.split())
    assert "What to do then: wash M-004, add 12 mL of CL-1 to the 10 L of MIX" in told
    assert lotwalk("verify").status == 0


def test_a_strong_solution_counts_and_says_what_to_do(sink):
    dip = ("--items", "M-001..M-003", "--solution", "MIX", "--contact", "2 min", "--at", "2026-03-11 16:30")
    told = sink("sanitising", *dip, "--reading", "230 ppm", "--ph", "7", "--temperature", "20 C")
    told[0] = re.sub(r"E\d+ ", "NAME ", told[0], count=1)
    assert told == [
        "Residue: NAME (2026-03-11 16:30): Reading 230 ppm is above the label's highest, 200 ppm. Rinse with drinking "
        "water, or as the label says, and take 4.78 L out of the 10 L of MIX and make it up with water to reach "
        "120 ppm, or make a fresh mix, wait, read again.",
        "Counts as clean: M-001..M-003 (3)",
    ]


def test_an_old_solution(sink):
    dip = ("--items", "M-001..M-003", "--solution", "MIX", "--contact", "2 min", "--at", "2026-03-11 20:30")
    told = sink("sanitising", *dip, "--reading", "110 ppm", "--ph", "7", "--temperature", "20 C")
    assert told == [
        "Does NOT count as clean: M-001..M-003 (3)",
        "  MIX was, or may have been, past its discard time 2026-03-11 20:00: make a fresh mix, read it, then dip "
        "again.",
    ]


def test_a_good_solution(sink):
    dip = ("--items", "M-001..M-003", "--solution", "MIX", "--contact", "2 min", "--at", "2026-03-11 16:30")
    told = sink("sanitising", *dip, "--reading", "110 ppm", "--ph", "7", "--temperature", "20 C")
    assert told == ["Counts as clean: M-001..M-003 (3)"]


def test_what_nobody_wrote_is_told_and_shown(sink, lotwalk):
    """The rule set's table for chlorine begins, at 100 ppm, at 13 degC and ends at pH 10."""
    dip = ("--items", "M-001..M-003", "--solution", "MIX", "--contact", "2 min", "--at", "2026-03-11 16:30")
    told = sink("sanitising", *dip, "--reading", "110 ppm")
    assert told == [
        "Counts as clean: M-001..M-003 (3)",
        "  Not shown: No temperature or pH is recorded, and the strength counts from 13 degC (55 degF) at pH 10 or "
        "lower: write the temperature and pH too.",
    ]
    (entry,) = lotwalk("log", "sanitising", "--from", "2026-03-11", "--format", "json").json["entries"]
    shown = lotwalk("show", entry["entry"])
    assert "Not shown: No temperature or pH is recorded" in shown.out
    reasons = lotwalk("show", entry["entry"], "--format", "json").json["verdict"]["reasons"]
    assert [one["kind"] for one in reasons] == ["unshown"]


def test_a_reading_that_is_still_to_come_is_asked_for_while_the_mix_lives(sink):
    """MIX was read at 16:00 and is discarded at 20:00; the test's own clock has long gone past that."""
    dip = ("--items", "M-001..M-003", "--solution", "MIX", "--contact", "2 min", "--at", "2026-03-11 16:30")
    told = sink("sanitising", *dip, "--ph", "7", "--temperature", "20 C")
    assert told == [
        "Does NOT count as clean: M-001..M-003 (3)",
        "  No reading of this load, and none of MIX after it: dip again in a fresh mix; or record the reading of MIX, "
        "if one was taken by 2026-03-11 20:00.",
    ]
    assert sink("solution-check", "--solution", "MIX", "--reading", "110 ppm", "--at", "2026-03-11 19:00")[-1] == (
        "Counts as clean: M-001..M-003 (3)"
    )


def test_a_wrong_spoon_is_told_when_the_mix_is_recorded(sink):
    told = sink("solution", "--lot", "SPOON", "--product", "CL-1", "--amount", "1 tsp", "--volume", "10 L",
                "--target", "120 ppm", "--discard-at", "2026-03-11 20:00", "--at", "2026-03-11 16:00")  # fmt: skip
    assert told == [
        "  Note: 1 tsp of CL-1 in 10 L makes about 25 ppm, and the label asks for 100 ppm: if that is what went in, "
        "add 19 mL of CL-1 to the 10 L of SPOON to reach 120 ppm, wait, read again."
    ]


def test_of_all_mixes_of_the_sample_farm_only_the_planted_one_is_told_when_it_is_recorded(tmp_path):
    # samples/README.md, weak-solution: teaspoons for tablespoons of a 6 % bleach. 2 1/2 tsp x 4.93 mL x 60 mg/mL in
    # 18.93 L is 39 mg/L.
    sheets = demo.sheets()
    book, clock = demo.start(str(tmp_path / "farm.db"), sheets[0])
    told = [one for sheet in sheets for receipt in demo.load(book, clock, sheet) for one in receipt.notices]
    book.ledger.engine.dispose()
    mixes = [one for one in told if not one.startswith("Residue") and "alike" not in one and "recall Q-" not in one]
    assert mixes[0].startswith("2 1/2 tsp of BL-1 in 5 gal makes about 39 ppm, and the label asks for 100 ppm")
    assert len(mixes) == 3
    assert all("SOL-0116" in one and "make a fresh mix" in one for one in mixes[1:])
