"""`lotwalk proof`: that entries stand in the log, for somebody who has neither the ledger nor this program."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from lotwalk.cli.desk import desk_of
from lotwalk.cli.files import check_free, written

if TYPE_CHECKING:
    from collections.abc import Callable

    from sqlalchemy import Connection

    from lotwalk.book import Book
    from lotwalk.cli.desk import Desk
    from lotwalk.ledger.model import Head, Version
    from lotwalk.ledger.verify.proof import Proof


@click.command()
@click.argument("asked", metavar="CODE-OR-ENTRY...", nargs=-1, required=True)
@click.option("--against", metavar="SIZE:ROOT", help="A head that the buyer holds already, such as on a printed page.")
@click.option(
    "--for",
    "customer",
    metavar="CUSTOMER",
    help="Only the texts of which this customer may have every word. Of the rest the place and the hash.",
)
@click.option("--out", "-o", metavar="FILE", help="Where to write it. On the screen, if nothing is said.")
@click.pass_context
def proof(
    context: click.Context, asked: tuple[str, ...], against: str | None, customer: str | None, out: str | None
) -> None:
    """Prove that entries stand in the log as they were recorded, in JSON that a buyer can check alone.

    Of an entry (E12), or of all entries that ever named a code (D-2), every version is in it: what was amended and
    what was voided too. The README has the program that checks it, RFC 9162 (section 2.1) the reckoning.

    \b
    tree      size and root of the log that it is proved against
    against   the older head, and the path which shows that its log is the start of this one; or null
    counts    with_text and closed: of how many entries the text is in it, and of how many only place and hash
    entries   by place in the log: entry (E12); leaf, its place counted from 0; state (in force, replaced by a
              later version, or void); record, the text as it was hashed, or null where it is closed;
              leaf_hash, SHA-256 of a byte 0 and the text; path, the hashes up to the root, from below

    A head is printed on every page of every report, and by `verify`. An entry whose leaf is smaller than the size in
    an older head was in the book by then, and is unchanged since. No proof shows that what was written is true, or
    that food is safe.
    """
    import json
    from pathlib import Path

    from lotwalk.cli.heads import read_head
    from lotwalk.cli.output import print_json, shown
    from lotwalk.cli.words import count
    from lotwalk.recall.asking.sought import sought
    from lotwalk.values.codes import entry_number

    older = read_head(against) if against is not None else None
    if out:
        check_free(Path(out), b'{\n "tree"', "proof")
    desk = desk_of(context)
    book = desk.book()
    with book.ledger.reading() as connection:
        named = []
        for words in asked:
            if entry_number(words) is None:
                found = sought(connection, words, book.ledger.kinds)
                if found.read_as:
                    click.echo(shown(found.read_as.sentence), err=True)
                words = found.code
            named.append(words)
        opens = _opens(desk, book, connection, customer) if customer else None
        made = book.proof(list(dict.fromkeys(named)), older=older, opens=opens, at=connection)
    _tell_beginning(made)
    if not out:
        print_json(made.json())
        return
    with written(Path(out)) as file:
        file.write((json.dumps(made.json(), ensure_ascii=False, indent=1) + "\n").encode())
    closed = f", of {made.closed} only the place and the hash" if made.closed else ""
    click.echo(f"{out}: {count(len(made.entries), 'entry', 'entries')}{closed}.")


def _opens(desk: Desk, book: Book, connection: Connection, customer: str) -> Callable[[Version, str], bool]:
    from lotwalk.exchange.export_request import ask
    from lotwalk.exchange.opened import opened
    from lotwalk.exchange.scope import Question

    return opened(ask(connection, book.ledger, Question(customer=customer)), desk.own_kinds)


def _tell_beginning(made: Proof) -> None:
    """Say on stderr from when on the proof holds, where nobody holds an older head."""
    if made.older is None:
        click.echo(
            f"It is proved against the head of today, and begins with it: {_words(made.head)}\n"
            "Against a head that the buyer held before: --against SIZE:ROOT.",
            err=True,
        )


def _words(head: Head) -> str:
    return f"{head.size}:{head.root.hex()}"
