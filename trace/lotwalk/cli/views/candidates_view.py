"""A recall's candidate causes in words: each a row, the narrowest first, with what is in hand of it."""

from collections.abc import Sequence
from typing import Any
from zoneinfo import ZoneInfo

from lotwalk.cli.output import print_table, say
from lotwalk.cli.words import count, minute, spell_json
from lotwalk.kinds.library import Kinds
from lotwalk.recall.model import Candidate, Recall
from lotwalk.recall.traceback.group_alike import alike
from lotwalk.recall.words.evidence import evidence_json, limits
from lotwalk.recall.words.tables import candidate_rows
from lotwalk.walk.model import EVER

MOST = 30
"""So many rows are shown unless all are asked for."""


def candidate_json(one: Candidate, zone: ZoneInfo) -> dict[str, Any]:
    """Return one candidate as JSON."""
    return {
        "code": one.thing.code,
        "kind": one.thing.kind,
        "link": one.link,
        "ring": one.level,
        "spell": spell_json(one.spell, zone) if one.spell else None,
        "explains": one.explains,
        "contacts": one.contacts,
        "others": one.others,
        "lots": list(one.lots),
        "deliveries": list(one.deliveries),
        "customers": list(one.customers),
        "evidence": evidence_json(one.evidence),
        "assumed": one.assumed,
    }


class CandidatesView:
    """The candidates of a recall."""

    def __init__(self, found: Recall, kinds: Kinds, zone: ZoneInfo) -> None:
        self.found = found
        self.kinds = kinds
        self.zone = zone

    def table(self, *, every: bool) -> None:
        """Print them: what tested positive, then what would explain all that was asked, then the others.

        With `every` all of them, not only the narrowest.
        """
        found = self.found.candidates
        if not found:
            say("No candidate cause is in the book.")
            return
        say(
            f"{count(len(found), 'candidate cause')}. Each row says: if it was this one, all of these lots,"
            " deliveries and customers could be concerned. By ingredient: it went into them. By contact: it came near"
            " them on what they shared."
        )
        first, last = self.found.span
        if last < EVER:
            days = f"from {minute(first, self.zone)[:10]} to {minute(last, self.zone)[:10]}"
            say(f"Others: the deliveries {days} that it reaches as well and that were not asked about.")
        say()
        asked = len(self.found.asked)
        groups = alike(found)
        positive = [group for group in groups if group[0].positive]
        rest = [group for group in groups if not group[0].positive]
        all_of_them = [group for group in rest if group[0].explains == asked > 1]
        others = [group for group in rest if asked == 1 or group[0].explains < asked]
        room = len(groups) if every else MOST
        both = f"These would explain {'both' if asked == 2 else f'all {asked}'}, the narrowest first:"
        part = "These would explain a part, the narrowest first:" if all_of_them else "The narrowest first:"
        for some, title in ((positive, "These tested positive:"), (all_of_them, both), (others, part)):
            if some[: max(0, room)]:
                self._print_group(some[:room], title)
            room -= len(some)
        if room < 0:
            say(f"{count(-room, 'more row')} further down the list: --all shows them.")
            say()
        for line in limits(found):
            say(line)
            say()

    def _print_group(self, groups: Sequence[tuple[Candidate, Sequence[str]]], title: str) -> None:
        asked = len(self.found.asked)
        differ = len({one.explains for one, _ in groups}) > 1 or groups[0][0].explains < asked
        rows = [
            (
                row.codes,
                row.kind,
                row.between,
                row.link,
                *([row.explains] if differ else []),
                row.others,
                row.lots,
                row.deliveries,
                row.customers,
            )
            for row in candidate_rows(groups, asked, self.kinds, self.zone, assumed=", assumed")
        ]
        explains = ["Explains"] if differ else []
        columns = ("If it was", "Kind", "Between; tests", "Link", *explains, "Others", "Lots", "Deliv.", "Cust.")
        print_table(columns, rows, title=title)
