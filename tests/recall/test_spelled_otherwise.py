"""One lot of a supplier that two receipts write in two ways is offered as one, and never put together silently.

S-1 is of SEEDS' lot `TB-77`. Of S-3, which came from SEEDS later, the number is written in another way.
"""

import json

import pytest
from click.testing import CliRunner
from tests.bearing.farm import FIRST, load, start

from lotwalk.checks.findings import find
from lotwalk.checks.subjects.suppliers import findings
from lotwalk.cli.main import program

FIRST_LOT = """
- {kind: seed-receipt, at: 2026-03-01, lot: S-7, crop: pea, supplier: SEEDS, supplier_lot: TB-77, amount: 5 kg}
- {kind: sowing, at: 2026-03-02 09:00, batch: T-1, seed: S-7 100 g, trays: 1, equipment: M-1, water: none}
"""
"""E21 and E22."""
LATER = "- {{kind: seed-receipt, at: 2026-03-05, lot: S-8, crop: pea, supplier: {}, supplier_lot: {}, amount: 5 kg}}\n"
"""E23."""


@pytest.fixture
def book(tmp_path):
    opened = start(str(tmp_path / "farm.db"))
    load(opened, FIRST_LOT)
    yield opened
    opened.ledger.engine.dispose()


def found(book):
    with book.ledger.reading() as connection:
        return [(one.finding, one.open) for one in find(book.records(connection), [findings])]


def said(book, *words):
    where = str(book.ledger.engine.url.database)
    done = CliRunner().invoke(program, ["--ledger", where, *words])
    assert done.exit_code == 0, done.output
    return done.output


@pytest.mark.parametrize("written", ["TB 77", "TB77", "tb.77", "TB/77", "TB - 77", "T B 77", "TB_77"])
def test_another_way_of_writing_it_is_told_at_the_door_and_stands_in_check_until_amended(book, written):
    (receipt,) = load(book, LATER.format("SEEDS", written), "later.yaml")
    assert receipt.notices == (
        f"S-8 (E23) is of the lot `{written}` of SEEDS, and S-7 (E21) of `TB-77`: the same letters and digits. A recall"
        " of the one does not reach the other. If it is one lot, amend E23 to say `TB-77`, or E21 to say"
        f" `{written}`: what stands on the bag. If they are two, close this by a corrective action that names it.",
    )
    ((finding, is_open),) = found(book)
    assert (finding.id, finding.severity, is_open) == ("supplier-lot-spelled:S-8", "major", True)
    assert finding.told == receipt.notices[0]
    (amended, *_) = book.amend(FIRST + 2, {"supplier_lot": "TB-77"}, because="read again", by=["TO"])
    assert amended.notices == ()
    assert found(book) == []


@pytest.mark.parametrize(
    ("supplier", "written"), [("SEEDS", "TB-77"), ("SEEDS", "tb-77"), ("SEEDS", "TB-78"), ("OTHER", "TB 77")]
)
def test_the_same_writing_another_number_and_another_supplier_are_not_told(book, supplier, written):
    load(book, "- {kind: supplier, at: 2026-03-01, code: OTHER, name: Other}\n", "supplier.yaml")
    (receipt,) = load(book, LATER.format(supplier, written), "later.yaml")
    assert receipt.notices == ()
    assert found(book) == []


def test_two_on_one_sheet_and_three_ways(book):
    """Each that is written otherwise than the first is told, against the first."""
    receipts = load(
        book,
        LATER.format("SEEDS", "TB 77") + LATER.replace("S-8", "S-9").format("SEEDS", "TB77"),
        "two.yaml",
    )
    assert [len(one.notices) for one in receipts] == [1, 1]
    assert [one.id for one, _ in found(book)] == ["supplier-lot-spelled:S-8", "supplier-lot-spelled:S-9"]


def test_two_lots_that_are_two_are_closed_by_who_looked(book):
    load(book, LATER.format("SEEDS", "TB 77"), "later.yaml")
    load(
        book,
        "- {kind: corrective-action, at: 2026-03-06, about: supplier-lot-spelled:S-8, cause: two numbers, action: asked"
        " SEEDS, closed: 2026-03-06}\n",
        "closed.yaml",
    )
    assert [is_open for _, is_open in found(book)] == [False]


def test_a_void_receipt_is_no_other_way_of_writing(book):
    load(book, LATER.format("SEEDS", "TB 77"), "later.yaml")
    book.void(FIRST + 2, because="typed twice", by=["TO"])
    assert found(book) == []


TOLD = (
    "The same lot of SEEDS may be written otherwise: `TB-77` here, and `TB 77` of S-8 (E23). If it is one lot, ask for"
)


@pytest.mark.parametrize(
    "words",
    [
        ("trace", "T-1", "--back"),
        ("trace", "S-7", "--forward"),
        ("trace", "SEEDS:TB-77", "--forward"),
        ("recall", "T-1"),
        ("recall", "S-7"),
    ],
)
def test_a_walk_of_the_one_names_the_other(book, words):
    load(book, LATER.format("SEEDS", "TB 77"), "later.yaml")
    assert TOLD in " ".join(said(book, *words).split())
    told = json.loads(said(book, *words, "--format", "json"))
    assert told["spelled_too"] == [
        {
            "supplier": "SEEDS",
            "lot": "TB-77",
            "code": "SEEDS:TB-77",
            "others": [{"lot": "TB 77", "code": "SEEDS:TB_77", "entry": "E23", "made": ["S-8"]}],
        }
    ]


def test_a_walk_that_has_nothing_to_do_with_it_says_nothing(book):
    load(book, LATER.format("SEEDS", "TB 77"), "later.yaml")
    assert "written otherwise" not in said(book, "trace", "M-2", "--forward")
    assert json.loads(said(book, "recall", "S-1", "--format", "json"))["spelled_too"] == []
