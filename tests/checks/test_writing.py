"""How the book was written: late, without an hour, too early, twice, without the medium."""

SOWN = "- {{kind: sowing, at: {at}, batch: {batch}, seed: S-1 200 g, trays: '1', equipment: {on}, water: MAINS}}\n"


def sown(batch="T-1", at="2026-03-02 09:00", on="M-1"):
    return SOWN.format(at=at, batch=batch, on=on)


def test_an_entry_typed_more_than_a_day_later_is_late_for_good(farm_anywhere):
    (name,) = farm_anywhere.load(sown(), typed="2026-03-04 10:00")
    assert list(farm_anywhere.found("late")) == [f"late:{name}"]
    assert "written down on 2026-03-04" in farm_anywhere.found("late")[f"late:{name}"]


def test_an_amendment_does_not_make_an_entry_late(farm):
    (name,) = farm.load(sown(), typed="2026-03-02 18:00")
    farm.at("2026-03-20 09:00")
    farm.book.amend(int(name[1:]), {"note": "in the window"}, because="forgot", by=["TO"])
    assert farm.found("late") == {}


def test_work_with_a_date_alone_is_named_and_a_register_is_not(farm):
    sowing, *_ = farm.load(sown(at="2026-03-02") + "- {kind: person, at: 2026-03-02, code: NN, name: Nan Noel}\n")
    assert list(farm.found("no-hour")) == [f"no-hour:{sowing}"]


def test_half_a_day_is_an_hour_good_enough(farm):
    farm.load(sown(at="2026-03-02 am"))
    assert farm.found("no-hour") == {}


def test_what_uses_a_lot_before_it_was_made(farm):
    cut = "- {kind: harvest, at: 2026-03-01 09:00, lot: H-1, from: T-1, amount: 9 g, cut: above the medium}\n"
    _, harvest = farm.load(sown() + cut)
    assert list(farm.found("too-early")) == [f"too-early:{harvest}"]


def test_the_same_entry_twice(farm):
    check = "- {kind: storage-check, at: 2026-03-02 12:00, where: COLD, temperature: 4 degC}\n"
    first, second = farm.load(check + check)
    assert list(farm.found("twice")) == [f"twice:{first}:{second}"]
    farm.book.void(int(second[1:]), because="typed twice", by=["TO"])
    assert farm.found("twice") == {}


def test_a_sowing_that_names_nothing_it_was_put_on(farm):
    name, _ = farm.load(
        "- {kind: sowing, at: 2026-03-02 09:00, batch: T-1, seed: S-1 200 g, trays: '1', water: MAINS}\n"
        "- {kind: sowing, at: 2026-03-02 10:00, batch: T-2, seed: S-1 9 g, trays: '1', equipment: none, water: MAINS}\n"
    )
    assert list(farm.found("nothing-named")) == [f"nothing-named:{name}"]
