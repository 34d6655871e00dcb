"""What came back and was restocked is some of the lot that it names, and of nothing else that lay in the box.

D-1 took to SHOP P-1 (radish, product RAD2, packs of 50 g in a clamshell, best before 20 March) and P-2 (spicy mix, of
radish and mustard). 100 g of P-1 came back as P-1R, and D-2 took that to CAFE. So D-2 holds radish alone: S-RAD, T-RAD,
H-RAD, P-1 and P-1R. Nothing of S-MUS, H-MUS or P-2 is in it; they only lay beside it.
"""

import json

import pytest
from tests.exchange.conftest import opened, small

from lotwalk.data import folder
from lotwalk.exchange.epcis import document
from lotwalk.exchange.export_request import ask
from lotwalk.exchange.scope import Question
from lotwalk.kinds.library import Kinds, read_things
from lotwalk.ledger.read.things import find_thing
from lotwalk.recall.asking.asked import ask as ask_about
from lotwalk.recall.recall import recall
from lotwalk.recall.response.package_marks import bags
from lotwalk.walk.model import Start
from lotwalk.walk.walk import walk

AT = "2026-03-01 08:00"
FARM = [
    {"kind": "person", "code": "TO", "name": "Tess Orr", "at": AT},
    {"kind": "supplier", "code": "SEEDS", "name": "Seeds of Hollin", "at": AT},
    {"kind": "customer", "code": "CAFE", "name": "Cafe Under", "at": AT},
    {"kind": "customer", "code": "SHOP", "name": "Shop Over", "at": AT},
    {"kind": "product", "code": "RAD2", "name": "Radish greens", "commodity": "radish", "pack_style": "clamshell",
     "shelf_life": "9 days", "at": AT},
    {"kind": "product", "code": "MIX", "name": "Spicy mix", "commodity": "radish, mustard", "at": AT},
    *(
        entry
        for name, crop in (("RAD", "radish"), ("MUS", "mustard"))
        for entry in (
            {"kind": "seed-receipt", "lot": f"S-{name}", "crop": crop, "supplier": "SEEDS", "amount": "2 kg",
             "at": AT},
            {"kind": "sowing", "batch": f"T-{name}", "seed": f"S-{name} 200 g", "trays": "2",
             "at": "2026-03-02 09:00"},
            {"kind": "harvest", "lot": f"H-{name}", "from": f"T-{name}", "amount": "1 kg",
             "cut": "above the medium", "at": "2026-03-10 09:00"},
        )
    ),
    {"kind": "packing", "lot": "P-1", "product": "RAD2", "from": "H-RAD 500 g", "packs": "10", "pack_size": "50 g",
     "best_before": "2026-03-20", "at": "2026-03-10 11:00"},
    {"kind": "packing", "lot": "P-2", "product": "MIX", "from": ["H-RAD 100 g", "H-MUS 100 g"], "amount": "200 g",
     "best_before": "2026-03-18", "at": "2026-03-10 11:30"},
    {"kind": "delivery", "code": "D-1", "customer": "SHOP", "items": ["P-1 200 g", "P-2 100 g"], "document": "INV 1",
     "at": "2026-03-10 15:00"},
    {"kind": "return", "delivery": "D-1", "lot": "P-1", "amount": "100 g", "then": "restocked", "new_lot": "P-1R",
     "at": "2026-03-11 09:00"},
    {"kind": "delivery", "code": "D-2", "customer": "CAFE", "items": "P-1R 100 g", "document": "INV 2",
     "at": "2026-03-11 15:00"},
]  # fmt: skip
RADISH = {"P-1R", "P-1", "H-RAD", "T-RAD", "S-RAD"}
BESIDE = {"P-2", "H-MUS", "T-MUS", "S-MUS"}


def older_kinds(path):
    """The kinds as they were when a return that was restocked took the whole delivery."""
    schemas = folder("schemas")
    files = {one.stem: one for one in schemas.glob("*.yaml") if one.stem not in ("common", "things", "units")}
    text = files["return"].read_text("utf-8")
    assert "{role: handled, when: {given: new_lot}}" in text
    files["return"] = path / "return.yaml"
    files["return"].write_text(text.replace("{role: handled, when", "{role: took, when"), "utf-8")
    return Kinds(files, (), read_things(schemas / "things.yaml"))


@pytest.fixture(params=["now", "older"])
def book(request, tmp_path):
    """The farm, its return recorded as now or as an older program did."""
    book = small(tmp_path / "farm.db", FARM[:-2])
    now = book.ledger.kinds
    if request.param == "older":
        book.ledger.kinds = older_kinds(tmp_path)
    for entry in FARM[-2:]:
        book.record_all([{"by": "TO", **entry}])
    book.ledger.kinds = now
    yield book
    book.ledger.engine.dispose()


def test_the_spreadsheet_says_of_it_what_its_lot_is(book):
    answer = opened(book, Question(("D-2",), "CAFE"))
    (shipped,) = answer.rows("Shipping")
    assert shipped["Traceability lot code"] == "P-1R"
    assert shipped["Product description"] == "Radish greens"
    assert shipped["Product commodity"] == "radish"
    assert (shipped["Pack size"], shipped["Pack style"], shipped["Quantity"]) == ("50 g", "clamshell", 100)
    (made,) = answer.rows("Transformation")
    assert (made["New traceability lot code"], made["Traceability lot code used"]) == ("P-1R", "P-1")
    assert made["Product description"] == "Radish greens"
    assert [row["Our harvest lot code"] for row in answer.rows("Harvesting")] == ["H-RAD"]
    assert [row["Traceability lot code"] for row in answer.rows("Initial packing")] == ["P-1"]
    assert [row["Our lot code"] for row in answer.rows("Receiving")] == ["S-RAD"]
    for word in (*BESIDE, "mustard", "Spicy mix", "SHOP", "Shop Over", "INV 1"):
        assert word not in answer.text


def test_what_lay_beside_it_is_not_traced_on_to_it(book):
    answer = opened(book, Question(("P-2",)))
    assert [row["Delivery"] for row in answer.rows("Shipping")] == ["D-1"]
    onward = opened(book, Question(("S-RAD",)))
    assert {row["Delivery"] for row in onward.rows("Shipping")} == {"D-1", "D-2"}


def test_its_event_takes_in_the_lot_alone_and_names_what_it_is(book):
    with book.ledger.reading() as connection:
        text = document(ask(connection, book.ledger, Question(("D-2",), "CAFE"))).text()
    events = json.loads(text)["epcisBody"]["eventList"]
    dates = [one["ilmd"]["cbvmda:bestBeforeDate"] for one in events if "cbvmda:bestBeforeDate" in one.get("ilmd", {})]
    # The packing of P-1, and the restocking of P-1R.
    assert dates == ["2026-03-20", "2026-03-20"]
    assert "Radish greens" in text
    assert "Spicy mix" not in text
    assert "P-2" not in text


def test_what_stands_on_its_package_is_what_stands_on_that_of_its_lot(book):
    with book.ledger.reading() as connection:
        assert bags(connection, book.ledger.kinds, ["P-1R"])["P-1R"].best_before == "2026-03-20"


def test_its_product_says_how_long_it_keeps(book):
    # Nine days either side of D-2, by the product of the lot it is some of; the rule set's number is another.
    with book.ledger.reading() as connection:
        found = recall(connection, ask_about(connection, ["D-2"]), book.ledger.kinds, shelf_life=86_400)
    assert (found.span[1] - found.span[0]) // 86_400 == 18


def test_back_from_it_the_lot_is_an_ingredient_and_the_box_only_came_near(tmp_path):
    book = small(tmp_path / "farm.db", FARM)
    with book.ledger.reading() as connection:
        thing = find_thing(connection, "P-1R")
        found = {one.thing.code: one for one in walk(connection, "back", [Start(thing.id)]).reached}
    assert {found[code].link for code in RADISH - {"P-1R"}} == {"ingredient"}
    for code in ("D-1", *BESIDE):
        assert (found[code].link, found[code].level) == ("contact", 3)
    with book.ledger.reading() as connection:
        found = recall(connection, ask_about(connection, ["P-1R"]), book.ledger.kinds)
    # What went to the shop beside it stays in the recall, farther out.
    assert {"P-1", "P-2", "S-MUS"} <= set(found.lots)
    # By ingredient through lots made here: P-1R, P-1, H-RAD, T-RAD, and P-2, which has some of H-RAD in it.
    assert found.totals[0].lots == 5
    book.ledger.engine.dispose()
