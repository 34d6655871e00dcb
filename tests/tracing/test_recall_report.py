"""The recall report read back with pypdf and held against the recall's own JSON."""

import io
import json
import re
from decimal import Decimal

import pytest
from click.testing import CliRunner
from tests.tracing.conftest import NOW, Read, squeezed

from lotwalk.cli.main import program
from lotwalk.pages.maps.draw import SMALLEST
from lotwalk.pages.tracing.recall_report import SIGNATURES
from lotwalk.values.units import Units


def _run(sample, *arguments):
    done = CliRunner().invoke(program, ["--ledger", str(sample), *map(str, arguments)])
    assert done.exit_code == 0, (done.output, done.exception)
    return done.output


@pytest.fixture(scope="module")
def printed(sample, tmp_path_factory):
    """The report of the sample farm's two complaints, and the JSON that answers the same question."""
    path = tmp_path_factory.mktemp("recall") / "out.pdf"
    told = _run(sample, "report", "recall", "Q-1", "Q-2", "-o", path)
    read = Read(path.read_bytes())
    assert told.strip() == f"{path}: Recall report, {len(read.pages)} pages"
    return read, json.loads(_run(sample, "recall", "Q-1", "Q-2", "--format", "json"))


def test_the_answer_comes_first(printed):
    read, answer = printed
    scope = answer["affected"]
    first = " ".join(read.pages[0].split())
    told = f"{len(scope['lots'])} lots, {len(scope['deliveries'])} deliveries, {len(scope['customers'])} customers"
    assert told in first
    assert first.index(told) < first.index("What was asked")
    totals = [one for one in answer["balance"]["totals"] if not one["bought"] and Decimal(one["delivered"])]
    assert totals
    for one in totals:
        came_in = Decimal(one["made"]) + Decimal(one["returned"])
        missing = Decimal(one["unaccounted"]) - Decimal(one["growing"])
        assert f"{100 * (came_in - missing) / came_in:.1f} % is accounted for" in first
    assert " still growing" in first, "the batches of the last weeks stand on the rack"
    assert "Three of a table of five" in first
    assert "E332" in first, "what was not believed stands on the first page"
    assert answer["unshown"] > 0
    assert f"{answer['unshown']} clean breaks in this scope rest on a strength whose temperature or pH nobody" in first


def test_every_customer_delivery_lot_and_amount_is_there(printed):
    read, answer = printed
    text, units = squeezed(read.text), Units.load("us")
    bags = {one["lot"]: one for one in answer["packages"]}

    def told(item):
        if units.dimension_of(item["unit"]) == "count":
            return item["lot"]
        bag = bags.get(item["lot"])
        named = (("best before", "best_before"), ("printed", "printed"))
        said = ", ".join(f"{word} {bag[name]}" for word, name in named if bag[name]) if bag else ""
        amount = units.show(Decimal(item["amount"]), item["unit"])
        return f"{item['lot']} {amount}{f' ({said})' if said else ''}"

    for one in answer["affected"]["deliveries"]:
        items = "; ".join(map(told, one["items"]))
        assert squeezed(f"{one['at']} {one['code']}: {items}")[:60] in text, one["code"]
    for code in answer["affected"]["customers"]:
        assert f"({code})" in read.text or code in read.text


def test_the_calls_come_in_order_with_their_numbers(printed, sample):
    read, answer = printed
    start = next(number for number, page in enumerate(read.pages) if "Customers to call" in page)
    end = next(number for number, page in enumerate(read.pages) if "Notice to send" in page)
    pages = " ".join(" ".join(read.pages[start:end]).split())
    order = [one["customer"] for one in answer["calls"]]
    places = [pages.index(f"({code})") for code in order]
    assert places == sorted(places)
    for one in answer["calls"]:
        for words in (one["name"], one["contact"], one["phone"], f"Level {one['ring']}: "):
            assert words in pages
    for word in ("reached, at", "by telephone /", "found ....", "returned ....", "destroyed ...."):
        assert pages.count(word) == len(order)


def test_what_to_hold_is_what_the_answer_says(printed):
    read, answer = printed
    start = read.text.index("Lots to hold now")
    told = read.text[start : read.text.index("Balance of the scope", start)]
    assert answer["holds"]
    for one in answer["holds"]:
        how = "counted" if one["counted"] else "still growing" if one["growing"] else "not counted"
        state = f"since {one['held']}" if one["held"] else "NO"
        assert re.search(rf"{one['ring']} {one['lot']} .*?{how} {one['place'] or ''} ?{state} put apart", told), one


def test_the_notice_says_what_a_recall_message_must(printed):
    """The elements of 21 CFR 7.49, as the project's references have them."""
    read, answer = printed
    told = read.text[read.text.index("Notice to send") : read.text.index("Lots to hold now")]
    for words in (
        "FOOD RECALL", "URGENT", "We recall", "Stop using, selling and serving it now", "give them this notice",
        "destroy it", "Tell us at once", "The reason:",
    ):  # fmt: skip
        assert words in told
    # Who holds the bag knows none of the farm's codes: E712 packed it under this date (samples/09-week-4-sales.yaml).
    assert re.search(r"packs of 3 oz: lots [^:]*P-0202-5[^;:]*\(best before 2026-02-10\)", told)
    delivered = {item["lot"] for one in answer["affected"]["deliveries"] for item in one["items"]}
    assert {"P-0202-5", "P-0130-5"} <= delivered


def test_rings_ranking_and_edges_equal_the_answers(printed):
    read, answer = printed
    for one in answer["rings"]:
        assert re.search(rf"\b{one['ring']} [a-z, ]+ {one['lots']} {one['deliveries']} {one['customers']}\b", read.text)
    best = answer["ranking"][0]
    told = f"{' '.join(map(str, best['table']))} none finite {best['interval'][0]:.2f} to {best['interval'][1]:.2f}"
    assert squeezed(told) in squeezed(read.text)
    assert f"{best['fisher_p']:.2g}" in read.text


def test_the_edges_and_the_path_of_a_cause_equal_the_answers(sample, tmp_path):
    path = tmp_path / "cause.pdf"
    _run(sample, "report", "recall", "Q-1", "Q-2", "--cause", "M-053", "-o", path)
    detail = json.loads(_run(sample, "recall", "Q-1", "Q-2", "--cause", "M-053", "--format", "json"))["detail"]
    read = Read(path.read_bytes())
    why = read.text[read.text.index("Why M-053 is a candidate") :]
    for steps in detail["to_asked"].values():
        places = [why.index(f"({step['entry']})") for step in steps]
        assert places == sorted(places)
    stops = why[why.index("Where the reach of M-053 stops") :]
    for edge in [one for one in detail["edges"] if one["deliveries_back"]] or detail["edges"][:3]:
        told = f"+{edge['deliveries_back']}" if edge["deliveries_back"] else "0"
        assert re.search(rf"{edge['entry']} sanitising .*? {re.escape(told)} ", stops), edge


def test_each_page_is_numbered_signed_for_and_carries_the_head(printed):
    read, _ = printed
    heads = {re.search(r"Ledger head: size \d+, root [0-9a-f]{64}", page)[0] for page in read.pages}
    assert len(heads) == 1
    for number, page in enumerate(read.pages, 1):
        assert f"Page {number} of {len(read.pages)}" in page
        assert "The local regulator, the product label and licensed advice decide" in page
        assert "Wrenfallow Greens" in page
    assert all(who in read.pages[0] for who in SIGNATURES)


def test_it_is_for_everyone_to_read(printed):
    read, _ = printed
    assert min(read.sizes()) >= SMALLEST - 0.01
    fonts = read.fonts()
    assert fonts
    assert all("/FontFile2" in font["/FontDescriptor"] for font in fonts)
    assert read.reader.metadata.title == "Recall report: Q-1, Q-2, Wrenfallow Greens"
    assert read.reader.trailer["/Root"]["/Lang"] == "en"
    marks = read.bookmarks()
    for words in ("What was asked", "Customers to call, in this order", "Notice to send", "Lots to hold now"):
        assert words in marks
    assert [mark for mark in marks if mark.startswith("Map: ")]


def test_the_maps_show_what_was_asked_and_the_cause(printed):
    read, answer = printed
    cause = answer["ranking"][0]["code"]
    page = next(page for page in read.pages if f"If it was {cause}: how it could have come" in page)
    for words in ("Q-1", "Q-2", cause, "ASKED", "IF IT WAS THIS", "growing medium", "complaint", "solid: went into it"):
        assert words in page
    wide = read.reader.pages[read.pages.index(page)].mediabox
    assert wide.width > wide.height


def test_a_cause_and_a_ring_narrow_it_as_they_narrow_the_answer(sample, tmp_path):
    path = tmp_path / "narrow.pdf"
    asked = ("Q-1", "--cause", "P-0130-5", "--level", "1")
    _run(sample, "report", "recall", *asked, "-o", path, "--page", "A4")
    answer = json.loads(_run(sample, "recall", *asked, "--format", "json"))
    scope = answer["scope"]
    read = Read(path.read_bytes())
    first = " ".join(read.pages[0].split())
    assert "The scope chosen (what P-0130-5 reaches, level 1 and closer)" in first
    assert f"{len(scope['deliveries'])} deliver" in first
    calls = " ".join(" ".join(read.pages).split())
    assert {code for code in answer["affected"]["customers"] if f"({code})" in calls} == set(scope["customers"])
    assert abs(float(read.reader.pages[0].mediabox.width) - 595.28) < 1
    maps = [page for page in read.pages if "solid: went into it" in page]
    assert maps
    assert not [page for page in maps if "whichever candidate" in page]


def test_the_same_ledger_at_the_same_time_gives_the_same_bytes(book):
    from lotwalk.pages.tracing.desk import Desk
    from lotwalk.pages.tracing.recall_report import write_recall

    assert book.ledger.clock() == NOW
    answer = book.recall("Q-3")
    files = []
    for _ in range(2):
        with book.ledger.reading() as connection:
            out = io.BytesIO()
            write_recall(Desk(connection, book.ledger), answer, out=out)
            files.append(out.getvalue())
    assert files[0] == files[1]


def test_it_writes_over_no_file_that_is_no_pdf(sample, tmp_path):
    path = tmp_path / "letter.txt"
    path.write_text("dear all")
    done = CliRunner().invoke(program, ["--ledger", str(sample), "report", "recall", "Q-3", "-o", str(path)])
    assert "is no PDF" in str(done.exception)
    assert path.read_text() == "dear all"
