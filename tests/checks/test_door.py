"""What can still be stopped is told by every way in, right when the entry is written, in the words of the checks.

One farm for all: mats M-1 to M-9, a well, a cold store. On the 2nd, T-1 is sown on M-1 and cut on the 10th, 8 of its 8
trays, as H-1 (500 g). H-1 is packed on the 10th: P-1 is 5 packs of 50 g, best before the 14th. P-2, packed the same
day, is 4 packs. H-2 and P-2 are put on hold on the 11th. The well fails on the 9th, AK is kept away from the 10th on,
and M-2's dip of the 11th has no reading, while M-2 bore T-2 until the 10th.
"""

import pytest
from tests.checks.small import PLACE

from lotwalk.checks.by_subject import CHECKS
from lotwalk.checks.findings import find
from lotwalk.sheets.reader import read_sheet
from lotwalk.values.times import read_when

STORY = """
    common: {by: TO}
    entries:
    - {kind: person, at: 2026-03-01 08:10, code: AK, name: Ana Kerr, position: worker}
    - {kind: supplies-receipt, at: 2026-03-01 08:20, lot: BL-1, product: Bleach, type: sanitiser, active: chlorine,
       label_min: 100 ppm, label_max: 200 ppm, label_contact: 2 min, strength: 5 %}
    - {kind: sowing, at: 2026-03-02 09:00, batch: T-1, seed: "S-1 200 g", trays: 8, equipment: M-1, place: ROOM,
       water: MAINS}
    - {kind: sowing, at: 2026-03-02 09:30, batch: T-2, seed: "S-1 200 g", trays: 2, equipment: M-2, place: ROOM,
       water: MAINS}
    - {kind: sowing, at: 2026-03-02 09:40, batch: T-3, seed: "S-1 200 g", trays: 2, equipment: M-3, place: ROOM,
       water: MAINS}
    - {kind: water-test, at: 2026-03-09 08:00, source: WELL, lab: LAB, e_coli: 12 CFU/100 mL}
    - {kind: harvest, at: 2026-03-10 08:00, lot: H-1, from: "T-1 8 trays", amount: 500 g, cut: above the medium,
       equipment: KN-1}
    - {kind: harvest, at: 2026-03-10 08:30, lot: H-2, from: "T-2 2 trays", amount: 300 g, cut: above the medium,
       equipment: KN-1}
    - {kind: packing, at: 2026-03-10 09:00, lot: P-1, from: "H-1 250 g", packs: 5, pack_size: 50 g, product: PEA-50,
       packaging: BOXES, best_before: 2026-03-14}
    - {kind: packing, at: 2026-03-10 09:10, lot: P-2, from: "H-1 200 g", packs: 4, pack_size: 50 g, product: PEA-50,
       packaging: BOXES, best_before: 2026-03-20}
    - {kind: fitness, at: 2026-03-10 12:00, person: AK, state: excluded}
    - {kind: hold, at: 2026-03-11 08:00, lots: "H-2, P-2, S-1", reason: somebody fell ill}
    - {kind: release, at: 2026-03-11 08:30, lots: S-1, reason: the seed was tested}
    - {kind: washing, at: 2026-03-11 09:00, items: M-2, method: brushed, water: MAINS}
    - {kind: sanitising, at: 2026-03-11 09:10, items: M-2, solution: BL-1, contact: 1 min}
"""

ROWS = {
    "a lot on hold is delivered": (
        "{kind: delivery, at: 2026-03-12 10:00, code: D-1, customer: CAFE, items: P-2 2 packs}",
        "held-moved:P-2:D-1",
    ),
    "a harvest on hold is packed": (
        "{kind: packing, at: 2026-03-12 10:00, lot: P-3, from: H-2 100 g, packs: 2, pack_size: 50 g, product: PEA-50,"
        " packaging: BOXES}",
        "held-moved:H-2:P-3",
    ),
    "sown on a mat whose dip failed": (
        "{kind: sowing, at: 2026-03-12 10:00, batch: T-9, seed: S-1 10 g, trays: 1, equipment: M-2, water: MAINS}",
        "no-clean-break:{name}",
    ),
    "sown on a mat that carries another batch": (
        "{kind: sowing, at: 2026-03-12 10:00, batch: T-9, seed: S-1 10 g, trays: 1, equipment: M-3, water: MAINS}",
        "no-clean-break:{name}",
    ),
    "sown on nothing": (
        "{kind: sowing, at: 2026-03-12 10:00, batch: T-9, seed: S-1 10 g, trays: 1, water: MAINS}",
        "nothing-named:{name}",
    ),
    "work by somebody kept away": (
        "{kind: washing, at: 2026-03-12 10:00, items: M-9, method: brushed, water: MAINS, by: AK}",
        "kept-away:AK:{name}",
    ),
    "sown with water that failed": (
        "{kind: sowing, at: 2026-03-12 10:00, batch: T-9, seed: S-1 10 g, trays: 1, equipment: M-8, water: WELL}",
        "water-drawn:WELL:{name}",
    ),
    "delivered past its day": (
        "{kind: delivery, at: 2026-03-16 10:00, code: D-1, customer: CAFE, items: P-1 2 packs}",
        "past-date:P-1:D-1",
    ),
    "more packs than there are": (
        "{kind: delivery, at: 2026-03-12 10:00, code: D-1, customer: CAFE, items: P-1 50 packs}",
        "over-delivered:P-1",
    ),
    "a batch that was cut is cut again": (
        "{kind: harvest, at: 2026-03-12 10:00, lot: H-9, from: T-1 8 trays, amount: 400 g, cut: above the medium}",
        "overdrawn:T-1",
    ),
    "more packed than was cut": (
        "{kind: packing, at: 2026-03-12 10:00, lot: P-9, from: H-1 9 kg, packs: 180, pack_size: 50 g, product: PEA-50,"
        " packaging: BOXES}",
        "overdrawn:H-1",
    ),
}


@pytest.fixture
def farm(lite):
    lite.load(STORY)
    return lite


def _sheet(row):
    return read_sheet("common: {by: TO}\nentries:\n- " + row + "\n", "sheet.yaml")


def _an_hour_after(sheet):
    return read_when(str(sheet.entries[0]["at"]), PLACE).end + 3600


def _names(receipt):
    return [one.id for one in receipt.findings]


def _of_check(farm):
    with farm.book.ledger.reading() as connection:
        return {one.finding.id: one.finding for one in find(farm.book.records(connection), CHECKS)}


@pytest.mark.parametrize(("row", "name"), ROWS.values(), ids=ROWS.keys())
def test_a_sheet_tells_it_in_the_words_of_check(farm, row, name):
    sheet = _sheet(row)
    farm.now = _an_hour_after(sheet)
    receipt = farm.book.load(sheet)[0]
    expected = name.format(name=receipt.name)
    assert expected in _names(receipt)
    of_check = _of_check(farm)
    assert [one.told for one in receipt.findings] == [of_check[one.id].told for one in receipt.findings]


@pytest.mark.parametrize(("row", "name"), ROWS.values(), ids=ROWS.keys())
def test_python_and_an_amendment_tell_the_same(farm, row, name):
    fields = dict(_sheet(row).entries[0])
    farm.now = _an_hour_after(_sheet(row))
    receipt = farm.book.record(fields.pop("kind"), **fields)
    assert name.format(name=receipt.name) in _names(receipt)
    amended = farm.book.amend(int(receipt.name[1:]), {"note": "seen"}, because="forgot", by=["TO"])[0]
    assert _names(amended) == _names(receipt)


def test_what_is_in_order_is_told_nothing(farm):
    farm.load(
        """
        - {kind: washing, at: 2026-03-12 08:00, items: M-9, method: brushed, water: MAINS}
        - {kind: solution, at: 2026-03-12 08:10, lot: MIX, product: BL-1, volume: 10 L, target: 120 ppm, water: MAINS}
        - {kind: sanitising, at: 2026-03-12 08:20, items: M-9, solution: MIX, contact: 2 min, reading: 120 ppm,
           temperature: 25 C, ph: 7}
        """
    )
    for row in (
        "{kind: sowing, at: 2026-03-12 10:00, batch: T-9, seed: S-1 10 g, trays: 1, equipment: M-9, water: MAINS}",
        "{kind: delivery, at: 2026-03-12 10:00, code: D-1, customer: CAFE, items: P-1 5 packs}",
    ):
        assert farm.book.load(_sheet(row))[0].findings == ()


def test_of_an_old_entry_of_which_nothing_is_left_only_the_number_is_told(farm):
    # P-1 is delivered whole, two days after its day. Typed a month later nobody can stop it any more.
    row = "{kind: delivery, at: 2026-03-16 10:00, code: D-1, customer: CAFE, items: P-1 5 packs}"
    farm.now = read_when("2026-04-16 12:00", PLACE).end
    receipt = farm.book.load(_sheet(row))[0]
    assert (receipt.findings, receipt.older) == ((), 1)
    # Of T-3, which still grows, it is told however late it is typed.
    row = "{kind: sowing, at: 2026-03-16 10:00, batch: T-9, seed: S-1 10 g, trays: 1, equipment: M-3, water: MAINS}"
    assert "no-clean-break" in _names(farm.book.load(_sheet(row))[0])[0]


def test_a_complaint_names_the_recall_and_an_amendment_what_it_changed(farm):
    row = "{kind: complaint, at: 2026-03-12 10:00, code: C-1, customer: CAFE, type: illness, description: ill}"
    receipt = farm.book.load(_sheet(row))[0]
    assert any("`lotwalk recall C-1`" in one for one in receipt.notices)
    changes = {"description": "two ill", "note": "by telephone"}
    amended = farm.book.amend(int(receipt.name[1:]), changes, because="they rang again", by=["TO"])[0]
    assert amended.changed == "description was `ill` and is now `two ill`; note is now `by telephone`"
