"""Asking a person at a terminal for what a record still needs."""

from collections.abc import Callable

import click

from lotwalk.cli.options import row, row_form
from lotwalk.errors import Refused
from lotwalk.kinds.check import check
from lotwalk.kinds.library import Kinds
from lotwalk.kinds.model import Field, Kind, Setting
from lotwalk.values.text import Written


def ask_missing(kind: Kind, written: dict[str, Written], setting: Setting, kinds: Kinds) -> None:
    """Ask for each required field that is not there yet, and put the answers in. Answers are checked at once."""
    for field in kind.fields.values():
        if field.required and field.name not in written:
            ask(field, kind, written, setting, kinds)
    if kind.needs and not any(all(name in written for name in group) for group in kind.needs):
        for name in kind.needs[0]:
            ask(kind.fields[name], kind, written, setting, kinds)


def ask(field: Field, kind: Kind, written: dict[str, Written], setting: Setting, kinds: Kinds) -> None:
    """Ask for one field until the answer can be read, and put it in."""
    click.echo(f"\n{field.description or field.title}", err=True)

    def read(value: Written) -> Written:
        written[field.name] = value
        wrong = _wrong(field, kind, written, setting, kinds)
        if wrong:
            raise click.UsageError(wrong)
        return value

    if field.form == "rows":
        _ask_rows(field, written, read)
    else:
        written[field.name] = click.prompt(field.title, value_proc=lambda text: read(text.strip()), err=True)


def _ask_rows(field: Field, written: dict[str, Written], read: Callable[[Written], Written]) -> None:
    rows: list[Written] = []

    def take(text: str) -> str:
        if text.strip():
            rows.append(row(text.strip(), field.name))
            try:
                read(list(rows))
            except click.UsageError:
                rows.pop()
                raise
        return text.strip()

    click.echo(f"One on each line, as {row_form(field)}; an empty line ends the list.", err=True)
    while click.prompt(field.title, default="" if rows else None, show_default=False, value_proc=take, err=True):
        pass
    written[field.name] = rows


def _wrong(field: Field, kind: Kind, written: dict[str, Written], setting: Setting, kinds: Kinds) -> str:
    """What cannot be understood of this field, the rest of the entry left aside."""
    try:
        check(kind, written, setting, kinds)
    except Refused as refused:
        return "; ".join(str(problem) for problem in refused.problems if concerns(problem.field, field.name))
    return ""


def concerns(path: str, name: str) -> bool:
    """Return whether a problem's path (`from[0].lot`) lies in this field."""
    return path == name or path.startswith((f"{name}[", f"{name}."))
