"""The words and the JSON in which times, spells, links and verdicts are told on screen."""

from collections.abc import Sequence
from zoneinfo import ZoneInfo

from lotwalk.recall.words.common import (
    LEVELS,
    LINKS,
    ROLES,
    Span,
    code_list,
    count,
    minute,
    moment,
    silence_words,
    spell_words,
    written_words,
)
from lotwalk.values.roles import Role

__all__ = [
    "LEVELS",
    "LINKS",
    "ROLES",
    "Span",
    "code_list",
    "count",
    "minute",
    "moment",
    "role_words",
    "silence_words",
    "spell_json",
    "spell_words",
    "verdict_words",
    "written_words",
]

_VERDICTS = {
    "sanitising": ("Counts as clean", "Does NOT count as clean"),
    "water": ("Passed", "Did NOT pass"),
    "produce": ("Wash water proved", "Wash water NOT proved"),
}
"""How a judge's answer is told, by the judge's name."""


_CLEARED = {"sanitising": "counts as clean", "water": "passed its test"}


def role_words(role: Role, judge: str | None) -> str:
    """Return how an entry used a thing; what cleared it is told in the words of the judge that was asked."""
    return _CLEARED.get(judge or "", ROLES[role]) if role in (Role.CLEARED, Role.CLEARED_WATER) else ROLES[role]


def spell_json(spell: Span, zone: ZoneInfo) -> dict[str, str | None]:
    """Return a spell as JSON."""
    return {"from": moment(spell.start, zone), "until": moment(spell.end, zone)}


def verdict_words(judge: str | None, passed: Sequence[str], failed: Sequence[str]) -> list[str]:
    """Return the verdict in a line for what passed and one for what did not."""
    good, bad = _VERDICTS.get(judge or "", ("Passed", "Did NOT pass"))
    lines = [f"{good}: {code_list(passed)} ({len(passed)})"] if passed else []
    return lines + ([f"{bad}: {code_list(failed)} ({len(failed)})"] if failed else [])
