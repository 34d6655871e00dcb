"""A recall's answer, for the person who must make the calls, and for programs."""

from collections import Counter
from collections.abc import Collection, Sequence
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from lotwalk.cli.output import print_table, say
from lotwalk.cli.views.calls_view import CallsView, calls_json, first_json, holds_json
from lotwalk.cli.views.candidates_view import CandidatesView, candidate_json
from lotwalk.cli.views.cause_view import CauseView, closely_json
from lotwalk.cli.views.facts_view import found_json, kept_away_json
from lotwalk.cli.views.ranking_view import level_table, print_ranking, ranked_json
from lotwalk.cli.views.recall_first import FirstView
from lotwalk.cli.words import code_list, count, moment, silence_words
from lotwalk.kinds.library import Kinds
from lotwalk.recall.answer import Answer
from lotwalk.recall.model import Delivered, Item, Recall
from lotwalk.recall.response.package_marks import BARE
from lotwalk.recall.words.common import box_words, delivered_totals, doubt_words, size_words, total_words
from lotwalk.recall.words.facts import fact_words, people_words

CAUTION = (
    "This tells what could share a cause on the evidence in this book. It does not say that any food is safe, inside"
    " this list or outside it. Whether to recall, what, and what to say is decided with the local regulator: ring them."
)


PARTS = ("causes", "statistics", "lots")
"""What can be asked for beside what is to be done first."""
_MOST_LOTS = 300
"""Of more lots in scope only their number is told, by kind, unless all are asked for."""
_MOST_DELIVERIES = 60
"""Of more deliveries the newest are shown, which may not be eaten yet."""


class RecallView:
    """An answer on the screen, as JSON and as CSV.

    On the screen stands what is to be done first, or else the `parts` that are asked for: `causes`, `lots` or
    `statistics`. `every` shows all parts, and all candidates, lots and deliveries in them.
    """

    def __init__(self, answer: Answer, kinds: Kinds, *, parts: Collection[str] = (), every: bool = False) -> None:
        self.answer = answer
        self.found = answer.found
        self.scope = answer.scope
        self.zone = answer.zone
        self.units = answer.units
        self.kinds = kinds
        self.every = every
        self.parts = PARTS if every and not parts else tuple(parts)

    def json(self) -> dict[str, Any]:
        """Return the recall as JSON."""
        answer, found = self.answer, self.found
        out = {
            "asked": answer.started_from,
            "candidates": [candidate_json(one, self.zone) for one in found.candidates],
            "affected": _affected(found, self.zone),
            "balance": answer.balance.json(),
            "asked_about": [
                {
                    "code": one.code,
                    "kind": one.kind,
                    "type": one.type,
                    "customer": one.customer,
                    "stands_for": list(answer.stands_for[one.code]),
                    "lots": list(answer.meant[one.code]),
                    "whole": list(one.whole),
                    "read_as": one.read_as.json() if one.read_as else None,
                }
                for one in found.asked
            ],
            "left_out": {"lots": list(found.left_out), "words": box_words(found) or None},
            "with_box": list(found.with_box),
            "log_fits": answer.log_fits,
            "found": [found_json(one) for one in found.found],
            "kept_away": [kept_away_json(one) for one in found.kept_away],
            "people_followed": found.people_followed,
            "spelled_too": [one.json() for one in found.spelled],
            "holds": holds_json(answer.holds),
            "calls": calls_json(answer.calls),
            "first": first_json(answer.urgent),
            "packages": [
                {"lot": lot, "best_before": bag.best_before or None, "printed": bag.printed or None}
                for lot, bag in sorted(answer.bags.items())
            ],
            "distrusted": list(answer.question.distrust),
            "late": list(found.late),
            "needless": list(found.needless),
            "changed": [{"entry": name, "void": void} for name, void in found.changed],
            "older_judge": found.older,
            "unshown": found.unshown,
            "not_washed_off": list(found.not_washed_off),
            "silent": found.silent,
            "further": found.further,
            "rings": [
                {"ring": one.level, "lots": one.lots, "deliveries": one.deliveries, "customers": one.customers}
                for one in found.totals
            ],
            "ranking": [ranked_json(one) for one in answer.ranked],
            "wide": [
                {
                    "code": one.candidate.thing.code,
                    "kind": one.candidate.thing.kind,
                    "from": moment(one.first, self.zone),
                    "until": moment(one.last, self.zone),
                    "uses": one.uses,
                    "deliveries": one.deliveries,
                }
                for one in answer.wide
            ],
        }
        if self.scope is not found:
            out["scope"] = _affected(self.scope, self.zone)
        if answer.detail:
            out["detail"] = closely_json(answer.detail)
        return out | ({"affected_if_believed": _affected(answer.narrower, self.zone)} if answer.narrower else {})

    def csv(self) -> tuple[Sequence[str], Sequence[Sequence[object]]]:
        """Return a row for each affected lot in a delivery, with the customer to call and what stands on the bag."""
        columns = ("delivery", "at", "customer", "name", "contact", "phone", "lot", "best_before", "printed")
        rows: list[Sequence[object]] = []
        who_is = {call.customer: (call.name, call.contact, call.phone) for call in self.answer.calls}
        for one in self.scope.deliveries:
            for item in one.items:
                about = (one.code, one.at, one.customer, *who_is.get(one.customer or "", ("", "", "")))
                bag = self.answer.bags.get(item.lot, BARE)
                rows.append((*about, item.lot, bag.best_before, bag.printed, *self._measured(item)))
        return (*columns, "amount", "unit"), rows

    def _measured(self, item: Item) -> tuple[str, str]:
        """An amount in the farm's measures, as a person weighs it, and its unit."""
        if item.amount is None or item.unit is None:
            return "", ""
        amount, _, unit = self.units.show(Decimal(item.amount), item.unit).partition(" ")
        return amount, unit or item.unit

    def table(self) -> None:
        """Print what was asked, what was not believed, the candidates, and whom it concerns."""
        answer, detail = self.answer, self.answer.detail
        if not self.parts and not detail:
            FirstView(answer, self.kinds).table()
            return
        closely = CauseView(self.kinds, self.zone)
        self._print_asked()
        self._print_lines(fact_words(self.found, self.kinds))
        if detail:
            closely.explain(detail)
        self._print_lines(doubt_words(self.found, answer.narrower, answer.question.distrust))
        if detail:
            closely.table(detail)
            cause = detail.cause if detail.edges or detail.hints else ""
            say(f"The scope{f' if it was {cause}' if cause else ''}: {size_words(self.scope)}.")
            say("The same command without --cause and --why shows the whole recall, with whom to call.")
            say(CAUTION)
            return
        if "causes" in self.parts:
            self._print_causes()
        if "statistics" in self.parts:
            print_ranking(answer)
        if "lots" in self.parts:
            self._print_scope()
        if self.every:
            words = CallsView(self.kinds, self.units, answer.farm)
            words.holds(answer.holds, answer.started_from, every=True)
            words.calls(answer.calls, [one.code for one in self.found.asked if one.number])
        for line in silence_words(self.found.silent):
            say(line)
        say(CAUTION)

    def _print_causes(self) -> None:
        CandidatesView(self.found, self.kinds, self.zone).table(every=self.every)
        for one in self.answer.wide:
            say(one.words(self.zone))
        if self.answer.wide:
            say(
                "--cause with one of these codes looks at it closely: where its scope stops, and whether one paper or"
                " hour would narrow it."
            )
            say()

    def _print_scope(self) -> None:
        level_table(self.found.totals, self.answer.question.level or 5)
        say(f"The widest scope, whichever of them it was: {size_words(self.found)}.")
        if not_followed := people_words(self.found):
            say(not_followed)
        if self.scope is not self.found:
            say(f"The scope chosen: {size_words(self.scope)}.")
        self._print_affected()
        self._print_balance()

    def _print_asked(self) -> None:
        if left_out := box_words(self.found):
            say(left_out)
        for one in self.found.asked:
            kind = self.kinds.things[one.kind].title.lower()
            about = f" of {one.customer}" if one.customer and one.customer != one.code else ""
            of_type = f", {one.type}" if one.type else ""
            stands_for = [code for code in self.answer.stands_for[one.code] if code != one.code]
            told = f", for {code_list(stands_for)}" if stands_for else ""
            told += f" with {code_list(self.answer.meant[one.code])}" if one.lots else ""
            say(f"Asked: {one.code} ({kind}{about}{of_type}){told}")
            for sentence in one.words():
                say(f"  {sentence}")
        say()

    @staticmethod
    def _print_lines(told: Sequence[str]) -> None:
        for line in told:
            say(line)
        if told:
            say()

    def _print_affected(self) -> None:
        found = self.scope
        if self.every or len(found.lots) <= _MOST_LOTS:
            say(f"Lots: {code_list(found.lots) or 'none'}")
        else:
            say(f"Lots: {self._lots_by_kind()}. --all names them.")
        say()
        shown = found.deliveries if self.every else found.deliveries[-_MOST_DELIVERIES:]
        if shown:
            rows = [(one.at, one.code, self._named(one), "; ".join(map(self._amount, one.items))) for one in shown]
            print_table(("When", "Delivery", "Customer", "Affected lots in it"), rows, whole=2)
        if len(shown) < len(found.deliveries):
            earlier = count(len(found.deliveries) - len(shown), "delivery", "deliveries")
            say(f"{earlier} before these: --all shows them, and --format csv lists every one.")
            say()

    def _lots_by_kind(self) -> str:
        kinds = Counter(lot.kind for lot in self.answer.balance.lots)
        things = self.kinds.things
        told = [count(kinds[kind], things[kind].title.lower(), things[kind].plural.lower()) for kind in sorted(kinds)]
        return ", ".join(told)

    def _print_balance(self) -> None:
        for one in delivered_totals(self.answer.balance):
            say(total_words(one, self.units))
        say()

    def _named(self, one: Delivered) -> str:
        code, name = one.customer or "", self.answer.names.get(one.customer or "", "")
        return f"{code} {name}".strip() if name.casefold() != code.casefold() else name

    def _amount(self, item: Item) -> str:
        told = item.lot
        if item.amount is not None and item.unit is not None:
            told = f"{item.lot} {self.units.show(Decimal(item.amount), item.unit)}"
        return self.answer.bags.get(item.lot, BARE).beside(told)


def _affected(found: Recall, zone: ZoneInfo) -> dict[str, Any]:
    return {
        "lots": list(found.lots),
        "deliveries": [
            {
                "code": one.code,
                "customer": one.customer,
                "at": one.at,
                "from": moment(one.start, zone),
                "items": [{"lot": item.lot, "amount": item.amount, "unit": item.unit} for item in one.items],
            }
            for one in found.deliveries
        ],
        "customers": list(found.customers),
    }
