"""The sortable spreadsheet, opened by another library, against the ledger and against 21 CFR 1 subpart S."""

import datetime

import pytest
from tests.exchange.conftest import FARM, opened, small

from lotwalk.book import Book
from lotwalk.errors import NotUnderstood
from lotwalk.exchange.scope import Question
from lotwalk.ledger.read.versions import entries
from lotwalk.values.roles import Role

# The key data elements of 21 CFR 1 subpart S: 1.1325(a), (b), 1.1330, 1.1340, 1.1345 (restated), 1.1350 (from memory).
ELEMENTS = {
    "Harvesting": ["Commodity", "Variety", "Quantity", "Quantity: unit", "Harvest date", "Farm location",
                   "Field or growing area name", "Next recipient", "Reference document type",
                   "Reference document number"],
    "Cooling": ["Commodity", "Variety", "Quantity", "Quantity: unit", "Cooling location", "Cooling date",
                "Farm location", "Next recipient", "Reference document type", "Reference document number"],
    "Initial packing": ["Received commodity", "Received variety", "Date received", "Quantity received",
                        "Quantity received: unit", "Farm location", "Field or growing area name", "Harvester name",
                        "Harvester phone", "Harvest date", "Cooling location", "Traceability lot code",
                        "Product description", "Quantity packed", "Quantity packed: unit",
                        "Lot code source location", "Pack date", "Reference document type",
                        "Reference document number"],
    "Shipping": ["Traceability lot code", "Quantity", "Quantity: unit", "Product description", "Ship-to location",
                 "Ship-from location", "Ship date", "Lot code source location", "Reference document type",
                 "Reference document number"],
    "Receiving": ["Traceability lot code", "Quantity", "Quantity: unit", "Product description", "Previous source",
                  "Receiving location", "Date received", "Lot code source location", "Reference document type",
                  "Reference document number"],
    "Transformation": ["Traceability lot code used", "Product description used", "Quantity used",
                       "Quantity used: unit", "New traceability lot code", "Location", "Date completed",
                       "Product description", "Quantity made", "Quantity made: unit", "Reference document type",
                       "Reference document number"],
}  # fmt: skip

SHEETS = {"Harvesting": "harvest", "Initial packing": "packing", "Shipping": "delivery", "Sowing": "sowing"}


def _in_force(book, kind):
    with book.ledger.reading() as connection:
        return list(entries(connection, kind))


def _taken(version, *kinds_of_code):
    return [use for use in version.uses if use.role is Role.TOOK and use.code.startswith(kinds_of_code)]


@pytest.mark.parametrize("event", ELEMENTS)
def test_a_sheet_an_event_has_a_column_for_each_element(whole, event):
    assert set(ELEMENTS[event]) <= set(whole.titles(event))


def test_each_entry_of_the_sample_farm_stands_in_its_sheet(whole, book):
    for title, kind in SHEETS.items():
        expected = {one.name for one in _in_force(book, kind)}
        assert {row["Entry"] for row in whole.rows(title)} >= expected, title
    assert len(whole.rows("Harvesting")) == len(_in_force(book, "harvest"))


def test_a_row_for_each_lot_delivered_with_the_amount_of_the_ledger(whole, book):
    expected = sorted(
        (version.name, use.code, float(use.amount))
        for version in _in_force(book, "delivery")
        for use in version.uses
        if use.role is Role.TOOK
    )
    rows = whole.rows("Shipping")
    assert sorted((row["Entry"], row["Traceability lot code"], row["Quantity"]) for row in rows) == expected
    assert {row["Quantity: unit"] for row in rows} <= {"g", "pieces"}


def test_a_row_for_each_lot_packed_with_the_amounts_of_the_ledger(whole, book):
    expected = sorted(
        (version.name, use.code, float(use.amount))
        for version in _in_force(book, "packing")
        for use in _taken(version, "H-", "T-")
    )
    told = [(row["Entry"], row["Received lot"], row["Quantity received"]) for row in whole.rows("Initial packing")]
    assert sorted(told) == expected


def test_days_are_days_amounts_numbers_and_codes_text(whole):
    for row in whole.rows("Shipping"):
        assert isinstance(row["Ship date"], datetime.datetime | datetime.date)
        assert isinstance(row["Quantity"], float | int)
        assert isinstance(row["Traceability lot code"], str)
    # A supplier's lot that looks like a number stays what is on the bag.
    assert "12_000" in {row["Traceability lot code"] for row in whole.rows("Receiving")}


def test_the_first_sheet_says_what_it_is_and_what_is_missing(book, whole):
    assert whole.names[0] == "About"
    told = "\n".join(str(cell.value) for row in whole.book["About"].iter_rows() for cell in row if cell.value)
    with book.ledger.reading() as connection:
        head = book.ledger.head(connection)
    for words in (f"{head.size}:{head.root.hex()}", "Wrenfallow Greens", "20 July 2028", "is to be asked",
                  "The local regulator, the product label and licensed advice decide", "Missing in"):  # fmt: skip
        assert words in told


def test_a_missing_element_is_named_with_its_entries(tmp_path):
    rows = opened(small(tmp_path / "farm.db")).book["About"].iter_rows(values_only=True)
    gaps = {(row[0], row[1]): row[4] for row in rows}
    # The shop has neither phone nor address; the farm has no phone; the product says no variety, pack size or style.
    assert gaps["Shipping", "Ship-to location: phone"] == "E15"
    assert gaps["Initial packing", "Harvester phone"] == "all"
    assert gaps["Initial packing", "Pack style"] == "all"
    assert ("Shipping", "Product variety") not in gaps
    assert ("Shipping", "Ship-to location: name") not in gaps


def test_the_elements_of_one_lot_on_its_way(tmp_path):
    book = opened(small(tmp_path / "farm.db", phone="555-0100"))
    [cut], [packed], [cooled] = book.rows("Harvesting"), book.rows("Initial packing"), book.rows("Cooling")
    assert (cut["Commodity"], cut["Variety"], cut["Field or growing area name"]) == ("pea", "Tall", "Room")
    assert (cut["Quantity"], cut["Quantity: unit"], cut["Quantity: as written"]) == (1000, "g", "1 kg")
    assert cut["Next recipient"] == "Hollow Farm, 555-0100, 2 Hollow Way, Ash"
    assert cooled["Cooling location"].startswith("Walk-in; Hollow Farm")
    assert (packed["Traceability lot code"], packed["Received lot"], packed["Quantity packed"]) == ("P-1", "H-1", 900)
    first, second = book.rows("Shipping")
    assert first["Ship-to location"] == "Cafe Under, 555-0150, 1 Lane, Ash, NY, 00000"
    assert (first["Reference document type"], first["Reference document number"]) == ("Document", "DN 1")
    assert (second["Reference document type"], second["Reference document number"]) == (
        "Entry in the record book: delivery",
        "E15",
    )
    [received] = book.rows("Receiving")
    assert (received["Traceability lot code"], received["Our lot code"]) == ("A1", "S-1")
    assert received["Previous source"] == "Seeds of Hollin, 555-0199"


def test_a_lot_packed_again_is_a_transformation_and_no_initial_packing(tmp_path):
    again = {"kind": "packing", "lot": "P-2", "from": "P-1 100 g", "amount": "100 g", "at": "2026-03-12 09:00"}
    book = opened(small(tmp_path / "farm.db", [*FARM, again]))
    [row] = book.rows("Transformation")
    assert (row["New traceability lot code"], row["Traceability lot code used"], row["Quantity used"]) == (
        "P-2", "P-1", 100,
    )  # fmt: skip
    assert {row["Traceability lot code"] for row in book.rows("Initial packing")} == {"P-1"}


def test_a_trace_reaches_back_and_forward_by_ingredient_and_nothing_else(book):
    told = opened(book, Question(("P-0130-5",)))
    # samples/README.md: P-0130-5 is of the broccoli T-139, cut on the 30th; the Osterby got it as D-1121.
    assert [row["Harvested from batches"] for row in told.rows("Harvesting")] == ["T-139"]
    assert "D-1121" in {row["Delivery"] for row in told.rows("Shipping")}
    assert {row["Traceability lot code"] for row in told.rows("Shipping")} == {"P-0130-5"}
    assert {row["Our lot code"] for row in told.rows("Receiving")} == {"S-BRO-1", "BAG-1"}


def test_a_period_holds_what_was_done_in_it(book):
    def second(day):
        return int(datetime.datetime.fromisoformat(day).timestamp())

    start, end = second("2026-02-01T00:00:00-05:00"), second("2026-02-28T23:59:59-05:00")
    told = opened(book, Question(start=start, end=end))
    days = [row["Ship date"] for row in told.rows("Shipping")]
    inside = [one for one in _in_force(book, "delivery") if one.start <= end and one.end >= start]
    assert {row["Entry"] for row in told.rows("Shipping")} == {one.name for one in inside}
    assert (min(days).month, max(days).month) == (2, 2)


def test_for_one_customer_no_other_is_named(book, whole):
    told = opened(book, Question(customer="OSTERBY"))
    others = {row["Ship-to location"] for row in whole.rows("Shipping")}
    mine = {row["Ship-to location"] for row in told.rows("Shipping")}
    assert len(mine) == 1 and len(others) == 12
    names = {one.fields["name"] for one in _in_force(book, "customer")} - {"The Osterby Table"}
    assert not [name for name in names if name in told.text]
    assert {row["Entry"] for row in told.rows("Shipping")} == {
        one.name for one in _in_force(book, "delivery") if one.fields["customer"] == "OSTERBY"
    }


def test_a_customer_is_told_nothing_of_a_lot_that_they_never_had(book):
    told = opened(book, Question(("P-0130-5",), customer="OSTERBY"))
    assert [row["Delivery"] for row in told.rows("Shipping")] == ["D-1121"]
    with pytest.raises(NotUnderstood, match="QUENBY got nothing of P-0130-5"):
        opened(book, Question(("P-0130-5",), customer="QUENBY"))


HOSTILE = [
    "=1+1", "+cmd", "-2+3", "@SUM(A1)", '=HYPERLINK("http://x.example.com")', "http://x.example.com", "0302",
    "<b>&amp;</b>", "a\tb", "line\nbreak", "quote\"'", "\u202eright", "日本語 العربية", "_x0041_", "\x01", "﻿bom",
    "'apostrophe", "{=1}", "1e5", "12/03", "TRUE",
]  # fmt: skip


@pytest.mark.parametrize("text", HOSTILE)
def test_what_people_typed_is_text_and_never_a_formula(tmp_path, text):
    changed = [{**one, "name": text} if one.get("code") == "PEA" else one for one in FARM]
    told = opened(small(tmp_path / "farm.db", changed))
    cell = told.rows("Initial packing")[0]["Product description"]
    # A control character stands as `_xHHHH_` in the file (ECMA-376, ST_Xstring), and this reader shows it so.
    assert cell == ("_x0001_" if text == "\x01" else text)
    assert not [one for one in told.cells() if one.data_type == "f" or one.hyperlink]


def test_the_same_ledger_gives_the_same_file(book, whole):
    assert opened(book).content == whole.content


def test_both_databases_give_the_same_file(where, tmp_path):
    # The salts are those of a test, so that the heads are the same.

    def told(place):
        salts = [bytes([number]) * 16 for number in range(40)]
        book = Book.start(
            str(place), name="F", location="L", timezone="UTC", rules="us", clock=lambda: 1.8e9, salts=salts
        )
        for entry in FARM:
            book.record_all([{"by": "TO", **entry}])
        content = opened(book, Question(("P-1",))).content
        book.ledger.engine.dispose()
        return content

    assert told(where) == told(tmp_path / "other.db")


def test_a_growers_own_kind_is_an_event_when_their_file_says_so(tmp_path):
    own = tmp_path / "kinds"
    (own / "exchange").mkdir(parents=True)
    (own / "gift.yaml").write_text(
        "$schema: https://json-schema.org/draft/2020-12/schema\n$id: gift\ntitle: Gift\ndescription: Given away.\n"
        "$ref: common.yaml\nunevaluatedProperties: false\nrequired: [lot, customer]\nx-log: [lot]\nproperties:\n"
        "  lot: {title: Lot, $ref: common.yaml#/$defs/code, x-thing: [packed-lot], x-role: [{role: took}]}\n"
        "  customer: {title: For, $ref: common.yaml#/$defs/code, x-thing: [customer], x-role: [{role: to}]}\n"
    )
    (own / "exchange" / "traceability.yaml").write_text("sources: {shipping: [{kind: gift, lot: took}]}\n")
    small(tmp_path / "farm.db").ledger.engine.dispose()
    book = Book.open(str(tmp_path / "farm.db"), kinds=[own], clock=lambda: 1.8e9)
    book.record("gift", lot="P-1", customer="CAFE", at="2026-03-12", by="TO")
    gift = opened(book, own=[own]).rows("Shipping")[-1]
    assert gift["Traceability lot code"] == "P-1" and gift["Ship-to location"].startswith("Cafe Under")


def test_a_day_that_is_too_full_for_a_sheet_is_told(book, monkeypatch):
    monkeypatch.setattr("lotwalk.exchange.spreadsheet.MOST_ROWS", 5)
    with pytest.raises(NotUnderstood, match="a sheet holds 5"):
        opened(book)
