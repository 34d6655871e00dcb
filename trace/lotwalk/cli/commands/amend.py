"""`lotwalk amend` and `lotwalk void`: correcting what was recorded, with the reason, the original kept."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from lotwalk.cli.desk import desk_of, on_terminal

if TYPE_CHECKING:
    from lotwalk.book import Book
    from lotwalk.ledger.model import Receipt
    from lotwalk.values.text import Written

_because = click.option("--because", metavar="REASON", help="Why: it stands beside the change for good. [required]")
_by = click.option(
    "--by",
    metavar="CODES",
    envvar="LOTWALK_BY",
    show_envvar=True,
    help="Who says so, such as TO. [required]",
)


@click.command()
@click.argument("entry")
@click.option("--set", "changes", metavar="FIELD=VALUE", multiple=True, help='As in --set reading="110 ppm".')
@click.option("--remove", "removed", metavar="FIELD", multiple=True, help="A field to take away.")
@_because
@_by
@click.pass_context
def amend(
    context: click.Context,
    entry: str,
    changes: tuple[str, ...],
    removed: tuple[str, ...],
    because: str | None,
    by: str | None,
) -> None:
    """Correct ENTRY (such as E12).

    Some of its fields, its time, its people. The entry as it was stays readable, with who changed it, when and why.
    A field of rows is given in full, --set once for each row.
    """
    from pathlib import Path

    from lotwalk.errors import Problem, Refused

    desk = desk_of(context)
    book = desk.book()
    if not changes and not removed:
        raise Refused([Problem("nothing is changed", '--set FIELD=VALUE or --remove FIELD, as in --set ph="7.2"')])
    number = _number(entry)
    wanted = _changes(book, number, changes, removed)
    receipts = book.amend(number, wanted, because=_said(because), by=_people(by), typed_by=desk.typed_by, folder=Path())
    _tell(book, receipts, "amended")


@click.command()
@click.argument("entry")
@_because
@_by
@click.pass_context
def void(context: click.Context, entry: str, because: str | None, by: str | None) -> None:
    """Take ENTRY (such as E12) out of the reckoning.

    It stays readable, struck through, with who voided it, when and why.
    """
    desk = desk_of(context)
    book = desk.book()
    receipts = book.void(_number(entry), because=_said(because), by=_people(by), typed_by=desk.typed_by)
    _tell(book, receipts, "void")


def _number(entry: str) -> int:
    from lotwalk.errors import NotUnderstood
    from lotwalk.values.codes import entry_number

    number = entry_number(entry.strip())
    if number is None:
        raise NotUnderstood(f"`{entry}` does not name an entry", "a name such as E12; `lotwalk show CODE` lists them")
    return number


def _said(because: str | None) -> str:
    if because is None and on_terminal():
        return str(click.prompt("Why", err=True))
    return because or ""


def _people(by: str | None) -> tuple[str, ...]:
    from lotwalk.values.codes import expand

    if by is None and on_terminal():
        by = str(click.prompt("By", err=True))
    return tuple(expand(by)) if by else ()


def _changes(book: Book, number: int, changes: tuple[str, ...], removed: tuple[str, ...]) -> dict[str, Written | None]:
    from lotwalk.cli.options import from_words
    from lotwalk.errors import NotUnderstood
    from lotwalk.ledger.write.amending import current

    with book.ledger.reading() as connection:
        kind = book.ledger.kinds[current(connection, number).kind]
    words: dict[str, list[str]] = {}
    for change in changes:
        name, equals, value = change.partition("=")
        if not equals or not name.strip():
            raise NotUnderstood(f"`{change}` is not a change", 'FIELD=VALUE, as in --set reading="110 ppm"')
        words.setdefault(_field(name), []).append(value.strip())
    out: dict[str, Written | None] = dict.fromkeys(map(_field, removed))
    for name, values in words.items():
        if name in out:
            raise NotUnderstood(f"`{name}` is both set and removed", "one of them")
        field = kind.fields.get(name)
        if field is None or (len(values) > 1 and not (field.form == "rows" or field.read in _LISTS)):
            given = f"`{name}` is set twice" if field else f"there is no field `{name}` in a {kind.title.lower()}"
            raise NotUnderstood(given, "it once" if field else f"one of {', '.join(kind.fields)}")
        out[name] = from_words(field, values)
    return out


_LISTS = ("codes", "words", "files", "trays")


def _field(name: str) -> str:
    return name.strip().removeprefix("--").replace("-", "_")


def _tell(book: Book, receipts: list[Receipt], done: str) -> None:
    from lotwalk.cli.views.receipt_view import tell_verdicts

    first = receipts[0]
    click.echo(f"{first.name}: {done}. The entry as it was can be read with `lotwalk show {first.name}`.")
    tell_verdicts(book, receipts)
