"""The made-up farm's first weeks on SQLite and on PostgreSQL: the same entries, the same walk, the same answers."""

import pytest
from tests.conftest import ENGINES
from tests.ledger.farm import records

from lotwalk import demo
from lotwalk.book import Book
from lotwalk.ledger.read.search import read_out
from lotwalk.ledger.read.things import find_thing, thing_codes, void_among
from lotwalk.ledger.read.uses import makers, mentions
from lotwalk.ledger.read.versions import entries
from lotwalk.ledger.verify.entries import verify
from lotwalk.recall.asking import asked
from lotwalk.recall.recall import recall
from lotwalk.walk.distrust import doubt
from lotwalk.walk.model import Start
from lotwalk.walk.walk import walk

WEEKS = 7
"""Sheets: the register, the stores, and the first weeks of growing and selling."""


@pytest.fixture(scope="module")
def farms(postgres, tmp_path_factory):
    """The farm's book on either engine."""
    places = {"sqlite": str(tmp_path_factory.mktemp("demo") / "farm.db"), "postgresql": postgres.fresh()}
    books = [_loaded(places[engine]) for engine in ENGINES]
    yield books
    for book in books:
        book.ledger.engine.dispose()


def _loaded(where: str) -> Book:
    sheets = demo.sheets()[:WEEKS]
    book, clock = demo.start(where, sheets[0])
    for sheet in sheets:
        demo.load(book, clock, sheet)
    return book


@pytest.fixture
def both(farms):
    """Asks both the same, and returns the two answers."""

    def ask(question):
        answers = []
        for book in farms:
            with book.ledger.reading() as connection:
                answers.append(question(connection, book))
        return answers

    return ask


def test_the_entries_are_the_same_to_the_letter(farms):
    """Save for what is random, and the hashes of it."""

    def told(book):
        for record in records(book):
            del record["salt"]
            record.get("amends", {}).pop("digest", None)
            yield record

    sqlite, postgresql = (list(told(book)) for book in farms)
    assert len(sqlite) > 300
    assert sqlite == postgresql


def test_both_are_whole(both):
    for found in both(lambda connection, book: verify(connection, book.ledger.kinds)):
        assert (found.ok, found.why) == (True, "")


def test_the_walk_reaches_the_same_in_the_same_rings_and_spells(both):
    def walks(connection, book):
        out = []
        for thing in thing_codes(connection)[::31]:
            for direction in ("forward", "back"):
                found = walk(connection, direction, [Start(thing.id)])
                reached = [(one.thing.code, one.link, one.level, one.spells, one.assumed) for one in found.reached]
                out.append((thing.code, direction, reached, found.entries, found.silent))
        return out

    sqlite, postgresql = both(walks)
    assert any(reached for _, _, reached, _, _ in sqlite)
    assert sqlite == postgresql


@pytest.mark.parametrize("distrusted", [["all"], ["sanitising"]])
def test_the_walk_reaches_the_same_when_breaks_are_not_believed(both, distrusted):
    def walks(connection, book):
        start = Start(thing_codes(connection, "delivery")[-1].id)
        found = walk(connection, "back", [start], doubt=doubt(connection, distrusted))
        return [(one.thing.code, one.link, one.level, one.spells) for one in found.reached]

    sqlite, postgresql = both(walks)
    assert sqlite
    assert sqlite == postgresql


def test_the_recall_is_the_same(both):
    def recalled(connection, book):
        codes = [thing.code for thing in thing_codes(connection, "delivery")[-2:]]
        return recall(connection, asked.ask(connection, codes), book.ledger.kinds)

    sqlite, postgresql = both(recalled)
    assert sqlite.candidates
    assert sqlite == postgresql


def test_what_is_read_back_is_the_same(both):
    def read(connection, book):
        things = thing_codes(connection)
        keys = [thing.id for thing in things]
        some = things[:: len(things) // 20]
        return (
            [thing.code for thing in things],
            [version.name for version in entries(connection, "washing", start=1_766_000_000, end=1_770_000_000)],
            {key: version.name for key, version in makers(connection, keys).items()},
            void_among(connection, keys),
            [[(one.version.name, one.role) for one in mentions(connection, thing)] for thing in some],
            [(version.name, field) for version, field in read_out(connection, "palefield")],
        )

    sqlite, postgresql = both(read)
    assert sqlite[0]
    assert sqlite[1]
    assert sqlite == postgresql


def test_an_amendment_changes_the_same_verdicts(farms):
    """What a load of mats passed in is found to have been past its time."""
    told = []
    for book in farms:
        with book.ledger.reading() as connection:
            dip = next(version for version in entries(connection, "sanitising") if version.verdict.passed)
            solution = find_thing(connection, dip.fields["solution"])
            made = makers(connection, [solution.id])[solution.id]
        changes = {"discard_at": "2025-12-01"}
        receipts = book.amend(made.number, changes, because="left out", by=[dip.by[0]])
        told.append(receipts)
    assert len(told[0]) > 1
    assert told[0] == told[1]
