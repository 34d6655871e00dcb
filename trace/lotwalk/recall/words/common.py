"""The words for what a walk and a recall answer: times, spells, links, levels, roles, and what was written."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import TYPE_CHECKING, Protocol
from zoneinfo import ZoneInfo

from lotwalk.judge.words import listed
from lotwalk.kinds.model import Field
from lotwalk.ledger.model import Version
from lotwalk.values.roles import Role
from lotwalk.values.text import Written
from lotwalk.values.times import show_when

if TYPE_CHECKING:
    from decimal import Decimal

    from lotwalk.balance.model import Balance, ScopeTotal
    from lotwalk.recall.model import Recall
    from lotwalk.values.units import Units

LINKS = {"ingredient": "by ingredient", "contact": "by contact"}

LEVELS = {
    1: "the same lot, made here",
    2: "the same bought seed or supplies",
    3: "one shared mat, tool or bench",
    4: "a chain of shared things",
    5: "only water or cleaner of the whole farm",
}
"""What a level means, in few words."""

_MEASURED = {"g": "by weight", "mL": "by volume", "count": "by the piece (trays, packs)"}

ROLES = {
    Role.TOOK: "used up",
    Role.DREW: "drawn from",
    Role.HANDLED: "worked on",
    Role.TOUCHED: "in contact",
    Role.TENDED: "tended",
    Role.MADE: "made",
    Role.CLEARED: "cleared",
    Role.CLEARED_WATER: "cleared",
    Role.ABOUT: "named",
    Role.FROM: "came from",
    Role.TO: "went to",
    Role.BY: "did it",
    Role.PLACE: "place",
    Role.NAMES: "registered",
    Role.SHARED: "shared its bath",
}


class Span(Protocol):
    """A spell as the walk gives it: first and last second, None is open."""

    @property
    def start(self) -> int | None:
        """The first second."""

    @property
    def end(self) -> int | None:
        """The last second."""


def moment(seconds: int | None, zone: ZoneInfo) -> str | None:
    """Return ISO 8601 with the offset of the zone, or None for an open end."""
    return None if seconds is None else datetime.fromtimestamp(seconds, zone).isoformat()


def minute(seconds: int, zone: ZoneInfo) -> str:
    """Return the minute in which a second lies, as people write it in that zone."""
    first = seconds - seconds % 60
    return show_when(first, first + 59, zone)


def at_words(version: Version, zone: ZoneInfo) -> str:
    """Return when it was, as written; an entry from before the farm changed its zone says which zone it means."""
    return version.at if version.zone == zone.key else f"{version.at} ({version.zone})"


def spell_words(spell: Span | None, zone: ZoneInfo) -> str:
    """Return a spell for people: `2026-03-02 09:10 to 2026-03-05 17:40`, `until ...`, `since ...`, `always`."""
    if spell is None:
        return ""
    if spell.start is None:
        return "always" if spell.end is None else f"until {minute(spell.end, zone)}"
    if spell.end is None:
        return f"since {minute(spell.start, zone)}"
    return f"{minute(spell.start, zone)} to {minute(spell.end, zone)}"


def code_list(codes: Sequence[str]) -> str:
    """Return codes as people list them, neighbours as a range; nothing for none."""
    return listed(codes) if codes else ""


def count(number: int, one: str, more: str = "") -> str:
    """Return `1 lot`, `3 lots`."""
    return f"{number:,} {one if number == 1 else more or f'{one}s'}"


def written_words(value: Written, field: Field | None = None) -> str:
    """Return what was written in a field, rows and lists on one line.

    What stands in a row's short form needs no name: `P-1 2 kg, pack size 50 g`.
    """
    if isinstance(value, dict):
        short = field.short or "" if field else ""
        names = [name for name in (field.fields if field else value) if name in value]
        bare = " ".join(written_words(value[name]) for name in names if f"{{{name}}}" in short)
        named = [
            f"{name.replace('_', ' ')} {written_words(value[name])}" for name in names if f"{{{name}}}" not in short
        ]
        return ", ".join([bare, *named] if bare else named)
    if isinstance(value, list):
        rows = any(isinstance(inner, dict) for inner in value)
        return ("; " if rows else ", ").join(written_words(inner, field) for inner in value)
    return str(value)


def silence_words(silent: Mapping[str, int]) -> list[str]:
    """Return what must be said of entries that named nothing: the scope may be larger. Empty when none did."""
    if not silent:
        return []
    told = " and ".join(f"{count(number, 'entry names', 'entries name')} no {name}" for name, number in silent.items())
    return [
        f"Silence: in this scope {told}, though there may have been some. What is not named could not be followed, so"
        " the true scope may be larger."
    ]


def box_words(found: Recall) -> str:
    """Return how many lots that travelled with what was meant are left out, and how to have them; nothing for none."""
    if not found.left_out:
        return ""
    those = f"{count(len(found.left_out), 'lot')} that travelled in the same box"
    have = "has it taken in" if len(found.left_out) == 1 else "has them taken in"
    are = "is" if len(found.left_out) == 1 else "are"
    return f"{those} {are} left out ({code_list(found.left_out)}): --with-the-box {have}, by contact."


def size_words(found: Recall) -> str:
    """Return how large a scope is: `3 lots, 1 delivery, 1 customer`."""
    lots, deliveries = count(len(found.lots), "lot"), count(len(found.deliveries), "delivery", "deliveries")
    return f"{lots}, {deliveries}, {count(len(found.customers), 'customer')}"


def amount_words(amount: Decimal | None, unit: str | None, units: Units) -> str:
    """Return an amount in the farm's measures, what is counted as pieces; nothing where it is not known."""
    if amount is None or unit is None:
        return ""
    shown = units.show(amount, unit)
    if units.dimension_of(unit) != "count":
        return shown
    return f"{shown} {'piece' if shown == '1' else 'pieces'}"


def delivered_totals(found: Balance) -> list[ScopeTotal]:
    """Return the balance of the lots of a scope that went to customers, one a unit: what was weighed comes first."""
    return [one for one in found.totals if one.sums.delivered and not one.bought]


def total_words(one: ScopeTotal, units: Units) -> str:
    """Return a balance as a sentence, with the percentage that is accounted for; what still grows is not missing."""
    sums, reckoned = one.sums, one.reckoned
    parts = [
        (sums.made, "made"),
        (sums.returned, "came back"),
        (sums.delivered, "delivered"),
        (sums.disposed, "disposed of"),
        (sums.sampled, "sampled"),
        (sums.on_hand, "on hand at the last count"),
        (one.growing, "still growing"),
        (reckoned.unaccounted, "unaccounted for"),
    ]
    told = ", ".join(f"{units.show(amount, one.unit)} {word}" for amount, word in parts if amount)
    percent = "" if reckoned.percent is None else f" {reckoned.percent:.1f} % is accounted for."
    how = _MEASURED.get(one.unit, f"in {one.unit}")
    return f"Balance of {count(len(one.lots), 'lot')} {how}: {told}.{percent}"


def doubt_words(found: Recall, narrower: Recall | None, distrusted: Sequence[str]) -> list[str]:
    """Return which cleanings were not believed and why, and what was amended since. `narrower` as if all were."""
    told = []
    if found.with_box:
        told.append(f"What travelled in the same box lies behind it too, by contact: {code_list(found.with_box)}.")
    if found.not_washed_off:
        codes = code_list(found.not_washed_off)
        told.append(f"{codes}: washing does not undo what this is about, so no cleaning counts.")
    if distrusted:
        told.append(f"Clean breaks not believed, as asked: {', '.join(distrusted)}.")
    if found.late and narrower:
        same = size_words(narrower) == size_words(found)
        scope = f"the widest scope is {'the same' if same else size_words(narrower)}"
        slip, was, it_is = ("A slip", "was", "it is") if len(found.late) == 1 else ("Slips", "were", "they are")
        about = "cleaning, a water test or a return to work" if found.late_returns else "cleaning or a water test"
        believed = " ".join(f"--believe {name}" for name in found.late)
        told.append(
            f"{slip} about {about} before the complaint {was} written down or changed only after it"
            f" ({', '.join(found.late)}), so {it_is} not counted. With {believed} {scope}."
        )
    if found.needless:
        names = " --believe ".join(found.needless)
        told.append(
            f"--believe {names} changes nothing: it was not doubted. Only what cleared something before a complaint and"
            " was written down or changed after it is not counted by itself."
        )
    if found.older:
        rests = "rests" if found.older == 1 else "rest"
        told.append(
            f"{count(found.older, 'clean break')} in this scope {rests} on an older judge, and may come out otherwise"
            " by now. Run `lotwalk migrate`, or ask again with --distrust older-judge."
        )
    if found.unshown:
        rests, them = ("rests", "it") if found.unshown == 1 else ("rest", "them")
        told.append(
            f"{count(found.unshown, 'clean break')} in this scope {rests} on a strength whose temperature or pH nobody"
            f" wrote: --distrust unshown shows the scope without {them}."
        )
    if found.changed:
        names = ", ".join(f"{name} (void)" if void else name for name, void in found.changed)
        told.append(
            f"Amended after the complaint, and walked as they are now: {names}. Look at each with `lotwalk show`."
        )
    return told
