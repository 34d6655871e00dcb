"""What to do now in a recall: which lots to hold, whom to call and what to say."""

from collections.abc import Sequence
from shlex import quote
from typing import Any

from lotwalk.balance.model import written
from lotwalk.cli.output import print_table, say, say_command
from lotwalk.cli.words import code_list, count
from lotwalk.judge.words import ranges
from lotwalk.kinds.library import Kinds
from lotwalk.kinds.model import Field
from lotwalk.recall.response.calls import TOLD, Call
from lotwalk.recall.response.holds import HELD, Holds
from lotwalk.recall.response.urgent import Urgent
from lotwalk.recall.words.tables import call_rows, hold_rows
from lotwalk.values.units import Units

_MOST = 40

# What a recall message holds: that it is a recall, stop using and passing on, tell those it went on to, what to do
# with it, the lots, an easy reply, confirmed in writing (21 CFR 7.49, as restated; the reply from memory).
_SAY = (
    "This is {farm}. We are recalling what you got from us: LOTS of DAYS. Please stop using and selling it now, keep it"
    " apart and marked, and tell everyone you passed it on to. How much of it do you still have? Has anybody been ill?"
    " We will confirm this in writing; please answer that you have read it."
)


def holds_json(found: Holds) -> list[dict[str, Any]]:
    """Return the lots to hold as JSON; amounts as text in their unit."""
    return [
        {
            "lot": one.code,
            "kind": one.kind,
            "ring": one.level,
            "amount": written(one.amount),
            "unit": one.unit,
            "counted": one.counted,
            "growing": one.growing,
            "place": one.where,
            "held": one.held,
        }
        for one in found.lots
    ]


def calls_json(found: Sequence[Call]) -> list[dict[str, Any]]:
    """Return whom to call as JSON, in that order; amounts as text by unit."""
    return [
        {
            "customer": one.customer,
            "name": one.name,
            "contact": one.contact,
            "phone": one.phone,
            "ring": one.level,
            "deliveries": list(one.deliveries),
            "lots": list(one.lots),
            "amounts": {unit: written(amount) for unit, amount in one.amounts.items()},
            "last": one.last,
            "called": [{"entry": name, "reached": reached} for name, reached in one.told],
        }
        for one in found
    ]


def first_json(found: Urgent) -> dict[str, Any]:
    """Return what to do first as JSON: by which level, as of which day, what to hold and whom to call, in order."""
    return {
        "on": found.on.isoformat(),
        "level": found.level,
        "found": list(found.found),
        "lots": list(found.scope.lots),
        "deliveries": [one.code for one in found.scope.deliveries],
        "holds": holds_json(found.holds),
        "calls": [
            row
            | {
                "asked": {unit: written(amount) for unit, amount in one.asked.items()},
                "in_date": {unit: written(amount) for unit, amount in one.in_date.items()},
                "deliveries_in_date": one.dated,
            }
            for one, row in zip(found.calls, calls_json([one.call for one in found.calls]), strict=True)
        ],
        "reaches": [
            {
                "code": one.code,
                "lots": one.lots,
                "deliveries": one.deliveries,
                "customers": one.customers,
                "deliveries_in_date": one.dated,
            }
            for one in found.reaches
        ],
        "next_level": {"on_hand": len(found.further_holds), "deliveries_in_date": found.further_dated},
        "deliveries_in_date": {str(level): number for level, number in found.dated.items()},
    }


class CallsView:
    """Words for holds and calls."""

    def __init__(self, kinds: Kinds, units: Units, farm: str) -> None:
        self.kinds = kinds
        self.units = units
        self.farm = farm

    def holds(self, found: Holds, asked: Sequence[str], *, every: bool) -> None:
        """Print what to hold, the closest level first, with the command that records it."""
        if not found.lots:
            say("To hold now: nothing of it is on hand, as far as the book knows. Look in the store all the same.")
        else:
            shown = found.lots if every else found.lots[:_MOST]
            rows = hold_rows(shown, self.kinds, self.units)
            columns = ("Level", "Lot", "Kind", "On hand", "Place", "On hold")
            print_table(columns, rows, title="To hold now, the closest level first:", whole=2)
            if len(shown) < len(found.lots):
                say(f"{count(len(found.lots) - len(shown), 'more lot')}: --all shows them.")
            free = [one.code for one in found.lots if one.held is None]
            if free and (command := record_command(self.kinds, HELD)):
                reason = quote(f"recall from {asked[0]}")
                say("Put what is not on hold apart, mark it, and record it:")
                say_command(f"{command} {quote(','.join(ranges(free)))} --reason {reason}")
        if found.old:
            say(
                f"Of {count(len(found.old), 'older lot')} some is not accounted for either, though none should be left:"
                f" {code_list(found.old[:_MOST])}{' and more' if len(found.old) > _MOST else ''}."
            )
        say()

    def calls(self, found: Sequence[Call], asked: Sequence[str]) -> None:
        """Print whom to call, in order, what to say, and how to record it."""
        if not found:
            return
        rows = [
            (
                row.customer,
                row.name,
                ", ".join(filter(None, (row.contact, row.phone or "no number in the book"))),
                row.level,
                row.got,
                row.deliveries,
                row.last,
                row.told,
            )
            for row in call_rows(found, self.units)
        ]
        columns = ["Customer", "Name", "Ask for", "Level", "They got", "Deliv.", "Last", "Called"]
        kept = len(columns) if any(one.told for one in found) else len(columns) - 1
        title = "Whom to call, the closest level first, then who got most:"
        print_table(columns[:kept], [row[:kept] for row in rows], title=title, whole=1)
        say(f"What to say, once it is decided to recall: {_SAY.format(farm=self.farm)}")
        say("Their lots and days stand in the table of deliveries above; --format csv gives them as a list to call by.")
        if asked and (command := record_command(self.kinds, TOLD)):
            say("Record every call, also one that nobody answers:")
            say_command(f"{command} {quote(found[0].customer)} --complaint {quote(','.join(asked))}")
        say()


def record_command(kinds: Kinds, fact: str) -> str:
    """Return how to record something of a thing, by the kind whose field surely tells the fact."""
    for name in kinds.telling(fact):
        for field in kinds[name].fields.values():
            if _surely(field, fact):
                return f"lotwalk record {name} --{field.name.replace('_', '-')}"
    return ""


def _surely(field: Field, fact: str) -> bool:
    return any(one.name == fact and one.when is None for one in field.facts)
