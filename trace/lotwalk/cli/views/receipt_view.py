"""Telling a person what the book took in: verdicts, reasons, what to do, and earlier verdicts that changed."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import click

from lotwalk.book import Book
from lotwalk.cli.output import shown
from lotwalk.cli.words import verdict_words
from lotwalk.finding import NOT_URGENT, RESIDUE, urgency
from lotwalk.ledger.model import Receipt
from lotwalk.ledger.read.versions import versions
from lotwalk.ledger.verdict import Reason, ReasonKind

_LEADS: Mapping[ReasonKind, str] = {"break": "", "unshown": "Not shown: ", "note": "Note: "}
"""What is told after the verdict, what fails something first."""


def tell_verdicts(book: Book, receipts: Sequence[Receipt]) -> None:
    """Say the verdict of the first receipt with its reasons, and which earlier verdicts it changed."""
    receipt, *changed = receipts
    for notice in receipt.notices:
        click.echo(shown(notice if urgency(notice) < NOT_URGENT else f"  Note: {notice}"))
    if receipt.changed:
        click.echo(shown(f"  Changed: {receipt.changed}"))
    if receipt.findings or receipt.older:
        from lotwalk.cli.views.door_view import told_findings  # Most entries bring nothing about.

        for line in told_findings(receipt):
            click.echo(shown(line))
    tell_verdict(book, receipt)
    for other in changed:
        tell_changed(book, other, receipt.notices)


def tell_changed(book: Book, receipt: Receipt, besides: Sequence[str] = ()) -> None:
    """Say what the book filed anew of an earlier entry: its verdict, or else what the receipt says.

    What was told `besides` is not told again.
    """
    for notice in receipt.notices:
        click.echo(shown(f"{receipt.name}: {notice}."))
    if receipt.verdict:
        click.echo(f"This changes the verdict of {receipt.name}:")
        tell_verdict(book, replace(receipt, notices=(*receipt.notices, *besides)))


def tell_verdict(book: Book, receipt: Receipt, *, only_bad: bool = False) -> None:
    """Say one verdict with its reasons, those that fail something first; `only_bad` says no more than those.

    What may be left of a sanitiser comes before all, since whoever reads `counts as clean` reads no further. What the
    receipt's notices have told is not told again.
    """
    if receipt.verdict is None:
        return
    for reason in receipt.verdict.reasons:
        if reason.kind == "residue" and not only_bad and not _told(receipt, reason):
            click.echo(shown(f"{RESIDUE}{reason}"))
    passed = () if only_bad else receipt.verdict.passed
    for line in verdict_words(_judge_of(book, receipt), passed, receipt.verdict.failed):
        click.echo(shown(line))
    now = int(book.ledger.clock())
    for kind, lead in _LEADS.items():
        for reason in receipt.verdict.because(kind):
            if kind == "break":
                click.echo(shown(f"  {replace(reason, do=reason.act(now))}"))
            elif not only_bad and not _told(receipt, reason):
                click.echo(shown(f"  {lead}{reason}"))
    if receipt.verdict.now:
        click.echo(shown(f"Now: {receipt.verdict.now}."))


def _told(receipt: Receipt, reason: Reason) -> bool:
    """Return whether a notice of the receipt tells a reason, or what is to be done about it."""
    return any(words and words in notice for notice in receipt.notices for words in (reason.text, reason.do))


def _judge_of(book: Book, receipt: Receipt) -> str | None:
    with book.ledger.reading() as connection:
        found = versions(connection, int(receipt.name[1:]))
    return book.ledger.kinds[found[-1].kind].verdict
