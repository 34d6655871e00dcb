"""Programs that are killed, as by a power cut: in a process of their own, at a moment that the test chooses."""

import os
import signal
import sys
from collections.abc import Callable
from pathlib import Path

from lotwalk.book import Book

CHANGES = ("os.rename", "os.remove", "os.mkdir", "os.rmdir", "os.link")
"""What Python tells of before it changes a folder."""


def killed(action: Callable[[], object], before: int | None = None) -> bool:
    """Run an action in a child process that is killed before its change of a folder with this number, from 0 on.

    Without a number it is killed when the action is done, with all that it has open. Returns whether it came to that.
    """
    child = os.fork()
    if child:
        return os.WIFSIGNALED(os.waitpid(child, 0)[1])
    left = [before if before is not None else -1]

    def told(event: str, arguments: object) -> None:
        if event in CHANGES:
            if left[0] == 0:
                os.kill(os.getpid(), signal.SIGKILL)
            left[0] -= 1

    try:
        sys.addaudithook(told)
        kept = action()
        if before is None:
            os.kill(os.getpid(), signal.SIGKILL)
        del kept
    finally:
        os._exit(0)


def people(where: Path, *codes: str) -> None:
    """Record people, and close the ledger."""
    book = Book.open(str(where))
    for code in codes:
        book.record("person", at="2026-03-01", by="TO", code=code, name="Somebody")
    book.ledger.engine.dispose()


def recorded_and_killed(where: Path, *codes: str) -> None:
    """Record people in a program that is killed before it closes the ledger, so that they stand in the -wal only."""

    def record() -> Book:
        book = Book.open(str(where))
        for code in codes:
            book.record("person", at="2026-03-01", by="TO", code=code, name="Somebody")
        return book

    assert killed(record)
    assert where.with_name(f"{where.name}-wal").stat().st_size > 0


def contents(folder: Path) -> dict[str, bytes]:
    """The bytes of every file in a folder."""
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}
