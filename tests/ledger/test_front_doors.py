"""One record, three ways in: Python values, several entries at once, a sheet. The ledger holds the same."""

from datetime import UTC, datetime
from decimal import Decimal

import pytest
from tests.ledger.farm import SOLUTION, load, names, records

CASES = {
    "sowing": (
        """
        - kind: sowing
          at: 2026-03-02 09:10
          by: [TO, AK]
          place: SHED
          batch: T-1
          seed: [{lot: S-1, amount: 200 g}, {lot: S-2, amount: 0.5 kg}]
          trays: 2
          equipment: [M-01, M-02]
          water: none
          note: "0302"
        """,
        {
            "at": datetime(2026, 3, 2, 9, 10),
            "by": ("TO", "AK"),
            "place": "SHED",
            "batch": "T-1",
            "seed": [{"lot": "S-1", "amount": "200 g"}, {"lot": "S-2", "amount": "0.5 kg"}],
            "trays": 2,
            "equipment": ["M-01", "M-02"],
            "water": "none",
            "note": "0302",
        },
    ),
    "sanitising": (
        """
        - {kind: sanitising, at: 2026-03-02 17:40, by: TO, items: M-01..M-04, solution: SOL-1, reading: 110-130 ppm,
           contact: 2 min, washed: yes, ph: 7.20}
        """,
        {
            "at": "2026-03-02 17:40",
            "by": "TO",
            "items": "M-01..M-04",
            "solution": "SOL-1",
            "reading": "110-130 ppm",
            "contact": "2 min",
            "washed": True,
            "ph": Decimal("7.20"),
        },
    ),
}


@pytest.mark.parametrize("kind", CASES)
def test_the_three_ways_in_give_the_same_entry(opened, kind):
    sheet, fields = CASES[kind]
    found = []
    for door in ("record", "record_all", "sheet"):
        book = opened("sqlite")
        load(book, SOLUTION)
        if door == "record":
            book.record(kind, **fields)
        elif door == "record_all":
            book.record_all([{"kind": kind, **fields}])
        else:
            load(book, sheet)
        entry = records(book)[-1]
        assert entry["kind"] == kind
        assert ("sheet" in entry) == (door == "sheet")
        found.append({name: value for name, value in entry.items() if name not in ("sheet", "salt")})
    assert found[0] == found[1] == found[2]


def test_several_entries_at_once_are_numbered_as_they_stand(book):
    receipts = book.record_all(
        [
            {"kind": "washing", "at": "2026-03-02 09:00", "by": "TO", "items": "M-01", "method": "brushed"},
            {"kind": "washing", "at": "2026-03-02 08:00", "by": "TO", "items": "M-02", "method": "brushed"},
        ]
    )
    first = int(receipts[0].name[1:])
    assert names(receipts) == [f"E{first}", f"E{first + 1}"]
    assert [entry["fields"]["items"] for entry in records(book)[-2:]] == ["M-01", "M-02"]


def test_the_entry_says_who_typed_it_apart_from_who_did_it(book):
    book.record("washing", at="2026-03-02", by="AK", items="M-01", method="brushed", typed_by="office")
    entry = records(book)[-1]
    assert (entry["by"], entry["typed_by"]) == (["AK"], "office")


def test_what_was_written_stands_beside_what_the_book_understood(book):
    load(
        book,
        """
        - {kind: soaking, at: 2026-03-02 am, by: TO, lot: K-1, seed: S-1 1 1/2 kg, amount: 2 L}
        """,
    )
    entry = records(book)[-1]
    noon = int(datetime(2026, 3, 2, 12, tzinfo=UTC).timestamp())
    assert (entry["at"], entry["from"], entry["to"]) == ("2026-03-02 am", noon - 43_200, noon - 1)
    assert entry["fields"]["seed"] == "S-1 1 1/2 kg"
    assert entry["read"]["amount"] == ["2000", "mL"]
    assert entry["read"]["seed[0].amount"] == ["1500", "g"]
    assert {"role": "took", "code": "S-1", "field": "seed[0].lot", "amount": "1500", "unit": "g"} in entry["uses"]


def test_a_persons_first_entry_may_name_itself(book):
    receipt = book.record("person", at="2026-03-02", by="RB", code="RB", name="Rob Bell")
    assert receipt.name == f"E{records(book)[-1]['seq']}"
    book.record("washing", at="2026-03-03", by="RB", items="M-01", method="brushed")
