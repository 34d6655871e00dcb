"""A grower's own kind of record, and what becomes of its entries when its file changes or is lost."""

import pytest
from tests.ledger.farm import SOLUTION, Clock, current, history, load, number, records, uses

from lotwalk.book import Book
from lotwalk.data import folder
from lotwalk.errors import NotUnderstood
from lotwalk.ledger.verify.entries import verify


@pytest.fixture
def own(tmp_path):
    """A folder with own kinds `our-dip` and `our-wash`, which are like the ones that ship."""
    kinds = tmp_path / "kinds"
    kinds.mkdir()
    for name, like in (("our-dip", "sanitising"), ("our-wash", "washing")):
        text = (folder("schemas") / f"{like}.yaml").read_text("utf-8")
        (kinds / f"{name}.yaml").write_text(text.replace(f"$id: {like}\n", f"$id: {name}\n"))
    return kinds


@pytest.fixture
def reopened(farms, fresh, own):
    """Opens the same ledger again and again, with the own kinds as they are by then."""
    place = fresh("sqlite", farms("sqlite"))
    books = []

    def reopen(*kinds) -> Book:
        books.append(Book.open(place, kinds=kinds, clock=Clock()))
        return books[-1]

    yield reopen
    for book in books:
        book.ledger.engine.dispose()


def asks_more(path) -> None:
    """Let a kind ask for a further field, which its entries so far do not have."""
    text = path.read_text("utf-8").replace("required: [items, ", "required: [note, items, ")
    assert "required: [note, " in text
    path.write_text(text)


DAY = (
    SOLUTION
    + """
    - {kind: our-wash, at: 2026-03-02 08:00, by: TO, items: M-01, method: brushed}
    - {kind: our-dip, at: 2026-03-02 09:00, by: TO, items: "M-01, M-02", solution: SOL-1, reading: 110 ppm,
       contact: 2 min}
"""
)
LATE = "- {kind: washing, at: 2026-03-02 08:00, by: TO, items: M-02, method: brushed}\n"


def test_an_own_kind_is_judged_and_judged_again_like_one_that_ships(reopened, own):
    book = reopened(own)
    dip = load(book, DAY)[-1]
    assert dip.verdict.passed == ("M-01",)
    load(book, LATE)
    assert current(book, dip.name).verdict.passed == ("M-01", "M-02")


def test_an_entry_of_an_own_kind_carries_its_files_digest(reopened, own):
    book = reopened(own)
    load(book, DAY)
    *_, wash, dip = records(book)
    assert wash["kind_file"] == book.ledger.kinds["our-wash"].digest
    assert dip["kind_file"] == book.ledger.kinds["our-dip"].digest
    assert "kind_file" not in records(book)[-3]


def test_a_verdict_stands_when_its_kind_has_changed_so_that_it_cannot_be_read(reopened, own):
    dip = load(reopened(own), DAY)[-1]
    asks_more(own / "our-dip.yaml")
    book = reopened(own)
    receipts = load(book, LATE)
    assert len(receipts) == 1
    assert len(history(book, dip.name)) == 1
    with book.ledger.reading() as connection:
        assert verify(connection, book.ledger.kinds).why == ""


def test_what_can_no_longer_be_read_is_no_evidence(reopened, own):
    """The washing's kind has changed. A dip after it that is judged now does not rest on it."""
    load(reopened(own), DAY)
    asks_more(own / "our-wash.yaml")
    book = reopened(own)
    dip, *_ = load(
        book,
        """
        - {kind: our-dip, at: 2026-03-02 09:05, by: TO, items: M-01, solution: SOL-1, reading: 110 ppm,
           contact: 2 min}
        """,
    )
    assert dip.verdict.failed == ("M-01",)
    assert any(reason.text.startswith("M-01 was not washed") for reason in dip.verdict.reasons)


def test_a_ledger_goes_on_when_the_file_of_an_own_kind_is_lost(reopened, own):
    dip = load(reopened(own), DAY)[-1]
    book = reopened()
    load(book, LATE)
    assert [version.verdict.passed for version in history(book, dip.name)] == [("M-01",)]
    with pytest.raises(NotUnderstood, match="there is no kind of record named 'our-dip'"):
        book.amend(number(dip), {"note": "x"}, because="a slip", by=["TO"])
    with book.ledger.reading() as connection:
        assert verify(connection, book.ledger.kinds).why == ""


ONLY = """
$schema: https://json-schema.org/draft/2020-12/schema
$id: rinse-test
title: Rinse test
description: A test that gives the water no role unless it went well.
$ref: common.yaml
unevaluatedProperties: false
required: [source, e_coli]
x-verdict: water
x-log: [at, source, e_coli]
properties:
  source:
    title: Water source
    description: Which water
    $ref: common.yaml#/$defs/code
    x-thing: [water-source]
    x-role: [{role: cleared, when: passes}]
    x-tells: [{fact: tested}]
  e_coli:
    title: E. coli
    description: As the laboratory wrote it
    $ref: common.yaml#/$defs/text
"""


def test_a_kind_may_give_a_thing_a_role_only_where_it_passes(reopened, own):
    """Where it fails the thing is named and no more, and judged again when there is reason to."""
    (own / "rinse-test.yaml").write_text(ONLY)
    book = reopened(own)
    (bad,) = load(book, "- {kind: water-test, at: 2026-03-02 09:00, by: TO, source: WELL, e_coli: 4 MPN/100 mL}\n")
    (good,) = load(book, "- {kind: rinse-test, at: 2026-03-04 09:00, by: TO, source: WELL, e_coli: <1 MPN/100 mL}\n")
    assert good.verdict.failed == ("WELL",)
    assert uses(book, good.name) == {"by TO", "about WELL"}
    for closed in ("2026-03-03", None, "2026-03-04"):
        action = {"kind": "corrective-action", "at": "2026-03-03", "by": "TO", "about": bad.name, "cause": "a crack"}
        book.record_all([{**action, "action": "mended", "closed": closed, "note": str(closed)}])
    assert current(book, good.name).verdict.passed == ("WELL",)
    assert uses(book, good.name) == {"by TO", "cleared WELL"}


def test_only_the_first_part_of_a_mixed_entry_carries_amounts(reopened, own):
    """A dip that says how much of the solution it used up: M-02 was not washed, and the solution is used up once."""
    path = own / "our-dip.yaml"
    text = path.read_text("utf-8").replace("x-role: [{role: took}]\n", "x-role: [{role: took}]\n    x-amount: [used]\n")
    used = 'used: {title: Used, description: How much, $ref: "common.yaml#/$defs/amount", x-dimension: [volume]}'
    path.write_text(text.replace("properties:\n", f"properties:\n  {used}\n", 1))
    book = reopened(own)
    dip = load(book, DAY.replace("contact: 2 min}", "contact: 2 min, used: 3 L, rinse_water: MAINS}"))[-1]
    assert uses(book, dip.name, part=0) == {"by TO", "took SOL-1 3000 mL", "drew MAINS", "cleared M-01"}
    assert uses(book, dip.name, part=1) == {"by TO", "took SOL-1", "shared SOL-1", "drew MAINS", "touched M-02"}


BENCH = """
$id: bench
title: Bench
description: A bench to trim at, and what always lies there.
$ref: common.yaml
unevaluatedProperties: false
required: [code]
properties:
  code:
    title: Code
    $ref: common.yaml#/$defs/new-code
    x-makes: place
    x-role: [{role: names}]
  lying_there:
    title: Lying there
    $ref: common.yaml#/$defs/codes
    x-thing: [item]
"""
TRIMMING = """
$id: trimming
title: Trimming
description: Lots trimmed.
$ref: common.yaml
unevaluatedProperties: false
required: [lots]
properties:
  lots:
    title: Lots
    $ref: common.yaml#/$defs/codes
    x-thing: [lot]
    x-role: [{role: handled}]
  tools:
    title: Tools
    $ref: common.yaml#/$defs/codes
    x-thing: [item]
    x-role: [{role: touched}]
    x-usual: lying_there
"""


def test_what_an_own_kind_of_place_says_is_usual_is_used_where_an_entry_is_silent(reopened, own):
    (own / "bench.yaml").write_text(BENCH)
    (own / "trimming.yaml").write_text(TRIMMING)
    book = reopened(own)
    _, silent, named, none = load(
        book,
        """
        common: {at: 2026-03-02 09:00, by: TO}
        entries:
        - {kind: bench, code: TRIM, lying_there: SHEARS}
        - {kind: trimming, lots: S-1, place: TRIM}
        - {kind: trimming, lots: S-1, place: TRIM, tools: KNIFE}
        - {kind: trimming, lots: S-1, place: TRIM, tools: none}
        """,
    )
    assert uses(book, silent.name) == {"by TO", "place TRIM", "handled S-1", "touched SHEARS assumed"}
    assert uses(book, named.name) == {"by TO", "place TRIM", "handled S-1", "touched KNIFE"}
    assert uses(book, none.name) == {"by TO", "place TRIM", "handled S-1"}
