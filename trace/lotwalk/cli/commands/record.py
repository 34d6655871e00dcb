"""`lotwalk record KIND`: one entry, from options or from answers."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from lotwalk.cli.desk import Desk, desk_of, on_terminal

if TYPE_CHECKING:
    from lotwalk.book import Book
    from lotwalk.kinds.model import Kind
    from lotwalk.ledger.model import Receipt
    from lotwalk.values.text import Written


class KindsOfRecord(click.Group):
    """A command for each kind of record; a kind file is read when its command is asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the names of all kinds."""
        return list(desk_of(ctx).kinds().names)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command:
        """Return the command that records one kind. Raises NotUnderstood for a kind that there is not."""
        from lotwalk.cli.options import options

        kind = desk_of(ctx).kinds()[cmd_name]

        @click.pass_context
        def run(context: click.Context, /, again: bool, **given: Any) -> None:
            _record(desk_of(context), kind, given, again)

        again = click.Option(["--again"], is_flag=True, help="Record it although the book has one alike.")
        return click.Command(
            cmd_name,
            callback=run,
            params=[*options(kind), again],
            help=kind.description,
            short_help=kind.description,
            epilog="Lists of codes may hold ranges: M-001..M-024, M-030.",
        )


@click.group(cls=KindsOfRecord, subcommand_metavar="KIND [OPTIONS]")
def record() -> None:
    """Record one entry; asks for what is missing on a terminal.

    `lotwalk record KIND --help` tells what a kind of record asks for.
    """


def _record(desk: Desk, kind: Kind, given: dict[str, Any], again: bool) -> None:
    from lotwalk.cli.options import fields_given
    from lotwalk.cli.words import minute

    book = desk.book()
    written = fields_given(kind, given)
    if "at" not in written:
        written["at"] = minute(int(book.ledger.clock()), book.setting().zone)
    told = _ask_and_record(book, kind, written, desk.typed_by, again) if on_terminal() else None
    receipts = told or book.record_all([{"kind": kind.name, **written}], typed_by=desk.typed_by, again=again)
    _tell(book, kind, written, receipts)


def _ask_and_record(book: Book, kind: Kind, written: dict[str, Written], typed_by: str, again: bool) -> list[Receipt]:
    """Ask for what is missing, and once more for each field that the book then does not understand."""
    from lotwalk.cli.prompts import ask, ask_missing, concerns
    from lotwalk.errors import Refused

    setting = book.setting()
    ask_missing(kind, written, setting, book.ledger.kinds)
    while True:
        try:
            return book.record_all([{"kind": kind.name, **written}], typed_by=typed_by, again=again)
        except Refused as refused:
            names = {
                field.name: field
                for problem in refused.problems
                for field in kind.fields.values()
                if concerns(problem.field, field.name)
            }
            if not names or any(not problem.field for problem in refused.problems):
                raise
            click.echo(f"\n{refused}", err=True)
            for name, field in names.items():
                written.pop(name, None)
                ask(field, kind, written, setting, book.ledger.kinds)


def _tell(book: Book, kind: Kind, written: dict[str, Written], receipts: list[Receipt]) -> None:
    from lotwalk.cli.output import shown
    from lotwalk.cli.views.receipt_view import tell_verdicts
    from lotwalk.cli.words import written_words

    by = f", by {written_words(written['by'])}" if "by" in written else ""
    click.echo(shown(f"{receipts[0].name}: {kind.title}, {written_words(written['at'])}{by}"))
    tell_verdicts(book, receipts)
    if any("finding" in field.things for field in kind.fields.values()):
        _tell_closing(book, kind, receipts[0])


def _tell_closing(book: Book, kind: Kind, receipt: Receipt) -> None:
    """Say which findings the entry closes. Only for a kind that may name some: it takes a look at the whole book."""
    from lotwalk.checks.by_subject import CHECKS
    from lotwalk.checks.closing_words import closing_words
    from lotwalk.checks.findings import find
    from lotwalk.cli.output import shown

    with book.ledger.reading() as connection:
        records = book.records(connection)
        entry = next(one for one in records.of_kinds([kind.name]) if one.name == receipt.name)
        fields = [entry.values.get(field.name) for field in kind.fields.values() if "finding" in field.things]
        named = [str(code) for codes in fields if isinstance(codes, list) for code in codes]
        for sentence in closing_words(records, find(records, CHECKS), receipt.name, named):
            click.echo(shown(f"  {sentence}"))
