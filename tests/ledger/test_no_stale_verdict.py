"""Whatever is recorded, amended and voided, and in whatever order: every verdict in force is what a judge says now."""

from contextlib import suppress
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.ledger.farm import Clock, number

from lotwalk.book import Book
from lotwalk.errors import Refused
from lotwalk.ledger.evidence import BookEvidence
from lotwalk.ledger.read.versions import entries
from lotwalk.ledger.verify.entries import verify
from lotwalk.ledger.write.names import Names

ITEMS = ("M-01", "M-02")
TIMES = (
    "2026-03-02 08:00", "2026-03-02 09:00", "2026-03-02 10:00", "2026-03-02", "2026-03-02 pm", "2026-03-03 08:00",
    "2026-03-03", "2026-03-02..2026-03-03",
)  # fmt: skip
READINGS = ("60 ppm", "110 ppm", "300 ppm")

ROWS = ({"batch": "T-1"}, {"batch": "T-2", "trays": "M-01"}, {"batch": "T-1", "finished": "no"})

some_items = st.lists(st.sampled_from(ITEMS), min_size=1, unique=True)
times = st.sampled_from(TIMES)


def _maybe(strategy: st.SearchStrategy) -> st.SearchStrategy:
    return st.none() | strategy


def _record(kind: str, **fields: st.SearchStrategy) -> st.SearchStrategy:
    return st.fixed_dictionaries({"kind": st.just(kind), "at": times, "by": st.just("TO"), **fields})


RECORDS = st.one_of(
    _record("washing", items=some_items, method=st.just("brushed"), seen_clean=_maybe(st.booleans())),
    _record(
        "sanitising",
        items=some_items,
        solution=st.sampled_from(("SOL-1", "SOL-2")),
        reading=_maybe(st.sampled_from(READINGS)),
        contact=st.sampled_from(("2 min", "30 s")),
        washed=_maybe(st.just("yes")),
        **{"with": _maybe(st.just("STRIPS"))},
    ),
    _record(
        "solution-check",
        solution=st.sampled_from(("SOL-1", "SOL-2")),
        reading=st.sampled_from(READINGS),
        **{"with": _maybe(st.just("STRIPS"))},
    ),
    _record("contact", what=st.just("fell down"), items=some_items),
    _record("equipment-change", items=some_items, what=st.sampled_from(("lost", "found"))),
    _record(
        "sowing",
        batch=st.sampled_from(("T-1", "T-2")),
        seed=st.just("S-1 9 g"),
        trays=st.just(2),
        equipment=some_items,
    ),
    _record("disposal", items=st.sampled_from(({"lot": "T-1"}, {"lot": "T-2", "trays": "1"}))),
    _record(
        "harvest",
        lot=st.sampled_from(("H-1", "H-2")),
        amount=st.just("1 kg"),
        cut=st.just("with roots"),
        **{"from": st.sampled_from(ROWS)},
    ),
    _record("water-test", source=st.just("WELL"), e_coli=st.sampled_from(("<1 MPN/100 mL", "4 MPN/100 mL"))),
    _record(
        "corrective-action",
        about=st.sampled_from(("E23", "E25", "WELL")),
        cause=st.just("a crack"),
        action=st.just("mended"),
        closed=_maybe(st.just("2026-03-03")),
    ),
)  # fmt: skip

CHANGES = st.one_of(
    st.fixed_dictionaries({"at": times}),
    st.fixed_dictionaries({"items": some_items}),
    st.fixed_dictionaries({"reading": _maybe(st.sampled_from(READINGS))}),
    st.fixed_dictionaries({"seen_clean": st.booleans()}),
    st.fixed_dictionaries({"equipment": some_items}),
    st.fixed_dictionaries({"e_coli": st.sampled_from(("<1 MPN/100 mL", "4 MPN/100 mL"))}),
    st.fixed_dictionaries({"closed": _maybe(st.just("2026-03-03"))}),
    st.fixed_dictionaries({"expires": st.sampled_from(("2026-01-01", "2027-01-01"))}),
    st.fixed_dictionaries({"type": st.sampled_from(("sanitiser", "packaging"))}),
    st.fixed_dictionaries({"porous": st.booleans()}),
    st.fixed_dictionaries({"discard_at": st.sampled_from(("2026-03-02 08:30", "2026-03-04"))}),
    st.fixed_dictionaries({"product": st.sampled_from(("BLEACH", "SOL-1", "BOXES"))}),
    st.just({"about": "MAINS"}),
    st.just({"uses": {"use": "food contact", "min": "50 ppm", "max": "200 ppm", "contact": "20 s"}}),
    st.just(None),
)  # fmt: skip
"""Changes to whatever entry they fit; None voids it."""

STEPS = st.lists(
    st.one_of(
        st.lists(RECORDS, min_size=1, max_size=3),
        st.tuples(st.sampled_from((9, 15, 16, 20, 21, 22, 23, 24, 25, 26, 27, 28, 29, 30)), CHANGES),
    ),
    min_size=3,
    max_size=14,
)

FIRST = [
    {"kind": "supplies-receipt", "lot": "STRIPS", "product": "Strips", "type": "test strips", "expires": "2027-01-01"},
    {"kind": "solution", "lot": "SOL-1", "product": "BLEACH", "reading": "110 ppm", "volume": "10 L"},
    {"kind": "solution", "lot": "SOL-2", "product": "SOL-1", "volume": "10 L"},
]
"""E20 to E22."""


def outdated(book: Book) -> list[str]:
    """The judged entries in force of which a judge, asked now, says something else than the book does."""
    found = []
    with book.ledger.reading() as connection:
        judge = book.ledger.judging(connection, book.ledger.settings(connection))
        evidence = BookEvidence(connection, book.ledger.kinds, Names(connection, book.ledger.kinds), 0)
        for version in list(entries(connection)):
            if version.verdict is None:
                continue
            said = version.verdict
            now = judge.judge(
                book.ledger.kinds[version.kind].verdict,
                evidence.entry(version.seq),
                [*said.passed, *said.failed],
                evidence,
            )
            breaks = {reason.text for reason in now.reasons if reason.kind == "break"}
            told = {reason.text for reason in said.because("break")}
            if set(now.passed) != set(said.passed) or breaks != told:
                found.append(f"{version.name} {version.kind}: {said} but {now}")
    return found


@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
@given(STEPS)
def test_every_verdict_in_force_is_what_a_judge_says_now(farms, tmp_path, steps):
    path = tmp_path / "farm.db"
    for old in tmp_path.glob("farm.db*"):
        old.unlink()
    path.write_bytes(Path(farms("sqlite")).read_bytes())
    book = Book.open(str(path), clock=Clock())
    try:
        book.record_all([{"at": "2026-03-01", "by": "TO", **entry} for entry in FIRST])
        for step in steps:
            # A step that does not fit what is in the book by now is refused, and changes nothing.
            with suppress(Refused):
                if isinstance(step, list):
                    book.record_all(step, again=True)
                elif step[1] is None:
                    book.void(step[0], because="a slip", by=["TO"])
                else:
                    book.amend(step[0], step[1], because="a slip", by=["TO"])
        assert outdated(book) == []
        with book.ledger.reading() as connection:
            assert verify(connection, book.ledger.kinds).why == ""
    finally:
        book.ledger.engine.dispose()


def test_an_outdated_verdict_would_be_seen(lite):
    """What the property rests on: a verdict that evidence contradicts is found."""
    lite.record_all([{"at": "2026-03-01", "by": "TO", **entry} for entry in FIRST])
    dip = {"kind": "sanitising", "at": "2026-03-02 09:00", "by": "TO", "items": "M-01", "solution": "SOL-1"}
    (receipt,) = lite.record_all([{**dip, "reading": "110 ppm", "contact": "2 min", "washed": True}])
    assert receipt.verdict.passed == ("M-01",)
    assert outdated(lite) == []
    judging = lite.ledger.judging

    class Deaf:
        """A judge to whom nothing is ever wrong, and so files no version."""

        number = 1
        largest_file = None
        keeps = 14 * 86_400

        def judge(self, name, entry, codes, evidence):
            return receipt.verdict

        def notices(self, name, entry, evidence, *, verdict=""):
            return ()

    lite.ledger.judging = lambda connection, settings: Deaf()
    lite.amend(number(receipt), {"reading": "11 ppm"}, because="misread", by=["TO"])
    lite.ledger.judging = judging
    assert len(outdated(lite)) == 1
