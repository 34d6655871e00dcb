"""What was used again without a clean break, and cleanings that do not count."""

CROP = """
- {kind: sowing, at: 2026-03-02 09:00, batch: T-1, seed: S-1 200 g, trays: "2", equipment: "M-1, M-2", water: MAINS}
- {kind: harvest, at: 2026-03-09 09:00, lot: H-1, from: T-1, amount: 400 g, cut: above the medium, equipment: KN-1}
"""
MIX = "- {kind: solution, at: 2026-03-09 11:00, lot: SOL-1, product: BL-1, volume: 10 L}\n"
NEXT = """
- {kind: sowing, at: 2026-03-10 09:00, batch: T-2, seed: S-1 200 g, trays: "2", equipment: "M-1, M-2", water: MAINS}
"""


def dip(at="2026-03-09 11:30", items="M-1, M-2", reading="100 ppm", washed="yes"):
    return (
        f'- {{kind: sanitising, at: {at}, items: "{items}", solution: SOL-1, reading: {reading}, contact: 2 min,'
        f" temperature: 20 degC, ph: '7', washed: {washed}}}\n"
    )


def test_media_sown_again_without_any_sanitising(farm_anywhere):
    *_, sown = farm_anywhere.load(CROP + NEXT)
    found = farm_anywhere.found("no-clean-break")
    assert list(found) == [f"no-clean-break:{sown}"]
    text = found[f"no-clean-break:{sown}"]
    assert "T-2" in text and "M-1 and M-2" in text and "no sanitising is recorded" in text


def test_a_passing_dip_between_two_crops_leaves_nothing_to_say(farm_anywhere):
    farm_anywhere.load(CROP + MIX + dip() + NEXT)
    assert farm_anywhere.found("no-clean-break") == {}
    assert farm_anywhere.found("not-clean") == {}


def test_a_weak_dip_is_named_and_so_is_what_was_sown_after_it(farm):
    *_, dipped, sown = farm.load(CROP + MIX + dip(reading="20 ppm") + NEXT)
    assert list(farm.found("not-clean")) == [f"not-clean:{dipped}"]
    assert f"{dipped} (2026-03-09 11:30) did not pass" in farm.found("no-clean-break")[f"no-clean-break:{sown}"]


def test_a_failed_dip_that_was_done_again_before_anything_was_put_on_the_mats_is_no_finding(farm):
    farm.load(CROP + MIX + dip(reading="20 ppm") + dip(at="2026-03-09 12:00") + NEXT)
    assert farm.found("not-clean") == {}
    assert farm.found("no-clean-break") == {}


def test_only_the_mat_that_failed_is_named(farm):
    *_, sown = farm.load(CROP + MIX + dip(items="M-1") + NEXT)
    standing = farm.standing()[f"no-clean-break:{sown}"]
    assert "M-2" in standing.finding.about and "M-1" not in standing.finding.about


def test_a_dip_with_a_date_alone_is_no_break_on_the_day_of_the_harvest(farm):
    *_, sown = farm.load(CROP + MIX + dip(at="2026-03-09") + NEXT)
    assert "its time (2026-03-09) does not show" in farm.found("no-clean-break")[f"no-clean-break:{sown}"]


def test_a_new_mat_needs_no_break(farm):
    farm.load(CROP)
    assert farm.found("no-clean-break") == {}


def test_too_strong_is_a_finding_and_the_break_stands(farm):
    *_, dipped, _ = farm.load(CROP + MIX + dip(reading="260 ppm") + NEXT)
    assert list(farm.found("too-strong")) == [f"too-strong:{dipped}"]
    assert farm.found("no-clean-break") == {}


def test_a_knife_used_on_a_later_day_without_a_clean_break(farm):
    *_, cut = farm.load(
        CROP
        + """
- {kind: sowing, at: 2026-03-03 09:00, batch: T-3, seed: S-1 200 g, trays: "1", equipment: M-3, water: MAINS}
- {kind: harvest, at: 2026-03-10 09:00, lot: H-3, from: T-3, amount: 200 g, cut: above the medium, equipment: KN-1}
"""
    )
    assert list(farm.found("tool-not-clean")) == [f"tool-not-clean:KN-1:{cut}"]


def test_a_knife_used_twice_on_one_day_is_no_finding(farm):
    farm.load(
        CROP
        + """
- {kind: sowing, at: 2026-03-03 09:00, batch: T-3, seed: S-1 200 g, trays: "1", equipment: M-3, water: MAINS}
- {kind: harvest, at: 2026-03-09 15:00, lot: H-3, from: T-3, amount: 200 g, cut: above the medium, equipment: KN-1}
"""
    )
    assert farm.found("tool-not-clean") == {}


def test_crates_back_from_a_customer_wait_for_a_sanitising(farm):
    back = """
- {kind: items-back, at: 2026-03-09 09:00, items: "CR-1, CR-2", customer: CAFE, condition: muddy}
"""
    came, *_ = farm.load(back + MIX + dip(items="CR-1"))
    found = farm.found("back-not-clean")
    assert list(found) == [f"back-not-clean:{came}:kept"]
    assert "CR-2 came back" in found[f"back-not-clean:{came}:kept"]


def test_use_while_lost_and_beyond_the_written_life(farm):
    names = farm.load(
        """
- {kind: equipment-change, at: 2026-03-03 09:00, items: M-1, what: lost}
- {kind: sowing, at: 2026-03-04 09:00, batch: T-1, seed: S-1 200 g, trays: "1", equipment: M-1, water: MAINS}
- {kind: equipment-change, at: 2026-03-05 09:00, items: M-1, what: found}
- {kind: sowing, at: 2026-03-06 09:00, batch: T-2, seed: S-1 200 g, trays: "1", equipment: M-1, water: MAINS}
- {kind: sowing, at: 2026-03-07 09:00, batch: T-3, seed: S-1 200 g, trays: "1", equipment: M-1, water: MAINS}
"""
    )
    assert list(farm.found("not-there")) == [f"not-there:{names[1]}"]
    assert farm.found("worn-out") == {}
    assert ("2026-03-08", "M-1") in farm.due(0, on="2026-03-08")
    farm.load(
        "- {kind: sowing, at: 2026-03-08 09:00, batch: T-4, seed: S-1 9 g, trays: '1', equipment: M-1, water: none}"
    )
    assert list(farm.found("worn-out")) == ["worn-out:M-1"]
