"""The sample farm's cold store, lots and follow-up against samples/README.md: what was planted, and nothing else."""

from datetime import date

from tests.checks import sample

from lotwalk.checks.subjects import followup, stock, storage


def test_the_cold_store():
    found = {name: one.finding for name, one in sample.standing(storage).items()}
    (warm,) = sample.named([("storage-check", "2026-01-22 17:52")])
    unread = {name: one for name, one in found.items() if one.check == "unread-store"}
    # warm-store and warm-delivery
    assert set(found) - set(unread) == {f"warm-store:COLD:{warm}", "warm-delivery:D-1217"}
    assert "46 F" in found[f"warm-store:COLD:{warm}"].text
    assert "47 F" in found["warm-delivery:D-1217"].text
    # no-sunday-check: the days on which nobody read COLD while something stood there are Sundays, every one.
    with sample.farm().ledger.reading() as connection:
        records = sample.asked(connection)
        days = {
            (one.about[0], records.date(one.span[0]), records.date(one.span[1])) for one in unread.values() if one.span
        }
    cold = {(first, last) for place, first, last in days if place == "COLD"}
    assert cold == {
        (day, day) for day in ("2026-01-11", "2026-01-18", "2026-01-25", "2026-02-01", "2026-02-08", "2026-02-15")
    }
    assert {date.fromisoformat(first).weekday() for first, _ in cold} == {6}
    # On the two Sundays after that what was left stood in the fridge, and nobody read that either.
    fridge = [(first, last) for place, first, last in days if place == "FRIDGE"]
    assert any(first <= "2026-02-22" <= last for first, last in fridge)
    assert any(first <= "2026-03-01" <= last for first, last in fridge)


def test_lots_and_what_was_lent():
    found = sample.standing(stock)
    (hold,) = sample.named([("hold", "2026-02-06 15:40")])
    assert set(found) == {
        "held-moved:P-0130-5:D-1159",
        f"hold-open:P-0130-5:{hold}",
        "past-date:P-0211-6:D-1230",
        "bare:P-0223-1",
        "not-home:CR-03:D-1119",
        "not-home:CR-04:D-1213",
        "not-home:CR-05:D-1213",
        "overdrawn:S-ARU-1",
        "overdrawn:H-0218-2",
        "over-delivered:P-0126-2",
        "unaccounted:P-0114-6",
    }
    assert found["held-moved:P-0130-5:D-1159"].finding.severity == "critical"


def test_what_was_left_open():
    found = sample.standing(followup)
    (pests,) = sample.named([("site-check", "2026-02-04")])
    (first, second) = sample.named([("corrective-action", "2026-02-09 10:00")]) | sample.named(
        [("corrective-action", "2026-02-20 17:40")]
    )
    (call,) = sample.named([("recall-contact", "2026-02-13 10:00")])
    (leftover,) = sample.named([("sample", "2026-02-19 16:10")])
    assert set(found) == {
        "to-mend:Q-1",
        "to-mend:Q-2",
        "to-mend:Q-3",
        f"to-mend:{pests}",
        f"action-late:{first}",
        f"action-late:{second}",
        f"not-reached:RUDDLE:{call}",
        f"sample-positive:S-FEN-1:{leftover}",
    }
    assert not any(one.closed_by for one in found.values())
    assert found["to-mend:Q-2"].actions == () and found["to-mend:Q-1"].actions != ()
