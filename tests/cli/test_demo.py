"""`demo`: the made-up farm, loaded, walked and printed."""

import re
import shutil

import pytest

FIRST_WORDS = ("Asked", "Found", "First", "Hold now", "Call", "What it could be", "1 the same lot", "Mind", "To hand")


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    """The demo's folder and what it said, run once as a person would."""
    import os
    import subprocess
    import sys
    from pathlib import Path

    folder = tmp_path_factory.mktemp("demo")
    environ = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2] / "trace"), "PYTHONUTF8": "1"}
    environ["LOTWALK_LEDGER"] = "my-own.db"
    done = subprocess.run(
        [sys.executable, "-m", "lotwalk", "demo"], cwd=folder, env=environ, capture_output=True, text=True
    )
    assert (done.returncode, done.stderr) == (0, "")
    return folder, done.stdout


def test_it_loads_the_farm_shows_the_recall_and_prints_the_log(demo):
    folder, told = demo
    assert "Wrenfallow Greens" in told
    assert "Asked  Q-1" in told
    assert "Q-2 (complaint of QUENBY, illness)" in told
    assert "Call: 12 customers" in told
    assert "lotwalk-demo-sanitising.pdf: " in told
    assert sorted(path.name for path in folder.iterdir() if path.suffix != ".db-wal") == [
        "lotwalk-demo-sanitising.pdf",
        "lotwalk-demo.db",
    ], "the ledger that the environment names is left alone"


def test_the_planted_cause_explains_both_complaints_and_nothing_that_does_reaches_less(demo, lotwalk):
    """The mat, the seed lot on it, and the bath and the tub that the mat lay in: one chain, and one reach.

    So is T-117, the tray that was thrown away off that mat and its tray, and left on them what it had.
    """
    folder, _ = demo
    answer = lotwalk("--ledger", folder / "lotwalk-demo.db", "recall", "Q-1", "Q-2", "--format", "json").json
    both = [one for one in answer["candidates"] if one["explains"] == 2]

    def reach(one):
        return one["others"], len(one["deliveries"])

    narrowest = [one["code"] for one in both if reach(one) == min(map(reach, both))]
    assert set(narrowest) == {"S-FEN-1", "STUBBIN:SH-F-007", "T-117", "M-045", "TR-51", "SOL-0116", "TUB-1"}


def test_it_counts_the_clean_breaks_whose_temperature_or_ph_nobody_wrote(demo):
    """samples/README.md, no-temperature-or-ph: 40 trays, 16 mats and 20 trays, 3 mats and 3 trays, the tub seven times,
    2 racks, 3 mats, and 20 tools, tubs and benches. The felts fail."""
    told = " ".join(demo[1].split())
    counted = 40 + 16 + 20 + 3 + 3 + 7 + 2 + 3 + 20
    assert f"{counted} clean breaks lack a temperature or pH" in told


def test_at_most_thirty_rows_of_candidates_are_shown_unless_all_are_asked_for(demo, lotwalk):
    folder, _ = demo

    def rows(*options):
        lines = lotwalk("--ledger", folder / "lotwalk-demo.db", "recall", "Q-1", "Q-2", *options).lines
        starts = [line.split("  ")[0] for line in lines if re.fullmatch(r"\S.*?(\s+\d+){4}", line)]
        return starts, "\n".join(lines)

    shown, told = rows("--causes")
    every, _ = rows("--causes", "--all")
    assert len(shown) == 30
    assert f"{len(every) - 30} more rows" in told
    assert every[:30] == shown


@pytest.mark.parametrize("asked", [("Q-1",), ("Q-1", "Q-2"), ("Q-3",), ("D-1121",), ("P-0204-1",)])
def test_what_to_do_first_stands_on_sixty_lines_of_eighty_columns(demo, lotwalk, asked):
    """A command to copy is one line, however long."""
    folder, _ = demo
    lines = lotwalk("--ledger", folder / "lotwalk-demo.db", "recall", *asked, "--on", "2026-03-01").lines
    assert len(lines) <= 60
    assert [line for line in lines if len(line) > 80 and not line.startswith("  lotwalk ")] == []
    order = [next(n for n, line in enumerate(lines) if line.startswith(word)) for word in FIRST_WORDS]
    assert order == sorted(order)
    assert order[-1] < 59


def test_its_log_holds_and_its_corrections_are_amendments(demo, lotwalk):
    folder, _ = demo
    ledger = ("--ledger", folder / "lotwalk-demo.db")
    assert lotwalk(*ledger, "verify").status == 0
    assert "VOID" in lotwalk(*ledger, "show", "D-1195B").out
    assert "555-0135" in lotwalk(*ledger, "show", "QUENBY").out
    late = lotwalk(*ledger, "show", "E1320", "--format", "json").json
    assert late["recorded"] > late["until"], "entries are recorded after they happened"


def test_it_writes_over_an_earlier_demo_only_when_asked_and_over_nothing_else(demo, lotwalk, ledger, tmp_path):
    folder, _ = demo
    shutil.copy(folder / "lotwalk-demo.db", tmp_path / "lotwalk-demo.db")
    done = lotwalk("demo")
    assert done.status == 2
    assert "--fresh" in done.err
    own = lotwalk("demo", "--into", ledger, "--fresh")
    assert own.status == 2
    assert "not an earlier demo" in own.err
    (tmp_path / "words.txt").write_text("mine")
    assert lotwalk("demo", "--into", "words.txt", "--fresh").status == 2
    assert (tmp_path / "words.txt").read_text() == "mine"
    assert lotwalk("verify").status == 0


def test_every_command_that_it_names_for_looking_further_works(demo, lotwalk, monkeypatch):
    folder, told = demo
    monkeypatch.chdir(folder)
    named = [
        line.split()[1:] for line in told[told.index("Look further") :].splitlines() if line.startswith("  lotwalk ")
    ]
    assert len(named) >= 5
    for arguments in named:
        ran = lotwalk(*arguments)
        # Findings, and what is overdue, are bad news.
        assert ran.status == (1 if arguments[2] in ("check", "due") else 0), ran.err
        assert ran.out
