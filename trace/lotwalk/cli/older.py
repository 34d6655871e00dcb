"""Options that answer to an older spelling too."""

from copy import copy
from typing import Self

import click


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
