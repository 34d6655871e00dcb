"""A corrective action closes a finding; nothing is dropped; the period shows what concerns it."""

from tests.checks.farm import ZONE

from lotwalk.checks.by_subject import CHECKS
from lotwalk.checks.findings import find, within
from lotwalk.values.times import read_when

SOWN = "- {kind: sowing, at: 2026-03-02, batch: T-1, seed: S-1 20 g, trays: '1', equipment: M-1, water: none}\n"


def action(about, closed=""):
    return (
        f"- {{kind: corrective-action, at: 2026-03-03 09:00, about: '{about}', cause: slip lost, action: asked Tess"
        f"{f', closed: {closed}' if closed else ''}}}\n"
    )


def test_an_action_that_names_the_finding_closes_it_once_it_is_closed(farm_anywhere):
    (name,) = farm_anywhere.load(SOWN, typed="2026-03-03 08:00")
    finding = f"no-hour:{name}"
    (open_action,) = farm_anywhere.load(action(finding), typed="2026-03-03 10:00")
    standing = farm_anywhere.standing()[finding]
    assert standing.open and standing.actions == (open_action,)
    (closing,) = farm_anywhere.load(action(finding, "2026-03-03"))
    standing = farm_anywhere.standing()[finding]
    assert not standing.open and standing.closed_by == closing
    assert finding not in farm_anywhere.found("no-hour")


def test_an_action_about_the_entry_alone_leaves_its_findings_open(farm):
    """An entry can have several: a mixed-up bag that was binned says nothing of who sowed it."""
    (name,) = farm.load(SOWN, typed="2026-03-03 08:00")
    farm.load(action(name, "2026-03-03"), typed="2026-03-03 10:00")
    assert farm.standing()[f"no-hour:{name}"].open


def test_an_action_about_a_complaint_closes_what_asks_for_one(farm):
    level = "- {kind: complaint, at: 2026-03-02 15:00, code: Q-1, customer: CAFE, type: spoilage, description: slimy}\n"
    farm.load(level, typed="2026-03-02 16:00")
    assert farm.standing()["to-mend:Q-1"].open
    farm.load(action("Q-1", "2026-03-03"), typed="2026-03-03 10:00")
    assert not farm.standing()["to-mend:Q-1"].open


def test_a_day_before_it_happened_closes_nothing(farm):
    (name,) = farm.load(SOWN, typed="2026-03-03 08:00")
    farm.load(action(f"no-hour:{name}", "2026-02-01"), typed="2026-03-03 10:00")
    assert farm.standing()[f"no-hour:{name}"].open


def test_a_day_yet_to_come_closes_nothing(farm):
    (name,) = farm.load(SOWN, typed="2026-03-03 08:00")
    farm.load(action(f"no-hour:{name}", "2026-03-09"), typed="2026-03-03 10:00")
    assert farm.standing()[f"no-hour:{name}"].open


def test_a_voided_action_closes_nothing(farm):
    (name,) = farm.load(SOWN, typed="2026-03-03 08:00")
    (closing,) = farm.load(action(f"no-hour:{name}", "2026-03-03"), typed="2026-03-03 10:00")
    farm.book.void(int(closing[1:]), because="not true", by=["TO"])
    assert farm.standing()[f"no-hour:{name}"].open


def test_a_finding_keeps_its_name_when_the_entry_is_amended(farm):
    (name,) = farm.load(SOWN, typed="2026-03-03 08:00")
    before = set(farm.standing())
    farm.book.amend(int(name[1:]), {"note": "by the window"}, because="forgot", by=["TO"])
    assert set(farm.standing()) == before


def test_a_finding_of_an_entry_that_was_amended_since_is_open_again(farm):
    (name,) = farm.load(SOWN, typed="2026-03-03 08:00")
    farm.load(action(f"no-hour:{name}", "2026-03-03"), typed="2026-03-03 10:00")
    assert not farm.standing()[f"no-hour:{name}"].open
    farm.book.amend(int(name[1:]), {"equipment": "M-1, M-2"}, because="two mats", by=["TO"])
    assert farm.standing()[f"no-hour:{name}"].open


def test_a_period_shows_what_concerns_it(farm):
    (name,) = farm.load(SOWN, typed="2026-03-03 08:00")

    def ids(first, last):
        with farm.book.ledger.reading() as connection:
            records = farm.book.records(connection)
            start, end = read_when(first, ZONE).start, read_when(last, ZONE).end
            return {one.finding.id for one in within(find(records, CHECKS), start, end, records.now)}

    assert f"no-hour:{name}" in ids("2026-03-01", "2026-03-02")
    assert f"no-hour:{name}" not in ids("2026-03-03", "2026-03-09")
