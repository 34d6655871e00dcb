"""The sample farm at the end of its time, and what single checks say of it. Loaded once for all tests."""

from collections.abc import Iterable
from functools import cache
from types import ModuleType

from tests.sample import ledger

from lotwalk.book import Book, rules_in_force
from lotwalk.checks.findings import Standing, find
from lotwalk.checks.records import Records
from lotwalk.finding import Due
from lotwalk.ledger.read.versions import entries
from lotwalk.values.times import read_when, zone
from lotwalk.values.units import Units

PLACE = zone("America/New_York")
END = "2026-03-01"
"""The farm's last day. The checks are asked in the night after it."""


@cache
def farm() -> Book:
    """The farm's book."""
    return Book.open(str(ledger()))


def asked(connection, on: str = END) -> Records:
    """The farm as the checks read it at the end of a day."""
    book = farm()
    settings = book.ledger.settings(connection)
    rules = rules_in_force(connection, settings)
    now = read_when(on, PLACE).end + 1
    return Records(connection, book.ledger.kinds, rules, Units.load(settings.measures), settings.zone, now)


def standing(*checks: ModuleType, on: str = END) -> dict[str, Standing]:
    """What these modules find, by id, with what was done about it."""
    with farm().ledger.reading() as connection:
        found = find(asked(connection, on), [check.findings for check in checks])
    for one in found:
        assert one.finding.text and one.finding.do and one.finding.basis, one
    assert len({one.finding.id for one in found}) == len(found)
    return {one.finding.id: one for one in found}


def due(*checks: ModuleType, on: str = END) -> list[Due]:
    """What these modules say is to be done, by day."""
    with farm().ledger.reading() as connection:
        records = asked(connection, on)
        return sorted((one for check in checks for one in check.dues(records)), key=lambda one: (one.by, one.about))


def named(described: Iterable[tuple[str, str]]) -> set[str]:
    """The names of entries (E12) told by kind and time as written, each of which must be the only one."""
    found: set[str] = set()
    with farm().ledger.reading() as connection:
        for kind, at in described:
            (one,) = [entry for entry in entries(connection, kind) if entry.at == at]
            found.add(one.name)
    return found
