"""A small farm's ledger, and the command run on it, in this process or in one of its own."""

import json
import os
import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest
from click.testing import CliRunner

from lotwalk.book import Book
from lotwalk.cli.main import main

HERE = Path(__file__).parent
SOURCE = HERE.parents[1] / "trace"
AFTER = 1_773_576_000.0
"""2026-03-15 08:00 in New York: the clock when the farm's sheet is loaded."""


class Lotwalk:
    """The command, as click's test runner calls it: errors are told and exit statuses set as in a terminal."""

    name = "lotwalk"

    def main(self, args, prog_name, **extra):
        sys.exit(main(args))


@dataclass
class Ran:
    status: int
    out: str
    err: str

    @property
    def json(self):
        return json.loads(self.out)

    @property
    def lines(self):
        return self.out.splitlines()


@pytest.fixture(autouse=True)
def plain_environment(monkeypatch, tmp_path):
    for name in [name for name in os.environ if name.startswith("LOTWALK_")]:
        monkeypatch.delenv(name)
    monkeypatch.chdir(tmp_path)


@pytest.fixture
def lotwalk():
    """Run the command in this process."""

    def run(*arguments, stdin=None):
        done = CliRunner().invoke(Lotwalk(), [str(one) for one in arguments], input=stdin)
        assert done.exception is None or isinstance(done.exception, SystemExit), done.exc_info
        return Ran(done.exit_code, done.stdout, done.stderr)

    return run


@pytest.fixture
def environment():
    """The environment of a process that runs this checkout's command, with what is given more."""

    def environment(**more):
        return {**os.environ, "PYTHONPATH": str(SOURCE), "PYTHONUTF8": "1", **more}

    return environment


@pytest.fixture
def shell(environment):
    """Run the command in a process of its own, everything piped."""

    def run(*arguments, **more):
        command = [sys.executable, "-m", "lotwalk", *map(str, arguments)]
        done = subprocess.run(command, capture_output=True, text=True, encoding="utf-8", env=environment(), **more)
        return Ran(done.returncode, done.stdout, done.stderr)

    return run


@pytest.fixture(scope="session")
def farm_file(tmp_path_factory):
    path = tmp_path_factory.mktemp("farm") / "farm.db"
    book = Book.start(
        str(path),
        name="Hill Farm",
        location="The Hill",
        timezone="America/New_York",
        measures="metric",
        rules="us",
        clock=lambda: AFTER,
    )
    book.load(HERE / "farm.yaml", typed_by="tess")
    book.ledger.engine.dispose()
    return path


@pytest.fixture
def ledger(farm_file, tmp_path, monkeypatch):
    """The farm's ledger, a copy for this test alone, named in the environment."""
    path = tmp_path / "lotwalk.db"
    shutil.copy(farm_file, path)
    monkeypatch.setenv("LOTWALK_LEDGER", str(path))
    return path
