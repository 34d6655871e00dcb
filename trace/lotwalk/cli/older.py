"""Options that answer to an older spelling too."""

from collections.abc import Callable
from copy import copy
from typing import Any, Self, TypeVar

import click

_Command = TypeVar("_Command", bound=Callable[..., Any])


class Renamed(click.Option):
    """An option whose first spelling is the one that people read; what follows it is accepted and not shown."""

    def get_help_record(self, ctx: click.Context) -> tuple[str, str] | None:
        """Return the option's line of help, in its first spelling."""
        return super(Renamed, self._first()).get_help_record(ctx)

    def get_error_hint(self, ctx: click.Context | None) -> str:
        """Return the option's name in a message, in its first spelling."""
        return super(Renamed, self._first()).get_error_hint(ctx)

    def _first(self) -> Self:
        first = copy(self)
        first.opts = self.opts[:1]
        return first


def level_option(words: str) -> Callable[[_Command], _Command]:
    """Return the option that says how wide; `words` are its help."""
    spellings = ("--level", "--ring")
    return click.option(*spellings, "level", cls=Renamed, type=click.IntRange(1, 5), metavar="1..5", help=words)
