"""What of a record's text a buyer gets in a proof: all of it where all of it may be told, else none.

The farm: batch T-1 is cut as H-1 and packed as P-1, of which CAFE gets 4 packs (D-1, E14) and SHOP 3 packs (D-2, E15).
"""

import json
import os
from textwrap import dedent

import pytest

from lotwalk.book import Book
from lotwalk.errors import NotUnderstood
from lotwalk.exchange.export_request import ask
from lotwalk.exchange.opened import opened
from lotwalk.exchange.scope import Question
from lotwalk.sheets.reader import read_sheet

SHEET = """
    common: {at: 2026-03-01 08:00, by: TO}
    entries:
    - {kind: person, code: TO, name: Tess Orr}
    - {kind: supplier, code: HOLT, name: Holt Seeds}
    - {kind: customer, code: CAFE, name: Corner Cafe}
    - {kind: customer, code: SHOP, name: Village Shop}
    - {kind: equipment, codes: "M-01, M-02", type: medium}
    - {kind: product, code: PEA, name: Pea shoots, commodity: pea, pack_size: 50 g}
    - {kind: seed-receipt, lot: S-1, crop: pea, supplier: HOLT, supplier_lot: RD-77, amount: 5 kg}
    - {kind: sowing, at: 2026-03-02, batch: T-1, seed: S-1 200 g, trays: 1, equipment: M-01}
    - {kind: sowing, at: 2026-03-02, batch: T-2, seed: S-1 200 g, trays: 1, equipment: M-02}
    - {kind: harvest, at: 2026-03-09, lot: H-1, from: T-1 1, amount: 900 g, cut: above the medium}
    - {kind: packing, at: 2026-03-09, lot: P-1, from: H-1 850 g, product: PEA, packs: 17}
    - {kind: stock-count, at: 2026-03-09, lot: P-1, amount: 850 g}
    - {kind: delivery, at: 2026-03-10, code: D-1, customer: CAFE, items: P-1 4 packs, document: INV 7}
    - {kind: delivery, at: 2026-03-10, code: D-2, customer: SHOP, items: P-1 3 packs}
    - {kind: delivery, at: 2026-03-11, code: D-3, customer: CAFE, items: P-1 1 packs, note: late again}
    - {kind: delivery, at: 2026-03-11, code: D-4, customer: CAFE, items: P-1 1 packs, document: as for Village Shop}
    - {kind: complaint, at: 2026-03-12, code: Q-1, customer: CAFE, type: illness, deliveries: D-1, description: one ill}
"""


@pytest.fixture
def book(tmp_path):
    book = Book.start(
        str(tmp_path / "farm.db"), name="Tarn End", location="Tarn Lane", timezone="Europe/London", measures="metric"
    )
    book.load(read_sheet(dedent(SHEET), "week.yaml"), typed_by="tess")
    yield book
    book.ledger.engine.dispose()


def _texts(book, customer, *asked):
    """The entries in the proof whose text is in it, and those whose place and hash alone are."""
    with book.ledger.reading() as connection:
        opens = opened(ask(connection, book.ledger, Question(customer=customer)))
        found = book.proof(asked, opens=opens, at=connection)
    open_, closed = ([one.entry for one in found.entries if (one.record is None) is closed] for closed in (False, True))
    assert found.json()["counts"] == {"with_text": len(open_), "closed": len(closed)}
    return open_, closed, json.dumps(found.json())


def test_a_customer_gets_the_texts_of_what_lies_behind_their_own_lots(book):
    """Seed, sowing, harvest, packing and their own delivery; how much was made, and nothing of other deliveries."""
    open_, closed, said = _texts(book, "CAFE", "S-1", "T-1", "H-1", "P-1", "D-1")
    assert open_ == ["E8", "E9", "E11", "E12", "E14"]
    # T-2 is none of theirs; a count of stock is nobody's but the farm's; D-2 is another's; D-3, D-4 and Q-1 hold
    # words that somebody wrote freely.
    assert closed == ["E10", "E13", "E15", "E16", "E17", "E18"]
    assert "INV 7" in said
    for word in ("SHOP", "Village", "T-2", "D-2", "late again", "one ill"):
        assert word not in said, word


def test_the_other_customer_gets_theirs(book):
    open_, _, said = _texts(book, "SHOP", "P-1")
    assert open_ == ["E12", "E15"]
    assert "CAFE" not in said


def test_what_was_amended_or_voided_is_counted_and_why_stays_closed(book):
    book.amend(11, {"amount": "880 g"}, because="Village Shop said so", by=["TO"])
    book.void(14, because="typed twice", by=["TO"])
    open_, closed, said = _texts(book, "CAFE", "H-1", "D-1")
    assert open_ == ["E11", "E12"]
    assert closed.count("E11") == 1
    assert closed.count("E14") == 2, "a delivery that was voided is in no scope any more"
    assert "Village Shop" not in said


def test_a_sheet_named_after_another_customer_closes_what_stands_on_it(book):
    sheet = "- {kind: delivery, at: 2026-03-12, by: TO, code: D-5, customer: CAFE, items: P-1 1 packs}\n"
    book.load(read_sheet(sheet, "orders-shop.yaml"))
    book.load(read_sheet(sheet.replace("D-5", "D-6"), "orders.yaml"))
    open_, closed, _ = _texts(book, "CAFE", "D-5", "D-6")
    assert (open_, closed) == (["E20"], ["E19"])


def test_a_text_with_an_attached_file_stays_closed(book, tmp_path):
    """Its name is written freely, and what is in it nobody has read."""
    (tmp_path / "shop.pdf").write_bytes(b"%PDF-1.4 a note")
    book.record(
        "delivery", at="2026-03-12", by="TO", code="D-5", customer="CAFE", items="P-1 1 packs",
        files=os.fspath("shop.pdf"), folder=tmp_path,
    )  # fmt: skip
    assert _texts(book, "CAFE", "D-5")[:2] == ([], ["E19"])


@pytest.mark.parametrize("customer", ["NOBODY", "HOLT"])
def test_a_customer_who_got_nothing_gets_no_proof(book, customer):
    with pytest.raises(NotUnderstood):
        _texts(book, customer, "P-1")
