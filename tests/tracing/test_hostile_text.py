"""Any text that people type stands in the papers and their maps without loss, markup or a broken page."""

import io

import pytest
from tests.tracing.conftest import NOW, Read, squeezed

from lotwalk.book import Book
from lotwalk.pages.tracing.desk import Desk
from lotwalk.pages.tracing.recall_report import write_recall
from lotwalk.pages.tracing.trace_report import write_trace
from lotwalk.recall.traced import begin

AT = "2026-02-01 08:00"
HOSTILE = {
    "markup": "<b>&amp; </para> <font size=90>{0} %s \\n",
    "endless": "x" * 2000,
    "from the right": "מכולת הגן החדש",
    "combining": "Cafe\u0301 Zuri\u0308ch a\u0301\u0302\u0303\u0304\u0305",
    "emoji": "greens \U0001f96c and \U0001f469\u200d\U0001f33e",
    "controls": "bell\x07 feed\x0c null\u2028line",
}
CODES = ("Λ-µ<b>&", "ק-7", "L" * 64, "\U0001f96c-1")


def _farm(path, text, code):
    book = Book.start(
        str(path), name=f"Farm {text}", location=text, timezone="UTC", rules="us", measures="metric", clock=lambda: NOW
    )
    entries = [
        {"kind": "person", "code": "TO", "name": text},
        {"kind": "equipment", "codes": f"M-{code[:50]}", "type": "medium"},
        {"kind": "supplier", "code": "SEEDS", "name": text, "street": text},
        {"kind": "customer", "code": f"C-{code[:50]}", "name": text, "contact": text, "phone": text, "email": text},
        {"kind": "product", "code": "PEA", "name": text, "commodity": "pea"},
        {"kind": "seed-receipt", "lot": f"S-{code[:50]}", "crop": "pea", "supplier": "SEEDS", "supplier_lot": "1",
         "amount": "2 kg", "note": text},
        {"kind": "sowing", "batch": f"T-{code[:50]}", "seed": f"S-{code[:50]} 200 g", "trays": "2",
         "equipment": f"M-{code[:50]}", "at": "2026-02-02 09:00"},
        {"kind": "harvest", "lot": f"H-{code[:50]}", "from": f"T-{code[:50]} 2", "amount": "300 g",
         "cut": "above the medium", "at": "2026-02-10 09:00"},
        {"kind": "packing", "lot": f"P-{code[:50]}", "from": f"H-{code[:50]} 300 g", "product": "PEA", "packs": "6",
         "pack_size": "50 g", "printed": text, "at": "2026-02-10 10:00"},
        {"kind": "delivery", "code": f"D-{code[:50]}", "customer": f"C-{code[:50]}", "items": f"P-{code[:50]} 250 g",
         "document": text, "received_by": text, "at": "2026-02-10 15:00"},
        {"kind": "certificate", "number": "COA-1", "type": "analysis", "covers": f"S-{code[:50]}", "issuer": text,
         "result": text},
        {"kind": "complaint", "code": f"Q-{code[:50]}", "customer": f"C-{code[:50]}", "type": "illness",
         "deliveries": f"D-{code[:50]}", "description": text, "at": "2026-02-14 09:00"},
    ]  # fmt: skip
    book.record_all([{"at": AT, "by": "TO", **entry} for entry in entries])
    return book


@pytest.mark.parametrize(("text", "code"), list(zip(HOSTILE.values(), (*CODES, *CODES[:2]), strict=True)))
def test_it_is_printed_and_nothing_is_lost(tmp_path, text, code):
    book = _farm(tmp_path / "farm.db", text, code)
    complaint, lot = f"Q-{code[:50]}", f"P-{code[:50]}"
    answer = book.recall(complaint)
    files = []
    with book.ledger.reading() as connection:
        desk = Desk(connection, book.ledger)
        out = io.BytesIO()
        write_recall(desk, answer, out=out)
        files.append(out.getvalue())
        out = io.BytesIO()
        write_trace(desk, begin(connection, desk.kinds, desk.zone, lot), page_size="A4", out=out)
        files.append(out.getvalue())
    for content in files:
        read = Read(content)
        printed = squeezed(read.text)
        for number, page in enumerate(read.pages, 1):
            assert f"Page {number} of {len(read.pages)}" in page
        assert all("/FontFile2" in font["/FontDescriptor"] for font in read.fonts())
        if text.isascii() and text.isprintable():
            assert squeezed(text)[:400] in printed
    book.ledger.engine.dispose()


def test_letters_of_other_scripts_stand_in_maps_as_their_readers_write_them(tmp_path):
    book = _farm(tmp_path / "farm.db", HOSTILE["from the right"], "Жито")
    with book.ledger.reading() as connection:
        desk = Desk(connection, book.ledger)
        out = io.BytesIO()
        write_trace(desk, begin(connection, desk.kinds, desk.zone, "P-Жито"), out=out)
    read = Read(out.getvalue())
    page = next(page for page in read.pages if "forward to all" in page)
    for words in ("P-Жито", "D-Жито", "C-Жито", "ASKED"):
        assert words in page
    assert HOSTILE["from the right"].split()[0] in read.text
    book.ledger.engine.dispose()
