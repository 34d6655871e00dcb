"""`lotwalk export`: what leaves the farm as data, for a buyer or a regulator."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

import click

from lotwalk.cli.desk import desk_of
from lotwalk.cli.files import check_free, written

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from lotwalk.book import Book
    from lotwalk.exchange.export_request import Desk as Asked

_Command = TypeVar("_Command", bound=Callable[..., Any])


def _asking(command: _Command) -> _Command:
    """Add the options that say for what time, and for whom."""
    first = click.option("--from", "first", metavar="TIME", help="Nothing before this, such as 2026-02-01.")
    last = click.option("--until", "last", metavar="TIME", help="Nothing after this, such as 2026-02-28.")
    customer = click.option(
        "--for",
        "customer",
        metavar="CUSTOMER",
        help="Only what this customer got in that time and what lies behind it. No other customer is named.",
    )
    return first(last(customer(command)))


@click.group()
def export() -> None:
    """Give records away as data: a sortable spreadsheet, CSV or EPCIS 2.0.

    With CODES (a lot, a delivery, a complaint) only what their trace by ingredient reaches, back and forward. The
    same ledger always gives the same file.
    """


@export.command()
@click.argument("codes", nargs=-1)
@_asking
@click.option("--out", "-o", metavar="FILE", default="traceability.xlsx", show_default=True, help="Where to write it.")
@click.pass_context
def spreadsheet(
    context: click.Context,
    codes: tuple[str, ...],
    first: str | None,
    last: str | None,
    customer: str | None,
    out: str,
) -> None:
    """Answer a traceability request: a sortable spreadsheet of the key data elements.

    One sheet an event of 21 CFR 1 subpart S, one row a lot and entry. The first sheet says what was asked, and which
    required elements the book does not hold.
    """
    from pathlib import Path

    from lotwalk.exchange.export_request import answer
    from lotwalk.exchange.spreadsheet import write_spreadsheet

    book = desk_of(context).book()
    path = Path(out)
    check_free(path, b"PK", "spreadsheet")
    with book.ledger.reading() as connection:
        found = answer(_ask(book, connection, codes, first, last, customer), desk_of(context).own_kinds)
    with written(path) as file:
        write_spreadsheet(found, file)
    rows = ", ".join(f"{one.event.title} {len(one.rows):,}" for one in found.sheets if one.rows)
    gaps = sum(len(one.gaps) for one in found.sheets)
    click.echo(f"{path}: {rows or 'no rows'}.")
    if gaps:
        click.echo(f"{gaps} required elements are missing in some rows; the first sheet lists them.")


@export.command("csv")
@click.argument("kinds", metavar="[KIND]...", nargs=-1)
@click.option("--event", "events", metavar="NAME", multiple=True, help="An event, such as shipping, instead of a kind.")
@_asking
@click.option(
    "--out", "-o", metavar="FOLDER", default="export", show_default=True, help="A file, where it ends in .csv."
)
@click.pass_context
def csv_files(
    context: click.Context,
    kinds: tuple[str, ...],
    events: tuple[str, ...],
    first: str | None,
    last: str | None,
    customer: str | None,
    out: str,
) -> None:
    """Write entries as CSV: a file a KIND of record, or a file an event.

    Without either, every kind of which there are entries. Files of a kind hold every field as it was written.
    """
    from pathlib import Path

    from lotwalk.errors import NotUnderstood
    from lotwalk.exchange.csv_files import event_table, kind_tables
    from lotwalk.exchange.export_request import answer

    if customer and (kinds or not events):
        raise NotUnderstood("entries as they were written may name other customers", "--event with --for")
    if kinds and events:
        raise NotUnderstood("kinds and events are asked for at once", "the one or the other")
    book = desk_of(context).book()
    with book.ledger.reading() as connection:
        asked = _ask(book, connection, (), first, last, customer)
        if events:
            tables = [event_table(one) for one in answer(asked, desk_of(context).own_kinds, events).sheets]
        else:
            tables = list(kind_tables(asked, kinds))
    path = Path(out)
    if path.suffix.casefold() == ".csv" and len(tables) != 1:
        raise NotUnderstood(f"{path} is one file, and these are {len(tables)} tables", "a folder in --out")
    paths = [path] if path.suffix.casefold() == ".csv" else [path / f"{one.name}.csv" for one in tables]
    texts = [one.text().encode() for one in tables]
    for one, text in zip(paths, texts, strict=True):
        check_free(one, text.partition(b"\r\n")[0], "table of these columns")
    for one, text in zip(paths, texts, strict=True):
        one.parent.mkdir(parents=True, exist_ok=True)
        with written(one) as file:
            file.write(text)
    for one, table in zip(paths, tables, strict=True):
        click.echo(f"{one}: {len(table.rows):,} rows")


@export.command()
@click.argument("codes", nargs=-1)
@_asking
@click.option(
    "--ids",
    type=click.Choice(["link", "urn"]),
    default="link",
    show_default=True,
    help="Lots with a GS1 number of the farm's as Digital Links or as EPC URNs.",
)
@click.option("--out", "-o", metavar="FILE", default="epcis.json", show_default=True, help="Where to write it.")
@click.pass_context
def epcis(
    context: click.Context,
    codes: tuple[str, ...],
    first: str | None,
    last: str | None,
    customer: str | None,
    ids: str,
    out: str,
) -> None:
    """Write an EPCIS 2.0 document (GS1, JSON-LD).

    Receipts, sowings, harvests, packings, deliveries and returns as events. What was amended or voided is declared an
    error. A farm without numbers of GS1 gets identifiers of its own.
    """
    from pathlib import Path

    from lotwalk.cli.output import shown
    from lotwalk.cli.words import count
    from lotwalk.exchange.epcis import document

    book = desk_of(context).book()
    path = Path(out)
    check_free(path, b'{\n "@context"', "EPCIS document")
    with book.ledger.reading() as connection:
        asked = _ask(book, connection, codes, first, last, customer)
        found = document(asked, desk_of(context).own_kinds, urns=ids == "urn")
    with written(path) as file:
        file.write(found.text().encode())
    for notice in found.notices:
        click.echo(shown(notice), err=True)
    errors = f", {count(found.errors, 'declaration')} of error" if found.errors else ""
    click.echo(f"{path}: {count(found.events, 'event')}{errors}.")


def _ask(
    book: Book,
    connection: Connection,
    codes: tuple[str, ...],
    first: str | None,
    last: str | None,
    customer: str | None,
) -> Asked:
    from lotwalk.cli.output import shown
    from lotwalk.exchange.export_request import ask
    from lotwalk.exchange.scope import read_question

    zone = book.ledger.settings(connection).zone
    question, read = read_question(connection, book.ledger.kinds, zone, codes, customer, first, last)
    for one in read:
        click.echo(shown(one.sentence), err=True)
    return ask(connection, book.ledger, question)
