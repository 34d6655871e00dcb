"""`lotwalk form KIND`: a blank form for the clipboard, or to fill in on a phone."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from lotwalk.cli.desk import Desk, desk_of
from lotwalk.cli.files import check_free, written

if TYPE_CHECKING:
    from collections.abc import Sequence

    from lotwalk.kinds.model import Kind
    from lotwalk.pages.forms.about import About

ALL = "all"


@click.command()
@click.argument("kind")
@click.option("-o", "--out", metavar="FILE", help="Where to write it: form-KIND.pdf here, if nothing is said.")
@click.option("--rows", metavar="N", type=int, help="Room for so many entries; a page of them, if nothing is said.")
@click.option("--lines", metavar="N", type=int, help="So many lines in each list, such as the lots of a delivery.")
@click.option("--paper", metavar="a4|letter", help="Letter where the farm's measures are us, else A4.")
@click.option("--fillable", is_flag=True, help="To fill in on a phone or tablet; `lotwalk load FILE` reads it back.")
@click.option(
    "--reports",
    "own",
    metavar="FOLDER",
    multiple=True,
    type=click.Path(path_type=Path),
    help="A folder with reports of your own: a form has the cautions and signatures of its kind's log.",
)
@click.pass_context
def form(
    context: click.Context,
    kind: str,
    out: str | None,
    rows: int | None,
    lines: int | None,
    paper: str | None,
    fillable: bool,
    own: tuple[Path, ...],
) -> None:
    """Print a blank form for KIND (such as washing), as a PDF; `all` prints one for each kind of record.

    It carries the farm's name, limits and product labels where there is a ledger, and works without one.
    """
    from lotwalk.cli.words import count
    from lotwalk.pages.forms.form import write_forms

    desk = desk_of(context)
    about, usual = _about(desk, paper, own)
    path = Path(out) if out else Path(f"form-{kind}.pdf")
    kinds = _kinds(about, kind)
    _check_place(path)
    with written(path) as file:
        summary = write_forms(kinds, about, out=file, paper=paper or usual, rows=rows, lines=lines, fillable=fillable)
    what = kinds[0].title if len(kinds) == 1 else count(summary.kinds, "form")
    room = f", room for {count(summary.rows, 'entry', 'entries')}" if len(kinds) == 1 else ""
    click.echo(f"{path}: {what}, {count(summary.pages, 'page')}{room}")
    if not about.farm:
        click.echo(f"There is no ledger here: without a farm's name, and by the rule set {about.rules_name}.")
    if fillable:
        click.echo(f"Fill it in and save it, then: lotwalk load {path}")


def _about(desk: Desk, paper: str | None, own: tuple[Path, ...]) -> tuple[About, str]:
    """Return what the forms say, from the ledger where there is one, and the paper that is usual there."""
    from lotwalk.pages.forms.about import About

    if not desk.has_ledger():
        us = (paper or "").casefold() == "letter"
        return About.of_nobody(desk.kinds(), "us" if us else "metric", own), "A4"
    ledger = desk.book().ledger
    with ledger.reading() as connection:
        us = ledger.settings(connection).measures == "us"
    return About.of_ledger(ledger, own), "Letter" if us else "A4"


def _kinds(about: About, name: str) -> Sequence[Kind]:
    if name == ALL and ALL not in about.kinds.names:
        return [about.kinds[one] for one in about.kinds.names]
    return [about.kinds[name]]


def _check_place(path: Path) -> None:
    """Raise NotUnderstood rather than write over what is no PDF, or over a form in which something is filled in."""
    from lotwalk.errors import NotUnderstood
    from lotwalk.forms.filled import is_filled

    check_free(path)
    if path.exists() and is_filled(path.read_bytes()):
        raise NotUnderstood(f"{path} is a form in which something is filled in", "another name in --out")
