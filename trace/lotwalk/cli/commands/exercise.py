"""A mock recall: timed, its balance looked at, and recorded, so that the exercise is in the book."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

from lotwalk.cli.words import minute
from lotwalk.errors import NotUnderstood
from lotwalk.recall.words.common import delivered_totals

if TYPE_CHECKING:
    from lotwalk.book import Book
    from lotwalk.cli.desk import Desk
    from lotwalk.recall.answer import Answer

KIND = "recall-exercise"


class Exercise:
    """One exercise, from the question on. Raises NotUnderstood when it is not said who practises."""

    def __init__(self, desk: Desk, by: str | None) -> None:
        if not by:
            raise NotUnderstood("it is not said who practises", "--by with a person's code, such as --by TO")
        self.desk = desk
        self.by = by
        self.started = time.monotonic()

    def record(self, book: Book, answer: Answer) -> None:
        """Record how it went, and say so on stderr: the answer itself may be read by a program."""
        import click

        seconds = max(1, round(time.monotonic() - self.started))
        fields: dict[str, str | int] = {
            "at": minute(int(book.ledger.clock()), answer.zone),
            "by": self.by,
            "started_from": ", ".join(answer.started_from),
            "took": f"{seconds} s",
            "lots": len(answer.scope.lots),
            "deliveries": len(answer.scope.deliveries),
            "customers": len(answer.scope.customers),
        }
        # By weight where anything was delivered so: pieces are trays too, of which most still grow.
        # Above all that was made, the book is wrong somewhere, which `check` and `balance` tell: no share is written.
        found = (one.reckoned.percent for one in delivered_totals(answer.balance))
        shares = [percent for percent in found if percent is not None and percent <= 100]
        if shares:
            fields["accounted"] = f"{shares[0]:.1f} %"
        entry = {"kind": KIND, **fields}
        receipt = book.record_all([entry], typed_by=self.desk.typed_by, again=True)[0]
        told = f", {fields['accounted']} accounted for" if shares else ""
        click.echo(f"{receipt.name}: recall exercise recorded, answered in {seconds} s{told}.", err=True)
        click.echo("The calls, and how long they took, are not in it: amend it with --set outcome=...", err=True)
