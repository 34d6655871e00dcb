"""The farm's settings: the first entry of a ledger, and changed by further ones from then on."""

import pytest
from tests.ledger.farm import SETTINGS, Clock, everything, load, records, refused

from lotwalk.book import Book, rules_in_force
from lotwalk.errors import LotwalkError, Refused
from lotwalk.judge.ruleset.rules import RuleSet
from lotwalk.ledger.verify.entries import verify

NEW = {
    "kind": "farm", "at": "2026-03-05 09:00", "name": "Tarn Side", "location": "Tarn Lane 2",
    "timezone": "America/New_York", "measures": "us", "rules": "us",
}  # fmt: skip


def in_force(book):
    with book.ledger.reading() as connection:
        return book.ledger.settings(connection)


def test_a_ledger_begins_with_its_settings(where):
    book = Book.start(where, **SETTINGS, clock=Clock(), typed_by="office", contact="Tess Orr")
    (entry,) = records(book)
    assert (entry["seq"], entry["kind"], entry["typed_by"]) == (1, "farm", "office")
    assert entry["fields"]["contact"] == "Tess Orr"
    settings = in_force(book)
    assert (settings.name, settings.location) == (SETTINGS["name"], SETTINGS["location"])
    assert (settings.zone.key, settings.measures, settings.rules) == ("Europe/London", "metric", "general")
    with book.ledger.reading() as connection:
        assert rules_in_force(connection, settings).text == RuleSet.load("general").text
    book.ledger.engine.dispose()


def test_new_settings_hold_from_their_entry_on(book):
    washing = "- {{kind: washing, at: {at}, by: TO, items: M-01, method: brushed}}\n"
    load(book, washing.format(at="2026-03-02 09:00"))
    book.record_all([NEW])
    load(book, washing.format(at="2026-03-06 09:00"))
    before, change, after = records(book)[-3:]
    assert [entry["zone"] for entry in (before, change, after)] == [
        "Europe/London",
        "Europe/London",
        "America/New_York",
    ]
    assert after["from"] - before["from"] == 4 * 86_400 + 5 * 3_600
    settings = in_force(book)
    assert (settings.name, settings.measures, settings.rules) == ("Tarn Side", "us", "us")
    with book.ledger.reading() as connection:
        assert rules_in_force(connection, settings).text == RuleSet.load("us").text
        assert verify(connection, book.ledger.kinds).why == ""


def test_settings_without_another_rule_set_keep_the_one_there_is(book):
    with book.ledger.reading() as connection:
        rules = rules_in_force(connection, book.ledger.settings(connection)).text
    book.record_all([{**NEW, "rules": "general"}])
    with book.ledger.reading() as connection:
        assert rules_in_force(connection, book.ledger.settings(connection)).text == rules
        assert len(everything(book)["attachment"]) == 1


def test_a_rule_set_of_the_growers_own_is_kept_in_the_ledger(book, tmp_path):
    """The file may be lost or changed afterwards: what was judged by stays."""
    own = tmp_path / "ours.yaml"
    own.write_text("title: Ours\nbased_on: general\nsanitising:\n  solution_life: {value: 1 h, confidence: practice}\n")
    book.record_all([{**NEW, "rules": str(own)}])
    own.unlink()
    load(
        book,
        """
        - {kind: solution, at: 2026-03-06 07:00, by: TO, lot: SOL-1, product: BLEACH, volume: 10 L}
        - {kind: washing, at: 2026-03-06 08:00, by: TO, items: M-01, method: brushed}
        """,
    )
    dip = (
        "- {kind: sanitising, at: 2026-03-06 %s, by: TO, items: M-01, solution: SOL-1, reading: 110 ppm,"
        " contact: 2 min}\n"
    )
    (early,) = load(book, dip % "07:59")
    assert [reason.text for reason in early.verdict.reasons if "1 h" in reason.text] == []
    (late,) = load(book, dip % "08:30")
    assert late.verdict.failed == ("M-01",)
    assert any("the 1 h that the rule set gives it" in reason.text for reason in late.verdict.reasons)
    with book.ledger.reading() as connection:
        assert verify(connection, book.ledger.kinds).why == ""


@pytest.mark.parametrize(
    ("changes", "problem"),
    [
        ({"rules": "nowhere"}, "rules: there is no rule set nowhere"),
        ({"timezone": "Mars/Base"}, "timezone: "),
        ({"measures": "cubits"}, "measures: `cubits` is not among the choices"),
        ({"name": None}, "name: missing"),
    ],
)
def test_settings_that_cannot_be_understood_are_refused(lite, changes, problem):
    before = everything(lite)
    with pytest.raises(LotwalkError) as caught:
        lite.record_all([{**NEW, **changes}])
    assert str(caught.value).startswith(problem)
    assert everything(lite) == before


def test_a_rule_set_that_is_not_there_is_told_with_its_line(lite):
    entry = "".join(f"  {name}: {value}\n" for name, value in {**NEW, "rules": "nowhere"}.items())
    (problem,) = refused(lite, "-" + entry[1:])
    assert problem.startswith("sheet.yaml:7: rules: there is no rule set nowhere; expected")


def test_settings_stand_alone(lite):
    """What stood beside them would be read in the time zone and the measures of those before."""
    washing = {"kind": "washing", "at": "2026-03-06", "by": "TO", "items": "M-01", "method": "brushed"}
    before = everything(lite)
    for entries in ([washing, NEW], [NEW, washing], [NEW, {**NEW, "rules": "eu"}]):
        with pytest.raises(Refused, match="a change of the farm's settings stands beside other entries"):
            lite.record_all(entries)
    assert everything(lite) == before


def test_settings_are_stored_as_they_were_understood(lite):
    lite.record_all([{**NEW, "measures": " US ", "timezone": "America/New_York"}])
    assert in_force(lite).measures == "us"
    with lite.ledger.reading() as connection:
        assert verify(connection, lite.ledger.kinds).why == ""
