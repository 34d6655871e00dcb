"""`recall` tells who was kept away and what a test found, and looks at a person as at any other cause.

The farm is that of `tests/recall/kept_away.py`: BOB, kept away from 10 to 13 March, cut H-2 and H-3 around that time.
"""

import csv
import io
import json

import pytest
from tests.recall.kept_away import KEPT, Kept, away, complaint


@pytest.fixture
def kept(tmp_path, monkeypatch):
    path = tmp_path / "kept.db"
    farm = Kept(str(path))
    farm.load(KEPT + complaint())
    farm.book.ledger.engine.dispose()
    monkeypatch.setenv("LOTWALK_LEDGER", str(path))
    return farm


def _plain(told):
    return " ".join(told.split())


def test_the_first_screen_names_who_was_kept_away_with_the_days(lotwalk, kept):
    told = lotwalk("recall", "Q-1").lines[:24]
    assert (
        "BOB was kept away, 2026-03-10 to 2026-03-13. Harvest E12 of 2026-03-11 handled it: a candidate cause."
        in _plain("\n".join(told))
    )
    assert (
        "Kept away: BOB was to be kept away from 2026-03-10 07:00 (E26) to 2026-03-13 07:00 (E27). BOB handled what was"
        " asked about: harvest E12 of 2026-03-11 09:00. So BOB is a candidate cause."
        in _plain(lotwalk("recall", "Q-1", "--causes").out)
    )


def test_the_answer_for_programs_has_the_person_with_the_time_and_the_reach(lotwalk, kept):
    answer = lotwalk("recall", "Q-1", "--format", "json").json
    (bob,) = [one for one in answer["candidates"] if one["kind"] == "person"]
    assert (bob["code"], bob["ring"], bob["lots"], bob["deliveries"]) == ("BOB", 3, ["H-2", "H-3"], ["D-2", "D-3"])
    assert bob["spell"] == {"from": "2026-03-08T07:00:00+00:00", "until": "2026-03-15T07:00:59+00:00"}
    cut = {"entry": "E12", "at": "2026-03-11 09:00"}
    assert answer["kept_away"] == [
        {
            "person": "BOB",
            "since": {"entry": "E26", "at": "2026-03-10 07:00"},
            "back": {"entry": "E27", "at": "2026-03-13 07:00"},
            "candidate": True,
            "behind": [cut],
            "handled": [cut],
        }
    ]
    assert answer["people_followed"] is False
    assert [one["customer"] for one in answer["calls"]] == ["CAFE"]
    rows = csv.DictReader(io.StringIO(lotwalk("recall", "Q-1", "--format", "csv").out))
    assert [(row["delivery"], row["lot"]) for row in rows] == [("D-2", "H-2"), ("D-3", "H-3")]


def test_people_who_were_not_followed_are_told_of_with_the_way_to_follow_them(lotwalk, kept):
    assert "People were not followed: `--through people` follows everybody who did any of it." in _plain(
        lotwalk("recall", "D-5", "--all").out
    )
    assert "No other people were followed: `--through people` follows everybody" in _plain(
        lotwalk("recall", "Q-1", "--all").out
    )
    answer = lotwalk("recall", "D-5", "--through", "people")
    assert "people were followed" not in answer.out
    assert "People were not followed" not in answer.out
    assert lotwalk("recall", "D-5", "--through", "people", "--format", "json").json["people_followed"] is True


def test_a_person_is_looked_at_closely_as_any_cause(lotwalk, kept):
    told = _plain(lotwalk("recall", "Q-1", "--cause", "BOB").out)
    assert "BOB is followed from 2026-03-08 07:00 to 2026-03-15 07:00, around the time of being kept away." in told
    path = told[told.index("If it was BOB, this is how it could have come to Q-1 (D-2):") :]
    assert "1. 2026-03-11 09:00, harvest (E12), by BOB: BOB made H-2." in path
    assert "2. 2026-03-17 09:00, delivery (E13), by TO: H-2 went out as D-2, to CAFE." in path
    detail = lotwalk("recall", "Q-1", "--cause", "BOB", "--why", "D-3", "--format", "json").json["detail"]
    assert [step["through"] for step in detail["to_asked"]["Q-1"]] == ["BOB", "H-2"]
    assert [step["through"] for step in detail["to_why"]] == ["BOB", "H-3"]


def test_why_a_delivery_is_in_the_scope_leads_to_the_person(lotwalk, kept):
    """Only BOB ties D-3 to D-2."""
    detail = lotwalk("recall", "Q-1", "--why", "D-3", "--format", "json").json["detail"]
    assert detail["cause"] == "BOB"
    assert "D-3: if it was BOB, this is how it could have come from there:" in _plain(
        lotwalk("recall", "Q-1", "--why", "D-3").out
    )


def test_a_person_who_was_asked_for_has_a_path_too(lotwalk, kept):
    detail = lotwalk("recall", "D-5", "--through", "people", "--cause", "TO", "--format", "json").json["detail"]
    # TO sowed, cut and sent D-5: the shortest way there is that TO sent it.
    assert [(step["through"], step["to"]) for step in detail["to_asked"]["D-5"]] == [("TO", "D-5")]


def test_the_days_around_are_those_of_the_rule_set(lotwalk, kept, tmp_path):
    rules = tmp_path / "ours.yaml"
    rules.write_text(
        "title: Ours\nbased_on: general\npeople:\n"
        "  before_exclusion: {value: 3 days, confidence: practice}\n"
        "  after_return: {value: 0 h, confidence: practice}\n"
    )
    farm = ("--name", "F", "--location", "L", "--timezone", "UTC", "--measures", "metric", "--by", "TO")
    assert lotwalk("record", "farm", *farm, "--rules", rules).status == 0
    answer = lotwalk("recall", "D-1", "--format", "json").json
    (bob,) = [one for one in answer["candidates"] if one["kind"] == "person"]
    assert bob["spell"] == {"from": "2026-03-07T07:00:00+00:00", "until": "2026-03-13T07:00:59+00:00"}


def test_a_return_typed_after_the_complaint_is_told_of_and_may_be_believed(lotwalk, kept):
    """BOB is kept away again on the 16th; the return of the 18th is written down after the complaint of the 20th."""
    entries = [away("2026-03-16 08:00"), away("2026-03-18 08:00").replace("excluded", "back")]
    for line in entries:
        fields = dict(part.split(": ", 1) for part in line.strip()[3:-1].split(", "))
        done = lotwalk("record", "fitness", *(f"--{name}={text}" for name, text in fields.items() if name != "kind"))
        assert done.status == 0
    told = _plain(lotwalk("recall", "Q-1", "--all").out)
    assert (
        "A slip about cleaning, a water test or a return to work before the complaint was written down or changed only"
        " after it (E30), so it is not counted. With --believe E30" in told
    )
    assert "BOB was to be kept away from 2026-03-16 08:00 (E29) on, with no return that counts." in told
    answer = json.loads(lotwalk("recall", "Q-1", "--believe", "E30", "--format", "json").out)
    assert answer["late"] == []


def test_what_a_test_found_stands_on_the_first_screen_and_first_among_the_causes(lotwalk, kept):
    sample = ("--of", "S-2", "--test", "Salmonella", "--result", "detected in 25 g", "--by", "TO")
    assert lotwalk("record", "sample", *sample, "--at", "2026-03-22 09:00").status == 0
    first = _plain("\n".join(lotwalk("recall", "Q-1").lines[:24]))
    assert "SALMONELLA in S-2, seed lot (E29, 2026-03-22, detected in 25 g)." in first
    told = lotwalk("recall", "Q-1", "--causes").out
    first = _plain("\n".join(told.splitlines()[:24]))
    # S-2 went into T-2, H-2 and D-2 alone.
    assert (
        "Tested positive: S-2 (seed lot), for Salmonella: sample E29 of 2026-03-22 09:00, `detected in 25 g`. If it was"
        " this: 2 lots, 1 delivery." in first
    )
    assert told.index("These tested positive:") < told.index("The narrowest first:")
    answer = lotwalk("recall", "Q-1", "--format", "json").json
    assert answer["found"] == [
        {
            "code": "S-2",
            "kind": "seed-lot",
            "germs": ["Salmonella"],
            "looked_for": "Salmonella",
            "says": "detected in 25 g",
            "entry": "E29",
            "at": "2026-03-22 09:00",
            "candidate": True,
        }
    ]
    assert answer["candidates"][0]["code"] == answer["ranking"][0]["code"] == "S-2"
    closely = _plain(lotwalk("recall", "Q-1", "--cause", "S-2").out)
    assert "S-2: the sample of 2026-03-22 09:00 (E29), FAILED (Salmonella): `detected in 25 g`." in closely
