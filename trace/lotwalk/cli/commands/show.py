"""`lotwalk show`: all that the ledger knows of a thing or an entry, or of words that a person reads out."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from lotwalk.cli.desk import desk_of
from lotwalk.cli.output import format_option, print_view
from lotwalk.values.roles import MAKES

if TYPE_CHECKING:
    from collections.abc import Sequence

    from lotwalk.ledger.model import Version
    from lotwalk.recall.asking.sought import Sought


@click.command()
@click.argument("words", metavar="CODE-OR-ENTRY", nargs=-1, required=True)
@format_option
@click.pass_context
def show(context: click.Context, words: tuple[str, ...], form: str) -> None:
    """Show all that the book knows of CODE-OR-ENTRY, with its history.

    A code (M-012), an entry (E12), or whatever can be read off a package or a paper: a supplier's lot, a printed
    code, a best-before date, the number of a document, or what a scanner reads off a label. What only holds the words
    somewhere is listed, with exit status 2.
    """
    from lotwalk.cli.views.entry_view import EntryView
    from lotwalk.cli.views.thing_view import ThingView
    from lotwalk.errors import NotUnderstood
    from lotwalk.ledger.read.search import read_out
    from lotwalk.ledger.read.things import find_thing
    from lotwalk.ledger.read.versions import versions
    from lotwalk.recall.asking.sought import Sought, read_off
    from lotwalk.values.codes import entry_number
    from lotwalk.values.gs1 import scanned_lot

    asked = " ".join(words).strip()
    book = desk_of(context).book()
    with book.ledger.reading() as connection:
        settings, kinds = book.ledger.settings(connection), book.ledger.kinds
        number = entry_number(asked)
        if number is not None:
            found = versions(connection, number)
            if not found:
                raise NotUnderstood(f"there is no entry {asked}", "an entry that is in the book, such as E1")
            print_view(EntryView(found, kinds, settings.zone), form)
            return
        thing = find_thing(connection, asked)
        scanned = scanned_lot(asked) if thing is None else None
        if scanned:
            asked = scanned
            thing = find_thing(connection, asked)
        matches = read_out(connection, asked) if thing is None and asked else []
        # What just one package or paper says is its thing; in what only holds the words, a person has to choose.
        read = None if thing else read_off(connection, asked, kinds)
        if thing is None and read is None and not matches:
            raise NotUnderstood(
                f"`{asked}` is no code, and nothing in the book says it", "a code, an entry, or words on a package"
            )
        named = Sought(thing) if thing else read if form == "table" else None
        if named:
            print_view(ThingView(book.thing(named, at=connection), kinds, settings.zone), form)
        else:
            print_view(_Matches(asked, matches, kinds, read), form)
            if read is None:
                context.exit(2)


class _Matches:
    """The entries that hold the words read out."""

    columns = ("Entry", "Record", "When", "Field", "It says", "Code")

    def __init__(
        self, asked: str, matches: Sequence[tuple[Version, str]], kinds: Any, read: Sought | None = None
    ) -> None:
        """`read` is the one thing as which the words are read."""
        self.asked = asked
        self.matches = matches
        self.kinds = kinds
        self.read_as = read.read_as if read else None

    def json(self) -> dict[str, Any]:
        """Return the matches, each with the codes that its entry made."""
        return {
            "asked": self.asked,
            "read_as": self.read_as.json() if self.read_as else None,
            "matches": [
                {
                    "entry": version.name,
                    "kind": version.kind,
                    "at": version.at,
                    "field": field,
                    "codes": _codes(version),
                }
                for version, field in self.matches
            ],
        }

    def csv(self) -> tuple[Sequence[str], Sequence[Sequence[object]]]:
        """Return columns and rows."""
        return self.columns, [self._row(version, field) for version, field in self.matches]

    def table(self) -> None:
        """Print the matches for a person to choose from."""
        from lotwalk.cli.output import print_table, say

        print_table(self.columns, self.csv()[1], title=f"`{self.asked}` is no code. These entries say it:", whole=1)
        say("Ask again with a code or an entry from this list.")

    def _row(self, version: Version, field: str) -> list[object]:
        from lotwalk.cli.words import code_list, written_words

        kind = self.kinds[version.kind]
        known = kind.fields.get(field)
        says = written_words(version.fields[field]) if field in version.fields else ""
        title = known.title if known else field.replace("_", " ")
        return [version.name, kind.title, version.at, title, says, code_list(_codes(version))]


def _codes(version: Version) -> list[str]:
    return [use.code for use in version.uses if use.role in MAKES]
