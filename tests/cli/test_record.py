"""`record`: options and prompts from the kind's file, and the verdict told at once."""

import os
import re
import sys
import time
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from lotwalk.kinds.library import Kinds


def test_every_field_of_every_kind_has_an_option(lotwalk):
    kinds = Kinds.load()
    for name in kinds.names:
        told = lotwalk("record", name, "--help")
        assert told.status == 0
        for field in kinds[name].fields.values():
            assert re.search(rf"^  --{field.name.replace('_', '-')}\b", told.out, re.MULTILINE), (name, field.name)


def test_an_entry_goes_in_and_says_its_name(lotwalk, ledger):
    done = lotwalk(
        "record", "washing", "--at", "2026-03-12 09:00", "--by", "TO", "--items", "M-004", "--method", "brushed"
    )
    assert (done.status, done.err) == (0, "")
    assert done.lines == ["E24: Washing, 2026-03-12 09:00, by TO"]
    entry = lotwalk("show", "E24", "--format", "json").json
    assert entry["fields"] == {"items": "M-004", "method": "brushed"}
    assert (entry["at"], entry["by"]) == ("2026-03-12 09:00", ["TO"])


def test_who_did_it_can_stand_in_the_environment_and_who_typed_is_kept_apart(lotwalk, ledger, monkeypatch):
    monkeypatch.setenv("LOTWALK_BY", "TO")
    monkeypatch.setenv("LOTWALK_TYPED_BY", "office")
    lotwalk("record", "washing", "--items", "M-004", "--method", "brushed")
    entry = lotwalk("show", "E24", "--format", "json").json
    assert (entry["by"], entry["typed_by"]) == (["TO"], "office")


def test_the_time_is_the_present_minute_where_the_farm_is(lotwalk, tmp_path):
    far = ("--ledger", tmp_path / "far.db")
    lotwalk(*far, "start", "--name", "Far", "--location", "Kiritimati", "--timezone", "Pacific/Kiritimati")
    lotwalk(*far, "record", "person", "--code", "TO", "--name", "Tess", "--by", "TO")
    at = datetime.fromisoformat(lotwalk(*far, "show", "E2", "--format", "json").json["at"])
    now = datetime.now(ZoneInfo("Pacific/Kiritimati")).replace(tzinfo=None)
    assert timedelta(0) <= now - at < timedelta(minutes=2)


@pytest.mark.parametrize(
    "rows",
    [
        ["--from", "T-1 2", "--from", "T-2 1"],
        ["--from", "batch=T-1; trays=2", "--from", "batch=T-2;trays=1"],
        ["--from", "T-1 2, T-2 1"],
        ["--from", "batch = T-1; trays = 2; finished = yes", "--from", "T-2 1"],
    ],
    ids=lambda rows: " ".join(rows),
)
def test_rows_are_written_short_or_in_full(lotwalk, ledger, rows):
    done = lotwalk(
        "record", "harvest", "--lot", "H-3", "--amount", "1 kg", "--cut", "above the medium", "--by", "TO", *rows
    )
    assert done.status == 0, done.err
    took = [use for use in lotwalk("show", "H-3", "--format", "json").json["record"]["uses"] if use["role"] == "took"]
    assert [(use["code"], use["amount"], use["unit"]) for use in took] == [("T-1", "2", "count"), ("T-2", "1", "count")]


def test_a_row_may_hold_a_semicolon_in_its_words(lotwalk, ledger):
    rows = ["--uses", "use=food contact; surface=hard; no wood;min=50 ppm"]
    done = lotwalk("record", "label", "--code", "LB", "--product", "Bleach", "--by", "TO", *rows)
    assert done.status == 0, done.err
    (use,) = lotwalk("show", "LB", "--format", "json").json["record"]["fields"]["uses"]
    assert use == {"use": "food contact", "surface": "hard; no wood", "min": "50 ppm"}


def test_lists_are_ranges_commas_or_the_option_again(lotwalk, ledger):
    for codes in (["M-001..M-003"], ["M-001, M-002, M-003"], ["M-001", "M-002..M-003"]):
        options = [word for code in codes for word in ("--items", code)]
        done = lotwalk("record", "washing", *options, "--method", "brushed", "--by", "TO", "--again")
        assert done.status == 0, done.err
        entry = lotwalk("log", "washing", "--format", "json").json["entries"][-1]
        assert [use["code"] for use in entry["uses"] if use["role"] == "touched"] == ["M-001", "M-002", "M-003"]


@pytest.mark.parametrize("said", [["--seen-clean"], ["--seen-clean", "yes"], ["--seen-clean=y"]])
def test_yes_can_be_said_by_the_option_alone(lotwalk, ledger, said):
    assert lotwalk("record", "washing", "--items", "M-004", *said, "--method", "brushed", "--by", "TO").status == 0


def test_off_a_terminal_every_missing_field_is_named_and_nothing_asked(lotwalk, ledger):
    done = lotwalk("record", "sanitising", "--solution", "SOL-1")
    assert (done.status, done.out) == (2, "")
    assert [line.split(":")[0] for line in done.err.splitlines()] == ["by", "items", "contact"]
    assert all("missing" in line for line in done.err.splitlines())


def test_what_is_alike_goes_in_only_when_it_is_said_again(lotwalk, ledger):
    entry = ["record", "washing", "--items", "M-004", "--method", "brushed", "--by", "TO", "--at", "2026-03-12 09:00"]
    assert lotwalk(*entry).status == 0
    twice = lotwalk(*entry)
    assert twice.status == 2
    assert "already in the book as E24" in twice.err
    assert "--again" in twice.err
    assert lotwalk(*entry, "--again").status == 0


def test_a_load_that_fails_is_recorded_and_the_person_is_told_what_to_do(lotwalk, ledger):
    done = lotwalk(
        "record", "sanitising", "--items", "M-001..M-002", "--solution", "SOL-1", "--reading", "40 ppm", "--by", "TO",
        "--contact", "2 min", "--at", "2026-03-10 11:30", "--washed",
    )  # fmt: skip
    assert done.status == 0, "the book tells the truth, also when it is bad"
    assert "Does NOT count as clean: M-001 and M-002 (2)" in done.lines
    reason = next(line for line in done.lines if "40 ppm" in line)
    assert "below the label's 50 ppm" in reason
    assert "read again" in reason
    assert lotwalk("show", "E24").status == 0


def test_an_entry_that_changes_an_earlier_verdict_says_so(lotwalk, ledger):
    done = lotwalk(
        "record", "washing", "--items", "M-003", "--method", "brushed", "--by", "TO", "--at", "2026-03-10 10:20"
    )
    assert "This changes the verdict of E19:" in done.lines
    assert "Counts as clean: M-001..M-003 (3)" in done.lines


def test_a_change_of_settings_is_an_entry_that_nobody_need_sign(lotwalk, ledger):
    done = lotwalk(
        "record", "farm", "--name", "Hill Farm", "--location", "The Hill", "--timezone", "Europe/London",
        "--measures", "metric", "--rules", "eu",
    )  # fmt: skip
    assert (done.status, done.err) == (0, "")
    assert lotwalk("verify").status == 0


def test_a_kind_of_the_growers_own_is_recorded_like_any_other(lotwalk, ledger, tmp_path):
    (tmp_path / "own").mkdir()
    (tmp_path / "own" / "bee-check.yaml").write_text(
        "$schema: https://json-schema.org/draft/2020-12/schema\n$id: bee-check\ntitle: Bee check\n"
        "description: A look into the hives.\n$ref: common.yaml\nunevaluatedProperties: false\nrequired: [seen]\n"
        "x-log: [at, seen, by]\nproperties:\n  seen:\n    title: Seen\n    description: What was seen\n"
        "    $ref: common.yaml#/$defs/text\n"
    )
    own = ("--kinds", tmp_path / "own")
    assert lotwalk(*own, "record", "bee-check", "--seen", "brood", "--by", "TO").status == 0
    assert "Bee check" in lotwalk(*own, "log", "bee-check").out
    assert "brood" in lotwalk(*own, "show", "E24").out
    assert "bee-check" in lotwalk(*own, "kinds").out
    assert "bee-check" not in lotwalk("kinds").out


pty = pytest.importorskip("pty") if os.name != "nt" else None


class Terminal:
    """The command on a terminal of its own, typed to line by line."""

    def __init__(self, environ, *arguments):
        self.seen = ""
        self.process, self.screen = pty.fork()
        if self.process == 0:
            os.execve(sys.executable, [sys.executable, "-m", "lotwalk", *arguments], environ)

    def until(self, words):
        end = time.monotonic() + 30
        while words not in self.seen:
            assert time.monotonic() < end, f"{words!r} never came: {self.seen!r}"
            self._read()

    def type(self, words):
        self.seen = ""
        os.write(self.screen, f"{words}\n".encode())

    def end(self):
        while self._read():
            pass
        return os.waitstatus_to_exitcode(os.waitpid(self.process, 0)[1])

    def _read(self):
        try:
            more = os.read(self.screen, 65536)
        except OSError:
            return False
        self.seen += more.decode()
        return bool(more)


@pytest.fixture
def terminal(environment):
    started = []

    def start(*arguments):
        started.append(Terminal(environment(COLUMNS="80"), *arguments))
        return started[-1]

    yield start
    for one in started:
        os.close(one.screen)


@pytest.mark.skipif(os.name == "nt", reason="no pseudo terminals")
def test_on_a_terminal_it_asks_for_what_is_missing_and_again_for_what_it_cannot_read(ledger, lotwalk, terminal):
    screen = terminal("record", "harvest", "--by", "TO", "--at", "2026-03-12 09:00")
    screen.until("A code for what was cut")
    screen.until("Lot:")
    screen.type("H-9")
    screen.until("empty line ends the list")
    screen.until("From:")
    screen.type("T-1 2")
    screen.until("From:")
    screen.type("")
    screen.until("What it weighed")
    screen.until("Amount:")
    screen.type("12")
    screen.until("`12` has no unit")
    screen.until("Amount:")
    screen.type("1.2 kg")
    screen.until("Cut:")
    screen.type("above the medium")
    assert screen.end() == 0
    assert "E24: Harvest, 2026-03-12 09:00, by TO" in screen.seen
    record = lotwalk("show", "H-9", "--format", "json").json["record"]
    assert record["fields"] == {"lot": "H-9", "from": ["T-1 2"], "amount": "1.2 kg", "cut": "above the medium"}


@pytest.mark.skipif(os.name == "nt", reason="no pseudo terminals")
def test_on_a_terminal_a_code_that_the_book_does_not_know_is_asked_for_again(ledger, lotwalk, terminal):
    screen = terminal("record", "washing", "--by", "TO", "--items", "M-999", "--method", "brushed")
    screen.until("M-999 is not in the book")
    screen.until("Items:")
    screen.type("M-004")
    assert screen.end() == 0
    assert lotwalk("show", "E24", "--format", "json").json["fields"]["items"] == "M-004"


@pytest.mark.skipif(os.name == "nt", reason="no pseudo terminals")
def test_on_a_terminal_the_keyboards_interrupt_leaves_nothing_behind(ledger, lotwalk, terminal):
    screen = terminal("record", "washing", "--by", "TO")
    screen.until("Items:")
    screen.type("\x03")
    assert screen.end() == 130
    assert "Traceback" not in screen.seen
    assert lotwalk("show", "E24").status == 2


@pytest.mark.skipif(os.name == "nt", reason="no pseudo terminals")
def test_start_asks_for_the_settings_on_a_terminal(lotwalk, terminal, tmp_path):
    screen = terminal("--ledger", "new.db", "start", "--timezone", "Europe/London")
    for words, answer in (("Name:", "Hill"), ("Location:", "Up"), ("Measures [us]:", "metric"), ("[general]:", "")):
        screen.until(words)
        screen.type(answer)
    assert screen.end() == 0
    settings = lotwalk("--ledger", tmp_path / "new.db", "log", "farm", "--format", "json").json["entries"][0]["fields"]
    assert settings == {
        "name": "Hill", "location": "Up", "timezone": "Europe/London", "measures": "metric", "rules": "general",
    }  # fmt: skip
