"""The recall's first step: back from what was asked to every candidate cause, and which clean breaks to believe."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from sqlalchemy import Connection

from lotwalk.ledger.read.breaks import breaks_recorded_after, passed_all_along
from lotwalk.ledger.read.versions import amendments_after
from lotwalk.recall.asking.asked import COMPLAINT, Asked
from lotwalk.recall.asking.box import behind
from lotwalk.recall.traceback.kept_away import RANK, Followed
from lotwalk.walk.model import CONTACT, INGREDIENT, Doubt, Spell

Cause = tuple[int, Spell | None]


@dataclass(slots=True)
class Behind:
    """How a cause stands behind the asked: its closest rank, its surest link, and how many of them it explains.

    `contacts` is the sum, over those that it explains, of the fewest contacts on a path to what each stands for.
    `assumed`: every path from it to them passes something that no entry names.
    """

    rank: int
    link: str
    explains: int = 0
    contacts: int = 0
    assumed: bool = True

    def explain(self, contacts: int) -> None:
        """Count one more of the asked that it explains, at so many contacts."""
        self.explains += 1
        self.contacts += contacts


def causes_of(
    connection: Connection,
    asked: Iterable[Asked],
    doubt: Doubt,
    through: Collection[str],
    people: Followed,
    with_the_box: Collection[str] = (),
) -> dict[Cause, Behind]:
    """Step 1: back from each of the asked. An item or a water source is one cause a spell, and so is a person.

    `with_the_box` are the codes of those for which what travelled in one box lies behind them too.
    """
    causes: dict[Cause, Behind] = {}
    for one in asked:
        explained: dict[Cause, int] = {}
        lying, walks = behind(connection, one, doubt, through, with_the_box=one.code in with_the_box)
        for reached in lying:
            for spell, contacts in zip(reached.spells or (None,), reached.contacts, strict=True):
                cause = reached.thing.id, spell
                found = causes.setdefault(cause, Behind(reached.rank, reached.link))
                explained[cause] = min(contacts, explained.get(cause, contacts))
                found.assumed &= reached.assumed
                found.rank = min(found.rank, reached.rank)
                found.link = INGREDIENT if INGREDIENT in (found.link, reached.link) else CONTACT
        for walked, starts in walks:
            for person, spell, assumed, contacts in people.behind(walked, starts):
                found = causes.setdefault((person, spell), Behind(RANK, CONTACT))
                explained[person, spell] = min(contacts, explained.get((person, spell), contacts))
                found.assumed &= assumed
        for cause, contacts in explained.items():
            causes[cause].explain(contacts)
    return causes


def late_breaks(connection: Connection, asked: Iterable[Asked]) -> dict[int, str]:
    """Clean breaks that may be of a time before the earliest complaint, but were recorded or amended after one.

    By version and name. A complaint counts from its first version on: a corrected word makes no evidence older. The
    earliest time and the earliest recording are taken apart, so that a second complaint, typed late, believes no more.
    What passed then and passes still, and was only judged again since, is not late.
    """
    earliest = earliest_complaint(asked)
    if earliest is None:
        return {}
    found = breaks_recorded_after(connection, *earliest)
    kept = passed_all_along(connection, found, earliest[0])
    return {seq: f"E{number}" for seq, number in found.items() if seq not in kept}


def earliest_complaint(asked: Iterable[Asked]) -> tuple[int, int] | None:
    """Return the earliest number of a complaint and the earliest last second of one; None where none is asked about."""
    complaints = [one for one in asked if one.kind == COMPLAINT]
    ends = [one.until for one in complaints if one.until is not None]
    numbers = [one.number for one in complaints if one.number is not None]
    return (min(numbers), min(ends)) if ends and numbers else None


def changed_after(connection: Connection, asked: Iterable[Asked]) -> list[tuple[int, bool]]:
    """Return the entries that people amended or voided after the earliest complaint, each with whether it is void now.

    They are named by the number of the first version. The scope may have been wider before.
    """
    complaints = [one.number for one in asked if one.kind == COMPLAINT and one.number is not None]
    if not complaints:
        return []
    changed = [one for one in amendments_after(connection, min(complaints)) if one.amended_by]
    return list({one.number: (one.number, one.void) for one in changed}.values())
