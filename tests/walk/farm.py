"""Small random ledgers, written through the front door, and the walk over them by brute force.

The ledgers are written in one kind of record, `act`, that can use anything in any role; its judge believes what the
entry says. The brute force is the design's definition of "leads to", spelled out over all pairs of entries, and a
search over every state that a path can be in. It shares no code with the walk.
"""

import os
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st

from lotwalk.book import Book
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.ledger import Ledger
from lotwalk.ledger.verdict import Verdict
from lotwalk.sheets.reader import read_sheet
from lotwalk.store import engine as store

KINDS = Path(__file__).parent / "kinds"
ITEMS = ("M1", "M2", "K1")
WATERS = ("W1", "W2")
FIELDS = ("made", "bought", "mixed", "took", "tended", "handled", "touched", "drew", "cleaned", "tested")
ROLE = {"made": "made", "bought": "made", "mixed": "made"}
DAY = 86_400
CHECKS = settings(
    max_examples=int(os.environ.get("LOTWALK_FARMS", "50")),
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
"""Each test tries 50 random farms, or as many as LOTWALK_FARMS says."""
BASE = int(datetime(2026, 3, 2, tzinfo=UTC).timestamp())


class StatedJudge:
    """Believes what an act says of itself."""

    number = 1
    largest_file: int | None = None
    keeps = 14 * 86_400

    def judge(self, name: str, entry: Any, codes: Sequence[str], evidence: Any) -> Verdict:
        good = str(entry.values.get("good", "")).split()
        passed = tuple(code for code in codes if code in good)
        return Verdict(passed, tuple(code for code in codes if code not in passed), (), ())

    def notices(self, name: str, entry: Any, evidence: Any, *, verdict: str = "") -> Sequence[str]:
        """Say nothing at once."""
        return ()


@dataclass(eq=False)
class Act:
    """One act as the brute force sees it. `sheet` 0 is no attested sheet."""

    number: int
    at: str
    start: int
    end: int
    fields: dict[str, tuple[str, ...]]
    good: frozenset[str] = frozenset()
    sheet: int = 0
    line: int = 0
    void: bool = False

    def written(self) -> dict[str, Any]:
        out: dict[str, Any] = {"kind": "act", "at": self.at, "by": "TO"}
        out |= {name: list(codes) for name, codes in self.fields.items() if codes}
        if self.fields.get("mixed"):
            out["agent"] = "sanitiser"
        if self.good:
            out["good"] = " ".join(sorted(self.good))
        return out


@dataclass(frozen=True, eq=False)
class Node:
    """An act, or one of the two parts of an act of which some items passed and others failed."""

    act: Act
    sources: dict[str, str]
    sinks: dict[str, str]
    clears: frozenset[str]
    part: int

    def before(self, other: "Node | Act") -> bool:
        """Surely before."""
        one, two = self.act, other.act if isinstance(other, Node) else other
        if one.end < two.start:
            return True
        overlap = one.start <= two.end and two.start <= one.end
        # What went on for days has no line that it was done on.
        if any(act.end - act.start >= 90_000 for act in (one, two)):
            return False
        return overlap and one.sheet != 0 and one.sheet == two.sheet and one.line < two.line


def times() -> st.SearchStrategy[tuple[str, int, int]]:
    """Minutes, half days, dates, and spans, crowded into five days so that many overlap."""
    day = st.integers(0, 4)

    def minute(d: int, h: int) -> tuple[str, int, int]:
        start = BASE + d * DAY + h * 3600
        return f"2026-03-{2 + d:02d} {h:02d}:00", start, start + 59

    def date(d: int) -> tuple[str, int, int]:
        return f"2026-03-{2 + d:02d}", BASE + d * DAY, BASE + (d + 1) * DAY - 1

    def half(d: int, late: bool) -> tuple[str, int, int]:
        start = BASE + d * DAY + (43_200 if late else 0)
        return f"2026-03-{2 + d:02d} {'pm' if late else 'am'}", start, start + 43_199

    def span(d: int, more: int) -> tuple[str, int, int]:
        last = d + more
        return f"2026-03-{2 + d:02d}..2026-03-{2 + last:02d}", BASE + d * DAY, BASE + (last + 1) * DAY - 1

    return st.one_of(
        st.builds(minute, day, st.sampled_from((8, 9, 12, 17))),
        st.builds(minute, day, st.sampled_from((8, 9, 12, 17))),
        st.builds(date, day),
        st.builds(half, day, st.booleans()),
        st.builds(span, st.integers(0, 3), st.integers(1, 2)),
    )


@st.composite
def farms(draw: st.DrawFn, most: int = 14, plain_tests: bool = False) -> list[Act]:
    """A list of acts in the order in which they are recorded; each names only lots made before it.

    With `plain_tests` an act that tests water does nothing else, as a water test in real life.
    """
    acts: list[Act] = []
    lots: list[str] = []
    open_sheet = 0
    for number in range(draw(st.integers(2, most))):
        at, start, end = draw(times())
        if draw(st.booleans()):
            open_sheet = draw(st.integers(0, 2))
        fields: dict[str, tuple[str, ...]] = {}
        some_lots = st.lists(st.sampled_from(lots), max_size=2, unique=True) if lots else st.just([])
        fields["took"] = tuple(draw(some_lots))
        left = [lot for lot in lots if lot not in fields["took"]]
        if left and draw(st.integers(0, 3)) == 0:
            fields[draw(st.sampled_from(("tended", "handled")))] = (draw(st.sampled_from(left)),)
        items = draw(st.lists(st.sampled_from(ITEMS), max_size=3, unique=True))
        cut = draw(st.integers(0, len(items)))
        clean = draw(st.booleans())
        fields["cleaned"] = tuple(items[:cut]) if clean else ()
        fields["touched"] = tuple(items[cut:]) if clean else tuple(items)
        waters = draw(st.lists(st.sampled_from(WATERS), max_size=2, unique=True))
        testing = draw(st.integers(0, 2)) == 0
        fields["tested"] = tuple(waters) if testing else ()
        fields["drew"] = () if testing else tuple(waters)
        if testing and plain_tests:
            fields = {"tested": fields["tested"], "cleaned": (), "touched": ()}
        new: list[str] = []
        for _ in range(draw(st.sampled_from((0, 1, 1, 2)))):
            kind = draw(st.sampled_from(("made", "made", "made", "bought", "mixed")))
            code = f"L{len(lots) + len(new)}"
            fields[kind] = (*fields.get(kind, ()), code)
            new.append(code)
        lots += new
        good = frozenset(draw(st.lists(st.sampled_from((*ITEMS, *WATERS)), max_size=5, unique=True)))
        acts.append(Act(number, at, start, end, fields, good, open_sheet))
    return _in_sheets(acts)


def _in_sheets(acts: list[Act]) -> list[Act]:
    """Keep as one attested sheet each run of acts that can stand in one: no line surely before an earlier one."""
    sheet = 0
    for before, act in pairwise([None, *acts]):
        run = before is not None and before.sheet and act.sheet and act.start >= before.start
        if not act.sheet:
            continue
        if not run:
            sheet += 1
        act.sheet = 100 + sheet
    return acts


@cache
def _kinds() -> Kinds:
    return Kinds.load(KINDS)


def write(acts: list[Act], path: Path, template: Path) -> Book:
    """Record the acts in a copy of a started ledger, through sheets, and return the book."""
    path.write_bytes(template.read_bytes())
    engine = store.open_engine(str(path))
    book = Book(Ledger(engine, _kinds(), lambda connection, settings: StatedJudge()))
    position = 0
    while position < len(acts):
        sheet = acts[position].sheet
        run = [acts[position]]
        while sheet and position + len(run) < len(acts) and acts[position + len(run)].sheet == sheet:
            run.append(acts[position + len(run)])
        _record(book, run, sheet)
        position += len(run)
    return book


def _record(book: Book, run: list[Act], sheet: int) -> None:
    if not sheet:
        book.record_all([run[0].written()], again=True)
        return
    lines = [f"# {run[0].number}: two sheets of the same text would be one", "in_order: yes", "again: yes", "entries:"]
    for act in run:
        act.line = len(lines) + 1
        lines.append("- " + ", ".join(f"{name}: {value}" for name, value in act.written().items()).join("{}"))
    book.load(read_sheet("\n".join(lines).replace("'", ""), f"sheet-{run[0].number}"))


def started(path: Path) -> Path:
    """Begin the ledger that every random farm is copied from: the items, water sources and person are in it."""
    book = Book.start(str(path), name="Test", location="Nowhere", timezone="UTC", kinds=[KINDS])
    at = "2026-03-01 08:00"
    book.record("person", at=at, by="TO", code="TO", name="Tess Orr")
    book.record("equipment", at=at, by="TO", codes=list(ITEMS), type="medium")
    for water in WATERS:
        book.record("water-source", at=at, by="TO", code=water, name=water, type="ground")
    with book.ledger.engine.connect() as connection:
        connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
    book.ledger.engine.dispose()
    return path


def afresh(acts: list[Act], template: Path) -> Book:
    """Record the acts in a copy of a started ledger beside it, in place of those of the example before."""
    path = template.with_name("farm.db")
    for old in template.parent.glob("farm.db*"):
        old.unlink()
    return write(acts, path, template)


def codes_of(acts: list[Act]) -> list[str]:
    """The codes of all items, and of all that the acts name or make."""
    return sorted({*ITEMS, *(code for act in acts for codes in act.fields.values() for code in codes)})


def numbers_of(book: Book, acts: list[Act]) -> dict[int, int]:
    """The entry number of each act: they follow the entries of the template in order."""
    with book.ledger.reading() as connection:
        size = book.ledger.head(connection).size
    return {act.number: size - len(acts) + number + 1 for number, act in enumerate(acts)}
