"""The slips that the growers type from: what stands on each, and what is typed wrongly at first and put right later."""

from dataclasses import dataclass
from typing import Any

from tests.physics import acts, cleaning, goods
from tests.physics.acts import Act
from tests.physics.farm import Farm, Style
from tests.physics.sheet import written
from tests.physics.words import Entry, at

DAY = 24 * 60
"""Minutes."""
GOOD = {"reading": "100 ppm", "contact": "120 s", "e_coli": "not detected in 100 mL"}
"""What lets an entry pass."""


@dataclass(frozen=True)
class Slip:
    """One entry, and how it is typed at first. `again`: that is struck out, and the entry typed anew."""

    entry: Entry
    typed: Entry
    again: bool = False

    @property
    def changes(self) -> dict[str, Any]:
        """What is put right: the fields that were typed otherwise, or not."""
        return {name: value for name, value in self.entry.items() if self.typed.get(name) != value}


def sheet_of(farm: Farm, done: list[Act]) -> list[Entry]:
    """Return the entries of what was done, in the order in which they are typed."""
    return [slip.entry for slip in slips_of(farm, done)]


def slips_of(farm: Farm, done: list[Act]) -> list[Slip]:
    """Return the slips of what was done, in the order in which they are typed."""
    first, last = list[Slip](), list[Slip]()
    by_code = _with_rows_by_code(done)
    for act in done:
        style = farm.styles.get(act.minute, Style())
        entries = written(act, style.how, style.silent)
        # A row that names what a batch stands on is refused before it is said that it does.
        needed = isinstance(act, acts.Sow | acts.Cover) and act.batch in by_code
        needed = needed or (isinstance(act, cleaning.Retag) and bool(by_code))
        wrong = "" if needed or (style.typo == "day" and _names_by_code(act)) else style.typo
        typed = [_typed(act, entry, wrong) for entry in entries[:1]] + entries[1:]
        slips = [Slip(*both, again=style.again and both[0] != both[1]) for both in zip(entries, typed, strict=True)]
        (last if style.late else first).extend(slips)
    return first + last


def _typed(act: Act, entry: Entry, wrong: str) -> Entry:
    """An entry as it is typed at first: a day late, without some of what it touched, or with a result too good."""
    if wrong == "day":
        return entry | {"at": at(act.minute + DAY)}
    if wrong == "result":
        return entry | {name: good for name, good in GOOD.items() if name in entry}
    if wrong == "things":
        touched = next((name for name in ("equipment", "lent") if isinstance(entry.get(name), list)), "")
        items = entry.get("items", [])
        if len(items) > 1 and all(isinstance(code, str) for code in items):
            return entry | {"items": items[1:]}
        return {name: value for name, value in entry.items() if name != touched}
    return entry


def _with_rows_by_code(done: list[Act]) -> set[str]:
    """The batches of which a row names what they stand on."""
    return set[str]().union(*map(_names_by_code, done))


def _names_by_code(act: Act) -> set[str]:
    if isinstance(act, acts.Harvest):
        return {one.batch for one in act.of if one.on}
    of = act.of if isinstance(act, goods.Pack | goods.Deliver) else (act.of,) if isinstance(act, goods.Dispose) else ()
    return {one.lot for one in of if one.on}
