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
from lotwalk.values.units import Units

ON = "2026-03-01"
"""A day on which some of it is in date and some is not."""


def _run(sample, *arguments):
    done = CliRunner().invoke(program, ["--ledger", str(sample), *map(str, arguments)])
    assert done.exit_code == 0, (done.output, done.exception)
    return done.output


@pytest.fixture(scope="module")
def printed(sample, tmp_path_factory):
    """The report of the sample farm's two complaints, and the JSON that answers the same question."""
    path = tmp_path_factory.mktemp("recall") / "out.pdf"
    told = _run(sample, "report", "recall", "Q-1", "Q-2", "--on", ON, "-o", path)
    read = Read(path.read_bytes())
    answer = json.loads(_run(sample, "recall", "Q-1", "Q-2", "--on", ON, "--format", "json"))
    letters = len(answer["first"]["calls"]) + 1  # one of the customers is a market stall, and has a notice to hang up
    assert told.splitlines() == [
        f"{path}: Recall report, {len(read.pages)} pages",
        f"{path.with_name('out-letters')}: {letters} letters to hand over, a file each",
    ]
    return read, answer


@pytest.mark.parametrize("page", ["Letter", "A4"])
@pytest.mark.parametrize("asked", ["Q-1", "Q-2", "Q-3", "P-0204-1"])
def test_the_first_page_holds_all_by_which_to_decide(sample, tmp_path, asked, page):
    path = tmp_path / "out.pdf"
    _run(sample, "report", "recall", asked, "--on", ON, "--page", page, "-o", path)
    read = Read(path.read_bytes())
    answer = json.loads(_run(sample, "recall", asked, "--on", ON, "--format", "json"))
    first, told = answer["first"], " ".join(read.pages[0].split())

    assert told.index("Asked") < told.index("Found") < told.index("How wide") < told.index("What it could be")
    assert (
        told.index("What it could be") < told.index("Do next") < told.index("Keep in mind") < told.index("call sheet ")
    )
    for words in ("Decided to recall", "none yet, because", "Signature", "It does not say that any food is safe"):
        assert words in told
    for one in answer["rings"]:
        row = f"{one['lots']} {one['deliveries']} {one['customers']} {first['deliveries_in_date'][str(one['ring'])]}"
        assert re.search(rf" {one['ring']} [a-z, ]+ {row} ", told), one
    for one in answer["found"]:
        assert f"{', '.join(one['germs']).upper()} in {one['code']}, " in told
    assert f": {len(first['calls'])} customer" in told
    free = [one["lot"] for one in first["holds"] if not one["held"]]
    assert f"Hold {len(free)} lot" in told
    assert "--" not in told, "no option of the command stands on the paper"
    assert "Customers to call" in read.pages[1]
    assert re.search(r"Ledger head: size \d+, root [0-9a-f]{64}", read.pages[0])


def test_every_page_says_as_of_which_day_things_are_in_date(printed):
    read, _ = printed
    for page in read.pages:
        assert f"In date as of {ON}" in " ".join(page.split())


def test_a_box_to_tick_stands_on_one_line_with_what_it_is_for(sample, tmp_path):
    """Q-2 has two causes that add to the scope, so the choices of the decision take more than one line."""
    for page in ("Letter", "A4"):
        path = tmp_path / f"{page}.pdf"
        _run(sample, "report", "recall", "Q-2", "--on", ON, "--page", page, "-o", path)
        lines = Read(path.read_bytes()).pages[0].splitlines()
        assert "[ ] and all that NO reached" in " ".join(" ".join(lines).split())
        assert not [line for line in lines if re.search(r"\[\s*\]?\s*$", line)]


def test_the_first_page_says_on_which_page_each_part_begins(printed):
    read, _ = printed
    told = " ".join(read.pages[0].split())
    places = dict(re.findall(r"(call sheet|lots to hold|what was asked|candidates|balance|map 1) (\d+)", told))
    headings = {
        "call sheet": "Customers to call, in this order",
        "lots to hold": "Lots to hold now",
        "what was asked": "What was asked",
        "candidates": "Candidate causes",
        "balance": "Balance of the scope",
        "map 1": "how it could have come to what was asked",
    }
    assert places.keys() == headings.keys()
    for name, page in places.items():
        assert headings[name] in read.pages[int(page) - 1], name


def test_what_was_asked_is_told_in_full_behind(printed):
    read, answer = printed
    told = read.text[read.text.index("What was asked", len(read.pages[0])) :]
    scope = answer["affected"]
    size = f"{len(scope['lots'])} lots, {len(scope['deliveries'])} deliveries, {len(scope['customers'])} customers"
    assert f"The widest scope, whichever candidate it was: {size}." in told
    totals = [one for one in answer["balance"]["totals"] if not one["bought"] and Decimal(one["delivered"])]
    assert totals
    for one in totals:
        came_in = Decimal(one["made"]) + Decimal(one["returned"])
        missing = Decimal(one["unaccounted"]) - Decimal(one["growing"])
        assert f"{100 * (came_in - missing) / came_in:.1f} % is accounted for" in told
    assert " still growing" in told, "the batches of the last weeks stand on the rack"
    assert "Three of a table of five" in told
    assert answer["unshown"] > 0
    assert f"{answer['unshown']} clean breaks in this scope rest on a strength whose temperature or pH nobody" in told


def test_every_delivery_and_lot_of_the_widest_scope_is_there(printed):
    read, answer = printed
    text = squeezed(read.text[read.text.index("All lots and deliveries of the widest scope", len(read.pages[0])) :])
    units = Units.load("us")

    def told(item):
        if units.dimension_of(item["unit"]) == "count":
            return item["lot"]
        return f"{item['lot']} {units.show(Decimal(item['amount']), item['unit'])}"

    for one in answer["affected"]["deliveries"]:
        assert squeezed(f"{one['at']} {one['code']}") in text, one["code"]
        for item in one["items"]:
            assert squeezed(told(item)) in text, (one["code"], item)


def _sheet(read):
    """The text of the call sheet."""
    start = read.text.index("Customers to call, in this order", len(read.pages[0].split("Pages")[0]))
    return read.text[start : read.text.index("Lots to hold now", start)]


def test_the_calls_come_in_the_order_of_the_screen_with_their_numbers(printed):
    read, answer = printed
    sheet = _sheet(read)
    order = [one["customer"] for one in answer["first"]["calls"]]
    places = [sheet.index(f"({code})") for code in order]
    assert places == sorted(places)
    for one in answer["first"]["calls"]:
        for words in (one["name"], one["contact"], one["phone"]):
            assert words in sheet
    for word in ("[ ] NOT reached", "spoke to", "found ....", "returned ....", "destroyed ....", "passed on to"):
        assert sheet.count(word) == len(order), word


def test_each_customer_on_the_call_sheet_has_what_they_got_and_nothing_else(printed):
    read, answer = printed
    sheet, first = _sheet(read), answer["first"]
    calls = first["calls"]
    got = {one["code"]: one for one in answer["affected"]["deliveries"]}
    bags = {one["lot"]: one for one in answer["packages"]}
    starts = [sheet.index(f"({one['customer']})") for one in calls]
    for call, start, end in zip(calls, starts, [*starts[1:], len(sheet)], strict=True):
        block = sheet[start:end]
        assert set(re.findall(r"\bD-\d+\b", block)) == set(call["deliveries"])
        assert set(re.findall(r"\bP-\d{4}-\w+\b", block)) == set(call["lots"])
        for code in call["deliveries"]:
            for item in (item for item in got[code]["items"] if item["lot"] in call["lots"]):
                until = bags.get(item["lot"], {"best_before": ""})["best_before"]
                row = re.search(rf"{code} {item['lot']} .{{0,60}}?{until}.{{0,40}}? (yes|no) ", block)
                assert row, (code, item)
                assert (row[1] == "yes") == (not until or until >= ON)


def test_what_to_hold_is_what_the_answer_says(printed):
    read, answer = printed
    start = read.text.index("Lots to hold now", read.text.index("Customers to call"))
    told = read.text[start : read.text.index("What was asked", start)]
    first = answer["first"]["holds"]
    assert first
    for one in first:
        how = "counted" if one["counted"] else "still growing" if one["growing"] else "not counted"
        state = f"since {one['held']}" if one["held"] else "NO"
        assert re.search(rf"{one['ring']} {one['lot']} .*?{how} {one['place'] or ''} ?{state} put apart", told), one
    further = {one["lot"] for one in answer["holds"]} - {one["lot"] for one in first}
    assert f"Of a wider level, {len(further)} more lots on hand or still growing" in told


def test_the_ranking_equals_the_answers(printed):
    read, answer = printed
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


def test_each_page_is_numbered_and_carries_the_head(printed):
    read, _ = printed
    heads = {re.search(r"Ledger head: size \d+, root [0-9a-f]{64}", page)[0] for page in read.pages}
    assert len(heads) == 1
    for number, page in enumerate(read.pages, 1):
        assert f"Page {number} of {len(read.pages)}" in page
        assert "The local regulator, the product label and licensed advice decide" in page
        assert "Wrenfallow Greens" in page


def test_it_is_for_everyone_to_read(printed):
    read, _ = printed
    assert min(read.sizes()) >= SMALLEST - 0.01
    fonts = read.fonts()
    assert fonts
    assert all("/FontFile2" in font["/FontDescriptor"] for font in fonts)
    assert read.reader.metadata.title == "Recall report: Q-1, Q-2, Wrenfallow Greens"
    assert read.reader.trailer["/Root"]["/Lang"] == "en"
    marks = read.bookmarks()
    for words in ("What was asked", "Customers to call, in this order", "Lots to hold now"):
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
    read = Read(path.read_bytes())
    first = " ".join(read.pages[0].split())
    # What a test found is called back whichever cause is chosen.
    assert "holds and calls by level 1, and all that S-FEN-1 and P-0130-5 reached" in first
    sheet = _sheet(read)
    assert [one["customer"] for one in answer["first"]["calls"] if f"({one['customer']})" in sheet]
    assert {code for code in answer["affected"]["customers"] if f"({code})" in sheet} == {
        one["customer"] for one in answer["first"]["calls"]
    }
    end = read.text[read.text.index("All lots and deliveries of the widest scope", len(read.pages[0])) :]
    assert set(re.findall(r"\bD-\d+\b", end)) == {one["code"] for one in answer["scope"]["deliveries"]}
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
