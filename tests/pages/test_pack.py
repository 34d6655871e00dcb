"""The inspection pack: how the farm stands, contents that lead where they say, every log, the attached papers."""

import io
import re
from collections.abc import Sequence
from datetime import date

import pytest
from PIL import Image
from pypdf import PdfReader, PdfWriter
from pypdf.annotations import Link
from pypdf.generic import DictionaryObject, NameObject, TextStringObject
from reportlab.pdfgen.canvas import Canvas

from lotwalk.book import Book
from lotwalk.errors import NotUnderstood
from lotwalk.pages.cautions import caution
from lotwalk.pages.computed.gaps import open_causes
from lotwalk.pages.definitions.report_list import all_jobs
from lotwalk.pages.pack.pack import write_pack
from lotwalk.pages.rows.reading import reading
from lotwalk.pages.rows.versions import Period


class Pack:
    def __init__(self, book: Book, size: str = "A4", only: Sequence[str] = ()) -> None:
        out = io.BytesIO()
        self.told: list[tuple[int, int]] = []
        self.summary = write_pack(
            book.ledger,
            since=date(2026, 1, 1),
            until=date(2026, 2, 28),
            page_size=size,
            only=only,
            out=out,
            progress=lambda done, of: self.told.append((done, of)),
        )
        self.reader = PdfReader(out)
        self.pages = [" ".join(page.extract_text().split()) for page in self.reader.pages]

    def contents(self) -> tuple[int, str]:
        """The number of the page of contents, counted from 0, and its lines."""
        mark = " Contents What Holds Page "
        return next((number, page.partition(mark)[2]) for number, page in enumerate(self.pages) if mark in page)


@pytest.fixture(scope="module")
def pack(wrenfallow):
    return Pack(wrenfallow.book)


def _with_files(farm, tmp_path):
    """A farm with a paper of two pages, a photograph, a broken paper and a broken picture."""
    paper = PdfWriter()
    for width in (595, 420):
        paper.add_blank_page(width, 842)
    paper.write(tmp_path / "coa.pdf")
    Image.new("RGB", (3_000, 4_500), "grey").save(tmp_path / "strip.png")
    (tmp_path / "broken.pdf").write_bytes(b"%PDF-1.7\n%broken\n")
    (tmp_path / "broken.png").write_bytes(b"\x89PNG\r\n\x1a\nno picture")
    farm.at("2026-02-20 20:00")
    names = ["coa.pdf", "strip.png", "broken.pdf", "broken.png"]
    farm.book.record(
        "washing", at="2026-02-20 09:00", by="TO", items="M-001", method="brushed", files=names, folder=tmp_path
    )
    return farm


def test_the_first_page_counts_the_gaps(pack):
    grave = re.findall(r"(critical|major|minor): (\d+) in (\d+) cause", pack.pages[0])
    assert [name for name, _, _ in grave] == ["critical", "major", "minor"]
    assert sum(int(count) for _, count, _ in grave) == pack.summary.gaps


def test_the_first_page_says_what_is_written_and_what_is_not(pack):
    """From samples/farm.yaml and the register: who answers, and that neither law nor slips are written."""
    front = pack.pages[0]
    for words in (
        "Wrenfallow Greens, 14 Wrenfallow Road",
        "Records of 2026-01-01 to 2026-02-28",
        "Who answers Ilse Brandvold, 555-0100",
        "Under which law Not written",
        "The slips are kept: not written",
        "WELL, Drilled well behind the barn",
        "FAILED in this period: 2026-02-02",
        "Salmonella, detected in 25 g",
        "Not reviewed: 2026-02-09 to 2026-02-15",
        "Handed over by",
    ):
        assert words in front


def test_each_grave_cause_leads_to_the_page_that_prints_it(pack, wrenfallow):
    """The numbers on the first page are those of pages that hold the name of the cause."""
    with reading(wrenfallow.book.ledger) as state:
        period = Period.of(date(2026, 1, 1), date(2026, 2, 28), state.settings.zone)
        grave = [one for one in open_causes(state, period) if one.severity == "critical"]
    told = re.findall(r"(?:^| )(\d) ((?:(?! \d [A-Z]).)+?) (\d+)(?= \d [A-Z]| \S critical)", pack.pages[0])
    assert len(grave) == len(told[-len(grave) :])
    for cause, (_, _, page) in zip(grave, told[-len(grave) :], strict=True):
        assert cause.id in pack.pages[int(page) - 1]


@pytest.fixture(scope="module")
def water(wrenfallow):
    return Pack(wrenfallow.book, only=["water"])


def test_a_pack_of_one_subject_has_the_first_page_whole_and_its_own_logs_alone(water, pack):
    titles = [one.title for one in water.reader.outline if not isinstance(one, list)]
    assert titles == [
        "Inspection pack",
        "Contents",
        "Crosswalk from rules to logs",
        "Gaps by cause, and what is due",
        "Water test log",
        "Water check log",
        "Water source: MAINS",
        "Water source: WELL",
        "Open gaps, one by one",
    ]
    assert "Inspection pack, of water alone" in water.pages[0]
    assert "Salmonella, detected in 25 g" in water.pages[0], "what matters most is of the whole farm"


def test_the_crosswalk_and_gaps_of_a_subject_are_those_that_bear_on_it(water):
    crosswalk = next(page for page in water.pages if page.startswith("Crosswalk"))
    assert "112.44(b)" in crosswalk and "112.45(a)" in crosswalk
    assert "112.30(b)" not in crosswalk and "1.1340" not in crosswalk
    gaps = " ".join(page for page in water.pages if "Gaps by cause" in page)
    assert "failed-water:WELL" in gaps
    assert "untaught" not in gaps and "unmended" not in gaps


def test_a_subject_that_there_is_not_is_refused_with_those_there_are(wrenfallow):
    with pytest.raises(NotUnderstood, match="there is no subject weather") as refused:
        Pack(wrenfallow.book, only=["water", "weather"])
    assert "sanitising" in str(refused.value)


def test_cautions_and_lines_to_sign_stand_once_for_each_report(pack, wrenfallow):
    text = " ".join(pack.pages)
    with reading(wrenfallow.book.ledger) as state:
        told = [job for job in all_jobs(state) if ("Never mix", caution("never-mix").says) in job.definition.cautions]
    assert text.count(caution("never-mix").says) == len(told) > 1
    assert len(re.findall("(?:Reviewed|Seen) by Date", text)) == pack.summary.reports


def test_every_page_is_numbered_and_carries_the_head(pack, wrenfallow):
    with wrenfallow.book.ledger.reading() as connection:
        head = wrenfallow.book.ledger.head(connection)
    for number, page in enumerate(pack.pages, 1):
        assert f"Page {number} of {len(pack.pages)}" in page
        assert f"Ledger head: size {head.size}, root {head.root.hex()}" in page
    assert pack.summary.pages == len(pack.pages)


def test_the_contents_name_the_page_on_which_each_report_begins(pack):
    contents = next(page for page in pack.pages if " Contents What Holds Page " in page)
    lines = re.findall(
        r"([A-Z][A-Za-z, :]+?) (?:\d+ (?:entry|entries|lines?)|nothing recorded) (\d+)",
        contents.partition(" Holds Page ")[2],
    )
    assert len(lines) == pack.summary.reports
    for title, number in lines:
        assert pack.pages[int(number) - 1].startswith(title.strip())


def test_the_lines_of_the_contents_lead_to_those_pages(pack):
    place, contents = pack.contents()
    links = [one.get_object() for one in pack.reader.pages[place]["/Annots"]]
    targets = [pack.reader.get_page_number(link["/Dest"][0].get_object()) for link in links]
    named = [int(number) for number in re.findall(r"(?:ies|entry|lines?|recorded) (\d+)", contents)]
    assert [(target or 0) + 1 for target in targets] == named


def test_there_is_a_bookmark_for_each_part_on_its_first_page(pack, wrenfallow):
    tops = [one for one in pack.reader.outline if not isinstance(one, list)]
    with reading(wrenfallow.book.ledger) as state:
        jobs = all_jobs(state)
    titles = [f"{job.definition.title}: {job.code}" if job.code else job.definition.title for job in jobs]
    assert [one.title for one in tops] == ["Inspection pack", "Contents", *titles]
    for one in tops:
        page = pack.reader.get_destination_page_number(one)
        assert page is not None
        assert one.title in pack.pages[page]


def test_every_kind_of_record_stands_in_the_pack(wrenfallow):
    with reading(wrenfallow.book.ledger) as state:
        held = {kind for job in all_jobs(state) for kind in job.definition.kinds}
    assert set(wrenfallow.book.ledger.kinds.names) == held


def test_progress_is_told_to_its_end(pack):
    assert pack.told[-1][0] == pack.told[-1][1]
    assert [done for done, _ in pack.told] == list(range(1, len(pack.told) + 1))


def test_attached_papers_are_appended_with_whose_they_are(farm, tmp_path):
    pack = Pack(_with_files(farm, tmp_path).book)
    assert pack.summary.files == 4
    last = pack.pages[-5:]
    widths = [round(float(page.mediabox.width)) for page in pack.reader.pages[-5:]]
    assert widths[:2] == [595, 420]
    digest = re.search(r"coa\.pdf The file's SHA-256: ([0-9a-f]{64})", last[1])
    assert digest, last[1]
    for number, page in enumerate(last):
        assert f"Page {len(pack.pages) - 4 + number} of {len(pack.pages)}" in page
        assert "Ledger head: size" in page
    assert len(pack.reader.pages[-3].images) == 1
    assert "It cannot be read as a PDF" in last[3]
    assert "It cannot be read as a picture" in last[4]
    assert "coa.pdf" in pack.contents()[1]
    titles = [one.title for one in pack.reader.outline if not isinstance(one, list)]
    assert [title for title in titles if "coa.pdf" in title]


def test_a_large_picture_is_drawn_no_finer_than_a_paper_needs(farm, tmp_path):
    pack = Pack(_with_files(farm, tmp_path).book)
    (picture,) = pack.reader.pages[-3].images
    assert picture.image is not None
    assert max(picture.image.size) <= 2_400


def test_what_could_run_in_an_attached_file_is_left_out(farm, tmp_path):
    paper = PdfWriter()
    page = paper.add_blank_page(595, 842)
    paper.add_annotation(0, Link(rect=(0, 0, 100, 100), url="https://elsewhere.example"))
    run = DictionaryObject({NameObject("/S"): NameObject("/JavaScript"), NameObject("/JS"): TextStringObject("x")})
    paper.root_object[NameObject("/OpenAction")] = run
    assert page
    paper.write(tmp_path / "live.pdf")
    farm.at("2026-02-20 20:00").book.record(
        "washing", at="2026-02-20 09:00", by="TO", items="M-001", method="b", files=["live.pdf"], folder=tmp_path
    )
    pack = Pack(farm.book)
    assert "/Annots" not in pack.reader.pages[-1]
    assert "/OpenAction" not in pack.reader.root_object


def test_an_empty_book_gives_a_pack_that_says_so(farm):
    pack = Pack(farm.book)
    assert "No harvest was recorded in this period." in " ".join(pack.pages)
    assert pack.summary.files == 0


def test_letter_paper(farm):
    box = Pack(farm.book, "Letter").reader.pages[0].mediabox
    assert (round(float(box.width)), round(float(box.height))) == (612, 792)


def test_the_strip_at_the_foot_covers_nothing_of_an_attached_paper(farm, tmp_path):
    paper = Canvas(str(tmp_path / "full.pdf"), pagesize=(595, 842))
    for place in (2, 400, 832):
        paper.drawString(60, place, f"line at {place}")
    paper.save()
    farm.at("2026-02-20 20:00").book.record(
        "washing", at="2026-02-20 09:00", by="TO", items="M-001", method="b", files=["full.pdf"], folder=tmp_path
    )
    heights: dict[str, float] = {}

    def visit(text, matrix, position, font, size):
        if text.strip():
            heights[text.strip()] = matrix[3] * position[5] + matrix[5]

    Pack(farm.book).reader.pages[-1].extract_text(visitor_text=visit)
    strip = max(height for words, height in heights.items() if not words.startswith("line at"))
    lines = [heights[f"line at {place}"] for place in (2, 400, 832)]
    assert strip < lines[0] < lines[1] < lines[2] < 842
