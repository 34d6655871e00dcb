"""What every command starts from: which ledger, whose kinds of record, and who is typing."""

from __future__ import annotations

import os
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from lotwalk.book import Book
    from lotwalk.kinds.library import Kinds

DEFAULT_LEDGER = "lotwalk.db"


@dataclass(frozen=True, slots=True)
class Desk:
    """The global options. Nothing is opened before a command asks for it, so that `--help` stays quick."""

    ledger: str
    own_kinds: tuple[Path, ...] = ()
    typed_by: str = ""

    def kinds(self) -> Kinds:
        """Return the kinds of record that ship and the grower's own."""
        from lotwalk.kinds.library import Kinds

        return Kinds.load(*self.own_kinds)

    def has_ledger(self) -> bool:
        """Return whether there is a ledger to open: any that somebody named, or the usual file where it exists."""
        return self.ledger != DEFAULT_LEDGER or Path(self.ledger).exists()

    def book(self) -> Book:
        """Open the ledger. Raises LedgerError when there is none."""
        from lotwalk.book import Book

        return Book.open(self.ledger, kinds=self.own_kinds)


def desk_of(context: click.Context) -> Desk:
    """Return the desk of a command; the shell's completion asks before the global options have been taken in."""
    found = context.find_object(Desk)
    if found:
        return found
    options = context.find_root().params
    return Desk(options.get("ledger") or DEFAULT_LEDGER, tuple(options.get("own_kinds") or ()))


def login_name() -> str:
    """Return the name under which this computer knows the person at the keyboard, or nothing."""
    for name in ("LOGNAME", "USER", "LNAME", "USERNAME"):
        if found := os.environ.get(name):
            return found
    return ""


def on_terminal() -> bool:
    """Return whether a person can be asked: what they type and what they are asked both stand on a screen."""
    return sys.stdin.isatty() and sys.stderr.isatty()
