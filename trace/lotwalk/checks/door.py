"""What is told right when an entry is written: the findings of the checks that it brings about.

The same checks make them as look over the whole book, of the entries that bear on it (`checks/nearby.py`). Which of
their findings are told stands in schemas/checks/findings.yaml.
"""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass

from lotwalk.balance import findings as balances
from lotwalk.balance.limits import Limits
from lotwalk.checks.findings import Check
from lotwalk.checks.lots import Lots
from lotwalk.checks.nearby import Nearby
from lotwalk.checks.subjects import cleaning, equipment, people, record_keeping, stock
from lotwalk.checks.subjects.water import tests
from lotwalk.finding import SEVERITIES, Finding, sought
from lotwalk.ledger.entry import Entry
from lotwalk.values.roles import MAKES, Role
from lotwalk.values.times import DAY

_CHECKS: Sequence[Check] = (
    stock.of_lots,
    people.findings,
    tests.findings,
    cleaning.used_unclean,
    equipment.absent,
    record_keeping.without_a_medium,
)
TOLD_WITHIN = "records.told_within"
_WITHIN = 3 * DAY
"""Where the book's rule set is from before that number."""
_WORKED = (Role.MADE, Role.TOOK, Role.HANDLED, Role.TENDED)


_TO_MEND = "to_mend"


@dataclass(frozen=True, slots=True)
class AtOnce:
    """What an entry brings about: the findings to be told, the gravest first, and how many are only counted."""

    findings: tuple[Finding, ...] = ()
    older: int = 0


def at_once(records: Nearby) -> dict[str, AtOnce]:
    """Return what is to be told of each of the records' own entries, by its name.

    Told are the findings of entries that are not older than the rule set says, or of which something is still on hand
    or growing. Of the others there is their number.
    """
    if not any(_may_bring_about(entry) for entry in records.own):
        return {}
    found: dict[str, dict[str, Finding]] = {}
    naming, taking = _naming(records.own, MAKES), _naming(records.own, (Role.TOOK,))
    for by, findings in ((naming, _of_entries(records)), (taking, _of_balances(records))):
        for one in findings:
            if sought()[one.check].at_once:
                for name in dict.fromkeys(name for code in (*one.about, *one.closers) for name in by.get(code, ())):
                    found.setdefault(name, {}).setdefault(one.id, one)
    entries = {entry.name: entry for entry in records.own}
    return {name: _told(records, entries[name], list(of_it.values())) for name, of_it in found.items()}


def next_step(records: Nearby) -> dict[str, str]:
    """Return what to ask the book next, by the names of those own entries that tell of a complaint or the like."""
    telling = set(records.kinds.telling(_TO_MEND))
    made = {
        entry.name: [use.code for use in entry.version.uses if use.role is Role.MADE]
        for entry in records.own
        if entry.kind in telling
    }
    return {
        name: f"`lotwalk recall {codes[0]}` says what it may come of, what to hold and whom to call"
        for name, codes in made.items()
        if codes
    }


def _may_bring_about(entry: Entry) -> bool:
    return any(use.role not in (Role.PLACE, Role.BY) for use in entry.version.uses)


def _naming(own: Collection[Entry], roles: Collection[Role]) -> dict[str, list[str]]:
    """The entries by what a finding names them by: their own names, and the codes that they use in these roles."""
    naming: dict[str, list[str]] = {entry.name: [entry.name] for entry in own}
    for entry in own:
        for code in {use.code for use in entry.version.uses if use.role in roles}:
            naming.setdefault(code, []).append(entry.name)
    return naming


def _of_entries(records: Nearby) -> Iterator[Finding]:
    for check in _CHECKS:
        yield from check(records)


def _of_balances(records: Nearby) -> Iterator[Finding]:
    lots, limits = records.weighed(), Limits.of(records.rules)
    yield from balances.of_lots(records.connection, lots, records.kinds, limits, records.units, records.now)


def _told(records: Nearby, entry: Entry, found: Sequence[Finding]) -> AtOnce:
    within = records.seconds(TOLD_WITHIN) if TOLD_WITHIN in records.rules.limits else _WITHIN
    ordered = sorted(found, key=lambda one: (SEVERITIES.index(one.severity), one.id))
    if within is None or entry.end >= records.now - within or _is_left(records, entry):
        return AtOnce(tuple(ordered))
    return AtOnce(older=len(ordered))


def _is_left(records: Nearby, entry: Entry) -> bool:
    """Whether some of what an entry made or worked with is on hand or growing, as far as the book knows."""
    lots = records.share(Lots)
    codes = {use.code for use in entry.version.uses if use.role in _WORKED}
    return any(not lots.nearly_gone(code) for code in codes if code in lots.balances)
