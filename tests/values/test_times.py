from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lotwalk.errors import NotUnderstood
from lotwalk.values.times import read_date, read_when, show_when, zone

LONDON = ZoneInfo("Europe/London")
NEW_YORK = ZoneInfo("America/New_York")
ZONES = st.sampled_from(
    [
        "UTC",
        "Europe/London",
        "America/New_York",
        "Australia/Lord_Howe",
        "Asia/Kathmandu",
        "America/Havana",
        "Asia/Beirut",
    ]
).map(ZoneInfo)
SECONDS = st.integers(1_000_000_000, 2_000_000_000)


def utc(*parts):
    return int(datetime(*parts, tzinfo=UTC).timestamp())


@pytest.mark.parametrize(
    ("text", "start", "end", "precision"),
    [
        ("2026-03-02 09:10", (2026, 3, 2, 9, 10, 0), (2026, 3, 2, 9, 10, 59), "minute"),
        ("2026-03-02T09:10", (2026, 3, 2, 9, 10, 0), (2026, 3, 2, 9, 10, 59), "minute"),
        ("2026-03-02 09:10Z", (2026, 3, 2, 9, 10, 0), (2026, 3, 2, 9, 10, 59), "minute"),
        ("2026-03-02 09:10 +01:00", (2026, 3, 2, 8, 10, 0), (2026, 3, 2, 8, 10, 59), "minute"),
        ("2026-03-02 09:10-05:30", (2026, 3, 2, 14, 40, 0), (2026, 3, 2, 14, 40, 59), "minute"),
        ("2026-03-02 09:00..10:30", (2026, 3, 2, 9, 0, 0), (2026, 3, 2, 10, 30, 59), "span"),
        ("2026-03-02 22:00 .. 2026-03-03 01:00", (2026, 3, 2, 22, 0, 0), (2026, 3, 3, 1, 0, 59), "span"),
        ("2026-03-02 09:00+01:00..10:30", (2026, 3, 2, 8, 0, 0), (2026, 3, 2, 9, 30, 59), "span"),
        ("2026-03-02..2026-03-05", (2026, 3, 2, 0, 0, 0), (2026, 3, 5, 23, 59, 59), "span"),
        ("2026-03-02 am", (2026, 3, 2, 0, 0, 0), (2026, 3, 2, 11, 59, 59), "half"),
        ("2026-03-02 PM", (2026, 3, 2, 12, 0, 0), (2026, 3, 2, 23, 59, 59), "half"),
        ("2026-03-02", (2026, 3, 2, 0, 0, 0), (2026, 3, 2, 23, 59, 59), "date"),
        # In summer London is an hour ahead.
        ("2026-07-01 09:10", (2026, 7, 1, 8, 10, 0), (2026, 7, 1, 8, 10, 59), "minute"),
        ("2026-07-01", (2026, 6, 30, 23, 0, 0), (2026, 7, 1, 22, 59, 59), "date"),
    ],
)
def test_each_form_of_a_time_is_its_first_and_last_second(text, start, end, precision):
    when = read_when(text, LONDON)
    assert (when.start, when.end, when.precision) == (utc(*start), utc(*end), precision)
    assert when.written == text


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "not a time"),
        ("yesterday", "not a time"),
        ("09:10", "not a time"),
        ("02/03/2026", "not a time"),
        ("2026-3-2", "not a time"),
        ("2026-03-02 09:10:30", "has seconds"),
        ("2026-03-02 9:10", "09:10"),
        ("2026-03-02 09:10 pm", "twelve hours"),
        ("2026-03-02 24:00", "24:00"),
        ("2026-03-02 09:60", "09:60"),
        ("2026-02-30", "no day 2026-02-30"),
        ("2026-13-01 09:10", "no day"),
        ("0202-03-02", "year"),
        ("2026-03-02 09:10+25:00", "offset"),
        ("2026-03-02 10:30..09:00", "before it starts"),
        ("2026-03-02 22:00..01:00", "both dates"),
        ("2026-03-05..2026-03-02", "before it starts"),
        ("2026-03-02..2026-03-02 09:10", "date at one end"),
        ("2026-03-02 09:10..2026-03-03", "date at one end"),
        ("2026-03-02 09:00+01:00..2026-03-02 10:30", "offset at one end"),
        ("2026-03-02 09:00..", "after and before"),
        ("..2026-03-02 09:00", "after and before"),
        ("2026-03-02 am..pm", "not a time"),
        ("2026-03-02 am +01:00", "not a time"),
        ("\u0662\u0660\u0662\u0666-03-02", "not a time"),
    ],
)
def test_what_is_no_time_is_refused_with_its_reason(text, said):
    with pytest.raises(NotUnderstood) as caught:
        read_when(text, LONDON)
    assert said in str(caught.value)
    assert caught.value.expected


def test_an_hour_that_the_clock_shows_twice_needs_its_offset():
    with pytest.raises(NotUnderstood, match="came twice") as caught:
        read_when("2026-10-25 01:30", LONDON)
    assert "2026-10-25 01:30+01:00" in caught.value.expected
    assert "2026-10-25 01:30+00:00" in caught.value.expected
    assert read_when("2026-10-25 01:30+01:00", LONDON).start == utc(2026, 10, 25, 0, 30)
    assert read_when("2026-10-25 01:30+00:00", LONDON).start == utc(2026, 10, 25, 1, 30)


def test_an_hour_that_the_clock_leaves_out_needs_its_offset():
    with pytest.raises(NotUnderstood, match="did not come") as caught:
        read_when("2026-03-08 02:30", NEW_YORK)
    assert "2026-03-08 02:30-05:00" in caught.value.expected
    assert "2026-03-08 02:30-04:00" in caught.value.expected


def test_days_on_which_the_clock_changes_have_all_their_hours():
    spring, autumn = read_when("2026-03-29", LONDON), read_when("2026-10-25", LONDON)
    assert spring.end - spring.start == 23 * 3600 - 1
    assert autumn.end - autumn.start == 25 * 3600 - 1


def test_a_day_whose_midnight_the_clock_leaves_out_starts_at_one():
    # In 2026 Beirut's clocks go forward at midnight of 29 March.
    day = read_when("2026-03-29", ZoneInfo("Asia/Beirut"))
    assert day.end - day.start == 23 * 3600 - 1
    assert day.start == read_when("2026-03-28", ZoneInfo("Asia/Beirut")).end + 1


def test_a_day_whose_last_hour_the_clock_shows_twice_ends_with_the_second():
    # In 2026 Beirut's clocks go back from the midnight that ends 24 October.
    day = read_when("2026-10-24", ZoneInfo("Asia/Beirut"))
    assert day.end - day.start == 25 * 3600 - 1


def test_a_day_that_the_calendar_left_out_is_refused():
    with pytest.raises(NotUnderstood, match="calendar skipped"):
        read_when("2011-12-30", ZoneInfo("Pacific/Apia"))


@given(ZONES, SECONDS)
def test_days_follow_each_other_without_gap_or_overlap(where, moment):
    day = datetime.fromtimestamp(moment, where).date()
    first, second = (read_when(str(one), where) for one in (day, day + timedelta(days=1)))
    assert first.end + 1 == second.start
    assert first.start <= moment <= first.end
    morning, afternoon = read_when(f"{day} am", where), read_when(f"{day} pm", where)
    assert (morning.start, morning.end + 1, afternoon.end) == (first.start, afternoon.start, first.end)


@given(ZONES, SECONDS, st.integers(0, 400_000))
def test_a_span_that_is_shown_reads_back_as_the_same_minutes(where, moment, length):
    start = moment - moment % 60
    end = start + length - length % 60 + 59
    again = read_when(show_when(start, end, where), where)
    assert (again.start, again.end) == (start, end)


@given(ZONES, SECONDS, st.integers(0, 40), st.sampled_from(["", " am", " pm"]))
def test_days_and_halves_that_are_shown_read_back_as_the_same(where, moment, days, half):
    day = datetime.fromtimestamp(moment, where).date()
    text = f"{day}{half}" if half or not days else f"{day}..{day + timedelta(days=days)}"
    when = read_when(text, where)
    assert show_when(when.start, when.end, where) == text


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("2026-03-02T09:10", "2026-03-02 09:10"),
        ("2026-03-02 09:00..2026-03-02 10:30", "2026-03-02 09:00..10:30"),
        ("2026-03-02 22:00..2026-03-03 01:00", "2026-03-02 22:00..2026-03-03 01:00"),
        ("2026-03-02 00:00..23:59", "2026-03-02"),
        ("2026-10-25 01:30+01:00", "2026-10-25 01:30+01:00"),
    ],
)
def test_times_are_shown_in_their_shortest_form(text, shown):
    when = read_when(text, LONDON)
    assert show_when(when.start, when.end, LONDON) == shown


def test_a_moment_is_shown_as_its_minute():
    assert show_when(utc(2026, 3, 2, 9, 10, 42), utc(2026, 3, 2, 9, 10, 42), LONDON) == "2026-03-02 09:10"


def test_dates_are_checked_against_the_calendar():
    assert read_date(" 2028-02-29 ") == "2028-02-29"
    for text in ("2027-02-29", "29.2.2028", "2028-2-29", "2028-02-29 09:00", ""):
        with pytest.raises(NotUnderstood):
            read_date(text)


def test_a_zone_is_found_by_its_name():
    assert zone("Europe/London").key == "Europe/London"


@pytest.mark.parametrize(
    "name", ["", "Europe/Londn", "europe/london.", "../etc/passwd", "/etc/localtime", "America", "localtime", "\x00"]
)
def test_what_is_no_zone_is_refused(name):
    with pytest.raises(NotUnderstood, match="no time zone"):
        zone(name)


def test_a_slip_in_a_zone_is_answered_with_the_zone_meant():
    with pytest.raises(NotUnderstood, match="Europe/London"):
        zone("Europe/Londn")
