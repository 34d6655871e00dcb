"""Who was to be kept away from the food is a candidate cause, from a little before until a little after that time."""

import pytest
from tests.recall.kept_away import CUTS, KEPT, Kept, away, back, complaint, crop, people, second

DAY = 86_400
AROUND = ("BOB", second("2026-03-08 07:00:00"), second("2026-03-15 07:00:59"))
"""BOB from two days before being kept away until two days after the return."""


@pytest.fixture
def farm(where):
    """On either database."""
    made = Kept(where)
    yield made
    made.book.ledger.engine.dispose()


@pytest.fixture
def lite(tmp_path):
    made = Kept(str(tmp_path / "farm.db"))
    yield made
    made.book.ledger.engine.dispose()


def test_who_cut_it_while_kept_away_is_a_candidate_with_all_that_they_did_around_that_time(farm):
    farm.load(KEPT)
    found = farm.recall("D-2")
    assert people(found) == [AROUND]
    (bob,) = [one for one in found.candidates if one.thing.code == "BOB"]
    assert (list(bob.lots), list(bob.deliveries)) == (["H-2", "H-3"], ["D-2", "D-3"])
    assert (bob.link, bob.level, bob.explains, bob.others, bob.assumed) == ("contact", 3, 1, 1, False)
    assert [one.code for one in found.deliveries] == ["D-2", "D-3"]
    # By level 2 only what went into D-2 is told; what BOB did else comes with level 3.
    assert [(one.level, one.deliveries) for one in found.totals] == [(1, 1), (2, 1), (3, 2), (4, 2), (5, 2)]


@pytest.mark.parametrize("asked", ["D-1", "D-4", "D-5"])
def test_who_did_nothing_of_it_near_that_time_is_no_candidate(lite, asked):
    lite.load(KEPT)
    found = lite.recall(asked)
    assert people(found) == []
    assert [one.code for one in found.deliveries] == [asked]


def test_without_an_exclusion_nobody_is(lite):
    found = lite.recall("D-2")
    assert (people(found), found.kept_away, found.people_followed) == ([], (), False)


def test_the_days_before_and_after_are_a_setting(lite):
    lite.load(KEPT)
    found = lite.recall("D-1", before_exclusion=3 * DAY, after_return=0)
    assert people(found) == [("BOB", second("2026-03-07 07:00:00"), second("2026-03-13 07:00:59"))]
    assert [one.code for one in found.deliveries] == ["D-1", "D-2"]


def test_who_is_still_away_is_followed_to_the_last_entry(lite):
    lite.load(away("2026-03-10 07:00"))
    found = lite.recall("D-4")
    assert people(found) == [("BOB", second("2026-03-08 07:00:00"), None)]
    assert [one.code for one in found.deliveries] == ["D-2", "D-3", "D-4"]


def test_times_that_overlap_are_one_and_others_are_each_their_own(lite):
    """Away on the 7th (from 08:00) to the 8th 08:00, then from the 10th to the 13th: with two days around each, the
    first ends on the 10th 08:00 and the second begins on the 8th 07:00. With none around they are two, and H-2 lies in
    the second only."""
    lite.load(away("2026-03-07 08:00") + back("2026-03-08 08:00") + KEPT)
    assert people(lite.recall("D-2")) == [("BOB", second("2026-03-05 08:00:00"), second("2026-03-15 07:00:59"))]
    apart = {"before_exclusion": 0, "after_return": 0}
    second_time = ("BOB", second("2026-03-10 07:00:00"), second("2026-03-13 07:00:59"))
    first_time = ("BOB", second("2026-03-07 08:00:00"), second("2026-03-08 08:00:59"))
    assert people(lite.recall("D-2", **apart)) == [second_time]
    assert sorted(people(lite.recall("D-1", "D-2", **apart))) == [first_time, second_time]


def test_one_who_is_sent_home_twice_before_coming_back_is_away_all_the_time(lite):
    lite.load(away("2026-03-10 07:00") + away("2026-03-12 07:00") + back("2026-03-13 07:00"))
    assert people(lite.recall("D-2")) == [AROUND]


def test_a_day_without_an_hour_counts_whole(lite):
    """Away on the 13th and back on the 15th, no hours: followed from the 11th 00:00 to the 17th 23:59:59."""
    lite.load(away("2026-03-13") + back("2026-03-15"))
    assert people(lite.recall("D-2")) == [("BOB", second("2026-03-11 00:00:00"), second("2026-03-17 23:59:59"))]


def test_an_exclusion_that_is_written_down_after_the_complaint_counts(lite):
    lite.load(complaint())
    lite.load(KEPT)
    found = lite.recall("Q-1")
    # The return, typed after the complaint, would only make it narrower, so it is not counted unless it is believed.
    assert people(found) == [("BOB", second("2026-03-08 07:00:00"), None)]
    (name,) = found.late
    assert people(lite.recall("Q-1", believe=[int(name[1:])])) == [AROUND]


def test_a_late_return_of_somebody_who_did_none_of_it_is_not_told_of(lite):
    lite.load(complaint(about="D-5"))
    lite.load(KEPT)
    assert lite.recall("Q-1").late == ()


def test_a_return_after_the_complaint_was_never_late(lite):
    lite.load(complaint(at="2026-03-12 09:00") + KEPT)
    found = lite.recall("Q-1")
    assert (people(found), found.late) == ([AROUND], ())


@pytest.mark.parametrize("type", ["foreign body", "label"])
def test_what_people_do_not_carry_leads_to_nobody(lite, type):
    lite.load(KEPT + complaint(type=type))
    found = lite.recall("Q-1")
    assert (people(found), found.kept_away) == ([], ())
    assert [one.code for one in found.deliveries] == ["D-2"]


@pytest.mark.parametrize("type", ["illness", "chemical or taste", "allergen", "spoilage", "other"])
def test_what_people_may_carry_does(lite, type):
    lite.load(KEPT + complaint(type=type))
    assert people(lite.recall("Q-1")) == [AROUND]


def test_one_that_people_may_carry_among_those_asked_about_is_enough(lite):
    lite.load(KEPT + complaint(type="label") + complaint("Q-2", "D-3") + complaint("Q-3", "D-3", "foreign body"))
    assert people(lite.recall("Q-1", "Q-3")) == []
    assert people(lite.recall("Q-1", "Q-2")) == [AROUND]
    # What is asked about without a complaint is of no type.
    assert people(lite.recall("Q-1", "D-3")) == [AROUND]


def test_people_asked_for_are_walked_whole_and_those_kept_away_stay_rows_of_their_own(lite):
    lite.load(KEPT)
    found = lite.recall("D-2", through=["people"])
    assert {("BOB",), ("TO",), AROUND} == set(people(found))
    whole = next(one for one in found.candidates if one.thing.code == "BOB" and one.spell is None)
    assert list(whole.deliveries) == ["D-1", "D-2", "D-3", "D-4"]
    assert found.people_followed


def test_somebody_who_only_shares_a_knife_with_it_is_a_candidate_too(lite):
    """AL, kept away on the 11th, cuts H-6 with KN-1 on the 11th at 08:00; TO cuts H-7 with it an hour later."""
    lite.load(
        "- {kind: person, at: 2026-02-01 08:00, by: TO, code: AL, name: Al Fen}\n"
        "- {kind: equipment, at: 2026-02-01 08:00, by: TO, codes: KN-1, type: tool}\n"
        + crop("6", "AL", "2026-03-11 08:00").replace("cut: above the medium", "cut: above the medium, equipment: KN-1")
        + crop("7", "TO", "2026-03-11 09:00").replace("cut: above the medium", "cut: above the medium, equipment: KN-1")
        + away("2026-03-11 06:00", "AL")
        + back("2026-03-12 06:00", "AL")
    )
    found = lite.recall("D-7")
    assert [code for code, *_ in people(found)] == ["AL"]
    (al,) = [one for one in found.candidates if one.thing.code == "AL"]
    assert (list(al.deliveries), al.level) == (["D-6", "D-7"], 3)
    # H-6 is no part of what was asked about: AL is told of as a candidate, and did not handle it.
    (told,) = found.kept_away
    assert ([one.at for one in told.behind], told.handled) == (["2026-03-11 08:00"], ())


def told(found):
    return [(one.person, one.candidate, one.since.at, one.back.at if one.back else None) for one in found.kept_away]


def test_who_handled_it_within_a_fortnight_is_named_candidate_or_not(lite):
    """H-1 was cut 70 hours before BOB was kept away, H-4 74 hours after the return."""
    excluded, returned = lite.load(KEPT)
    for asked, candidate in {"D-1": False, "D-2": True, "D-3": True, "D-4": False}.items():
        found = lite.recall(asked)
        assert told(found) == [("BOB", candidate, "2026-03-10 07:00", "2026-03-13 07:00")]
        (one,) = found.kept_away
        assert (one.since.entry, one.back.entry) == (excluded, returned)
        assert [done.at for done in one.handled] == [CUTS[asked.removeprefix("D-")][1]]
    assert told(lite.recall("D-5")) == []


@pytest.mark.parametrize(
    ("since", "until", "named"),
    [
        # H-1 was cut on the 7th at 09:00; fourteen days after it are the 21st at 09:00.
        ("2026-03-21 09:00", "2026-03-23 09:00", True),
        ("2026-03-21 09:01", "2026-03-23 09:00", False),
        # Fourteen days before it are 21 February at 09:00.
        ("2026-02-18 09:00", "2026-02-21 09:00", True),
        ("2026-02-18 09:00", "2026-02-21 08:59", False),
        # Long away, and long back.
        ("2026-01-18 09:00", "2026-01-21 08:59", False),
    ],
)
def test_a_fortnight_is_fourteen_days(lite, since, until, named):
    lite.load(away(since) + back(until))
    assert [one.person for one in lite.recall("D-1").kept_away] == (["BOB"] if named else [])


def test_who_watered_it_handled_it(lite):
    lite.load(
        "- {kind: person, at: 2026-02-01 08:00, by: TO, code: AL, name: Al Fen}\n"
        "- {kind: growing-check, at: 2026-03-05 08:00, by: AL, batches: T-5, water: none}\n"
        + away("2026-03-05 12:00", "AL")
        + back("2026-03-06 12:00", "AL")
    )
    found = lite.recall("D-5")
    assert told(found) == [("AL", True, "2026-03-05 12:00", "2026-03-06 12:00")]
    assert [done.at for done in found.kept_away[0].handled] == ["2026-03-05 08:00"]
