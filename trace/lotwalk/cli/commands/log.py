"""`lotwalk log KIND`: the entries of one kind, by time, in the columns that the kind names."""

from __future__ import annotations

import click

from lotwalk.cli.desk import desk_of
from lotwalk.cli.output import format_option


@click.command()
@click.argument("kind")
@click.option("--from", "first", metavar="TIME", help="No entry before this, such as 2026-03-02.")
@click.option("--until", "last", metavar="TIME", help="No entry after this, such as 2026-03-31.")
@click.option("--all-versions", is_flag=True, help="Also what was amended, judged anew or voided, version by version.")
@format_option
@click.pass_context
def log(context: click.Context, kind: str, first: str | None, last: str | None, all_versions: bool, form: str) -> None:
    """List the entries of a KIND of record, by time.

    Amended entries are marked; void ones are left out, save with --all-versions.
    """
    from lotwalk.cli.output import print_csv, print_json, print_table, say
    from lotwalk.cli.views.log_view import WHOLE, LogRows
    from lotwalk.cli.words import count
    from lotwalk.ledger.read.versions import all_versions as versions_of

    book = desk_of(context).book()
    of_kind = book.ledger.kinds[kind]
    with book.ledger.reading() as connection:
        zone = book.ledger.settings(connection).zone
        found = book.entries(kind, since=first, until=last, void=all_versions, at=connection)
        changed = [version.number for version in found if version.amends is not None]
        histories = versions_of(connection, changed)
    rows = LogRows(of_kind, zone, found, histories, all_versions)
    if form == "json":
        print_json(rows.json())
    elif form == "csv":
        print_csv(*rows.csv())
    elif not found:
        say(f"No entry of kind {kind}{' in that time' if first or last else ''}.")
    else:
        print_table(*rows.table(), title=f"{of_kind.title}: {count(len(found), 'entry', 'entries')}", whole=WHOLE)
