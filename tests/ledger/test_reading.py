"""Reading the ledger back: what people read out, where a thing is named, and what stands when."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from tests.ledger.farm import load, number

from lotwalk.ledger.entry import StoredText
from lotwalk.ledger.read.entries import entries_of
from lotwalk.ledger.read.search import read_out
from lotwalk.ledger.read.things import find_thing, thing_codes
from lotwalk.ledger.read.uses import mentions
from lotwalk.ledger.read.versions import entries
from lotwalk.values.roles import Role


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("RD-7781/B", "rd-7781/b"),
        ("LOS_7", "los_7"),
        ("50% off", "50% OFF"),
        ("fresh!", "Fresh!"),
        ("a\\\\b \\\"c\\\"", 'A\\B "C"'),
        ("MÜLLER & SÖHNE", "müller & söhne"),
        ("キャベツ 12", "キャベツ"),
    ],
)  # fmt: skip
def test_words_on_a_label_find_the_record_that_holds_them(book, written, said):
    (receipt, *_) = load(
        book,
        f"""
        - {{kind: supplies-receipt, at: 2026-03-02, by: TO, lot: X-1, product: "{written}", type: packaging}}
        - {{kind: supplies-receipt, at: 2026-03-02, by: TO, lot: X-2, product: LOSX7 RD-7781_B 500 off, type: other}}
        """,
    )
    with book.ledger.reading() as connection:
        found = [(version.name, field) for version, field in read_out(connection, said)]
    assert found == [(receipt.name, "product")]


def test_words_inside_rows_are_found_under_the_name_of_their_field(book):
    with book.ledger.reading() as connection:
        found = read_out(connection, "food contact")
    assert [(version.name, field) for version, field in found] == [("E15", "use")]


def test_what_is_void_or_was_amended_is_not_read_out(book):
    (first, second) = load(
        book,
        """
        - {kind: supplies-receipt, at: 2026-03-02, by: TO, lot: X-1, product: blue gloves, type: other}
        - {kind: supplies-receipt, at: 2026-03-02, by: TO, lot: X-2, product: blue gloves, type: other}
        """,
    )
    book.void(number(first), because="a slip", by=["TO"])
    book.amend(number(second), {"product": "green gloves"}, because="a slip", by=["TO"])
    with book.ledger.reading() as connection:
        assert [version.name for version, _ in read_out(connection, "green gloves")] == [second.name]
        assert list(read_out(connection, "blue gloves")) == []


def test_things_come_by_their_codes_however_they_are_cased(book):
    for code in ("b-2", "A-1", "B-1", "a-2", "Ä-1"):
        book.record("product", at="2026-03-02", by="TO", code=code, name="x", commodity="y")
    with book.ledger.reading() as connection:
        assert [thing.code for thing in thing_codes(connection, "product")] == [
            "A-1", "a-2", "B-1", "b-2", "PEA-50", "Ä-1",
        ]  # fmt: skip
        assert find_thing(connection, "ä-1").code == "Ä-1"
        assert find_thing(connection, "no-such") is None


TIMES = ("2026-03-02 09:00", "2026-03-02", "2026-03-01..2026-03-03", "2026-03-03 am", "2026-03-04 09:00")


def test_entries_of_a_time_are_those_that_overlap_it_by_time(book):
    load(book, "".join(f"- {{kind: washing, at: {at}, by: TO, items: M-01, method: brushed}}\n" for at in TIMES))

    def second(day: int, hour: int = 0) -> int:
        return int(datetime(2026, 3, day, hour, tzinfo=UTC).timestamp())

    def found(start: int | None, end: int | None, **more) -> list[str]:
        with book.ledger.reading() as connection:
            return [version.at for version in entries(connection, "washing", start=start, end=end, **more)]

    in_time = ["2026-03-01..2026-03-03", "2026-03-02", "2026-03-02 09:00", "2026-03-03 am", "2026-03-04 09:00"]
    assert found(None, None) == in_time
    assert found(second(2), second(3) - 1) == in_time[:3]
    assert found(second(3, 11), None) == [in_time[0], in_time[3], in_time[4]]
    assert found(None, second(2) - 1) == [in_time[0]]
    assert found(None, None, limit=2) == in_time[:2]


def test_where_a_thing_is_named_and_in_which_role(book):
    sowing, check = load(
        book,
        """
        - {kind: sowing, at: 2026-03-02, by: TO, batch: T-1, seed: S-1 200 g, trays: 2, equipment: M-01}
        - {kind: growing-check, at: 2026-03-05, by: AK, batches: T-1, equipment: KNIFE}
        """,
    )
    with book.ledger.reading() as connection:
        found = mentions(connection, find_thing(connection, "t-1"))
        assert [(one.version.name, one.role.word) for one in found] == [(sowing.name, "made"), (check.name, "handled")]
        person = mentions(connection, find_thing(connection, "AK"))
        assert {one.role.word for one in person} == {"names", "by"}


def test_an_entry_is_a_value_and_looking_at_it_reads_nothing(lite):
    """It can be held in a set, copied with a change, and shown, before what it says has been read."""
    load(lite, "- {kind: sowing, at: 2026-03-02, by: TO, batch: T-1, seed: S-1 200 g, trays: 2, equipment: M-01}")
    with lite.ledger.reading() as connection:
        (one,), (other,) = (entries_of(connection, lite.ledger.kinds, "sowing") for _ in range(2))

        def never():
            raise AssertionError("nothing is read")

        unread = replace(one, text=StoredText(never, lite.ledger.kinds))
        assert len({one, other, unread}) == 1
        assert "sowing" in repr(unread)
        later = replace(unread, start=one.start + 86_400, end=one.end + 86_400)
        assert one.surely_before(later) and not later.surely_before(one)
        assert (one.name, one.number, one.seq) == ("E20", 20, 20)
        assert [use.code for use in one.version.uses if use.role is Role.MADE] == ["T-1"]
