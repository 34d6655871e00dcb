"""The rows of a recall's tables in words, made once for screen and paper, which draw those cells that have room."""

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from typing import NamedTuple
from zoneinfo import ZoneInfo

from lotwalk.kinds.library import Kinds
from lotwalk.recall.model import Candidate, LevelTotal
from lotwalk.recall.response.calls import Call
from lotwalk.recall.response.holds import Hold
from lotwalk.recall.response.urgent import FirstCall, Urgent
from lotwalk.recall.traceback.ranking import Together
from lotwalk.recall.words.common import LEVELS, LINKS, amount_words, code_list, count, spell_words
from lotwalk.recall.words.evidence import mark
from lotwalk.values.units import Units

_ANSWERED = {True: "yes", False: "NO", None: "called"}
_REACHED = {True: "reached", False: "NOT reached", None: "called"}


class HoldRow(NamedTuple):
    """A lot to hold: how much is on hand, where, and since which entry it is on hold, or NO."""

    level: str
    lot: str
    kind: str
    on_hand: str
    place: str
    held: str


def hold_rows(found: Iterable[Hold], kinds: Kinds, units: Units) -> list[HoldRow]:
    """Return a row for each lot to hold."""
    return [
        HoldRow(
            str(one.level),
            one.code,
            kinds.things[one.kind].title,
            _on_hand(one, units),
            one.where or "",
            f"since {one.held}" if one.held else "NO",
        )
        for one in found
    ]


def _on_hand(one: Hold, units: Units) -> str:
    amount = amount_words(one.amount, one.unit, units)
    if not amount:
        return "not known how much"
    if one.growing:
        return f"up to {amount}, still growing"
    return f"{amount}, counted" if one.counted else f"up to {amount}, not counted"


class CallRow(NamedTuple):
    """A customer to call: what they got in all, in how many deliveries, and who called them already."""

    customer: str
    name: str
    contact: str
    phone: str
    level: str
    got: str
    deliveries: str
    last: str
    told: str


def call_rows(found: Iterable[Call], units: Units) -> list[CallRow]:
    """Return a row for each customer to call."""
    return [
        CallRow(
            one.customer,
            one.name,
            one.contact,
            one.phone,
            str(one.level),
            f"{_got(one, units)} of {count(len(one.lots), 'lot')}",
            str(len(one.deliveries)),
            one.last[:10],
            "; ".join(f"{_REACHED[reached]} {name}" for name, reached in one.told),
        )
        for one in found
    ]


def _got(one: Call, units: Units) -> str:
    return amounts_words(one.amounts, units) or "an amount not written down"


def amounts_words(amounts: Mapping[str, Decimal], units: Units) -> str:
    """Return amounts by unit in words: `12 oz and 3 pieces`; nothing for none."""
    return " and ".join(amount_words(amount, unit, units) for unit, amount in amounts.items())


class FirstCallRow(NamedTuple):
    """A customer to call first: how much they got of what was asked about, and of all how much is in date."""

    name: str
    contact: str
    phone: str
    asked: str
    in_date: str
    told: str


def first_call_rows(found: Iterable[FirstCall], units: Units) -> list[FirstCallRow]:
    """Return a row for each customer to call first."""
    return [
        FirstCallRow(
            one.call.name or one.call.customer,
            one.call.contact,
            one.call.phone or "no number",
            amounts_words(one.asked, units),
            amounts_words(one.in_date, units) or ("some" if one.dated else ""),
            "; ".join(f"{_ANSWERED[reached]} {name}" for name, reached in one.call.told),
        )
        for one in found
    ]


class FirstCauseRow(NamedTuple):
    """What a recall could come of, told first: `mark` is `!` where a test found something."""

    mark: str
    codes: str
    kind: str
    contacts: str
    explains: str
    lots: str
    deliveries: str
    customers: str


def first_cause_rows(rows: Iterable[Together], asked: int, kinds: Kinds) -> list[FirstCauseRow]:
    """Return a row for each of these rows of candidates. `asked` is how many were asked about."""
    return [
        FirstCauseRow(
            "!" if one.positive else "",
            code_list(row.codes),
            kinds.things[one.thing.kind].title,
            str(one.contacts),
            f"{one.explains} of {asked}",
            str(len(one.lots)),
            str(len(one.deliveries)),
            str(len(one.customers)),
        )
        for row in rows
        for one in (row.first.candidate,)
    ]


class CandidateRow(NamedTuple):
    """A candidate, or several that differ in their code only, with what each reaches."""

    codes: str
    kind: str
    between: str
    link: str
    level: str
    explains: str
    others: str
    lots: str
    deliveries: str
    customers: str


def candidate_rows(
    groups: Iterable[tuple[Candidate, Sequence[str]]], asked: int, kinds: Kinds, zone: ZoneInfo, *, assumed: str = ""
) -> list[CandidateRow]:
    """Return a row for each candidate with the codes of all that are alike. `asked` is how many were asked about.

    `assumed` is what is said behind a link that is only assumed.
    """
    return [
        CandidateRow(
            code_list(codes),
            kinds.things[one.thing.kind].title,
            "; ".join(filter(None, (spell_words(one.spell, zone), mark(one.evidence)))),
            f"{LINKS[one.link]}{assumed if one.assumed else ''}",
            str(one.level),
            f"{one.explains} of {asked}",
            str(one.others),
            str(len(one.lots)),
            str(len(one.deliveries)),
            str(len(one.customers)),
        )
        for one, codes in groups
    ]


class LevelRow(NamedTuple):
    """How much lies in a level or closer."""

    level: str
    how: str
    lots: str
    deliveries: str
    customers: str


def level_rows(totals: Iterable[LevelTotal]) -> list[LevelRow]:
    """Return a row for each level."""
    return [
        LevelRow(str(one.level), LEVELS[one.level], str(one.lots), str(one.deliveries), str(one.customers))
        for one in totals
    ]


class FirstLevelRow(NamedTuple):
    """How much lies in a level or closer, or in all that a cause reached (`+`), and how much of it is in date."""

    level: str
    how: str
    lots: str
    deliveries: str
    customers: str
    dated: str


def first_level_rows(totals: Sequence[LevelTotal], first: Urgent) -> list[FirstLevelRow]:
    """Return a row for each level, and one for each cause that adds to what is held and called first."""
    return [
        *(
            FirstLevelRow(*row, str(first.dated[one.level]))
            for row, one in zip(level_rows(totals), totals, strict=True)
        ),
        *(
            FirstLevelRow(
                "+", f"all that {one.code} reached", *map(str, (one.lots, one.deliveries, one.customers, one.dated))
            )
            for one in first.reaches
        ),
    ]


class RankedRow(NamedTuple):
    """A row of ranked candidates: contacts, the cells of the 2x2 table, relative risk, 95 % interval, Fisher's p."""

    codes: str
    spell: str
    tests: str
    contacts: str
    cells: tuple[str, ...]
    risk: str
    interval: str
    chance: str


def ranked_rows(rows: Iterable[Together], zone: ZoneInfo, *, digits: int, endless: str) -> list[RankedRow]:
    """Return each row of ranked candidates: risks to so many digits, and the word for one without a limit.

    A row tells of the likeliest in it, and names the others that the book cannot tell from it.
    """
    return [
        RankedRow(
            _together(row),
            spell_words(one.candidate.spell, zone),
            mark(one.candidate.evidence),
            str(one.candidate.contacts),
            tuple(map(str, one.table.cells)),
            endless if one.risk.value is None else f"{one.risk.value:.{digits}f}",
            "" if one.risk.low is None else f"{one.risk.low:.{digits}f} to {one.risk.high:.{digits}f}",
            f"{one.chance:.2g}",
        )
        for row in rows
        for one in [row.first]
    ]


_MOST_TOGETHER = 3
"""So many of the others in a row are named; of more the number is told too."""


def _together(row: Together) -> str:
    first, others = row.codes[0], row.others
    if not others:
        return first
    named = others if len(others) <= _MOST_TOGETHER else others[: _MOST_TOGETHER - 1]
    left = len(others) - len(named)
    return f"{first}, and {', '.join(named)}{f' and {left} more' if left else ''}"
