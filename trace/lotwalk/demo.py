"""The made-up farm of `samples/`: its sheets and corrections, loaded as if they had been typed at the time."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from lotwalk.book import Book
from lotwalk.data import folder
from lotwalk.errors import Problem, Refused
from lotwalk.ledger.ledger import Progress
from lotwalk.ledger.model import Receipt
from lotwalk.ledger.read.things import find_thing
from lotwalk.ledger.read.uses import makers
from lotwalk.ledger.read.versions import entries
from lotwalk.sheets.events import parse
from lotwalk.sheets.reader import Sheet, read_sheet_file
from lotwalk.values.text import Written
from lotwalk.values.times import When, read_when, zone

AFTER = 1_800
"""Seconds. A sheet is typed this long after the last thing on it, or when the one before it was, if that is later."""

COMPLAINTS = ("Q-1", "Q-2")
"""The two complaints that meet in one load of mats."""

_SETTINGS = "farm.yaml"
_CORRECTIONS = "corrections.yaml"


@dataclass(slots=True)
class Clock:
    """A clock that stands still until it is set: `now` is in seconds since 1970."""

    now: float

    def __call__(self) -> float:
        """Return the time."""
        return self.now


def settings() -> dict[str, Any]:
    """Return the sample farm's settings, all of them text; its own rule set as the path of its file."""
    found = {name: str(value) for name, value in _mapping(_SETTINGS).items()}
    return found | {"rules": str(folder("samples") / found["rules"])}


def sheets() -> list[Sheet]:
    """Return the sample farm's sheets in the order to load them: their names start with their numbers."""
    paths = sorted(folder("samples").glob("[0-9]*.yaml"))
    return [read_sheet_file(path) for path in paths]


def start(where: str, first: Sheet) -> tuple[Book, Clock]:
    """Begin the sample farm's ledger at the time of the first sheet's first entry."""
    farm = settings()
    clock = Clock(min(when.start for when in _times(first, farm["timezone"])))
    return Book.start(where, clock=clock, **farm), clock


def load(book: Book, clock: Clock, sheet: Sheet, progress: Progress | None = None) -> list[Receipt]:
    """Load one sheet, typed half an hour after the last thing on it. Returns its receipts."""
    latest = max(when.end for when in _times(sheet, settings()["timezone"]))
    clock.now = max(clock.now, latest + 1 + AFTER)
    return book.load(sheet, folder=folder("samples"), progress=progress)


def correct(book: Book, clock: Clock) -> list[Receipt]:
    """Make the farm's corrections, half an hour after the last sheet. Returns the receipt of each."""
    clock.now += AFTER
    return [_correct(book, one) for one in _corrections()]


def load_all(where: str, told: Callable[[Sheet, list[Receipt]], None] | None = None) -> Book:
    """Load the whole sample farm into a new ledger and return it; `told` hears of each sheet that is in."""
    all_sheets = sheets()
    book, clock = start(where, all_sheets[0])
    for sheet in all_sheets:
        receipts = load(book, clock, sheet)
        if told:
            told(sheet, receipts)
    correct(book, clock)
    return book


def _times(sheet: Sheet, timezone: str) -> Iterator[When]:
    place = zone(timezone)
    return (read_when(str(entry["at"]), place) for entry in sheet.entries)


def _correct(book: Book, correction: Mapping[str, Written]) -> Receipt:
    number = _number(book, correction["entry"])
    because, by = str(correction["because"]), (str(correction["by"]),)
    if "void" in correction:
        return book.void(number, because=because, by=by)[0]
    changes = correction["set"]
    assert isinstance(changes, dict), f"{_CORRECTIONS}: `set` holds fields"
    return book.amend(number, changes, because=because, by=by)[0]


def _number(book: Book, described: Written) -> int:
    """The entry that made the thing named, or the only one of that kind at that time."""
    assert isinstance(described, dict), f"{_CORRECTIONS}: `entry` holds `made`, or `kind` and `at`"
    with book.ledger.reading() as connection:
        if "made" in described:
            thing = find_thing(connection, str(described["made"]))
            assert thing is not None, f"{_CORRECTIONS}: {described['made']} is not in the book"
            return makers(connection, [thing.id])[thing.id].number
        when = read_when(str(described["at"]), book.ledger.settings(connection).zone)
        found = list(entries(connection, str(described["kind"]), start=when.start, end=when.end))
    assert len(found) == 1, f"{_CORRECTIONS}: {len(found)} entries are {described}"
    return found[0].number


def _mapping(name: str) -> Mapping[str, Written]:
    content = _read(name)
    assert isinstance(content, dict), f"{name} holds a mapping"
    return content


def _corrections() -> list[Mapping[str, Written]]:
    content = _read(_CORRECTIONS)
    assert isinstance(content, list), f"{_CORRECTIONS} holds a list"
    return [one for one in content if isinstance(one, dict)]


def _read(name: str) -> Written | None:
    problems: list[Problem] = []
    content = parse((folder("samples") / name).read_text(encoding="utf-8"), problems)
    if problems:
        raise Refused(problems)
    return content
