"""The pages that the program works out: a lot's, an item's and a water source's story, the crosswalk, the gaps.

What they should say is worked out here from the hashed records alone, by plain loops over what each entry says it took
and made, without the walk or any of the reports' code.
"""

import re

import pytest

LOT, ITEM, WATER = "P-0209-1", "M-013", "WELL"


@pytest.fixture(scope="module")
def records(wrenfallow):
    return wrenfallow.records()


def _codes(record, *roles: str) -> set[str]:
    return {use["code"] for use in record["uses"] if use["role"] in roles}


def _behind(records, lot: str) -> set[str]:
    """All that went into a lot, through any number of makings."""
    found, waiting = set(), [lot]
    while waiting:
        code = waiting.pop()
        for record in records:
            if code in _codes(record, "made"):
                new = _codes(record, "took") - found
                found |= new
                waiting += new
    return found


def _ahead(records, lot: str) -> set[str]:
    """All that a lot went into."""
    found, waiting = set(), [lot]
    while waiting:
        code = waiting.pop()
        for record in records:
            if code in _codes(record, "took"):
                new = _codes(record, "made") - found
                found |= new
                waiting += new
    return found


def test_a_lots_page_names_all_that_went_into_it_with_who_made_each_and_when(wrenfallow, records):
    text = wrenfallow.print("lot-history", LOT).text
    behind = _behind(records, LOT)
    assert len(behind) >= 4
    for code in behind:
        made = [record for record in records if code in _codes(record, "made")]
        assert code in text
        for record in made[:1]:
            assert record["name"] in text
            assert record["at"] in text


def test_a_lots_page_names_every_delivery_and_customer_that_got_it(wrenfallow, records):
    text = wrenfallow.print("lot-history", LOT).text
    deliveries = [one for one in records if one["kind"] == "delivery" and LOT in _codes(one, "took")]
    assert deliveries
    for one in deliveries:
        for code in (one["fields"]["code"], one["fields"]["customer"], one["name"]):
            assert code in text
    others = {one["fields"]["code"] for one in records if one["kind"] == "delivery"}
    others -= {one["fields"]["code"] for one in deliveries}
    assert not [code for code in others if re.search(rf"\b{code}\b", text)]


def test_a_seed_lots_page_leads_to_everything_made_of_it(wrenfallow, records):
    text = "".join(wrenfallow.print("lot-history", "S-RAD-1").text.split())
    ahead = _ahead(records, "S-RAD-1")
    assert len(ahead) > 5
    assert all(code in text for code in ahead)


def test_each_use_of_an_item_on_the_way_has_the_latest_cleaning_before_it(wrenfallow, records):
    """For the first medium of the lot's batch: the last entry that cleared it before it was sown on."""
    text = wrenfallow.print("lot-history", LOT).text
    batch = next(code for code in _behind(records, LOT) if code.startswith("T-"))
    sowing = next(record for record in records if batch in _codes(record, "made"))
    medium = min(code for code in _codes(sowing, "touched") if code.startswith("M-"))
    breaks = [one for one in records if medium in _codes(one, "cleared") and one["to"] < sowing["from"]]
    latest = max(breaks, key=lambda one: one["to"])
    assert re.search(rf"{medium}\b.*?{re.escape(sowing['at'])}, {sowing['name']}, Sowing {latest['at']}", text)


def test_an_items_page_tells_each_crop_with_the_cleaning_before_it_and_who_got_it(wrenfallow, records):
    text = wrenfallow.print("item-history", ITEM).text
    crops = [one for one in records if one["kind"] == "sowing" and ITEM in _codes(one, "touched")]
    assert len(crops) >= 3
    for crop in crops:
        breaks = [one for one in records if ITEM in _codes(one, "cleared") and one["to"] < crop["from"]]
        latest = max(breaks, key=lambda one: one["to"])
        assert f"{crop['at']} {latest['at']}, {latest['name']}" in text
        ahead = _ahead(records, crop["fields"]["batch"])
        customers = {
            one["fields"]["customer"] for one in records if one["kind"] == "delivery" and ahead & _codes(one, "made")
        }
        assert all(code in text for code in customers)


def test_an_items_page_has_every_entry_that_names_it(wrenfallow, records):
    text = wrenfallow.print("item-history", ITEM).text
    naming = [one["name"] for one in records if any(use["code"] == ITEM for use in one["uses"])]
    assert len(naming) > 10
    assert all(re.search(rf"\b{name}\b", text) for name in naming)


def test_a_water_sources_page_tells_failure_action_reopening_and_the_draws_between(wrenfallow, records):
    text = wrenfallow.print("water-source", WATER).text
    tests = [one for one in records if one["kind"] == "water-test" and one["fields"]["source"] == WATER]
    failed = next(one for one in tests if WATER in one["verdict"]["failed"])
    good = min((one for one in tests if one["from"] > failed["from"]), key=lambda one: one["from"])
    drawn = [
        one
        for one in records
        if WATER in _codes(one, "drew") and failed["to"] < one["to"] and one["from"] < good["from"]
    ]
    action = next(one for one in records if one["kind"] == "corrective-action" and WATER in str(one["fields"]["about"]))
    for words in (
        f"{failed['name']} {failed['at']} failed ({failed['fields']['e_coli']})",
        f"{action['name']}, {action['at']}",
        f"{good['name']}, {good['at']}; drawn in {len(drawn)} entries meanwhile",
        f"{len(tests)} on record, {len(tests) - 1} showing none, 1 failing",
    ):
        assert words in text


def test_the_crosswalk_counts_what_is_held(wrenfallow, records):
    text = wrenfallow.print("crosswalk").text
    inside = [one for one in records if one["to"] >= 1_767_243_600 and one["from"] < 1_772_341_200]
    for kind, title in (("water-test", "Water test"), ("packing", "Packing")):
        count = sum(one["kind"] == kind for one in inside)
        assert re.search(rf"{title} Held: {count} entr", text)
    assert "None recorded in this period" in text
    assert "Not in this book:" in text


def test_the_crosswalk_says_how_many_weeks_are_reviewed_and_what_is_open(wrenfallow):
    """Eight weeks of January and February have records that ask for a review; that of 9 February was never read."""
    text = wrenfallow.print("crosswalk").text
    assert "Held: 7 of the 8 weeks with records that ask for it" in text
    assert re.search(r"Training Held: \d+ entries in this period 1 major", text)


def test_the_crosswalk_shows_only_the_rule_sets_in_force(wrenfallow, start):
    assert "21 CFR 112.50" in wrenfallow.print("crosswalk").text, "the farm's own rules are based on us"
    text = start(rules="eu").print(definition=wrenfallow.definition("crosswalk")).text
    assert "EU 178/2002" in text
    assert "21 CFR 112" not in text.partition("How to read")[0]


def test_what_no_entry_calls_for_is_not_applicable(farm):
    text = farm.print(definition=farm.definition("crosswalk")).text
    assert "Not applicable: no failing test of water is on record" in text
    farm.record("water-test", at="2026-03-02 09:00", source="MAINS", e_coli="4 MPN/100 mL")
    text = farm.print(definition=farm.definition("crosswalk")).text
    assert "no failing test of water" not in text


def test_a_gap_stands_beside_the_corrective_action_that_closed_it(farm):
    """A failed test is a gap; the action that names it and is closed takes it to the other list."""
    number = farm.record("water-test", at="2026-03-02 09:00", source="MAINS", e_coli="4 MPN/100 mL")
    definition = farm.definition("gaps")
    each = farm.print("2026-03-01", "2026-03-05", definition=farm.definition("gaps-each")).text
    assert "none names it" in each
    farm.record(
        "corrective-action",
        at="2026-03-02 18:00",
        about=f"E{number}",
        cause="cracked cap",
        action="new cap, well shocked",
        closed="2026-03-02",
    )
    after = farm.print("2026-03-01", "2026-03-05", definition=definition).text
    assert re.search(r"E\d+, 2026-03-02 18:00, closed it: new cap, well shocked", after)


@pytest.mark.parametrize(("name", "code"), [("lot-history", LOT), ("item-history", ITEM), ("water-source", WATER)])
def test_a_story_says_what_it_is_printed_for(wrenfallow, name, code):
    for page in wrenfallow.print(name, code).pages:
        assert f": {code}" in page.partition("\n")[0]


def test_postgresql_tells_the_same(wrenfallow, fresh):
    import io
    from datetime import date

    from pypdf import PdfReader

    from lotwalk import demo
    from lotwalk.pages.definitions.definition import load
    from lotwalk.pages.report import write_report

    book = demo.load_all(fresh("postgresql"))
    book.ledger.clock = wrenfallow.book.ledger.clock
    stories = [("lot-history", LOT), ("item-history", ITEM), ("water-source", WATER), ("crosswalk", ""), ("gaps", "")]
    for name, code in stories:
        out = io.BytesIO()
        write_report(
            book.ledger,
            load(name, book.ledger.kinds),
            since=date(2026, 1, 1),
            until=date(2026, 2, 28),
            code=code,
            out=out,
        )
        text = " ".join(" ".join(page.extract_text() for page in PdfReader(out).pages).split())
        expected = wrenfallow.print(name, code).text
        heads = r"root [0-9a-f]{64}"
        assert re.sub(heads, "", text) == re.sub(heads, "", expected), name


def test_a_gap_of_the_whole_farm_is_about_no_thing_and_prints(farm):
    """That no recall was practised concerns no one code."""
    farm.at("2027-06-01 20:00").dip(at="2027-06-01 09:00")
    pdf = farm.print(definition=farm.definition("gaps"))
    assert "No recall was practised since the book began" in pdf.text
