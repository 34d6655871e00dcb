"""The first page of the recall report names what a test found and who was kept away; a person is a cause on paper too.

The farm is that of `tests/recall/kept_away.py`.
"""

import pytest
from click.testing import CliRunner
from tests.recall.kept_away import KEPT, Kept, complaint
from tests.tracing.conftest import Read

from lotwalk.cli.main import program

POSITIVE = (
    "- {kind: lab, at: 2026-02-01 08:00, by: TO, code: LAB, name: Lab}\n"
    "- {kind: sample, at: 2026-03-22 09:00, by: TO, of: S-2, lab: LAB, test: Salmonella, result: detected in 25 g}\n"
)


@pytest.fixture
def printed(tmp_path):
    path = tmp_path / "kept.db"
    farm = Kept(str(path))

    def run(text, *asked):
        farm.load(text)
        out = tmp_path / "out.pdf"
        done = CliRunner().invoke(program, ["--ledger", str(path), "report", "recall", *asked, "-o", str(out)])
        assert done.exit_code == 0, (done.output, done.exception)
        return Read(out.read_bytes())

    yield run
    farm.book.ledger.engine.dispose()


def _first(read):
    return " ".join(read.pages[0].split())


def test_the_germ_the_day_and_the_entry_stand_on_the_first_page(printed):
    read = printed(KEPT + complaint() + POSITIVE, "Q-1")
    first = _first(read)
    # E29 is the laboratory, E30 the sample.
    told = "! SALMONELLA in S-2, seed lot (E30, 2026-03-22, detected in 25 g)."
    assert told in first
    assert first.index(told) < first.index("What it could be, the likeliest of 4 candidates") < first.index("! S-2")
    behind = read.text[read.text.index("What was asked", len(first)) :]
    assert (
        "Tested positive: S-2 (seed lot), for Salmonella: sample E30 of 2026-03-22 09:00, `detected in 25 g`." in behind
    )
    causes = behind[behind.index("Candidate causes 4 candidates") :]
    assert causes.index("FAILED E30 (Salmonella)") < causes.index("H-2 Harvest lot")


def test_each_test_that_found_a_germ_stands_on_the_first_page_however_many(printed):
    tested = ("S-2", "T-2", "H-2", "S-3", "T-3", "H-3")
    samples = "".join(
        f"- {{kind: sample, at: 2026-03-22 09:00, by: TO, of: {lot}, lab: LAB, test: Salmonella,"
        " result: detected in 25 g}\n"
        for lot in tested
    )
    lab = "- {kind: lab, at: 2026-02-01 08:00, by: TO, code: LAB, name: Lab}\n"
    first = _first(printed(KEPT + complaint(about="[D-2, D-3]") + lab + samples, "Q-1"))
    for lot in tested:
        assert f"! SALMONELLA in {lot}, " in first
    assert "--" not in first, "no option of the command stands on the paper"
    # What else is known is counted, and stands behind: here that BOB was kept away.
    assert "1 more fact stands under `What was asked`." in first


def test_who_was_kept_away_stands_on_the_first_page_with_the_days(printed):
    read = printed(KEPT + complaint(), "Q-1")
    first = _first(read)
    told = "! BOB was kept away, 2026-03-10 to 2026-03-13. Harvest E12 of 2026-03-11 handled it: a candidate cause."
    assert told in first
    assert "holds and calls by level 1, and all that BOB reached" in first
    assert "People were not followed." in first
    behind = read.text[read.text.index("What was asked", len(first)) :]
    assert "Kept away: BOB was to be kept away from 2026-03-10 07:00 (E26) to 2026-03-13 07:00 (E27)." in behind
    assert "harvest E12 of 2026-03-11 09:00. So BOB is a candidate cause." in behind
    assert "BOB Person 2026-03-08 07:00 to 2026-03-15 07:00 by contact 3" in read.text


def test_where_nobody_was_it_says_that_people_were_not_followed(printed):
    first = _first(printed(complaint(), "Q-1"))
    assert "People were not followed." in first
    assert "kept away" not in first


def test_a_person_is_looked_at_closely_and_drawn(printed):
    read = printed(KEPT + complaint(), "Q-1", "--cause", "BOB")
    assert "+ all that BOB reached 2 2 1 " in _first(read)
    why = read.text[read.text.index("Why BOB is a candidate") :]
    assert "Person BOB, 2026-03-08 07:00 to 2026-03-15 07:00: by contact, level 3." in why
    assert "1. 2026-03-11 09:00, harvest (E12), by BOB: BOB made H-2." in why
    maps = [page for page in read.pages if "If it was BOB: " in page]
    assert len(maps) == 2
    path, reach = maps
    for words in ("BOB", "IF IT WAS THIS", "person", "H-2", "D-2", "Q-1"):
        assert words in path
    for words in ("IF IT WAS THIS\n BOB\nperson\n2026-03-11 to 03-14", "H-2", "H-3", "D-2", "D-3"):
        assert words in reach
