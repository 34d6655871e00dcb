"""The first screen of a recall, for the person who has one minute: what was found, what to hold, whom to call."""

from shlex import quote

from lotwalk.cli.output import NARROW, print_lines, say, say_behind, say_command
from lotwalk.cli.views.calls_view import record_command
from lotwalk.cli.words import count
from lotwalk.judge.words import ranges
from lotwalk.kinds.library import Kinds
from lotwalk.recall.answer import Answer
from lotwalk.recall.response.calls import TOLD
from lotwalk.recall.response.holds import HELD, Hold
from lotwalk.recall.words.first import first_asked, first_doubts, first_facts, first_further, first_scope
from lotwalk.recall.words.tables import first_call_rows, first_cause_rows, first_level_rows, hold_rows

_HOLDS, _CALLS, _CAUSES = 5, 12, 5
"""So many rows are shown of each; the rest is counted."""
FIRST = "Hold what is below. Ring your local regulator before you call customers."
CAUTION = "Decide with the regulator what to recall. Nothing here says that food is safe."


class FirstView:
    """The first screen of an answer."""

    def __init__(self, answer: Answer, kinds: Kinds) -> None:
        self.answer = answer
        self.found = answer.found
        self.first = answer.urgent
        self.kinds = kinds
        self.again = f"lotwalk recall {' '.join(map(quote, answer.question.codes))}".rstrip()

    def table(self) -> None:
        """Print it."""
        say_behind("Asked", first_asked(self.answer, self.kinds), at_most=NARROW)
        say_behind("Found", first_facts(self.found, self.kinds), at_most=NARROW)
        say_behind("First", [FIRST], at_most=NARROW)
        say()
        self._holds()
        self._calls()
        self._causes()
        self._levels()
        doubts = first_doubts(self.found, self.answer.narrower, self.answer.question.distrust)
        say_behind("Mind", doubts, at_most=NARROW)
        say(f"To hand out and write on: {self._paper()}", at_most=NARROW)
        say(CAUTION, at_most=NARROW)

    def _holds(self) -> None:
        lots = self.first.holds.lots
        free = [one for one in lots if one.held is None]
        if not lots:
            scope = first_scope(self.first)
            say(f"Hold: nothing of it is on hand, by this book ({scope}). Look in the store.", at_most=NARROW)
        else:
            state = "NONE ON HOLD" if len(free) == len(lots) else f"{len(free)} NOT on hold" if free else "all on hold"
            say(f"Hold now: {count(len(lots), 'lot')}, {state} ({first_scope(self.first)})", at_most=NARROW)
            rows = [
                (row.lot, row.kind, row.on_hand, row.place, row.held)
                for row in hold_rows(sorted(lots, key=_loose)[:_HOLDS], self.kinds, self.answer.units)
            ]
            print_lines(("Lot", "Kind", "On hand", "Place", "On hold"), rows)
            self._more(len(lots) - _HOLDS, "lot")
            if free and (command := record_command(self.kinds, HELD)):
                reason = quote(f"recall from {self.answer.started_from[0]}")
                say_command(f"{command} {quote(','.join(ranges([one.code for one in free])))} --reason {reason}")
        say()

    def _calls(self) -> None:
        found = self.first.calls
        if not found:
            say(f"Call: nobody got any of it, by this book ({first_scope(self.first)}).", at_most=NARROW)
        else:
            say(
                f"Call: {count(len(found), 'customer')}, who got it first, then most in date on {self.first.on}",
                at_most=NARROW,
            )
            rows = first_call_rows(found[:_CALLS], self.answer.units)
            told = [1] if any(row.told for row in rows) else []
            columns = ("Customer", "Ask for", "Phone", "Got of it", "In date", *("Called" for _ in told))
            print_lines(columns, [row if told else row[:5] for row in rows], right=range(2, len(columns)))
            self._more(len(found) - _CALLS, "customer")
            asked = [one.code for one in self.found.asked if one.number]
            if asked and (command := record_command(self.kinds, TOLD)):
                customer, complaint = quote(found[0].call.customer), quote(",".join(asked))
                say_command(f"{command} {customer} --complaint {complaint}")
        say()

    def _causes(self) -> None:
        ranked = self.answer.ranked
        if not ranked:
            say("What it could be: no candidate cause is in the book.", at_most=NARROW)
            return
        say(f"What it could be: {count(len(ranked), 'candidate')}, the likeliest first: --causes", at_most=NARROW)
        asked = len(self.found.asked)
        rows = first_cause_rows(self.answer.ranked_rows[:_CAUSES], asked, self.kinds)
        columns = ("", "If it was", "Kind", "Contacts", "Explains", "Lots", "Deliv.", "Cust.")
        kept = [place for place in range(len(columns)) if place != 4 or asked > 1]
        print_lines(
            [columns[place] for place in kept],
            [[row[place] for place in kept] for row in rows],
            right=range(len(kept) - (5 if asked > 1 else 4), len(kept)),
        )

    def _levels(self) -> None:
        rows = first_level_rows(self.found.totals, self.first)[: len(self.found.totals)]
        columns = ("Lots", "Deliv.", "Cust.", "In date")
        print_lines(("", "How wide, with those before: --lots", *columns), rows, right=(2, 3, 4, 5))
        if further := first_further(self.first):
            say(further, at_most=NARROW)

    def _more(self, number: int, what: str) -> None:
        if number > 0:
            say(f"  and {count(number, f'more {what}', f'more {what}s')}: --all", at_most=NARROW)

    def _paper(self) -> str:
        return self.again.replace("lotwalk recall", "lotwalk report recall", 1)


def _loose(one: Hold) -> tuple[bool, int, str]:
    """What is not on hold first, then by level."""
    return one.held is not None, one.level, one.code
