"""What is said at once of a mix that is recorded or read, and of several failures together."""

from decimal import Decimal

import pytest
from tests.judge.memory import Book, breaks, clean_book, degrees, least, of_kind, ppm, time, when

from lotwalk.errors import NotUnderstood
from lotwalk.judge import Judge
from lotwalk.judge.acts import Act, Step, now, write
from lotwalk.values.units import Units

METRIC = Units.load("metric")
LIFE = {"discard_at": when("2026-03-02 20:00")}


def litres(text):
    return METRIC.read(text, ("volume",))


def percent(text):
    return METRIC.read(text, ("percent",))


def strong_book(**receipt):
    """A book with a bleach of 5 % and a label of 100 to 200 ppm."""
    numbers = {"label_min": least("100 ppm"), "label_max": least("200 ppm"), "label_contact": time("2 min")}
    book = Book()
    book.equipment("M-001..M-024")
    book.receipt(**{"active": "sodium hypochlorite", "strength": percent("5 %"), **numbers, **receipt})
    return book


def told(book, entry):
    return Judge(book.rules).notices("mix", entry, book)


def test_a_good_mix_is_passed_over_in_silence():
    book = strong_book()
    given = {"volume": litres("10 L"), "amount": litres("24 mL"), "target": least("120 ppm"), "reading": ppm("120 ppm")}
    assert told(book, book.solution(**given, **LIFE)) == []
    assert told(book, book.reading("2026-03-02 10:00", "110 ppm")) == []


def test_a_weak_reading_says_how_much_to_add():
    book = strong_book()
    book.solution(volume=litres("10 L"), target=least("120 ppm"), **LIFE)
    # (10 L x 60 + x x 50,000 mg/L) / (10 L + x) = 120 mg/L gives x = 12.03 mL.
    assert told(book, book.reading("2026-03-02 10:00", "60 ppm")) == [
        "Reading 60 ppm of SOL-1 is below the label's 100 ppm: "
        "add 12 mL of BL-1 to the 10 L of SOL-1 to reach 120 ppm, wait, read again."
    ]


def test_without_a_target_the_middle_of_the_label_is_aimed_at():
    book = strong_book()
    book.solution(volume=litres("10 L"), **LIFE)
    # 10 L x (150 - 50) / (50,000 - 150) mg/L = 20.06 mL.
    assert "add 20 mL of BL-1" in told(book, book.reading("2026-03-02 10:00", "50 ppm"))[0]


@pytest.mark.parametrize("missing", ["volume", "strength"])
def test_without_volume_or_strength_no_amount_is_said(missing):
    book = strong_book(**({"strength": None} if missing == "strength" else {}))
    book.solution(**({} if missing == "volume" else {"volume": litres("10 L")}), **LIFE)
    assert (
        "add product or make a fresh mix, wait, read again" in told(book, book.reading("2026-03-02 10:00", "60 ppm"))[0]
    )


def test_nothing_is_added_of_a_product_out_of_date():
    book = strong_book(expires="2026-03-01")
    book.solution(volume=litres("10 L"), **LIFE)
    first, second = told(book, book.reading("2026-03-02 10:00", "60 ppm"))
    assert first.startswith("BL-1 was out of date since 2026-03-01: make a fresh mix from a product in date")
    assert second.endswith("make a fresh mix from a product in date, read it.")


def test_where_an_unsure_reading_could_end_above_the_label_a_fresh_mix_is_made():
    book = strong_book()
    book.solution(volume=litres("10 L"), **LIFE)
    assert "make a fresh mix, read it" in told(book, book.reading("2026-03-02 10:00", "50-150 ppm"))[0]


def test_a_strong_reading_says_how_much_water_to_add():
    book = strong_book()
    book.solution(volume=litres("10 L"), **LIFE)
    # 10 L of 210 mg/L made up to 14 L is 150 mg/L, the middle of the label. 5 L of 300 mg/L made up to 10 L as well.
    assert told(book, book.reading("2026-03-02 10:00", "210 ppm")) == [
        "Reading 210 ppm of SOL-1 is above the label's highest, 200 ppm: "
        "add 4 L of water to the 10 L of SOL-1 to reach 150 ppm, wait, read again."
    ]
    assert told(book, book.reading("2026-03-02 10:00", "300 ppm")) == [
        "Reading 300 ppm of SOL-1 is above the label's highest, 200 ppm: take 5 L out of the 10 L of SOL-1 and make it "
        "up with water to reach 150 ppm, or make a fresh mix, wait, read again."
    ]


def test_amounts_are_told_with_three_figures_in_the_measure_of_the_tub():
    book = strong_book()
    book.solution(volume=Units.load("us").read("5 gal", ("volume",)), target=least("130 ppm"), **LIFE)
    # 5 gal x (1 - 130 / 751) = 4.134 gal out; 5 gal x (211 / 200 - 1) would be little water, but only on the limit.
    assert "take 4.13 gal out of the 5 gal of SOL-1" in told(book, book.reading("2026-03-02 10:00", "751 ppm"))[0]
    # 5 gal x (165 / 130 - 1) = 1.346 gal.
    book.receipt("BL-2", active="chlorine", label_min=least("100 ppm"), label_max=least("160 ppm"))
    book.solution("SOL-2", "BL-2", volume=Units.load("us").read("5 gal", ("volume",)), target=least("130 ppm"), **LIFE)
    assert "add 1.35 gal of water" in told(book, book.reading("2026-03-02 10:00", "165 ppm", "SOL-2"))[0]


def test_a_mix_is_not_topped_up_to_the_labels_very_minimum():
    book = strong_book()
    book.solution(volume=litres("10 L"), target=least("100 ppm"), **LIFE)
    assert "to reach 150 ppm" in told(book, book.reading("2026-03-02 10:00", "60 ppm"))[0]


def test_a_product_hardly_stronger_than_the_mix_is_not_poured_in_by_the_litre():
    # 10 L x (150 - 50) / (400 - 150) mg/L = 4 L; from 50 to 150 with 250 mg/L would be 10 L.
    for strength, words in (("0.04 %", "add 4000 mL"), ("0.025 %", "make a fresh mix, read it")):
        book = strong_book(strength=percent(strength))
        book.solution(volume=litres("10 L"), **LIFE)
        assert words in told(book, book.reading("2026-03-02 10:00", "50 ppm"))[0]


TWO_USES = [
    {"use": "hard food contact surfaces", "porous": False, "min": least("100 ppm"), "max": least("200 ppm")},
    {"use": "porous felt, food contact", "porous": True, "min": least("300 ppm"), "max": least("600 ppm"),
     "rinse": True},
    {"use": "floors", "porous": False, "food_contact": False, "min": least("100 ppm"), "max": least("5000 ppm")},
]  # fmt: skip


@pytest.mark.parametrize(
    ("reading", "words"),
    [
        ("150 ppm", ""),
        ("400 ppm", "SOL-1 is right for what its label calls porous felt, food contact, 300 ppm to 600 ppm, not for "
                    "hard food contact surfaces: dip only such things in it, and rinse them with drinking water."),
        ("220 ppm", "Reading 220 ppm of SOL-1 is above the label's highest, 200 ppm: "),
        ("280 ppm", "Reading 280 ppm of SOL-1 is below the label's 300 ppm: "),
        ("800 ppm", "Reading 800 ppm of SOL-1 is above the label's highest, 600 ppm: "),
        ("50 ppm", "Reading 50 ppm of SOL-1 is below the label's 100 ppm: "),
    ],
)  # fmt: skip
def test_a_mix_is_held_against_any_food_use_of_its_label_else_the_nearest(reading, words):
    book = strong_book(label="LBL-1", label_min=None, label_max=None, label_contact=None)
    book.add("label", "2026-01-01", {"product": "Bleach", "active": "bleach", "uses": TWO_USES},
             uses=[("names", "code", "LBL-1")])  # fmt: skip
    book.solution(volume=litres("10 L"), **LIFE)
    found = told(book, book.reading("2026-03-02 10:00", reading))
    assert len(found) == bool(words)
    assert all(one.startswith(words) for one in found)


def test_a_mix_that_is_right_for_no_use_is_brought_back_to_the_one_that_it_was_made_for():
    book = strong_book(label="LBL-1", label_min=None, label_max=None, label_contact=None)
    book.add("label", "2026-01-01", {"product": "Bleach", "active": "bleach", "uses": TWO_USES},
             uses=[("names", "code", "LBL-1")])  # fmt: skip
    book.solution(volume=litres("10 L"), target=least("120 ppm"), **LIFE)
    (found,) = told(book, book.reading("2026-03-02 10:00", "800 ppm"))
    assert found.startswith(
        "Reading 800 ppm of SOL-1 is above the label's highest, 200 ppm: take 8.5 L out of the 10 L"
    )
    assert "to reach 120 ppm" in found


def test_a_target_for_the_other_use_of_the_label_is_no_mistake():
    book = strong_book(label="LBL-1", label_min=None, label_max=None, label_contact=None)
    book.add("label", "2026-01-01", {"product": "Bleach", "active": "bleach", "uses": TWO_USES},
             uses=[("names", "code", "LBL-1")])  # fmt: skip
    # 80 mL of 50 mg/mL in 10 L is 400 mg/L.
    given = {"volume": litres("10 L"), "amount": litres("80 mL"), "target": least("400 ppm")}
    found = told(book, book.solution(**given, **LIFE))
    assert [one.split(" ")[0] for one in found] == ["SOL-1", "A"]
    assert "right for what its label calls porous felt" in found[0]


def test_an_old_mix_and_old_strips_are_told_at_the_reading():
    book = strong_book()
    book.solution(volume=litres("10 L"), **LIFE)
    book.receipt("STRIPS-1", type="test strips", expires="2026-02-28")
    late = told(book, book.reading("2026-03-02 21:00", "110 ppm", strips="STRIPS-1"))
    assert late[0].endswith("past its discard time 2026-03-02 20:00: make a fresh mix, read it.")
    assert late[1].startswith("STRIPS-1 was out of date since 2026-02-28: read again with strips in date")


def test_nothing_is_added_to_a_mix_past_its_life():
    book = strong_book()
    book.solution(volume=litres("10 L"), **LIFE)
    old, weak = told(book, book.reading("2026-03-02 21:00", "60 ppm"))
    assert old.endswith("make a fresh mix, read it.")
    assert weak.endswith("make a fresh mix, read it.")


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"target": "300 ppm"}, "300 ppm of SOL-1 is above the label's highest, 200 ppm: aim at 200 ppm or less."),
        ({"target": "50 ppm"}, "The target 50 ppm of SOL-1 is below the label's 100 ppm"),
        ({"target": "120 ppm"}, "A target is no reading of SOL-1"),
        ({"amount": "5 mL"}, "5 mL of BL-1 in 10 L makes about 25 ppm, and the label asks for 100 ppm: if that is what "
                             "went in, add 25 mL of BL-1 to the 10 L of SOL-1 to reach 150 ppm, wait"),
        ({"amount": "50 mL"}, "50 mL of BL-1 in 10 L makes about 250 ppm, and no more than 200 ppm is allowed"),
        ({"amount": "39 mL", "target": "120 ppm"}, "makes about 195 ppm, and the target is 120 ppm"),
    ],
)  # fmt: skip
def test_what_is_said_when_a_mix_is_recorded(given, words):
    book = strong_book()
    read = {name: least(text) if name == "target" else litres(text) for name, text in given.items()}
    found = told(book, book.solution(volume=litres("10 L"), **read, **LIFE))
    assert any(words in one for one in found), found


def test_a_mix_without_an_end_is_told_unless_the_rule_set_gives_it_one():
    book = strong_book()
    assert told(book, book.solution()) == ["SOL-1 has no time by which it is discarded: write discard_at."]


def test_a_label_without_a_food_contact_use_is_told():
    book = strong_book()
    row = {"use": "walls", "min": least("100 ppm"), "contact": time("1 min")}
    book.add("label", "2026-01-01", {"product": "Bleach", "active": "bleach", "uses": [row]},
             uses=[("names", "code", "LBL-1")])  # fmt: skip
    book.receipt("BL-2", label="LBL-1")
    found = told(book, book.solution("SOL-2", "BL-2", **LIFE))
    assert found[0].startswith("The label on record for BL-2 gives no food-contact use (walls)")


@pytest.mark.parametrize("kind", ["detergent", "nutrient"])
def test_other_solutions_are_nothing_to_this_judge(kind):
    book = strong_book(type=kind)
    assert told(book, book.solution(volume=litres("10 L"), target=least("900 ppm"))) == []


def test_an_unknown_judge_is_refused():
    with pytest.raises(NotUnderstood, match="no judge named taste"):
        Judge(strong_book().rules).notices("taste", None, None)


# Several failures, one sentence


def test_several_failures_end_in_one_sentence_of_what_to_do_now():
    book = strong_book()
    book.solution(volume=litres("10 L"), target=least("120 ppm"), **LIFE)
    book.washing("M-001..M-003", "2026-03-02 17:00")
    verdict = book.verdict(book.dip("M-001..M-004", reading=ppm("60 ppm"), contact=time("30 s")))
    assert verdict.now == (
        "wash M-004, add 12 mL of BL-1 to the 10 L of SOL-1 to reach 120 ppm, wait, read again, "
        "then dip M-001..M-004 again for 2 min or longer"
    )


def test_a_single_failure_says_it_all_itself():
    book = clean_book()
    assert book.verdict(book.dip("M-001", reading=ppm("60 ppm"))).now == ""
    assert book.verdict(book.dip("M-001", reading=ppm("110 ppm"))).now == ""


def test_a_fresh_mix_makes_mending_the_old_one_needless():
    old = Act(Step.FRESH, "make a fresh mix, read it", again=True)
    dated = Act(Step.FRESH, "make a fresh mix from a product in date, read it", again=True)
    weak = Act(Step.MEND, "add 5 mL", again=True)
    strips = Act(Step.READ, "read again")
    acts = [(act, ("M-1", "M-2")) for act in (weak, strips, old, dated)]
    assert now(acts) == "make a fresh mix from a product in date, read it, then dip M-1 and M-2 again"


def test_what_is_to_be_written_comes_last_and_says_for_which_items():
    acts = [(Act(Step.WASH, "wash it", again=True), ("M-1",)), (write("record the harvest"), ("M-2",))]
    assert now(acts) == "wash M-1, then dip M-1 again; for M-2, record the harvest"


def test_a_cold_mix_is_warmed_or_where_the_label_allows_made_stronger():
    book = strong_book(label_min=least("50 ppm"))
    book.solution(**LIFE)
    book.washing("M-001")
    given = {"ph": Decimal(8), "temperature": degrees("20 C")}
    # US Food Code 4-501.114(A): at pH 8, 50 ppm needs 24 degC and 100 ppm 13 degC.
    cold = book.verdict(book.dip("M-001", reading=ppm("60 ppm"), **given))
    assert breaks(cold)[0].endswith(
        "make the mix 100 ppm or stronger, within the label, read it again, then dip again."
    )
    given["temperature"] = degrees("10 C")
    assert "warm the mix to 13 degC" in breaks(book.verdict(book.dip("M-001", reading=ppm("110 ppm"), **given)))[0]


def test_too_strong_says_how_much_water_to_add():
    book = strong_book()
    book.solution(volume=litres("10 L"), **LIFE)
    book.washing("M-001")
    verdict = book.verdict(book.dip("M-001", reading=ppm("230 ppm")))
    assert verdict.passed == ("M-001",)
    # 10 L x (1 - 150 / 230) = 3.478 L.
    assert "and take 3.48 L out of the 10 L of SOL-1" in of_kind(verdict, "residue")[0]
