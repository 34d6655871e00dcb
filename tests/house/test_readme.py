"""The README's tour is run again, command by command, and says what the README says."""

import os
import re
import subprocess
import sys
from itertools import dropwhile
from pathlib import Path

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text("utf-8")
BLOCK = re.compile(r"^```(console|python|yaml)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
RUN = {"lotwalk": f"{sys.executable} -m lotwalk", "python": sys.executable}


def _same(said: str, found: str) -> None:
    """Compare line by line; a digest differs from run to run."""
    assert [line.rstrip() for line in said.rstrip().splitlines()] == [
        re.sub(r":[0-9a-f]{64}\b", ":6f1c…", line).rstrip() for line in found.rstrip().splitlines()
    ]


def test_every_command_of_the_tour_answers_as_it_is_printed(tmp_path):
    environment = {
        **os.environ,
        "PYTHONPATH": str(ROOT / "trace"),
        "LOTWALK_TYPED_BY": "nora",
        "COLUMNS": "100",
        "PYTHONIOENCODING": "utf-8",
    }
    tour = README[README.index("## Ten minutes") :]
    commands = 0
    for language, text in BLOCK.findall(tour):
        if language != "console":
            name = text.splitlines()[0].removeprefix("# ")
            (tmp_path / name).write_text(text, "utf-8")
            continue
        line, _, said = text.partition("\n")
        command = line.removeprefix("$ ")
        program, _, rest = command.partition(" ")
        assert program in RUN, line
        done = subprocess.run(
            f"{RUN[program]} {rest}",
            shell=True,
            cwd=tmp_path,
            env=environment,
            capture_output=True,
            text=True,
            check=False,
        )
        _same(said, done.stdout + done.stderr)
        # Findings are bad news, and a sheet that is not understood is refused.
        status = 2 if "broken" in command else 1 if command.startswith("lotwalk check") else 0
        assert done.returncode == status, command
        commands += 1
    assert commands >= 20
    for name in ("sanitising.pdf", "recall-Q-1.pdf", "trace-D-2-for-SHOP.pdf", "sink.pdf", "labels.pdf"):
        assert (tmp_path / name).read_bytes().startswith(b"%PDF"), name


def test_the_two_commands_stand_where_ci_looks_for_them():
    lines = README.splitlines()
    for name, end in (("demo", ".venv/bin/lotwalk demo"), ("tests", ".venv/bin/python -m pytest -n auto")):
        marked = list(dropwhile(lambda line, name=name: line != f"<!-- {name} -->", lines))
        assert marked[1] == "```console"
        assert marked[2].startswith("$ python3.11 -m venv .venv && ")
        assert marked[2].endswith(end)
