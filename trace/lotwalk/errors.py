"""The one family of exceptions, and the problems that a refusal collects."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that cannot be understood, and what was expected in its place.

    `field` is a path such as `from[2].lot`; `source` and `line` name the sheet, where there is one.
    """

    what: str
    expected: str = ""
    field: str = ""
    source: str = ""
    line: int = 0

    def at(self, source: str, line: int = 0) -> "Problem":
        """Return the same problem, placed in a source (its own line wins over `line`)."""
        return replace(self, source=source, line=self.line or line)

    def __str__(self) -> str:
        where = f"{self.source}:{self.line}: " if self.source and self.line else ""
        if self.source and not self.line:
            where = f"{self.source}: "
        field = f"{self.field}: " if self.field else ""
        expected = f"; expected {self.expected}" if self.expected else ""
        return f"{where}{field}{self.what}{expected}"


class LotwalkError(Exception):
    """Anything Lotwalk raises on purpose. Its text is meant for the person at the screen."""


class NotUnderstood(LotwalkError):
    """One value could not be read: `what` was wrong, and what was `expected`."""

    def __init__(self, what: str, expected: str = "") -> None:
        super().__init__(f"{what}; expected {expected}" if expected else what)
        self.what = what
        self.expected = expected

    def problem(self, field: str = "", line: int = 0) -> Problem:
        """Return this failure as a problem of one field."""
        return Problem(self.what, self.expected, field, line=line)


class Refused(LotwalkError):
    """A request that was not carried out: every problem in it, and nothing was written.

    `named` is what could be understood of the things that a refused entry names, so that those can be looked up
    too and all its mistakes told at once.
    """

    def __init__(self, problems: Iterable[Problem], named: Sequence[object] = ()) -> None:
        # A mistake in fields that a whole sheet shares is told once, not once an entry.
        self.problems = tuple(dict.fromkeys(problems))
        self.named = tuple(named)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class LedgerError(LotwalkError):
    """A ledger that cannot be opened, is missing, or is of another version."""


class DatabaseRefused(LedgerError):
    """The database refused for a reason that is not one of a bad day, such as a full disk."""


class Damaged(LedgerError):
    """A ledger in which something is not as it was recorded: bad news, and no slip of the person at the screen."""


class KindError(LotwalkError):
    """A kind file, rule set or report definition that breaks its own rules."""
