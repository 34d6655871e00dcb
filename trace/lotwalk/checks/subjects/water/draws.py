"""Which entries drew which water, and what it wetted."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from lotwalk.checks.records import Records
from lotwalk.kinds.model import Field
from lotwalk.ledger.entry import Entry
from lotwalk.values.roles import Role

PURPOSES = {"wets_food": "harvest", "wets_surfaces": "surfaces"}
"""The facts that a field for water tells, with the rule set's words for that use."""


@dataclass(frozen=True, slots=True)
class Draw:
    """One entry that drew from a source. `assumed`: it named no water, and the place's usual water counts.

    `uses` are the rule set's words for what the water wetted, and `lots` the lots that it went to.
    """

    record: Entry
    assumed: bool
    uses: frozenset[str]
    lots: tuple[str, ...]


def draws(records: Records) -> Mapping[str, Sequence[Draw]]:
    """Return the draws from each water source by its code, by time."""
    found: dict[str, list[Draw]] = {}
    for record in records.followed:
        for use in record.version.uses:
            if use.role is Role.DREW:
                field = records.kind(record).fields.get(use.field)
                draw = Draw(record, use.assumed, _uses(field), _lots(record, records))
                found.setdefault(use.code, []).append(draw)
    return found


def _uses(field: Field | None) -> frozenset[str]:
    told = {fact.name for fact in field.facts} if field else set()
    return frozenset(PURPOSES[fact] for fact in told if fact in PURPOSES)


def _lots(record: Entry, records: Records) -> tuple[str, ...]:
    """The lots that the entry made, worked on or looked after."""
    codes = [use.code for use in record.version.uses if use.role in (Role.MADE, Role.HANDLED, Role.TENDED)]
    return tuple(code for code in dict.fromkeys(codes) if (thing := records.thing(code)) and thing.cls == "lot")
