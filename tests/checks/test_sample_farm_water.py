"""The sample farm's water, read against what samples/README.md says was planted: found, and nothing else."""

from tests.checks import sample

from lotwalk.checks.subjects.water import plan as water_plan
from lotwalk.checks.subjects.water import tests as water

NAMED = [("sowing", "2026-02-03 09:30"), ("growing-check", "2026-02-04 07:33"), ("growing-check", "2026-02-05 07:36")]
ASSUMED = [
    ("sowing", "2026-02-02 14:35"), ("growing-check", "2026-02-02 17:07"), ("growing-check", "2026-02-03"),
    ("growing-check", "2026-02-03 17:31"), ("sowing", "2026-02-04 14:59"), ("growing-check", "2026-02-04 17:28"),
    ("sowing", "2026-02-05 09:05"), ("growing-check", "2026-02-05 17:10"), ("sowing", "2026-02-06 14:56"),
    ("sowing", "2026-02-06 15:12"), ("sowing", "2026-02-06 16:20"), ("growing-check", "2026-02-06 17:11"),
    ("growing-check", "2026-02-08 07:48"),
]  # fmt: skip


def test_the_planted_gaps_and_no_others():
    found = sample.standing(water, water_plan)
    (failure,) = sample.named([("water-test", "2026-02-02 08:25")])
    (mended,) = sample.named([("corrective-action", "2026-02-06 14:00")])
    drawn = {f"water-drawn:WELL:{name}" for name in sample.named(NAMED + ASSUMED)}
    assert set(found) == {f"water-test:WELL:{failure}", "water-paper:MAINS:TC-VILLAGE-2025", *drawn}
    assert found[f"water-test:WELL:{failure}"].closed_by == mended
    assert "4 MPN/100 mL" in found[f"water-test:WELL:{failure}"].finding.text
    silent = {name for name, one in found.items() if "names no water" in one.finding.text}
    assert silent == {f"water-drawn:WELL:{name}" for name in sample.named(ASSUMED)}
    # The paper ran out on 31 January; the new one, of 12 February, came on the 20th.
    paper = found["water-paper:MAINS:TC-VILLAGE-2025"].finding
    assert "TC-VILLAGE-2025 held until 2026-01-31; TC-VILLAGE-2026 holds from 2026-02-12" in paper.text


def test_what_comes_next():
    by = {(one.by, one.about[0]) for one in sample.due(water_plan)}
    # Two good tests since the failure: two more are due, one a quarter. The well was looked at on 18 February.
    assert ("2026-05-25", "WELL") in by
    assert ("2027-02-18", "WELL") in by
