"""Which lots were kept where, and when."""

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from lotwalk.checks.lots import Lots
from lotwalk.checks.records import Records
from lotwalk.ledger.entry import Entry
from lotwalk.values.roles import Role


@dataclass(frozen=True, slots=True)
class Kept:
    """One lot in one place, from its coming until it was moved, or until the last that is known of it."""

    lot: str
    start: int
    end: int


def kept(records: Records, lots: Lots) -> Mapping[str, Sequence[Kept]]:
    """Return what was kept in each place, by the place's code, by time.

    A lot comes into a place by the entry that makes it or moves it there, and stays until a later entry says another
    place, or else until the last entry in force that names it. What the balance does not show to be gone stays on as
    long as it keeps. A lot whose maker does not say where it went is taken to have gone where its like mostly go.
    """
    keeps = records.seconds("recall.shelf_life") or 0
    came: dict[str, list[tuple[Entry, str]]] = defaultdict(list)
    places = {record.seq: place for record in records.all if (place := _into(records, record))}
    usual: dict[str, Counter[str]] = defaultdict(Counter)
    for record in records.all:
        if record.seq in places:
            usual[record.kind][places[record.seq]] += 1
    for record in records.all:
        silent = usual[record.kind].most_common(1)
        place = places.get(record.seq) or (silent[0][0] if silent else "")
        for code in _moved(records, record) if place else ():
            came[code].append((record, place))
    found: dict[str, list[Kept]] = defaultdict(list)
    for code, steps in came.items():
        last = max(one.start for one in lots.naming(code))
        if not lots.nearly_gone(code):
            last = max(last, min(records.now, steps[0][0].end + keeps))
        for number, (record, place) in enumerate(steps):
            until = steps[number + 1][0].start if number + 1 < len(steps) else last
            found[place].append(Kept(code, record.end, max(record.end, until)))
    return {place: sorted(there, key=lambda one: (one.start, one.lot)) for place, there in found.items()}


def _into(records: Records, record: Entry) -> str:
    """The place into which an entry puts lots: one that a field of its own names, not that where it was done."""
    fields = records.kind(record).fields
    for use in record.version.uses:
        field = fields.get(use.field)
        if use.role in (Role.PLACE, Role.TO) and field and not field.common and "place" in field.things:
            return use.code
    return ""


def _moved(records: Records, record: Entry) -> list[str]:
    """The lots that an entry makes, or else those that it names without using them."""
    uses = record.version.uses
    made = [use.code for use in uses if use.role is Role.MADE]
    named = [use.code for use in uses if use.role is Role.ABOUT]
    return [code for code in made or named if (thing := records.thing(code)) and thing.cls == "lot"]
