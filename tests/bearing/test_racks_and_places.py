"""What happens at a rack or a place happens to the lots that were there, where the incident names none.

RK-1 stands in the growing room ROOM, RK-2 in the cold store COLD, by the records of those. An incident names what it
touched; a rack and a place pass nothing on by themselves.
"""

import pytest
from tests.bearing.farm import FIRST, back, dip, forward, history, load, second, uses

SOWN = """
- {kind: sowing, at: 2026-03-02 09:00, batch: T-1, seed: S-1 100 g, trays: 1, equipment: "M-1, RK-2", water: none}
- {kind: sowing, at: 2026-03-02 09:30, place: ROOM, batch: T-2, seed: S-2 100 g, trays: 1, equipment: M-2, water: none}
"""
"""E21 and E22. T-1 stands on RK-2, by its sowing. Of T-2 only the room is known."""
CUT = """
- {kind: harvest, at: 2026-03-10 09:00, place: ROOM, lot: H-1, from: T-1 1, amount: 500 g, cut: above the medium,
   equipment: KN-1, into: COLD}
"""
PACKED = """
- {kind: packing, at: 2026-03-11 09:00, lot: P-1, from: H-1 500 g, amount: 500 g}
- {kind: delivery, at: 2026-03-12 09:00, code: D-1, customer: CAFE, items: P-1 500 g}
"""


def incident(at: str, said: str) -> str:
    """A line of a sheet."""
    return f"- {{kind: contact, at: {at}, what: a pipe dripped, {said}}}\n"


def handled(book, number: int) -> set[str]:
    """The lots that an entry handles, without a word on which are assumed."""
    return {word.split()[1] for word in uses(book, number, "handled")}


def test_a_rack_that_was_clean_passes_on_what_happened_there(book):
    """RK-2 is dipped on the 4th under the living T-1, and dripped on on the 5th. T-3 is set on it on the 6th, cut and
    sold. So what dripped on T-1 may be on T-3, and the other way, though nothing else ties them."""
    load(book, SOWN + dip("RK-2", "2026-03-04 09:00") + incident("2026-03-05 09:00", "items: RK-2"))
    load(
        book,
        """
        - {kind: sowing, at: 2026-03-06 09:00, batch: T-3, seed: S-2 100 g, trays: 1, equipment: "M-3, RK-2",
           water: none}
        - {kind: harvest, at: 2026-03-10 09:00, lot: H-1, from: T-1 1, amount: 500 g, cut: above the medium,
           equipment: KN-1}
        - {kind: harvest, at: 2026-03-11 09:00, lot: H-3, from: T-3 1, amount: 500 g, cut: above the medium,
           equipment: KN-2}
        """,
        "later.yaml",
    )
    assert uses(book, FIRST + 3, "handled") == {"handled T-1 assumed"}
    assert {"T-1", "H-1", "T-3", "H-3"} <= forward(book, "RK-2", (second(5), second(5, 23)))
    assert "RK-2" in back(book, "H-1") & back(book, "H-3")


def test_a_lot_of_which_no_rack_is_known_was_on_the_rack_of_its_room(book):
    """T-2 stands in ROOM, where RK-1 stands; of T-1 it is written that it stands on RK-2."""
    load(book, SOWN + incident("2026-03-05 09:00", "items: RK-1"))
    assert handled(book, FIRST + 2) == {"T-2"}


def test_a_shelf_of_the_cold_store(book):
    """H-1 went into COLD on the 10th and is packed on the 11th: the drip of the 10th at noon is on what was sold."""
    load(book, SOWN + CUT + incident("2026-03-10 12:00", "items: RK-2, place: COLD") + PACKED)
    assert handled(book, FIRST + 3) == {"H-1"}
    assert {"H-1", "P-1", "D-1"} <= forward(book, "RK-2", (second(10), second(10, 23)))
    assert "RK-2" in back(book, "D-1")


WHERE = {
    "in the growing room": ("2026-03-05 09:00", "place: ROOM", {"T-2"}),
    "in the cold store before anything came": ("2026-03-05 09:00", "place: COLD", {"T-1"}),
    "in the growing room after the cut": ("2026-03-10 12:00", "place: ROOM", {"T-2"}),
    "in the cold store after the cut": ("2026-03-10 12:00", "place: COLD", {"H-1"}),
    "in the cold store after the packing": ("2026-03-11 12:00", "place: COLD", set()),
    "to a knife in the growing room": ("2026-03-05 09:00", "place: ROOM, items: KN-2", set()),
    "to nothing, by the grower's word": ("2026-03-05 09:00", "place: ROOM, lots: none", set()),
    "to one, by the grower's word": ("2026-03-05 09:00", "items: RK-2, lots: T-2", {"T-2"}),
}
"""T-1 stands on RK-2, which is in COLD by the record of the place, until it is cut into COLD on the 10th. The packing
of the 11th takes all of H-1, and does not say where P-1 went."""


@pytest.mark.parametrize("name", WHERE)
def test_what_was_there(book, name):
    at, said, there = WHERE[name]
    load(book, SOWN + CUT + PACKED + incident(at, said))
    assert handled(book, FIRST + 5) == there


def test_a_part_of_a_place(book):
    """The leak is in the barn, of which the room is a part."""
    load(book, "- {kind: place, at: 2026-03-01 09:00, code: BARN, name: Barn, use: all}\n")
    [room] = [number for number in range(2, FIRST) if "names ROOM" in uses(book, number)]
    book.amend(room, {"inside": "BARN"}, because="it is in the barn", by=["TO"])
    told = load(book, SOWN + incident("2026-03-05 09:00", "place: BARN"), "later.yaml")
    assert handled(book, int(told[-1].name.removeprefix("E"))) == {"T-2"}


def test_lots_that_were_moved(book):
    """T-2 was moved to COLD on the 3rd, and the mat of T-1 to ROOM; on the 4th T-2 was set on RK-1."""
    load(
        book,
        SOWN
        + """
        - {kind: move, at: 2026-03-03 09:00, codes: T-2, to: COLD}
        - {kind: move, at: 2026-03-03 09:00, codes: M-1, to: ROOM}
        """.replace("        ", "")
        + incident("2026-03-03 12:00", "place: COLD")
        + incident("2026-03-03 13:00", "place: ROOM")
        + "- {kind: growing-check, at: 2026-03-04 09:00, batches: T-2, equipment: RK-1, water: none}\n"
        + incident("2026-03-05 09:00", "items: RK-1")
        + incident("2026-03-05 10:00", "items: RK-2"),
    )
    assert "T-2" in handled(book, FIRST + 4)
    assert handled(book, FIRST + 5) == {"T-1"}
    assert handled(book, FIRST + 7) == {"T-2"}
    assert handled(book, FIRST + 8) == {"T-1"}


def test_a_lot_that_was_put_into_a_crate_and_moved_with_it(book):
    """H-1 goes from COLD to ROOM in CR-1; the packing of a part of it, into COLD, moves only what is packed."""
    load(
        book,
        SOWN
        + CUT
        + "- {kind: move, at: 2026-03-10 11:00, codes: H-1, equipment: CR-1, to: ROOM}\n"
        + "- {kind: packing, at: 2026-03-10 11:30, lot: P-1, from: H-1 100 g, amount: 100 g, into: COLD}\n"
        + incident("2026-03-10 12:00", "place: COLD")
        + incident("2026-03-10 13:00", "place: ROOM"),
    )
    assert handled(book, FIRST + 5) == {"P-1"}
    assert handled(book, FIRST + 6) == {"T-2", "H-1"}


def test_a_rack_that_was_moved(book):
    """RK-1 went to COLD on the 3rd, so T-2, of which only the room is known, is not on it, and H-1 is."""
    load(
        book,
        SOWN
        + "- {kind: move, at: 2026-03-03 09:00, codes: RK-1, to: COLD}\n"
        + CUT
        + incident("2026-03-10 12:00", "items: RK-1"),
    )
    assert handled(book, FIRST + 4) == {"H-1"}


def test_what_would_not_keep_is_there_no_longer(book):
    """Of H-1 100 g were never written off. A fortnight after the last word on it nobody has any of it."""
    load(
        book,
        SOWN
        + CUT
        + PACKED.replace("from: H-1 500 g", "from: H-1 400 g")
        + incident("2026-03-20 09:00", "place: COLD")
        + incident("2026-03-26 09:00", "place: COLD"),
    )
    assert handled(book, FIRST + 5) == {"H-1"}
    assert handled(book, FIRST + 6) == set()


@pytest.mark.parametrize(
    "gone",
    ["", "- {kind: disposal, at: 2026-03-12 09:00, items: H-1, to: compost}\n"],
    ids=["it would not keep", "it was thrown away"],
)
def test_a_lot_that_is_packed_later_was_still_there(book, gone):
    """H-1 is cut on the 10th. On the 26th, by what is written then, nothing of it is left. It is packed on the 27th,
    so it was there; where that turns out to be another lot, it was not, by the book."""
    load(book, SOWN + CUT + gone)
    load(book, incident("2026-03-26 09:00", "place: COLD"), "incident.yaml")
    number = FIRST + 3 + bool(gone)
    assert handled(book, number) == set()
    packed = PACKED.partition("- {kind: delivery")[0].replace("03-11", "03-27").replace("500 g", "100 g")
    load(book, packed, "packed.yaml")
    assert handled(book, number) == {"H-1"}
    assert "P-1" in forward(book, "COLD")
    book.void(number + 1, because="that was another lot", by=["TO"])
    assert handled(book, number) == set()


def test_what_is_written_late_is_taken_in(book):
    """The incident is typed first, then the sowing; then it is put right that T-2 stood in COLD."""
    load(book, incident("2026-03-05 09:00", "place: ROOM"))
    assert handled(book, FIRST) == set()
    told = load(book, SOWN, "late.yaml")
    assert handled(book, FIRST) == {"T-2"}
    assert any(one.name == f"E{FIRST}" for one in told)
    book.amend(FIRST + 2, {"place": "COLD"}, because="it stood there", by=["TO"])
    assert handled(book, FIRST) == set()
    assert len(history(book, FIRST)) == 3
    book.amend(FIRST + 2, {"place": "ROOM"}, because="it did not", by=["TO"])
    assert handled(book, FIRST) == {"T-2"}
    book.void(FIRST + 2, because="the wrong slip", by=["TO"])
    assert handled(book, FIRST) == set()


def test_who_is_taken_to_have_been_there_is_told(book):
    told = load(book, SOWN + incident("2026-03-05 09:00", "place: ROOM") + incident("2026-03-05 10:00", "place: COLD"))
    assert any("there: T-2" in notice and "lots=" in notice for notice in told[2].notices)
    assert any("there: T-1" in notice for notice in told[3].notices)
    knife = load(book, incident("2026-03-05 11:00", "place: ROOM, items: KN-2"), "knife.yaml")
    assert not any("there" in notice for notice in knife[0].notices)
    mice = load(book, incident("2026-03-01 09:00", "place: ROOM"), "mice.yaml")
    assert any("no lot is known" in notice for notice in mice[0].notices)
