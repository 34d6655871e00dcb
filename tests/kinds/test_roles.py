"""How an entry uses what it names, and what it is evidence of."""

import pytest

from lotwalk.kinds.roles import depends_on_verdict, facts, holds, roles
from lotwalk.values.roles import Role

LOT, ITEM, WATER, PLACE, PERSON = (
    ("packed-lot", "lot"),
    ("medium", "item"),
    ("water-source", "water-source"),
    ("place", "place"),
    ("person", "person"),
)
STRIPS, BATCH, TOOL = ("supplies-lot", "lot"), ("tray-batch", "lot"), ("tool", "item")
INSTRUMENT, PERSON = ("instrument", "item"), ("person", "person")
SEED, PACKED = ("seed-lot", "lot"), ("packed-lot", "lot")

# kind.path: role, of the entry in entries.yaml; a verdict where one is given
USES = """
person.code names
person.by by
person.place place
place.usual_water about
equipment.codes names
equipment-change.items touched
equipment-change.codes names touched
label.code names
seed-receipt.lot made
seed-receipt.supplier from
seed-receipt.equipment touched
supplies-receipt.lot made
supplies-receipt.supplier from
supplies-receipt.equipment touched
supplies-receipt.label about
certificate.number names
certificate.covers about
solution.lot made
solution.product took
solution.water
solution-check.solution about
solution-check.with about
tank-fill.tank touched
tank-fill.water
tank-fill.solution took
washing.items touched
washing.detergent took
washing.water
washing.tub touched
sanitising.items/passes cleared
sanitising.items/fails touched
sanitising.items
sanitising.solution took
sanitising.rinse_water
sanitising.dried_on touched
sanitising.with about
water-test.source/passes cleared
water-test.source/fails about
water-test.lab to
water-check.source about
soaking.lot made
soaking.seed[0].lot took
soaking.water
soaking.solution took
soaking.equipment touched
sowing.batch made
sowing.seed[1].lot took
sowing.equipment touched
sowing.medium[0].lot took
sowing.soaked_in touched
sowing.water
growing-check.batches handled
growing-check.water
growing-check.solution took
growing-check.equipment touched
harvest.lot made
harvest.from[0].batch took
harvest.equipment touched
harvest.packaging took
harvest.into place
packing.lot made
packing.from[0].lot took
packing.product about
packing.packaging took
packing.equipment touched
packing.water
packing.solution/passes took
packing.solution/fails took
sanitising.tub/passes about
sanitising.tub/fails touched
packing.into place
move.codes about
move.equipment touched
move.to place
storage-check.where place
storage-check.lots about handled
storage-check.equipment touched
storage-check.with about
delivery.code made
delivery.customer to
delivery.items[0].lot took
delivery.packaging took
delivery.vehicle touched
delivery.lent touched
items-back.items touched
items-back.customer from
items-back.vehicle touched
return.new_lot made
return.lot took
return.delivery handled
return.vehicle touched
disposal.items[0].lot took handled
disposal.equipment touched
disposal.items[0].trays
sample.lab to
sample.equipment touched
contact.items touched
contact.lots handled
contact.water drew touched
contact.people about
hold.lots about
hold.instead_of about
release.lots about
release.instead_of about
stock-count.lot about handled
stock-count.equipment touched
complaint.code made
complaint.customer from
complaint.deliveries about
complaint.lots about
recall-contact.complaint about
recall-contact.customer to
corrective-action.about about
training.people about
fitness.person about
site-check.where place
review.entries about
recall-exercise.started_from about
"""


def words(found):
    return [role.word for role in found]


def find(checked, path):
    (mention,) = [mention for mention in checked.mentions if mention.path == path]
    return mention


@pytest.mark.parametrize("line", USES.strip().splitlines())
def test_the_role_of_each_field(read, entries, line):
    path, *expected = line.split()
    path, _, verdict = path.partition("/")
    kind, path = path.split(".", 1)
    mention = find(read(**entries[kind]), path)
    passes = {"passes": True, "fails": False, "": None}[verdict]
    assert words(roles(mention.field, mention.scope, passes=passes, thing=None)) == expected
    waits = {("sanitising", "items"), ("sanitising", "tub"), ("water-test", "source"), ("packing", "solution")}
    assert depends_on_verdict(mention.field) == ((kind, path) in waits)


@pytest.mark.parametrize(
    "path",
    ["solution.water", "tank-fill.water", "washing.water", "sanitising.rinse_water", "soaking.water", "sowing.water",
     "growing-check.water", "packing.water"],
)  # fmt: skip
def test_water_is_drawn_from_its_source_and_touches_the_tank_that_it_stood_in(read, entries, path):
    kind, path = path.split(".")
    mention = find(read(**entries[kind]), path)
    for thing, expected in ((WATER, ["drew"]), (("tank", "item"), ["touched"]), (("container", "item"), ["touched"])):
        assert words(roles(mention.field, mention.scope, passes=None, thing=thing)) == expected


@pytest.mark.parametrize(
    ("thing", "expected"), [(LOT, ["took"]), (ITEM, ["about"]), (PLACE, ["about"]), (WATER, ["about"])]
)
def test_a_sample_takes_from_a_lot_only(read, thing, expected):
    mention = find(read("sample", of="X-1"), "of")
    assert words(roles(mention.field, mention.scope, passes=None, thing=thing)) == expected
    assert roles(mention.field, mention.scope, passes=None, thing=None) == []


def test_batches_are_handled_when_tools_are_named_or_assumed(read):
    for fields, given, expected in [
        ({}, (), ["tended"]),
        ({"equipment": "none"}, (), ["tended"]),
        ({"equipment": "CAN-1"}, (), ["handled"]),
        ({}, ("equipment",), ["handled"]),
        ({}, ("water",), ["tended"]),
    ]:
        mention = find(read("growing-check", batches="T-1", **fields), "batches")
        assert words(roles(mention.field, mention.scope, passes=None, thing=BATCH, given=given)) == expected


@pytest.mark.parametrize(
    ("finished", "expected", "told"),
    [
        (None, ["took"], ["finished", "harvested"]),
        ("yes", ["took"], ["finished", "harvested"]),
        ("no", ["took", "handled"], ["harvested"]),
    ],
)
def test_a_batch_that_is_not_finished_is_handled_too(read, finished, expected, told):
    row = {"batch": "T-1"} | ({"finished": finished} if finished else {})
    mention = find(read("harvest", lot="H-1", **{"from": row}, amount="1 kg", cut="with roots"), "from[0].batch")
    assert words(roles(mention.field, mention.scope, passes=None, thing=BATCH)) == expected
    assert facts(mention.field, mention.scope, BATCH) == told
    assert mention.field.stands.kinds == ("medium", "tray", "cover", "tank", "container")
    assert mention.field.stands.role is Role.TOUCHED


@pytest.mark.parametrize(
    ("row", "told"),
    [
        ({}, ["disposed", "finished"]),
        ({"finished": "yes"}, ["disposed", "finished"]),
        ({"amount": "20 g", "finished": "yes"}, ["disposed", "finished"]),
        ({"amount": "20 g"}, ["disposed"]),
        ({"trays": "2"}, ["disposed"]),
        ({"finished": "no"}, ["disposed"]),
    ],
)
def test_a_disposal_without_an_amount_is_of_all_that_is_left(read, row, told):
    mention = find(read("disposal", items={"lot": "T-1"} | row), "items[0].lot")
    assert facts(mention.field, mention.scope, BATCH) == told


@pytest.mark.parametrize(
    ("what", "role", "told"),
    [
        ("cut", "touched", ["becomes"]),
        ("retagged", "touched", ["becomes"]),
        ("repaired", "touched", []),
        ("lost", "about", ["gone"]),
        ("retired", "about", ["gone"]),
        ("found", "about", ["back"]),
    ],
)
def test_changes_of_equipment(read, what, role, told):
    mention = find(read("equipment-change", items="M-1", what=what), "items")
    assert words(roles(mention.field, mention.scope, passes=None, thing=ITEM)) == [role]
    assert facts(mention.field, mention.scope, ITEM) == told


@pytest.mark.parametrize(("seen_clean", "told"), [(None, ["washed"]), (True, ["washed"]), (False, ["unclean"])])
def test_a_washing_tells_that_items_were_washed_unless_seen_unclean(read, seen_clean, told):
    """Clean or not, nothing stands in what was washed."""
    mention = find(read("washing", items="M-1", method="brushed", seen_clean=seen_clean), "items")
    assert facts(mention.field, mention.scope, ITEM) == [*told, "vacated"]


@pytest.mark.parametrize(
    ("kind", "fields", "path", "thing", "told"),
    [
        ("sowing", {"seed": "S-1", "batch": "T-1", "trays": "1", "equipment": "M-1"}, "equipment", ITEM, ["bears"]),
        ("sowing", {"seed": "S-1", "batch": "T-1", "trays": "1", "equipment": "K-1"}, "equipment", TOOL, []),
        ("solution-check", {"solution": "SOL-1", "reading": "9 ppm"}, "solution", STRIPS, ["measured"]),
        ("solution-check", {"solution": "S", "reading": "9 ppm", "with": "ST-1"}, "with", STRIPS, ["measured_with"]),
        ("solution-check", {"solution": "S", "reading": "9 ppm", "with": "K-1"}, "with", INSTRUMENT, ["measured_with"]),
        ("solution", {"lot": "SOL-1", "product": "BL-1", "target": "100 ppm"}, "lot", STRIPS, []),
        ("solution", {"lot": "SOL-1", "product": "BL-1", "reading": "90 ppm"}, "lot", STRIPS, ["measured"]),
        ("sanitising", {"items": "M-1", "contact": "2 min", "solution": "S"}, "solution", STRIPS, []),
        (
            "sanitising",
            {"items": "M-1", "contact": "2 min", "solution": "S", "reading": "9 ppm"},
            "solution",
            STRIPS,
            ["measured"],
        ),
        ("water-test", {"source": "W", "e_coli": "absent"}, "source", WATER, ["tested", "examined"]),
        ("certificate", {"number": "N", "type": "organic", "covers": "S"}, "covers", SEED, ["covered"]),
        (
            "certificate",
            {"number": "N", "type": "pathogen test", "covers": "S"},
            "covers",
            SEED,
            ["covered", "examined"],
        ),
        ("sample", {"of": "S"}, "of", SEED, ["sampled", "examined"]),
        ("sample", {"of": "K"}, "of", TOOL, ["examined"]),
        ("corrective-action", {"about": "W", "cause": "x", "action": "y"}, "about", WATER, []),
        (
            "corrective-action",
            {"about": "W", "cause": "x", "action": "y", "closed": "2026-03-08"},
            "about",
            WATER,
            ["mended"],
        ),
        ("fitness", {"person": "TO", "state": "excluded"}, "person", PERSON, ["excluded"]),
        ("fitness", {"person": "TO", "state": "back"}, "person", PERSON, ["fit"]),
        ("site-check", {"where": "W", "topic": "pests", "about": "W", "result": "x"}, "about", WATER, []),
        (
            "site-check",
            {"where": "W", "topic": "water system", "about": "W", "result": "x"},
            "about",
            WATER,
            ["inspected"],
        ),
        ("seed-receipt", {"lot": "S", "crop": "pea", "supplier": "P", "amount": "1 kg"}, "lot", SEED, []),
        (
            "seed-receipt",
            {"lot": "S", "crop": "pea", "supplier": "P", "amount": "1 kg", "treatment": "thiram"},
            "lot",
            SEED,
            ["treated"],
        ),
        ("delivery", {"code": "D", "customer": "C", "items": "P-1 1 kg"}, "items[0].lot", PACKED, ["delivered"]),
        (
            "delivery",
            {"code": "D", "customer": "C", "items": "T-1 2 trays"},
            "items[0].lot",
            BATCH,
            ["delivered", "rooted"],
        ),
    ],
)
def test_what_an_entry_is_evidence_of(read, kind, fields, path, thing, told):
    mention = find(read(kind, **fields), path)
    assert facts(mention.field, mention.scope, thing) == told


def test_a_condition_holds_when_each_of_its_lines_does():
    scope = {"what": "cut", "items": ["M-1"], "water": [], "washed": False}

    def holding(when, **more):
        return holds(when, scope, **{"passes": None, "thing": None} | more)

    assert holding(None)
    assert holding({"what": ["cut"], "given": ["items"]})
    assert not holding({"what": ["cut"], "given": ["items", "water"]})
    assert holding({"absent": ["water", "tub"]})
    assert not holding({"absent": ["items", "tub"]})
    assert holding({"washed": ["no"]})
    assert holding({"washed": "no"})
    assert holding({"seen": [None, "yes"]})
    assert not holding({"what": [None]})
    assert holding({"thing": ["item"]}, thing=ITEM)
    assert not holding({"thing": ["lot"]}, thing=ITEM)
    assert [holding("passes", passes=verdict) for verdict in (True, False, None)] == [True, False, False]
    assert [holding("fails", passes=verdict) for verdict in (True, False, None)] == [False, True, False]
