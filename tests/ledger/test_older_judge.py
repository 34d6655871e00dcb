"""A judge that has learned since: what it would decide otherwise is counted, doubted on request, and filed anew.

The farm of this file, by hand. Bleach has a label: 100 to 200 ppm. Mats M-01 and M-02 are dipped at 110 ppm in E21,
M-03 at 150 ppm in E22; both were washed. The judge of today passes both. `Stricter` asks for 120 ppm: M-01 and M-02
fail, and M-03 passes. So a batch T-1 on M-01 (E23) before the dip and T-2 on M-01 (E24) after it meet by the mat only
where E21 is not believed.
"""

from dataclasses import replace

import pytest
from tests.ledger.farm import current, history, load, records

from lotwalk.checks.by_subject import CHECKS
from lotwalk.checks.findings import find
from lotwalk.errors import LedgerError
from lotwalk.ledger.keep.migrating import bring_up_to_date
from lotwalk.ledger.read.things import find_thing
from lotwalk.ledger.verdict import Reason
from lotwalk.ledger.verify.entries import verify
from lotwalk.recall.asking.asked import ask
from lotwalk.recall.recall import recall
from lotwalk.walk.distrust import doubt
from lotwalk.walk.model import FORWARD, Start
from lotwalk.walk.walk import walk

FARM = """
    common: {by: TO}
    entries:
    - {kind: sowing, at: 2026-03-01 10:00, batch: T-1, seed: S-1 200 g, trays: 1, equipment: M-01, water: none}
    - {kind: harvest, at: 2026-03-09 09:00, lot: H-1, from: T-1, amount: 1 kg, cut: above the medium, equipment: none}
    - {kind: solution, at: 2026-03-10 07:30, lot: SOL-1, product: BLEACH, amount: 20 mL, volume: 10 L}
    - {kind: sanitising, at: 2026-03-10 08:00, items: "M-01, M-02", solution: SOL-1, reading: 110 ppm, contact: 2 min,
       washed: yes}
    - {kind: sanitising, at: 2026-03-10 08:10, items: M-03, solution: SOL-1, reading: 150 ppm, contact: 2 min,
       washed: yes}
    - {kind: sowing, at: 2026-03-11 10:00, batch: T-2, seed: S-2 200 g, trays: 1, equipment: M-01, water: none}
    - {kind: harvest, at: 2026-03-19 09:00, lot: H-2, from: T-2, amount: 1 kg, cut: above the medium, equipment: none}
    - {kind: delivery, at: 2026-03-19 12:00, code: D-2, customer: CAFE, items: H-2 1 kg}
"""
"""E20 to E27: the dips are E23 and E24."""
WEAK, GOOD = "E23", "E24"
COMPLAINT = """
    - {kind: complaint, at: 2026-03-21 09:00, by: TO, code: Q-1, customer: CAFE, type: illness, deliveries: D-2,
       description: two ill}
"""


class Learned:
    """The judge of today, under another number, and with a least strength of its own where it is given.

    With `asks` it wants something written that nobody wrote, and lets it pass.
    """

    def __init__(self, judge, number: int, least: int | None = None, asks: str = "") -> None:
        self.today = judge
        self.number = number
        self.least = least
        self.asks = asks
        self.largest_file = judge.largest_file
        self.keeps = judge.keeps

    def judge(self, name, entry, codes, evidence):
        verdict = self.today.judge(name, entry, codes, evidence)
        reading = entry.values.get("reading")
        if self.least and reading and reading[0].value < self.least:
            weak = Reason((), f"Below {self.least} ppm", "dip again")
            verdict = replace(verdict, passed=(), failed=(*verdict.passed, *verdict.failed), reasons=(weak,))
        if self.asks:
            verdict = replace(verdict, reasons=(*verdict.reasons, Reason((), f"No {self.asks}", "write it", "unshown")))
        return replace(verdict, judge=self.number)

    def notices(self, name, entry, evidence, *, verdict=""):
        return self.today.notices(name, entry, evidence)


def learn(book, number: int, least: int | None = None, asks: str = "") -> None:
    """From now on the book is judged so."""
    today = book.ledger.judging
    book.ledger.judging = lambda connection, settings: Learned(today(connection, settings), number, least, asks)


def reached(book, code: str, *distrusted: str) -> set[str]:
    with book.ledger.reading() as connection:
        older = book.older_verdicts(connection)
        start = [Start(find_thing(connection, code).id)]
        return walk(connection, FORWARD, start, doubt=doubt(connection, distrusted, older)).codes()


def scope(book, **more) -> set[str]:
    with book.ledger.reading() as connection:
        kinds, older = book.ledger.kinds, book.older_verdicts(connection)
        found = recall(connection, ask(connection, ["Q-1"]), kinds, older=older, **more)
        return set(found.lots)


def counted(book) -> tuple[int, list[str]]:
    """How many clean breaks of the recall's scope are an older judge's, and what `check` says of it."""
    with book.ledger.reading() as connection:
        older = book.older_verdicts(connection)
        found = recall(connection, ask(connection, ["Q-1"]), book.ledger.kinds, older=older)
        findings = [one.finding for one in find(book.records(connection), CHECKS)]
    return found.older, [one.text for one in findings if one.check == "older-judge"]


def test_each_record_says_its_form_and_each_verdict_its_judge(lite):
    load(lite, FARM)
    assert {record["form"] for record in records(lite)} == {2}
    assert {record["verdict"]["judge"] for record in records(lite) if "verdict" in record} == {
        lite.ledger.judging(None, lite.rules()[0]).number
    }


def test_what_an_older_judge_passed_is_counted_and_can_be_doubted(lite):
    load(lite, FARM)
    load(lite, COMPLAINT)
    assert counted(lite) == (0, [])
    learn(lite, 7, least=120)
    # M-01 alone bounds a spell of this recall: its dip on 10 March, before T-2.
    assert counted(lite) == (1, ["2 verdicts rest on an older judge, and may come out otherwise by now."])
    assert "T-2" not in reached(lite, "T-1")
    assert "T-2" in reached(lite, "T-1", "older-judge")


def test_migrating_files_anew_what_comes_out_otherwise_and_nothing_else(book, tmp_path):
    load(book, FARM)
    head = book.ledger.head
    with book.ledger.reading() as connection:
        before = head(connection)
    learn(book, 7, least=120)
    done = bring_up_to_date(book.ledger, tmp_path / "before.db")
    assert [(receipt.name, receipt.verdict.failed) for receipt in done.otherwise] == [(WEAK, ("M-01", "M-02"))]
    assert (done.judged, done.backup.exists()) == (2, True)
    first, second = history(book, WEAK)
    assert (first.verdict.passed, second.verdict.failed) == (("M-01", "M-02"), ("M-01", "M-02"))
    assert (second.because, second.amended_by, second.verdict.judge) == ("judge 7", (), 7)
    assert len(history(book, GOOD)) == 1
    assert "T-2" in reached(book, "T-1")
    with book.ledger.reading() as connection:
        assert verify(connection, book.ledger.kinds, before).ok
        # The new version, and the settings which say that every verdict was looked at.
        assert head(connection).size == before.size + 2
        assert book.ledger.settings(connection).judge == 7
        assert book.older_verdicts(connection) == []
    again = bring_up_to_date(book.ledger, tmp_path / "again.db")
    assert (again.backup, again.otherwise) == (None, ())
    assert not (tmp_path / "again.db").exists()


def test_a_change_of_the_settings_judges_nothing_again(lite, tmp_path):
    load(lite, FARM)
    learn(lite, 7, least=120)
    lite.record("farm", at="2026-03-20 09:00", name="Tarn End", location="Tarn Lane", timezone="Europe/London",
                measures="us", rules="us")  # fmt: skip
    with lite.ledger.reading() as connection:
        assert len(lite.older_verdicts(connection)) == 2
    assert bring_up_to_date(lite.ledger, tmp_path / "before.db").judged == 2


def test_a_failure_found_after_the_complaint_counts_at_once(lite, tmp_path):
    load(lite, FARM)
    load(lite, COMPLAINT)
    assert "H-1" not in scope(lite)
    learn(lite, 7, least=120)
    bring_up_to_date(lite.ledger, tmp_path / "before.db")
    # M-01 is not clean between T-1 and T-2 any more: what stood on it first could be the cause.
    assert "H-1" in scope(lite)


def test_a_pass_found_after_the_complaint_is_late_evidence(lite, tmp_path):
    """A judge that asks for 120 ppm judged first, and today's learns that 100 ppm is enough."""
    today = lite.ledger.judging
    learn(lite, 7, least=120)
    load(lite, FARM)
    load(lite, COMPLAINT)
    assert "H-1" in scope(lite)
    lite.ledger.judging = today
    learn(lite, 8)
    bring_up_to_date(lite.ledger, tmp_path / "before.db")
    assert current(lite, WEAK).verdict.passed == ("M-01", "M-02")
    assert "H-1" in scope(lite)
    assert "H-1" not in scope(lite, believe=[number_of(WEAK)])


def test_what_only_gains_something_that_nobody_wrote_is_filed_anew(lite, tmp_path):
    load(lite, FARM)
    learn(lite, 7, asks="hardness")
    done = bring_up_to_date(lite.ledger, tmp_path / "before.db")
    assert [(receipt.name, receipt.verdict.passed) for receipt in done.otherwise] == [
        (WEAK, ("M-01", "M-02")),
        (GOOD, ("M-03",)),
    ]
    assert current(lite, WEAK).verdict.because("unshown")[-1].text == "No hardness"


def test_what_passed_before_the_complaint_and_passes_still_is_not_late(lite, tmp_path):
    """It is filed after the complaint, and yet nothing in it was found after it."""
    load(lite, FARM)
    load(lite, COMPLAINT)
    learn(lite, 7, asks="hardness")
    bring_up_to_date(lite.ledger, tmp_path / "before.db")
    assert len(history(lite, WEAK)) == 2
    assert "H-1" not in scope(lite)


def test_what_failed_between_and_passes_again_is_late(lite, tmp_path):
    """Passed before the complaint; then a judge asked for 120 ppm, and the next one for no more than today's."""
    today = lite.ledger.judging
    load(lite, FARM)
    load(lite, COMPLAINT)
    learn(lite, 7, least=120)
    bring_up_to_date(lite.ledger, tmp_path / "before-7.db")
    lite.ledger.judging = today
    learn(lite, 8)
    bring_up_to_date(lite.ledger, tmp_path / "before-8.db")
    assert current(lite, WEAK).verdict.passed == ("M-01", "M-02")
    assert "H-1" in scope(lite)


def test_what_a_person_changed_after_the_complaint_is_late_however_it_was_judged(lite):
    """The reading that counts was written after it."""
    load(lite, FARM)
    load(lite, COMPLAINT)
    lite.amend(number_of(WEAK), {"reading": "115 ppm"}, because="misread", by=["TO"])
    assert current(lite, WEAK).verdict.passed == ("M-01", "M-02")
    assert "H-1" in scope(lite)


def number_of(name: str) -> int:
    return int(name[1:])


def test_a_later_change_of_evidence_is_judged_by_the_new_judge(lite, tmp_path):
    load(lite, FARM)
    learn(lite, 7, least=120)
    bring_up_to_date(lite.ledger, tmp_path / "before.db")
    lite.amend(number_of(GOOD), {"reading": "105 ppm"}, because="misread", by=["TO"])
    assert current(lite, GOOD).verdict.failed == ("M-03",)


def test_a_copy_that_cannot_be_made_leaves_the_ledger_as_it_was(lite, tmp_path):
    load(lite, FARM)
    learn(lite, 7, least=120)
    (tmp_path / "before.db").write_text("something else")
    before = records(lite)
    with pytest.raises(LedgerError, match="there is a file here already"):
        bring_up_to_date(lite.ledger, tmp_path / "before.db")
    assert records(lite) == before
