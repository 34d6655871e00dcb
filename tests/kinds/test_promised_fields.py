"""The kinds of record and the fields that a grower is told of: each must be there under that name."""

import pytest

PROMISED = """
person: *code *name position phone
supplier: *code *name street city region postcode country contact phone email recall_contact recall_phone
customer: *code *name street city region postcode country contact phone email recall_contact recall_phone type part_of
lab: *code *name street city region postcode country contact phone email recall_contact recall_phone
place: *code *name *use inside address coordinates usual_water usual_tools usual_items
water-source: *code *name *type treatment used_for point
equipment: *codes *type material porous maker life in_use_from
equipment-change: *items *what codes
product: *code *name *commodity variety pack_size pack_style shelf_life allergens gtin
label: *code *product active strength basis gravity registration uses
seed-receipt: *lot *crop variety *supplier supplier_lot *amount treatment germination document origin equipment
supplies-receipt: *lot *product *type supplier supplier_lot amount expires opened label active strength \
basis gravity label_min label_max label_contact registration equipment
certificate: *number *type issuer issued expires *covers sampled method result
solution: *lot *product amount water equipment volume target reading ph discard_at
solution-check: *solution *reading ph temperature with
tank-fill: *tank water solution emptied
washing: *items *method detergent water tub seen_clean
sanitising: *items solution tub method use reading ph temperature *contact washed seen_clean rinse_water dried_on with
water-test: *source point lab report reported *e_coli coliforms
water-check: *source ph chlorine temperature appearance with
soaking: *lot *seed water solution equipment drained
sowing: *batch *seed *trays equipment medium water soak soaked_in
growing-check: *batches stage water solution equipment seen trays_lost action
harvest: *lot *from *amount equipment packaging *cut cutting into temperature
packing: *lot *from product packaging equipment water solution reading ph packs pack_size best_before printed trim into
move: *codes *to equipment temperature
storage-check: *where *temperature min max lots equipment with
delivery: *code *customer *items temperature document order ship_to basis run packaging vehicle lent received_by
items-back: *items *customer condition vehicle
return: *delivery *lot *amount reason condition vehicle then
disposal: *items reason to equipment
sample: *of amount equipment lab test result reported
contact: *what items lots water people action
hold: *lots *reason
release: *lots *reason
stock-count: *lot *amount equipment
complaint: *code *customer *type deliveries lots product from until number_ill onset received_by *description
recall-contact: *complaint *customer reached method found returned destroyed
corrective-action: *about *cause *action decision responsible due prevention verified_by closed
training: *people *topic trainer
fitness: *person *state
calibration: *instrument *reference *reading limit passed
site-check: *where *topic about *result action
review: entries from until
recall-exercise: *started_from took lots deliveries customers accounted outcome
"""

ROWS = """
label.uses: *use surface porous food_contact dose dose_water min max contact rinse temperature ph
soaking.seed: *lot *amount
sowing.seed: *lot amount
sowing.medium: *lot amount
harvest.from: *batch trays finished
packing.from: *lot *amount
delivery.items: *lot amount packs
disposal.items: *lot amount trays
"""

ALWAYS_REQUIRED = {"at", "by"}


def lines(table: str) -> list[tuple[str, list[str]]]:
    return [(name, fields.split()) for line in table.strip().splitlines() for name, fields in [line.split(": ")]]


@pytest.mark.parametrize(("kind", "promised"), lines(PROMISED))
def test_kind_has_the_promised_fields_and_requires_no_others(kinds, kind, promised):
    fields = kinds[kind].fields
    assert {name.lstrip("*") for name in promised} <= set(fields)
    required = {name for name, field in fields.items() if field.required}
    assert required == {name[1:] for name in promised if name.startswith("*")} | ALWAYS_REQUIRED


@pytest.mark.parametrize(("path", "promised"), lines(ROWS))
def test_rows_have_the_promised_fields_and_require_no_others(kinds, path, promised):
    kind, name = path.split(".")
    fields = kinds[kind].fields[name].fields
    assert {name.lstrip("*") for name in promised} <= set(fields)
    assert {name for name, field in fields.items() if field.required} == {
        name[1:] for name in promised if name.startswith("*")
    }


def test_every_shipped_kind_is_promised_or_holds_the_settings(kinds):
    assert set(kinds.names) == {kind for kind, _ in lines(PROMISED)} | {"farm"}
    assert [name for name in kinds.names if kinds[name].settings] == ["farm"]


def test_settings_need_no_signature(kinds, setting, entries):
    assert not kinds["farm"].fields["by"].required


@pytest.mark.parametrize("kind", [*(kind for kind, _ in lines(PROMISED)), "farm"])
def test_an_entry_with_every_field_is_understood(kinds, read, entries, kind):
    entry = entries[kind]
    assert set(entry) - {"kind"} == set(kinds[kind].fields), "entries.yaml must use every field of the kind"
    checked = read(**entry)
    assert set(checked.values) == set(entry) - {"kind", "at", "by", "files"}
    assert checked.fields == {name: entry[name] for name in checked.values}


@pytest.mark.parametrize("kind", [kind for kind, _ in lines(PROMISED)])
def test_every_field_has_words_for_a_form(kinds, kind):
    def told(fields):
        for field in fields.values():
            assert field.title
            assert len(field.title) <= 24, field.title
            assert field.description
            assert "\n" not in field.description
            told(field.fields)

    told(kinds[kind].fields)


def test_silence_is_filled_from_fields_that_a_place_has(kinds):
    usual = {field.usual for name in kinds.names for field in kinds[name].fields.values() if field.usual}
    assert usual == {"usual_water", "usual_tools", "usual_items"}
    assert usual <= set(kinds["place"].fields)
