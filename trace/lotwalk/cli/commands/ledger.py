"""The ledger itself: `start`, `verify`, `migrate`; and `kinds`, what it can record."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from lotwalk.cli.desk import desk_of, on_terminal
from lotwalk.cli.output import format_option


@click.command()
@click.option("--name", metavar="TEXT", help="The farm's name. [required]")
@click.option("--location", metavar="TEXT", help="Its address, or its place in words. [required]")
@click.option("--timezone", metavar="ZONE", help="Such as Europe/London or America/New_York. [required]")
@click.option("--measures", metavar="us|metric", help="What a gallon and a cup are. [default: us]")
@click.option("--rules", metavar="NAME-OR-FILE", help="The rule set: general, us, eu or a file. [default: general]")
@click.pass_context
def start(context: click.Context, /, **given: str | None) -> None:
    """Begin a ledger with the farm's settings. Asks for them on a terminal."""
    from lotwalk.book import DEFAULT_RULES, SETTINGS_KIND, Book
    from lotwalk.errors import Problem, Refused
    from lotwalk.store.engine import name_of

    desk = desk_of(context)
    fields = desk.kinds()[SETTINGS_KIND].fields
    defaults = {"measures": "us", "rules": DEFAULT_RULES}
    asking = on_terminal()
    for option in given:
        if given[option] is None and asking:
            click.echo(f"\n{fields[option].description}", err=True)
            given[option] = _answer(option, fields[option].title, defaults.get(option))
    settings: dict[str, Any] = {
        option: value if value is not None else defaults.get(option) for option, value in given.items()
    }
    missing = [
        Problem("missing", fields[option].description, option) for option, value in settings.items() if not value
    ]
    if missing:
        raise Refused(missing)
    book = Book.start(desk.ledger, kinds=desk.own_kinds, typed_by=desk.typed_by, **settings)
    click.echo(
        f"{name_of(book.ledger.engine)}: a new record book for {settings['name']}, rule set {settings['rules']}."
    )
    click.echo("Next: record the people, places, water and equipment; `lotwalk kinds` lists the kinds of record.")


def _answer(option: str, title: str, default: str | None) -> str:
    """Ask for a setting, and again while it is one that could not be gone by, so that no answer is lost for it."""
    from lotwalk.errors import LotwalkError
    from lotwalk.judge.ruleset.rules import RuleSet
    from lotwalk.values.times import zone
    from lotwalk.values.units import Units

    understood: dict[str, Callable[[str], object]] = {"timezone": zone, "rules": RuleSet.load, "measures": Units.load}
    while True:
        answer = str(click.prompt(title, default=default, err=True))
        try:
            understood.get(option, str)(answer)
        except LotwalkError as error:
            click.echo(str(error), err=True)
        else:
            return answer


@click.command()
@click.option("--head", "older", metavar="SIZE:ROOT", help="A head printed earlier, which the log must still hold.")
@format_option
@click.pass_context
def verify(context: click.Context, older: str | None, form: str) -> None:
    """Check that nothing was changed behind the ledger's back.

    Every entry and every link is derived again and compared with the log.
    A log whose end was cut off cleanly looks whole in itself. Only a head from elsewhere, such as on a printed
    page, shows the cut: give it with --head.
    """
    from lotwalk.cli.heads import read_head
    from lotwalk.cli.output import print_csv, print_json, print_pairs, say, say_command
    from lotwalk.cli.words import count
    from lotwalk.ledger.verify.entries import verify as check

    head = read_head(older) if older is not None else None
    book = desk_of(context).book()
    with book.ledger.reading() as connection:
        found = check(connection, book.ledger.kinds, head)
    root = found.head.root.hex()
    if form == "json":
        print_json(
            {
                "entries": found.entries,
                "head": {"size": found.head.size, "root": root},
                "ok": found.ok,
                "first_bad": found.first_bad,
                "why": found.why,
            }
        )
    elif form == "csv":
        columns = ("entries", "size", "root", "ok", "first_bad", "why")
        print_csv(columns, [(found.entries, found.head.size, root, found.ok, found.first_bad, found.why)])
    elif found.ok:
        say(f"The log is whole: {count(found.entries, 'entry', 'entries')}, each as it was recorded.")
        print_pairs([("Head", f"{found.head.size}:{root}")])
        if head is None:
            say("That the newest entries were not cut off is shown only by an older head: --head SIZE:ROOT.")
    else:
        say(f"THE LOG IS NOT WHOLE: {f'{found.first_bad}: ' if found.first_bad else ''}{found.why}.")
        say(f"Up to there it holds {count(found.head.size, 'entry', 'entries')} as recorded. Keep this file as it is,")
        say("and compare it with a backup and with the heads on printed pages.")
        say("`lotwalk migrate` makes indexes again where only those are damaged. Else, to put a backup in its place:")
        say_command(f"lotwalk --ledger {desk_of(context).ledger} restore BACKUP")
    if not found.ok:
        context.exit(1)


@click.command()
@click.option(
    "--backup", type=click.Path(path_type=Path), metavar="FILE", help="Where the copy goes that is made first."
)
@click.pass_context
def migrate(context: click.Context, backup: Path | None) -> None:
    """Bring a ledger of an older form, or of an older judge, up to date.

    A copy is made and verified first. No entry is rewritten: a verdict that comes out otherwise by now, or what an
    entry touches, is filed as a further version of its entry. An index that is missing is put back.
    """
    from lotwalk.book import Book
    from lotwalk.cli.output import say
    from lotwalk.cli.words import code_list, count

    desk = desk_of(context)
    done = Book.migrate(desk.ledger, kinds=desk.own_kinds, backup=backup, typed_by=desk.typed_by)
    if done.backup is None:
        click.echo(f"{done.name}: already of the newest form ({done.after}).")
    else:
        moved = (
            f"brought from form {done.before} to {done.after}" if done.before != done.after else "brought up to date"
        )
        click.echo(f"{done.name}: {moved}. As it was before, it stands in {done.backup}.")
    if done.shared:
        say(f"{count(done.shared, 'load')} {'is' if done.shared == 1 else 'are'} found to share a bath with others.")
    if done.judged:
        say(f"{count(done.judged, 'verdict')} of an older judge {'was' if done.judged == 1 else 'were'} judged again.")
        say(f"{len(done.otherwise)} came out otherwise, and {'is' if len(done.otherwise) == 1 else 'are'} filed anew.")
    if done.borne:
        one = len(done.borne) == 1
        say(
            f"{count(len(done.borne), 'entry', 'entries')} {'touches' if one else 'touch'} what a lot stood on, or what"
            f" was left of one, and {'is' if one else 'are'} filed anew."
        )
    for receipt in done.otherwise:
        if receipt.verdict:
            told = [
                f"{word} {code_list(codes)}"
                for word, codes in (("passed", receipt.verdict.passed), ("did not pass", receipt.verdict.failed))
                if codes
            ]
            told += ["its temperature or pH is not written"] if receipt.verdict.because("unshown") else []
            say(f"  {receipt.name}: {'; '.join(told)}")
    if done.mended:
        say(f"Made again from the tables, since they were missing or not as they should be: {', '.join(done.mended)}.")


@click.command()
@format_option
@click.pass_context
def kinds(context: click.Context, form: str) -> None:
    """List the kinds of record, the grower's own among them."""
    from lotwalk.cli.output import print_csv, print_json, print_table

    library = desk_of(context).kinds()
    found = [library[name] for name in library.names]
    columns = ("Kind", "Title", "What it records")
    rows = [(kind.name, kind.title, kind.description) for kind in found]
    if form == "json":
        print_json(
            {
                "kinds": [
                    {
                        "name": kind.name,
                        "title": kind.title,
                        "description": kind.description,
                        "required": [field.name for field in kind.fields.values() if field.required],
                        "fields": list(kind.fields),
                        "own": kind.own,
                    }
                    for kind in found
                ]
            }
        )
    elif form == "csv":
        print_csv(columns, rows)
    else:
        print_table(columns, rows, whole=1)
