"""Dangers at the command line: `record`, `load` of a sheet and of a form, `amend`."""

import pytest

STORES = """
common: {at: 2026-03-11 08:00, by: TO}
entries:
- {kind: supplies-receipt, lot: CL-1, product: Plain bleach, type: sanitiser, active: sodium hypochlorite,
   strength: 5 %, label_min: 100 ppm, label_max: 200 ppm, label_contact: 2 min, expires: 2027-01-31}
- {kind: supplies-receipt, lot: PX-1, product: Keen, type: sanitiser, active: peroxyacetic acid, label_min: 80 ppm,
   label_contact: 2 min, expires: 2027-01-31}
- {kind: solution, at: 2026-03-11 16:00, lot: MIX, product: CL-1, volume: 10 L, target: 120 ppm, reading: 120 ppm,
   discard_at: 2026-03-11 20:00}
- {kind: equipment, codes: TANK-9, type: tank}
"""
DIPS = """
common: {at: 2026-03-11 16:30, by: TO}
entries:
- {kind: washing, at: 2026-03-11 16:10, items: M-001..M-003, method: brushed, detergent: MIX}
- {kind: sanitising, items: M-001, solution: MIX, contact: 2 min, reading: 2500 ppm, temperature: 25 C, ph: 7}
- {kind: sanitising, items: M-002, solution: MIX, contact: 2 min, reading: 150 ppm, temperature: 25 C, ph: 3}
- {kind: tank-fill, tank: TANK-9, solution: "CL-1, PX-1"}
"""


@pytest.fixture
def stores(ledger, lotwalk):
    sheet = ledger.parent / "stores.yaml"
    sheet.write_text(STORES)
    assert lotwalk("load", sheet).status == 0
    return ledger.parent


def test_load_tells_the_dangers_of_a_sheet_first_and_ends_well(stores, lotwalk):
    sheet = stores / "dips.yaml"
    sheet.write_text(DIPS)
    done = lotwalk("load", sheet)
    assert (done.status, done.err) == (0, "")
    head, *told = done.lines
    washed, last = head.rpartition(", ")[2].split("..")
    number = int(washed[1:])
    assert int(last[1:]) == number + 3
    assert [line.split(" (2026")[0] for line in told[:3]] == [
        f"  DANGER: E{number + 2}",
        f"  DANGER: E{number + 3}",
        f"  Residue: E{number + 1}",
    ]
    assert "pH 3 of MIX is below 5. A chlorine solution this acid can give off chlorine gas. Stop adding" in told[0]
    assert "CL-1 (sodium hypochlorite, Plain bleach) and PX-1 (peroxyacetic acid, Keen)" in told[1]
    assert "Reading 2500 ppm is above the label's highest, 200 ppm. Rinse with drinking water" in told[2]


def test_record_tells_it_before_the_verdict_and_once(stores, lotwalk):
    dip = ("--items", "M-001", "--solution", "MIX", "--contact", "2 min", "--at", "2026-03-11 16:30", "--by", "TO")
    done = lotwalk("record", "sanitising", *dip, "--reading", "150 ppm", "--temperature", "25 C", "--ph", "3",
                   "--washed", "yes")  # fmt: skip
    assert (done.status, done.err) == (0, "")
    assert done.lines[1].startswith("DANGER: ")
    assert done.out.count("chlorine gas") == 1
    strong = lotwalk("record", "sanitising", *dip, "--reading", "2500 ppm", "--temperature", "25 C", "--ph", "7",
                     "--washed", "yes")  # fmt: skip
    assert strong.lines[1].startswith("Residue: ")
    assert strong.out.count("above the label's highest") == 1
    tank = lotwalk("record", "tank-fill", "--tank", "TANK-9", "--solution", "MIX,PX-1", "--by", "TO")
    assert tank.lines[1].startswith("DANGER: ")


def test_check_lists_them_as_critical_in_the_same_words(stores, lotwalk):
    sheet = stores / "dips.yaml"
    sheet.write_text(DIPS)
    told = [line.strip() for line in lotwalk("load", sheet).lines[1:4]]
    listed = lotwalk("check", "--only", "critical", "--format", "json").json["findings"]
    words = [f"{one['text']} {one['do']}" for one in listed if one["id"].split(":")[0] in
             ("gas", "never-mixed", "too-strong")]  # fmt: skip
    assert len(told) == 3
    assert sorted(words) == sorted(told)
    assert all(one["basis"] for one in listed)


def test_an_amendment_tells_it_too(stores, lotwalk):
    tank = lotwalk("record", "tank-fill", "--tank", "TANK-9", "--solution", "MIX", "--by", "TO")
    name = tank.out.partition(":")[0]
    told = lotwalk("amend", name, "--set", "solution=MIX,PX-1", "--because", "forgot", "--by", "TO")
    assert told.lines[1].startswith(f"DANGER: {name} (")


def test_what_an_amendment_makes_dangerous_in_earlier_entries_is_told_once_and_first(stores, lotwalk):
    dip = lotwalk("record", "sanitising", "--items", "M-001", "--solution", "MIX", "--contact", "2 min", "--reading",
                  "150 ppm", "--temperature", "25 C", "--ph", "7", "--washed", "yes", "--at", "2026-03-11 16:30",
                  "--by", "TO")  # fmt: skip
    assert "Residue" not in dip.out
    name = dip.out.partition(":")[0]
    receipt = lotwalk("show", "CL-1", "--format", "json").json["entries"][0]["entry"]
    told = lotwalk("amend", receipt, "--set", "label_max=100 ppm", "--because", "misread", "--by", "TO")
    assert told.lines[1].startswith(
        f"Residue: {name} (2026-03-11 16:30): Reading 150 ppm is above the label's highest,"
    )
    assert told.out.count("above the label's highest") == 1
    assert f"This changes the verdict of {name}:" in told.lines
