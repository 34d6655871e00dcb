"""A caller who names a product, or a crop: the lots of it, mixes with some of it, and lots that could be anything.

CAFE got in D-2, beside each other: P-RAD (radish, product RAD2), P-MIX (radish and mustard, product MIX), P-PEA (pea,
product PEA2) and H-SUN (sunflower, cut and sold under no product). It travelled in VAN-1, in which P-KALE had gone to
SHOP an hour before (D-1). D-3 is P-PEA alone, D-4 P-MIX alone. Nobody named a knife, a bench or water, so that each
crop has its own ancestry: the seed, the batch, the harvest and the pack.
"""

import pytest

from lotwalk.book import Book
from lotwalk.ledger.read.things import things_of
from lotwalk.ledger.read.versions import versions as find_versions
from lotwalk.recall.asking.asked import ask, ask_buyer
from lotwalk.recall.asking.buyer import Buyer
from lotwalk.recall.recall import recall
from lotwalk.sheets.reader import read_sheet
from lotwalk.values.times import zone

CROPS = {"RAD": "radish", "MUS": "mustard", "PEA": "pea", "SUN": "sunflower", "KALE": "kale"}
GROWN = "".join(
    f"""
- {{kind: seed-receipt, lot: S-{name}, crop: {crop}, supplier: SEEDS, amount: 5 kg}}
- {{kind: sowing, at: 2026-03-02 09:00, batch: T-{name}, seed: S-{name} 200 g, trays: 2, water: none, equipment: none}}
- {{kind: harvest, at: 2026-03-10 09:00, lot: H-{name}, from: T-{name} 2, amount: 900 g, cut: above the medium,
   equipment: none}}
"""
    for name, crop in CROPS.items()
)
FARM = f"""
common: {{by: TO, at: 2026-03-01 08:00}}
entries:
- {{kind: person, code: TO, name: Tess Orr}}
- {{kind: supplier, code: SEEDS, name: Seeds}}
- {{kind: customer, code: CAFE, name: Cafe}}
- {{kind: customer, code: SHOP, name: Shop}}
- {{kind: equipment, codes: VAN-1, type: vehicle}}
- {{kind: product, code: RAD2, name: Radish greens, commodity: radish}}
- {{kind: product, code: MIX, name: Spicy mix, commodity: "radish, mustard"}}
- {{kind: product, code: PEA2, name: Pea shoots, commodity: pea}}
- {{kind: product, code: KALE2, name: Kale, commodity: kale}}
- {{kind: product, code: MUS2, name: Mustard, commodity: mustard}}
- {{kind: product, code: CRESS2, name: Cress, commodity: cress}}
{GROWN}
- {{kind: packing, at: 2026-03-10 12:00, lot: P-RAD, from: H-RAD 400 g, product: RAD2, amount: 400 g, equipment: none,
   water: none}}
- {{kind: packing, at: 2026-03-10 12:10, lot: P-MIX, from: [H-RAD 100 g, H-MUS 100 g], product: MIX, amount: 200 g,
   equipment: none, water: none}}
- {{kind: packing, at: 2026-03-10 12:20, lot: P-PEA, from: H-PEA 400 g, product: PEA2, amount: 400 g, equipment: none,
   water: none}}
- {{kind: packing, at: 2026-03-10 12:30, lot: P-KALE, from: H-KALE 400 g, product: KALE2, amount: 400 g,
   equipment: none, water: none}}
- {{kind: delivery, at: 2026-03-11 08:00, code: D-1, customer: SHOP, items: P-KALE 100 g, vehicle: VAN-1}}
- {{kind: delivery, at: 2026-03-11 09:00, code: D-2, customer: CAFE, vehicle: VAN-1,
   items: [P-RAD 100 g, P-MIX 50 g, P-PEA 50 g, H-SUN 50 g]}}
- {{kind: delivery, at: 2026-03-12, code: D-3, customer: CAFE, items: P-PEA 50 g}}
- {{kind: delivery, at: 2026-03-13, code: D-4, customer: CAFE, items: P-MIX 50 g}}
- {{kind: complaint, at: 2026-03-15, code: Q-1, customer: CAFE, type: illness, deliveries: D-2, product: RAD2,
   description: ill}}
- {{kind: complaint, at: 2026-03-15, code: Q-2, customer: CAFE, type: allergen, deliveries: D-2, product: RAD2,
   description: hives}}
- {{kind: complaint, at: 2026-03-15, code: Q-3, customer: CAFE, type: illness, deliveries: "D-3, D-4", product: KALE2,
   description: ill}}
- {{kind: complaint, at: 2026-03-15, code: Q-4, customer: CAFE, type: illness, product: MUS2, from: 2026-03-12,
   until: 2026-03-13, description: ill}}
- {{kind: complaint, at: 2026-03-15, code: Q-5, customer: CAFE, type: illness, product: CRESS2, from: 2026-03-12,
   until: 2026-03-13, description: ill}}
- {{kind: complaint, at: 2026-03-15, code: Q-6, customer: CAFE, type: illness, deliveries: D-2, lots: P-PEA,
   product: RAD2, description: ill}}
- {{kind: complaint, at: 2026-03-15, code: Q-7, customer: CAFE, type: illness, deliveries: D-2, description: ill}}
"""
OWN = {name: {f"S-{name}", f"T-{name}", f"H-{name}"} for name in CROPS}
MEANT = {"P-RAD", "P-MIX", "H-SUN"} | OWN["RAD"] | OWN["MUS"] | OWN["SUN"]
"""What lies behind the radish and the mix with radish in it, and behind H-SUN, of which no product is known."""
IN_THE_VAN = {"VAN-1", "P-KALE"} | OWN["KALE"]
"""What was in the van before: whatever of it came to D-2 came to all that was in D-2."""
BESIDE = {"P-PEA"} | OWN["PEA"]


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    where = tmp_path_factory.mktemp("box") / "farm.db"
    book = Book.start(
        str(where), name="F", location="L", timezone="UTC", measures="metric", clock=lambda: 1_774_500_000
    )
    book.load(read_sheet(FARM, "farm.yaml"))
    yield book
    book.ledger.engine.dispose()


def recalled(book, *codes, **more):
    with book.ledger.reading() as connection:
        return recall(connection, ask(connection, codes), book.ledger.kinds, **more)


def causes(found):
    return {one.thing.code: one for one in found.candidates}


def test_a_complaint_that_names_a_product_starts_from_its_lots_and_leaves_out_what_travelled_with_them(book):
    found = recalled(book, "Q-1")
    assert causes(found).keys() == MEANT | IN_THE_VAN
    assert found.left_out == ("P-PEA",)
    assert all(one.link == "ingredient" and one.level < 3 for code, one in causes(found).items() if code in MEANT)
    assert {one.link for code, one in causes(found).items() if code in IN_THE_VAN} == {"contact"}
    # What was asked about is the delivery all the same, with what of it is concerned.
    assert found.levels["D-2"] == 1
    assert {item.lot for one in found.deliveries if one.code == "D-2" for item in one.items} == {
        "P-RAD", "P-MIX", "H-SUN",
    }  # fmt: skip
    assert not BESIDE & set(found.lots)
    whole = recalled(book, "Q-7")
    assert causes(whole).keys() == MEANT | IN_THE_VAN | BESIDE
    assert (whole.left_out, whole.with_box) == ((), ())


def test_with_the_box_what_travelled_with_it_is_behind_it_by_contact(book):
    found = recalled(book, "Q-1", with_the_box=True)
    assert causes(found).keys() == causes(recalled(book, "Q-7")).keys()
    assert (found.left_out, found.with_box) == ((), ("P-PEA",))
    for code in BESIDE:
        assert (causes(found)[code].link, causes(found)[code].level) == ("contact", 3)
    assert {one.explains for one in found.candidates} == {1}


def test_for_an_allergen_what_travelled_with_it_is_behind_it_without_asking(book):
    assert book.ledger.kinds.things["complaint"].travels_with == ("foreign body", "chemical or taste", "allergen")
    found = recalled(book, "Q-2")
    assert (found.left_out, found.with_box) == ((), ("P-PEA",))
    assert causes(found)["S-PEA"].link == "contact"
    assert causes(found)["S-RAD"].link == "ingredient"


def test_where_nothing_delivered_is_of_the_product_the_whole_delivery_is_taken_and_that_is_said(book):
    found = recalled(book, "Q-3")
    assert causes(found).keys() == {"P-PEA", "P-MIX"} | OWN["PEA"] | OWN["RAD"] | OWN["MUS"]
    assert found.left_out == ()
    (asked,) = found.asked
    assert asked.words() == ["By the book nothing in D-3, D-4 is KALE2, so all of it is taken."]


def test_a_complaint_that_names_no_delivery_is_about_what_holds_the_product_or_a_mix_with_its_crop(book):
    # Of D-3 and D-4, got on those days, D-4 is a mix with mustard in it.
    found = recalled(book, "Q-4")
    assert [one.code for one in found.deliveries if found.levels[one.code] == 1] == ["D-2", "D-4"]
    assert causes(found).keys() == {"P-MIX"} | OWN["RAD"] | OWN["MUS"]


def test_a_complaint_of_which_its_customer_got_nothing_is_about_all_that_they_got(book):
    found = recalled(book, "Q-5")
    assert causes(found).keys() == {"P-PEA", "P-MIX"} | OWN["PEA"] | OWN["RAD"] | OWN["MUS"]
    assert "nothing in D-3, D-4 is CRESS2" in found.asked[0].words()[0]


def test_lots_that_a_complaint_names_are_meant_whatever_their_product(book):
    found = recalled(book, "Q-6")
    assert causes(found).keys() == MEANT | IN_THE_VAN | OWN["PEA"]
    assert found.left_out == ()


def test_what_one_complaint_leaves_out_and_another_is_about_is_not_left_out(book):
    found = recalled(book, "Q-1", "Q-6")
    assert found.left_out == ()
    assert causes(found)["S-RAD"].explains == 2
    assert causes(found)["S-PEA"].explains == 1


@pytest.mark.parametrize(
    ("crop", "lots", "left_out"),
    [
        ("radish", ["H-SUN", "P-MIX", "P-RAD"], ("P-PEA",)),
        ("MIX", ["H-SUN", "P-MIX"], ("P-PEA", "P-RAD")),
        ("mustard", ["H-SUN", "P-MIX"], ("P-PEA", "P-RAD")),
        ("sunflower", ["H-SUN"], ("P-MIX", "P-PEA", "P-RAD")),
    ],
)
def test_a_crop_that_a_buyer_names_narrows_what_is_asked(book, crop, lots, left_out):
    buyer = Buyer("CAFE", crop, end=1_773_273_599)  # until the end of 11 March
    with book.ledger.reading() as connection:
        kinds = book.ledger.kinds
        found = recall(connection, [ask_buyer(connection, kinds, buyer, zone("UTC"))], kinds)
        codes = dict(connection.exec_driver_sql("SELECT id, code FROM thing").all())
    assert sorted(codes[key] for key in found.asked[0].lots) == lots
    assert found.left_out == left_out
    assert set(lots) <= causes(found).keys()
    assert not set(left_out) & causes(found).keys()


def test_a_clean_van_bounds_what_was_in_it_before_and_one_of_no_known_hour_does_not(tmp_path):
    # A second farm of the same: the van was swabbed clean between the two rounds, or at no known hour of the day.
    for at, behind in (("2026-03-11 08:30", False), ("2026-03-11", True)):
        where = tmp_path / f"{behind}.db"
        other = Book.start(
            str(where), name="F", location="L", timezone="UTC", measures="metric", clock=lambda: 1_774_500_000
        )
        other.load(read_sheet(FARM, "farm.yaml"))
        other.record_all(
            [
                {"kind": "supplies-receipt", "at": "2026-03-01", "by": "TO", "lot": "BL-1", "product": "Bleach",
                 "type": "sanitiser", "active": "sodium hypochlorite", "label_min": "50 ppm", "label_max": "200 ppm",
                 "label_contact": "1 min"},
                {"kind": "solution", "at": "2026-03-11 07:00", "by": "TO", "lot": "SOL-1", "product": "BL-1"},
                {"kind": "sanitising", "at": at, "by": "TO", "items": "VAN-1", "solution": "SOL-1",
                 "reading": "100 ppm", "contact": "2 min", "washed": True, "ph": "7", "temperature": "25 degC"},
            ]
        )  # fmt: skip
        # The complaints are older than this paper, so a buyer is asked about, who made none.
        with other.ledger.reading() as connection:
            kinds = other.ledger.kinds
            asked = ask_buyer(connection, kinds, Buyer("CAFE", "radish", end=1_773_273_599), zone("UTC"))
            found = causes(recall(connection, [asked], kinds))
        assert ("P-KALE" in found) is behind
        assert "VAN-1" in found
        other.ledger.engine.dispose()


SLEEVED = """
common: {by: TO, at: 2026-03-16 08:00}
entries:
- {kind: supplies-receipt, at: 2026-03-01, lot: SLEEVES, product: Sleeves, type: packaging, amount: 500 sleeves}
- {kind: delivery, at: 2026-03-14, code: D-5, customer: CAFE, items: [P-RAD 50 g, P-PEA 50 g], packaging: SLEEVES}
- {kind: delivery, at: 2026-03-14, code: D-6, customer: CAFE, items: P-PEA 50 g, packaging: SLEEVES}
- {kind: complaint, code: Q-8, customer: CAFE, type: illness, deliveries: D-5, product: RAD2, description: ill}
- {kind: complaint, code: Q-9, customer: CAFE, type: illness, deliveries: D-6, product: RAD2, description: ill}
- {kind: hold, lots: D-5, reason: sleeves smell}
"""


def test_what_went_around_a_delivery_stays_behind_it_and_is_none_of_its_lots(tmp_path):
    """D-5 is P-RAD and P-PEA in SLEEVES, D-6 is P-PEA in SLEEVES.

    Of a complaint about radish in D-5, P-RAD and the sleeves are behind it, and P-PEA is not. In D-6 is no radish, and
    sleeves are no radish either: it is taken whole.
    """
    book = Book.start(
        str(tmp_path / "farm.db"),
        name="F",
        location="L",
        timezone="UTC",
        measures="metric",
        clock=lambda: 1_774_500_000,
    )
    book.load(read_sheet(FARM, "farm.yaml"))
    receipts = book.load(read_sheet(SLEEVED, "sleeves.yaml"))
    radish = recalled(book, "Q-8")
    assert causes(radish).keys() == {"P-RAD", "SLEEVES"} | OWN["RAD"]
    assert radish.left_out == ("P-PEA",)
    whole = recalled(book, "Q-9")
    assert causes(whole).keys() == {"P-PEA", "SLEEVES"} | OWN["PEA"]
    with book.ledger.reading() as connection:
        (held,) = find_versions(connection, int(receipts[-1].name[1:]))
        assert [use.code for use in held.uses if use.field == "lots"] == ["P-RAD", "P-PEA"]
        asked = ask_buyer(connection, book.ledger.kinds, Buyer("CAFE", "radish", start=1_773_446_400), zone("UTC"))
        assert {thing.code for thing in things_of(connection, asked.starts)} == {"D-5"}
    book.ledger.engine.dispose()
