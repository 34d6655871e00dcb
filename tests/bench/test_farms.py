"""The made-up growers of the benchmarks are what the ledger would hold, and both references answer as the walk does."""

import sqlite3

import pytest
from tests.bench.graph import Graph, scope
from tests.bench.plain import EVER, Plain, Window
from tests.bench.shape import Size, all_deeds
from tests.bench.writer import started, write

from lotwalk.book import Book
from lotwalk.cli.main import main
from lotwalk.ledger.record import parse
from lotwalk.ledger.verify.entries import verify
from lotwalk.recall.asking.asked import ask
from lotwalk.recall.recall import recall
from lotwalk.recall.traceforward.long_spells import wide
from lotwalk.walk.model import BACK, FORWARD, Spell, Start
from lotwalk.walk.walk import walk

DAYS = 24
SMALL = Size("small", 1, 1, 50, DAYS)
WIDE = Size("wide", 3, 1, 60, DAYS)
LONG = Size("long", 1, 2, 50, DAYS)
NEGLECTED = Size("neglected", 1, 1, 50, DAYS, neglectful=True)


@pytest.fixture(scope="module")
def farm(tmp_path_factory):
    folder = tmp_path_factory.mktemp("farms")

    def farm(size):
        path = folder / f"{size.name}.db"
        if not path.exists():
            write(path, all_deeds(size))
        return path

    return farm


def _complained(path):
    """What each complaint is about."""
    rows = sqlite3.connect(path).execute("SELECT record, digest FROM entry WHERE kind = 'complaint' ORDER BY seq")
    return [str(parse(*row).fields["deliveries"]) for row in rows]


def _tables(path):
    """Things, uses and entries, by codes; without what differs from one recording to the next."""
    connection = sqlite3.connect(path)
    things = connection.execute("SELECT code, fold, kind, cls, type, bought, farm_wide, counted FROM thing")
    uses = connection.execute(
        "SELECT u.node, u.role, t.code, u.at_from, u.at_to, u.grp, u.line, u.amount, u.unit, u.assumed"
        " FROM use u JOIN thing t ON t.id = u.thing"
    )
    entries = connection.execute(
        "SELECT seq, first, amends, void, kind, at_from, at_to, sheet, line, judged, silent, alike FROM entry"
    )
    return set(things), set(uses), set(entries)


def _said(path):
    """What the records say, without who heard it when and on what evidence it was judged."""
    for row in sqlite3.connect(path).execute("SELECT record, digest FROM entry ORDER BY seq"):
        record = parse(*row)
        passed = record.verdict and (record.verdict.passed, record.verdict.failed)
        uses = sorted(record.uses, key=str)
        yield record.name, record.kind, record.at, record.by, record.fields, uses, record.silent, passed


def test_the_writer_stores_what_the_front_door_stores(farm, tmp_path):
    path = tmp_path / "front.db"
    book = started(path)
    book.record_all([deed.written() for deed in all_deeds(SMALL)])
    assert _tables(farm(SMALL)) == _tables(path)
    assert list(_said(farm(SMALL))) == list(_said(path))


def test_what_is_written_verifies(farm):
    book = Book.open(str(farm(WIDE)))
    with book.ledger.reading() as connection:
        found = verify(connection, book.ledger.kinds)
    assert (found.ok, found.why) == (True, "")


@pytest.mark.parametrize("size", [SMALL, WIDE, LONG], ids=lambda size: size.name)
def test_the_walk_and_both_references_agree(farm, size):
    path = farm(size)
    plain, graph = Plain(path), Graph(path)
    book = Book.open(str(path))
    with book.ledger.reading() as connection:
        for delivery in _complained(path):
            asked = Window(plain.key(delivery))
            behind = plain.back([asked])
            # Lots, items and water, each with its time; and a knife from the first of its uses on.
            questions = [(BACK, [asked]), (FORWARD, [*behind.windows, asked]), (FORWARD, [Window(plain.key("KN-1"))])]
            for direction, windows in questions:
                ours = walk(connection, direction, [Start(one.thing, (one.low, one.high)) for one in windows])
                theirs = (plain.back if direction == BACK else plain.forward)(windows)
                assert theirs == (graph.back if direction == BACK else graph.forward)(windows)
                assert (set(ours.entries), ours.codes()) == (theirs.entries, theirs.codes)
                assert _spells(ours) == {one for one in theirs.windows if (one.low, one.high) != (-EVER, EVER)}


def test_a_recall_concerns_what_the_plain_walk_reaches(farm):
    plain = Plain(farm(WIDE))
    book = Book.open(str(farm(WIDE)))
    for number, delivery in enumerate(_complained(farm(WIDE)), 1):
        with book.ledger.reading() as connection:
            found = recall(connection, ask(connection, [f"C-{number}"]), book.ledger.kinds)
        behind = plain.back([Window(plain.key(delivery))])
        reached = scope(plain, plain.key(delivery)).codes | behind.codes | {delivery}
        lots = {code for code in reached if code[0] in "STHPB" and not code.startswith("BE-")}
        assert {*found.lots} == lots
        assert {one.code for one in found.deliveries} == {code for code in reached if code[0] == "D"}


def test_the_first_house_does_the_same_whatever_came_before():
    small, long = ([deed.written() for deed in all_deeds(size)] for size in (SMALL, LONG))
    made = next(number for number, deed in enumerate(small) if deed["kind"] == "water-test")
    assert len(small) - made > 400
    assert small[made:] == long[made - len(small) :]


def test_the_same_recall_is_answered_whatever_stands_beside_the_first_house(farm):
    answers = []
    for size in (SMALL, WIDE):
        book = Book.open(str(farm(size)))
        with book.ledger.reading() as connection:
            found = recall(connection, ask(connection, ["C-1"]), book.ledger.kinds)
        answers.append((found.lots, [(one.code, one.at, one.items) for one in found.deliveries], found.customers))
    assert len(answers[0][0]) > 50
    assert answers[0] == answers[1]


def _spells(found):
    return {
        Window(one.thing.id, -EVER if spell.start is None else spell.start, EVER if spell.end is None else spell.end)
        for one in found.reached
        for spell in one.spells
        if (spell.start, spell.end) != (None, None)
    }


def test_a_neglected_farm_still_answers_and_says_which_clean_breaks_are_missing(farm):
    path = farm(NEGLECTED)
    book = Book.open(str(path))
    with book.ledger.reading() as connection:
        found = recall(connection, ask(connection, ["C-1"]), book.ledger.kinds)
        named = {one.candidate.thing.code: one for one in wide(connection, found)}
    assert {"KN-1", "WELL-1"} <= named.keys()
    knife = named["KN-1"]
    harvests = sqlite3.connect(path).execute(
        "SELECT count(*), min(at_from), max(at_to) FROM entry WHERE kind = 'harvest'"
    )
    assert (knife.uses, knife.first, knife.last) == next(harvests)
    assert knife.candidate.spell == Spell(None, None)
    assert knife.deliveries == knife.of == len(found.deliveries)


def test_what_is_shown_of_a_very_wide_scope_is_short(farm, capsys):
    def shown(*arguments):
        assert main(["--ledger", str(farm(NEGLECTED)), *arguments]) == 0
        return capsys.readouterr().out.splitlines()

    assert len(shown("recall", "C-1")) <= 60
    recalled = shown("recall", "C-1", "--causes")
    assert any(line.startswith("KN-1 has no cleaning that counts between") for line in recalled)
    assert any(line.startswith("WELL-1 has no passing water test between") for line in recalled)
    assert len(recalled) < 250 < len(shown("recall", "C-1", "--all"))
    assert len(shown("trace", "WELL-1", "--forward")) < 50
    assert len(shown("trace", "WELL-1", "--forward", "--all")) > 400
