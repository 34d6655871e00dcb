"""All reports that ship, printed for the sample farm and read back: nothing left out, nothing cut, nothing claimed."""

import re
from datetime import datetime

import pytest

from lotwalk.kinds.library import Kinds
from lotwalk.pages.definitions.definition import load, shipped
from lotwalk.pages.typeface.fonts import load_fonts

KINDS = Kinds.load()
LOGS = [name for name in shipped() if not load(name, KINDS).asks]
ONES = [("item-history", "M-013"), ("water-source", "WELL"), ("lot-history", "P-0209-1")]
EVERY = [*((name, "") for name in LOGS), *ONES]
SINCE, UNTIL = datetime(2026, 1, 1).timestamp(), datetime(2026, 3, 1).timestamp()


def _shown(kind: str) -> set[str]:
    """The fields of a kind that some log has a column or a line for."""
    sections = [section for name in LOGS for section in load(name, KINDS).sections if kind in section.kinds]
    columns = {value for section in sections for column in section.columns for value in column.values}
    return {value.partition(".")[0] for value in columns | {name for section in sections for name in section.below}}


@pytest.mark.parametrize("kind", KINDS.names)
def test_every_kind_prints_somewhere_with_every_field(kind):
    assert set(KINDS[kind].fields) - _shown(kind) == set()


@pytest.mark.parametrize("size", ["A4", "Letter"])
@pytest.mark.parametrize(("name", "code"), EVERY)
def test_every_page_is_whole(wrenfallow, name, code, size):
    pdf = wrenfallow.print(name, code, size)
    definition = wrenfallow.definition(name)
    with wrenfallow.book.ledger.reading() as connection:
        entries = wrenfallow.book.ledger.head(connection).size
    # ISO 216 A4 is 210 mm by 297 mm, ANSI A 8.5 by 11 inches; a point is 1/72 inch.
    short, long = (595, 842) if size == "A4" else (612, 792)
    for number, page in enumerate(pdf.reader.pages, 1):
        text = " ".join(pdf.pages[number - 1].split())
        for words in (
            definition.title,
            "Wrenfallow Greens, 14 Wrenfallow Road, Tansy Corners, NY",
            "Period: 2026-01-01 to 2026-02-28. Times: America/New_York.",
            "after it happened is marked as late.",
            "Rule set: wrenfallow-rules",
            f"Page {number} of {len(pdf.pages)}",
            "Date Name Signature",
            "The local regulator, the product label and licensed advice decide.",
            f"Ledger head: size {entries}, root ",
            *(says for _, says in definition.cautions),
        ):
            assert words in text
        box = (round(float(page.mediabox.width)), round(float(page.mediabox.height)))
        assert box == ((long, short) if definition.landscape else (short, long))


@pytest.mark.parametrize(("name", "code"), EVERY)
def test_all_words_stand_on_the_paper(wrenfallow, name, code):
    for page in wrenfallow.print(name, code).reader.pages:
        places = []
        page.extract_text(visitor_text=lambda text, _, at, font, size, places=places: places.append((text, at)))
        for text, at in places:
            if text.strip() and at[4]:
                assert 0 < at[4] < float(page.mediabox.width), text
                assert 0 < at[5] < float(page.mediabox.height), text


@pytest.mark.parametrize(("name", "code"), EVERY)
def test_every_typeface_is_in_the_file(wrenfallow, name, code):
    for page in wrenfallow.print(name, code).reader.pages:
        for font in page["/Resources"]["/Font"].values():
            found = font.get_object()
            inner = found.get("/DescendantFonts")
            descriptor = (inner[0].get_object() if inner else found)["/FontDescriptor"].get_object()
            assert {"/FontFile", "/FontFile2", "/FontFile3"} & descriptor.keys()


@pytest.mark.parametrize(("name", "code"), EVERY)
def test_none_says_that_anything_is_safe(wrenfallow, name, code):
    text = wrenfallow.print(name, code).text
    sentences = [sentence for sentence in re.split(r"[.;]", text) if re.search(r"\bsafe\b", sentence)]
    assert all(re.search(r"\b(not|no)\b", sentence) for sentence in sentences)


@pytest.mark.parametrize(("name", "code"), EVERY)
def test_the_file_has_a_bookmark_for_the_report_and_each_of_its_sections(wrenfallow, name, code):
    outline = wrenfallow.print(name, code).reader.outline
    titles = [one.title for part in outline for one in (part if isinstance(part, list) else [part])]
    definition = wrenfallow.definition(name)
    sections = [section.title for section in definition.sections if section.title]
    assert titles == [f"{definition.title}: {code}" if code else definition.title, *sections]


def _words(value) -> list[str]:
    """The scalars that were written in a field."""
    if isinstance(value, str):
        return [value]
    return [word for one in (value.values() if isinstance(value, dict) else value) for word in _words(one)]


@pytest.mark.parametrize("name", LOGS)
def test_what_the_ledger_holds_of_the_period_stands_in_the_log(wrenfallow, name):
    """Compared with the hashed records themselves, read from the file without any of the reports' code."""
    printed = "".join(wrenfallow.print(name).text.split())
    definition = wrenfallow.definition(name)
    for section in definition.sections:
        shown = {value.partition(".")[0] for column in section.columns for value in column.values}
        shown |= set(section.below)
        for record in wrenfallow.records(*section.kinds) if section.kinds else ():
            if not (SINCE - 20_000 < record["from"] < UNTIL - 90_000):
                continue
            assert record["name"] in printed
            fields = {"by": record["by"], **record["fields"]}
            for field, value in fields.items():
                if field in shown:
                    for word in _words(value):
                        assert "".join(load_fonts().printable(word).split()) in printed, (record["name"], field)


@pytest.mark.parametrize("name", [name for name in LOGS if name not in ("crosswalk", "gaps")])
def test_an_empty_log_says_so(farm, name):
    definition = farm.definition(name)
    pdf = farm.print("2020-01-01", "2020-01-02", definition=definition)
    assert definition.empty in pdf.text
    assert pdf.summary.entries == 0
