"""`lotwalk balance`: the table, JSON, CSV and the exit status."""

import csv
import io
import json

import pytest
from tests.balance.farm import load
from tests.balance.test_sheets import GROWN, PACKED

from lotwalk.cli.main import main
from lotwalk.ledger.read.things import find_thing
from lotwalk.ledger.read.uses import makers

SOLD = """
    - {kind: packing, at: 2026-03-10, lot: P-2, from: [P-1 600 g, H-2 400 g], amount: 1 kg, packaging: BOXES}
    - {kind: delivery, at: 2026-03-11, code: D-1, customer: CAFE, items: [P-1 380 g, P-2 900 g]}
    - {kind: stock-count, at: 2026-03-12, lot: P-2, amount: 100 g}
"""
OTHER = "- {kind: harvest, at: 2026-03-09, lot: H-2, from: T-1 1, amount: 400 g}"


@pytest.fixture
def lotwalk(farm, monkeypatch, capsys):
    load(farm, GROWN.replace("trays: 4", "trays: 5"))
    load(farm, PACKED.replace("from: T-1", "from: T-1 4"))
    load(farm, OTHER)
    load(farm, SOLD)
    monkeypatch.setenv("LOTWALK_LEDGER", farm.ledger.engine.url.database)

    def run(*arguments: str) -> tuple[int, str, str]:
        status = main(arguments)
        out, err = capsys.readouterr()
        return status, out, err

    return run


def test_a_lot_that_balances(lotwalk):
    status, out, _ = lotwalk("balance", "P-2")
    assert status == 0
    row = next(line for line in out.splitlines() if line.startswith("P-2"))
    assert row.split("  ")[0] == "P-2"
    for cell in ("1 kg", "900 g", "100 g", "100.0 %"):
        assert cell in row
    assert "Every lot balances" in out
    assert "does not show that any food is safe" in " ".join(out.split())


def test_a_lot_that_does_not_is_bad_news(lotwalk):
    # Of 1 kg 980 g are accounted for: within the tolerance. 5 kg of seed less what was sown were never counted.
    assert lotwalk("balance", "P-1")[0] == 0
    status, out, _ = lotwalk("balance", "P-1", "S-1")
    assert status == 1
    words = " ".join(out.split())
    assert "Does NOT balance: S-1." in words
    assert "Count it: `lotwalk record stock-count --lot S-1`" in words
    assert "95 to 105 %" in words


def test_a_batch_on_the_rack_is_not_missing(lotwalk, farm):
    load(farm, "- {kind: sowing, at: 2026-03-12, batch: T-9, seed: S-1 100 g, trays: 3}")
    status, out, _ = lotwalk("balance", "T-9")
    words = " ".join(out.split())
    assert status == 0
    assert "it still stands where it was sown, as far as the book knows" in words
    assert "missing" not in words.casefold()
    (lot,) = json.loads(lotwalk("balance", "T-9", "--format", "json")[1])["lots"]
    assert (lot["unaccounted"], lot["accounted_percent"], lot["balanced"]) == ("3", "0", True)
    # A cut of one tray of three, which says nothing of the others, leaves them standing.
    load(farm, "- {kind: harvest, at: 2026-03-20, lot: H-9, from: T-9 1, amount: 100 g}")
    assert lotwalk("balance", "T-9")[0] == 0
    # Once a harvest has finished it, what nobody cut is missing; and so is what a count does not find.
    row = "{batch: T-9, trays: 1, finished: yes}"
    load(farm, f"- {{kind: harvest, at: 2026-03-21, lot: H-10, from: [{row}], amount: 100 g}}")
    assert lotwalk("balance", "T-9")[0] == 1
    load(farm, "- {kind: sowing, at: 2026-03-12, batch: T-10, seed: S-1 100 g, trays: 3}")
    load(farm, "- {kind: stock-count, at: 2026-03-13, lot: T-10, amount: 1 tray}")
    assert "Does NOT balance: T-10." in lotwalk("balance", "T-10")[1]


def test_json(lotwalk):
    status, out, _ = lotwalk("balance", "p-1", "--format", "json")
    answer = json.loads(out)
    assert status == 0
    assert answer["lots"] == [
        {
            "code": "P-1",
            "kind": "packed-lot",
            "bought": False,
            "void": False,
            "unit": "g",
            "made": "1000",
            "used": {"packing": "600"},
            "delivered": "380",
            "disposed": "0",
            "sampled": "0",
            "returned": "0",
            "on_hand": None,
            "unaccounted": "20",
            "accounted_percent": "98",
            "counted": None,
            "unmeasured": [],
            "other_unit": [],
            "balanced": True,
        }
    ]
    assert answer["balanced"] is True
    assert answer["tolerance_percent"] == {"from": "95", "to": "105"}


def test_the_total_counts_nothing_twice(lotwalk):
    _, out, _ = lotwalk("balance", "H-1", "H-2", "P-1..P-2", "T-1", "--format", "json")
    totals = {one["unit"]: one for one in json.loads(out)["totals"]}
    # 1,400 g were cut. 20 g of P-1 were neither sold nor counted.
    assert totals["g"]["made"] == "1400"
    assert totals["g"]["delivered"] == "1280"
    assert totals["g"]["on_hand"] == "100"
    assert totals["g"]["unaccounted"] == "20"
    assert totals["g"]["accounted_percent"] == "98.57"
    _, out, _ = lotwalk("balance", "H-1", "H-2", "--format", "json")
    (alone,) = json.loads(out)["totals"]
    assert (alone["made"], alone["used"]) == ("1400", {"packing": "1400"}), "P-1 and P-2 were not asked for"
    assert totals["count"]["made"] == "0", "every tray was cut, and stands in the lots cut from it"


def test_where_a_lot_went_on_to(lotwalk):
    _, out, _ = lotwalk("balance", "H-2", "--onward", "--format", "json")
    (further,) = json.loads(out)["lots"][0]["onward"]
    # 400 of the 1,000 g of P-2, and so 360 of the 900 g delivered and 40 of the 100 g on hand.
    assert further == {
        "code": "P-2", "kind": "packed-lot", "unit": "g", "share": "0.4", "made": "400", "delivered": "360",
        "on_hand": "40",
    }  # fmt: skip
    _, out, _ = lotwalk("balance", "BOXES", "--onward", "--format", "json")
    (boxed,) = json.loads(out)["lots"][0]["onward"]
    assert (boxed["code"], boxed["share"], boxed["delivered"]) == ("P-2", "1", "900")
    _, out, _ = lotwalk("balance", "S-1", "P-2", "--onward")
    assert "Nothing was made of P-2." in out
    assert "With some of S-1 inside" in out


def test_lots_made_of_each_other_by_a_slip_come_to_an_end(lotwalk, farm):
    with farm.ledger.reading() as connection:
        thing = find_thing(connection, "P-1")
        maker = makers(connection, [thing.id])[thing.id]
    farm.amend(maker.number, {"from": "P-2 1 kg"}, because="a slip", by=["TO"])
    _, out, _ = lotwalk("balance", "H-2", "--onward", "--format", "json")
    further = json.loads(out)["lots"][0]["onward"]
    assert {one["code"]: one["share"] for one in further} == {"P-1": "1", "P-2": "1"}


def test_csv(lotwalk):
    status, out, _ = lotwalk("balance", "P-1", "S-1", "--format", "csv")
    rows = list(csv.DictReader(io.StringIO(out)))
    assert status == 1
    assert [(row["code"], row["balanced"], row["used_by"]) for row in rows] == [
        ("P-1", "yes", "packing 600"),
        ("S-1", "no", "sowing 500"),
    ]
    assert rows[0]["on_hand"] == ""


@pytest.mark.parametrize(("code", "why"), [("NOPE", "is not in the book"), ("D-1", "D-1 is a delivery")])
def test_what_is_no_lot_is_not_understood(lotwalk, code, why):
    status, out, err = lotwalk("balance", code)
    assert (status, out) == (2, "")
    assert why in err


def test_what_cannot_be_weighed_up_says_why(lotwalk, farm):
    (name,) = load(farm, "- {kind: soaking, at: 2026-03-02, lot: SOAK-1, seed: S-3 300 g}")
    status, out, _ = lotwalk("balance", "SOAK-1", "BOXES", "S-3")
    words = " ".join(out.split())
    assert status == 1
    assert "SOAK-1: nobody wrote down how much there was" in words
    assert "In no total, since nobody wrote down how much there was: SOAK-1." in words
    assert "took from it and does not say how much" in words
    farm.void(int(name[1:]), because="not soaked", by=["TO"])
    assert "the entry that made it is void" in lotwalk("balance", "SOAK-1")[1]
