"""`report trace CODE --for CUSTOMER`: what that customer may be told, and nothing of anybody else."""

import io
import re

import pytest
from click.testing import CliRunner
from tests.tracing.conftest import Read

from lotwalk.book import Book
from lotwalk.cli.main import program
from lotwalk.exchange.export_request import ask
from lotwalk.exchange.scope import Question
from lotwalk.exchange.trace_paper import LEFT_OUT, write_trace_for
from lotwalk.pages.tracing.desk import Desk
from lotwalk.sheets.reader import read_sheet

TWO = """
common: {by: TO, at: 2026-03-01 08:00}
entries:
- {kind: person, code: TO, name: Tess Orr}
- {kind: customer, code: CAFE, name: Corner Cafe}
- {kind: customer, code: SHOP, name: Corner Shop}
- {kind: lab, code: LAB, name: Lab}
- {kind: supplier, code: SEEDS, name: Seeds}
- {kind: seed-receipt, lot: S-1, crop: radish, supplier: SEEDS, amount: 1 kg}
- {kind: sowing, at: 2026-03-02 09:00, batch: T-1, seed: S-1 200 g, trays: 1, water: none}
- {kind: harvest, at: 2026-03-12 09:00, lot: H-1, from: T-1 1, amount: 900 g, cut: above the medium}
- {kind: delivery, at: 2026-03-13 09:00, code: D-1, customer: CAFE, items: H-1 400 g}
- {kind: delivery, at: 2026-03-13 10:00, code: D-2, customer: SHOP, items: H-1 500 g}
- {kind: sample, at: 2026-03-20 09:00, of: H-1, lab: LAB, test: Salmonella as the Corner Shop asked,
   result: not detected in 25 g}
"""
"""Two customers got of one cut."""


class _Sample:
    """The sample farm, with who got what as its own entries say it: deliveries, and lots by customer."""

    def __init__(self, path):
        self.book = Book.open(str(path))
        self.deliveries = {one.fields["code"]: one for one in self.book.entries("delivery")}
        self.customers = {one.fields["code"]: one.fields for one in self.book.entries("customer")}
        self.got = {}
        for one in self.deliveries.values():
            mine = self.got.setdefault(one.fields["customer"], ({}, set()))
            mine[1].add(one.fields["code"])
            for row in one.fields["items"]:
                mine[0][row["lot"]] = True

    def printed(self, codes, customer):
        out = io.BytesIO()
        with self.book.ledger.reading() as connection:
            asked = ask(connection, self.book.ledger, Question(tuple(codes), customer))
            write_trace_for(Desk(connection, self.book.ledger), asked, out=out)
        return Read(out.getvalue())


@pytest.fixture(scope="module")
def farm(sample):
    opened = _Sample(sample)
    yield opened
    opened.book.ledger.engine.dispose()


def _everything(read):
    about = read.reader.metadata or {}
    return " ".join([read.text, *map(str, about.values()), *map(str, read.bookmarks())])


def _leaks(farm, customer, read):
    """What stands in a paper that another customer alone is told: names, codes, contacts, deliveries, packed lots."""
    text = _everything(read)
    words = set(re.findall(r"[\w-]+", text))
    mine = farm.customers[customer]
    for code, other in farm.customers.items():
        if code != customer:
            lots, deliveries = farm.got.get(code, ({}, set()))
            yield from words & ({code} | (deliveries - farm.got[customer][1]))
            yield from words & {lot for lot in lots if lot not in farm.got[customer][0]} - _behind(farm, customer)
            for field in ("name", "contact", "phone", "email", "recall_contact", "recall_phone", "street"):
                told = other.get(field)
                if told and told != mine.get(field) and told in text:
                    yield told


def _behind(farm, customer):
    """Lots that others got too, and that went into what this customer got: a packed lot that came back was packed
    anew, under a code of its own, and what it was before stands behind it."""
    return {lot.removesuffix("R") for lot in farm.got[customer][0] if lot.endswith("R")}


@pytest.mark.parametrize("step", [3, 17])
def test_no_paper_of_a_delivery_tells_anything_of_another_customer(farm, step):
    """A share of the deliveries one by one; those of each customer all together are looked at below."""
    found = {}
    chosen = list(farm.deliveries.items())[step::36]
    for code, delivery in chosen:
        read = farm.printed([code], delivery.fields["customer"])
        assert code in read.text
        if leaks := set(_leaks(farm, delivery.fields["customer"], read)):
            found[code] = leaks
    assert len(chosen) >= 7
    assert found == {}


def test_no_paper_of_a_packed_lot_tells_anything_of_another_customer(farm):
    pairs = [(lot, customer) for customer, (lots, _) in farm.got.items() for lot in lots]
    shared = [one for one in pairs if sum(one[0] == lot for lot, _ in pairs) > 1]
    assert len(shared) > 300, "what several got is what could tell one of another"
    found = {}
    for lot, customer in shared[::36]:
        read = farm.printed([lot], customer)
        assert lot in read.text
        if leaks := set(_leaks(farm, customer, read)):
            found[lot, customer] = leaks
    assert found == {}


def test_no_paper_of_all_that_a_customer_got_tells_anything_of_another(farm):
    """Every delivery of the sample farm is in one of these, with every lot that was packed into it."""
    seen = set()
    for customer, (lots, deliveries) in farm.got.items():
        read = farm.printed(sorted(deliveries), customer)
        words = set(re.findall(r"[\w-]+", read.text))
        assert deliveries <= words
        assert set(lots) <= words
        seen |= deliveries
        assert set(_leaks(farm, customer, read)) == set(), customer
    assert seen == farm.deliveries.keys()


def test_what_failed_comes_first_and_is_marked(farm):
    """D-1228 went to MARROW: radish T-172, which was watered from WELL, whose test E785 failed (samples/14-week-6)."""
    read = farm.printed(["D-1228"], "MARROW")
    first = " ".join(read.pages[0].split())
    assert "1 FAILED" in first
    assert re.search(r"What failed .*! 2026-02-02 08:25 Water test E785 Water source WELL .* FAILED", first)
    assert first.index("What failed") < first.index("Harvesting, 21 CFR 1.1325(a)")


def test_the_elements_are_those_of_the_spreadsheet(farm):
    read = farm.printed(["D-1228"], "MARROW")
    for words in (
        "Shipping, 21 CFR 1.1340", "Initial packing, 21 CFR 1.1330", "Traceability lot code", "Product description",
        "Harvest date: 2026-02-18", "Seed lot: S-RAD-2", "Quantity used: 4 oz",
    ):  # fmt: skip
        assert words in read.text, words


def test_words_in_which_another_customer_is_named_are_left_out(tmp_path):
    """What was looked for is written freely, and so may name anybody."""
    book = Book.start(str(tmp_path / "farm.db"), name="F", location="L", timezone="UTC", clock=lambda: 1777593600)
    book.load(read_sheet(TWO, "two.yaml"))
    out = io.BytesIO()
    with book.ledger.reading() as connection:
        asked = ask(connection, book.ledger, Question(("D-1",), "CAFE"))
        write_trace_for(Desk(connection, book.ledger), asked, out=out)
    book.ledger.engine.dispose()
    text = Read(out.getvalue()).text
    assert "not detected in 25 g" in text
    assert LEFT_OUT in text
    assert "Corner Shop" not in text


def test_the_command_names_its_file_and_refuses_what_they_never_got(sample, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    asked = ["--ledger", str(sample), "report", "trace", "D-1228"]
    done = CliRunner().invoke(program, [*asked, "--for", "MARROW"])
    assert done.exit_code == 0, done.output
    assert "trace-D-1228-for-MARROW.pdf: Traceability record for The Gilded Marrowbone, MARROW, " in done.stdout
    refused = CliRunner().invoke(program, [*asked, "--for", "OSTERBY"])
    assert "OSTERBY got nothing of D-1228" in str(refused.exception)
    ours = CliRunner().invoke(program, asked)
    assert "It names other customers" in ours.stderr
