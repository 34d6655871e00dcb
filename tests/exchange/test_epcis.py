"""EPCIS 2.0 documents against GS1's JSON Schema, the reference for event identifiers, and the ledger."""

import json
import logging
import re
from pathlib import Path

import pytest
from epcis_event_hash_generator import hash_generator, json_to_py
from jsonschema import Draft7Validator, FormatChecker
from tests.exchange.conftest import AT, FARM, small

from lotwalk.exchange.epcis import document
from lotwalk.exchange.export_request import ask
from lotwalk.exchange.scope import Question
from lotwalk.ledger.read.versions import entries
from lotwalk.values.roles import Role

SCHEMA = Path(__file__).parents[3] / "shared" / "epcis" / "EPCIS-JSON-Schema.json"
"""GS1's own, whose licence allows no copy of it in the project: it stands beside the checkout, where there is one."""

GS1 = {"company_prefix": "0614141"}


def _document(book, question=None, **more):
    with book.ledger.reading() as connection:
        return json.loads(document(ask(connection, book.ledger, question or Question()), **more).text())


def _events(told, step=""):
    return [one for one in told["epcisBody"]["eventList"] if not step or one["bizStep"] == step]


def _reference(told):
    """The identifiers that the reference implementation gives (epcis-event-hash-generator, by the authors of the rule).

    It hashes sources after destinations, and the lots' attributes between them; CBV 2.0 has sources first and the
    attributes after both. Its text is put in the standard's order, and hashed by its own function.
    """
    logging.disable(logging.CRITICAL)
    try:
        texts = hash_generator.derive_prehashes_from_events(json_to_py.event_list_from_epcis_document_json(told))
    finally:
        logging.disable(logging.NOTSET)
    ordered = [re.sub(r"(destinationListtype=.*?)(ilmd.*?)?(sourceListtype=[^{]*)", r"\3\1\2", text) for text in texts]
    return hash_generator.calculate_hashes_from_pre_hashes(ordered)


def _check(told):
    """A document is valid by GS1's schema, and its events are named as the reference names them."""
    if SCHEMA.exists():
        validator = Draft7Validator(json.loads(SCHEMA.read_text("utf-8")), format_checker=FormatChecker())
        assert [error.message[:200] for error in validator.iter_errors(told)] == []
    names = [one["eventID"] for one in _events(told)]
    assert names == _reference(json.loads(json.dumps(told)))
    assert len(set(names)) == len(names)


@pytest.fixture(scope="module")
def whole(book):
    return _document(book)


@pytest.mark.skipif(not SCHEMA.exists(), reason="GS1's schema is not beside the checkout (../shared/epcis)")
def test_the_schema_is_there_and_refuses_what_is_wrong(whole):
    validator = Draft7Validator(json.loads(SCHEMA.read_text("utf-8")), format_checker=FormatChecker())
    assert not validator.is_valid(whole | {"schemaVersion": "two"})
    wrong = json.loads(json.dumps(whole))
    _events(wrong)[0]["eventTimeZoneOffset"] = "Z"
    assert not validator.is_valid(wrong)


def test_the_sample_farm_is_valid_and_its_events_are_named_by_the_rule(whole):
    _check(whole)


def test_every_receipt_sowing_harvest_packing_and_delivery_in_force_is_an_event(book, whole):
    told = {one["farm:entry"] for one in _events(whole) if "errorDeclaration" not in one}
    with book.ledger.reading() as connection:
        for kind in ("seed-receipt", "supplies-receipt", "soaking", "sowing", "harvest", "packing", "delivery"):
            assert {one.name for one in entries(connection, kind)} <= told, kind


def test_the_amounts_delivered_are_the_ledgers(book, whole):
    with book.ledger.reading() as connection:
        for version in entries(connection, "delivery"):
            [event] = [
                one
                for one in _events(whole, "shipping")
                if one["farm:entry"] == version.name and "errorDeclaration" not in one
            ]
            expected = sorted(float(use.amount) for use in version.uses if use.role is Role.TOOK)
            assert sorted(one["quantity"] for one in event["quantityList"]) == expected


def test_an_event_says_what_when_where_and_to_whom(tmp_path):
    told = _document(small(tmp_path / "farm.db", **GS1, phone="555-0100"))
    _check(told)
    first, second = _events(told, "shipping")
    # GS1: LGTIN of GTIN 00614141777778 (references.md, check 14), as a Digital Link.
    assert first["quantityList"] == [
        {"epcClass": "https://id.gs1.org/01/00614141777778/10/P-1", "quantity": 500, "uom": "GRM"}
    ]
    assert (first["eventTime"], first["eventTimeZoneOffset"]) == ("2026-03-10T15:00:00+00:00", "+00:00")
    assert [one["type"] for one in first["bizTransactionList"]] == ["desadv", "po"]
    assert first["destinationList"] != second["destinationList"] and first["sourceList"] == second["sourceList"]
    [receipt] = _events(told, "receiving")
    assert receipt["certificationInfo"] and receipt["bizTransactionList"][0]["type"] == "inv"
    names = {
        one["id"]: {each["id"].rpartition(":")[2]: each["attribute"] for each in one["attributes"]}
        for listed in told["epcisHeader"]["epcisMasterData"]["vocabularyList"]
        for one in listed["vocabularyElementList"]
    }
    assert names[receipt["sourceList"][0]["source"]]["name"] == "Seeds of Hollin"
    assert names[receipt["certificationInfo"][0]]["name"].startswith("COA-1")
    assert names[receipt["quantityList"][0]["epcClass"]] == {"lotNumber": "S-1", "descriptionShort": "pea"}


def test_what_goes_in_and_what_comes_out_hang_together_from_seed_to_customer(tmp_path):
    told = _document(small(tmp_path / "farm.db"))
    made = {one["outputQuantityList"][0]["epcClass"]: one for one in _events(told) if "outputQuantityList" in one}
    lot = _events(told, "shipping")[0]["quantityList"][0]["epcClass"]
    steps = []
    while lot in made:
        steps.append(made[lot]["bizStep"])
        lot = made[lot]["inputQuantityList"][0]["epcClass"]
    assert steps == ["packing", "creating_class_instance", "creating_class_instance"]
    assert lot == _events(told, "receiving")[0]["quantityList"][0]["epcClass"]


def test_lots_as_urns_are_the_same_events(tmp_path):
    book = small(tmp_path / "farm.db", **GS1)
    links, urns = _document(book), _document(book, urns=True)
    assert _events(urns, "shipping")[0]["quantityList"][0]["epcClass"] == "urn:epc:class:lgtin:0614141.077777.P-1"
    assert [one["eventID"] for one in _events(links)] == [one["eventID"] for one in _events(urns)]
    _check(urns)


@pytest.mark.parametrize("prefix", ["", "4012345"])
def test_no_number_of_gs1_is_made_up(tmp_path, prefix):
    settings = {"company_prefix": prefix} if prefix else {}
    book = small(tmp_path / "farm.db", **settings)
    told = _document(book)
    _check(told)
    assert "id.gs1.org" not in json.dumps(told) and "lgtin" not in json.dumps(told)
    lots = [one["epcClass"] for event in _events(told, "shipping") for one in event["quantityList"]]
    assert all(one.startswith("urn:uuid:") for one in lots) and len(set(lots)) == 1
    with book.ledger.reading() as connection:
        notices = document(ask(connection, book.ledger, Question())).notices
    assert bool(notices) is bool(prefix)


def test_a_domain_of_the_farms_own_names_what_has_no_number(tmp_path):
    told = _document(small(tmp_path / "farm.db", link_address="https://id.hollow.example.com"))
    _check(told)
    text = json.dumps(told)
    assert "https://id.hollow.example.com/packed-lot/P-1" in text and "urn:uuid" not in text


def test_two_farms_with_the_same_codes_share_no_identifier(tmp_path):
    def lots(place):
        return {
            one["epcClass"] for event in _events(_document(small(place)), "shipping") for one in event["quantityList"]
        }

    assert not lots(tmp_path / "one.db") & lots(tmp_path / "two.db")


@pytest.mark.parametrize("code", ["P/1+2", "a&b%3F", "(1)", "日本-1", "ü", "x" * 21, "#1", "P:1.0"])
def test_codes_of_any_letters(tmp_path, code):
    changed = json.loads(json.dumps(FARM).replace('"P-1', json.dumps(code)[:-1]))
    for number, more in enumerate(({}, GS1, {"link_address": "https://hollow.example.com"})):
        told = _document(small(tmp_path / f"{number}.db", changed, **more))
        _check(told)
        assert f'"attribute": "{code}"' in json.dumps(told, ensure_ascii=False)


def test_an_amendment_declares_the_event_before_it_an_error_and_names_the_right_one(tmp_path):
    book = small(tmp_path / "farm.db")
    before = _events(_document(book), "shipping")
    book.amend(14, {"items": "P-1 450 g"}, because="weighed again", by=["TO"])
    told = _document(book)
    _check(told)
    [wrong] = [one for one in _events(told) if "errorDeclaration" in one]
    right = next(one for one in _events(told, "shipping") if one["quantityList"][0].get("quantity") == 450)
    assert wrong["eventID"] == before[0]["eventID"] and wrong["quantityList"][0]["quantity"] == 500
    assert wrong["errorDeclaration"]["reason"] == "incorrect_data"
    assert wrong["errorDeclaration"]["correctiveEventIDs"] == [right["eventID"]]


def test_a_void_entry_did_not_occur(tmp_path):
    book = small(tmp_path / "farm.db")
    book.void(15, because="entered twice", by=["TO"])
    told = _document(book)
    _check(told)
    [wrong] = [one for one in _events(told) if "errorDeclaration" in one]
    assert wrong["errorDeclaration"]["reason"] == "did_not_occur"
    assert "correctiveEventIDs" not in wrong["errorDeclaration"]


def test_an_amendment_of_what_no_event_tells_is_no_error(tmp_path):
    book = small(tmp_path / "farm.db")
    before = _events(_document(book))
    book.amend(14, {"note": "left at the back door"}, because="forgotten", by=["TO"])
    assert _events(_document(book)) == before


def test_for_one_customer_no_other_is_named_also_not_in_what_was_corrected(tmp_path):
    book = small(tmp_path / "farm.db")
    book.amend(15, {"customer": "CAFE"}, because="it was the cafe", by=["TO"])
    told = json.dumps(_document(book, Question(customer="CAFE")))
    assert "Cafe Under" in told and "Shop Over" not in told
    shop = _document(book)
    assert [one for one in _events(shop) if "errorDeclaration" in one]
    names = {one["destinationList"][0]["destination"] for one in _events(shop, "shipping")}
    assert len({name for name in names if name in told}) == 1


def test_a_time_that_was_not_written_to_the_minute_says_what_was(tmp_path):
    changed = [{**one, "at": "2026-03-10"} if one.get("lot") == "H-1" else one for one in FARM]
    [cut] = [
        one for one in _events(_document(small(tmp_path / "farm.db", changed))) if one.get("farm:when") == "2026-03-10"
    ]
    assert cut["eventTime"] == "2026-03-10T00:00:00+00:00"


def test_it_cautions_and_carries_the_ledgers_head(book, whole):
    with book.ledger.reading() as connection:
        head = book.ledger.head(connection)
    assert whole["farm:head"] == f"{head.size}:{head.root.hex()}"
    assert "licensed advice decide" in whole["farm:says"][0]


def test_the_same_ledger_gives_the_same_document(book, whole):
    assert _document(book) == whole


def test_sleeves_are_not_sent_for_themselves(tmp_path):
    """D-3 is P-1 in a sleeve: its event tells of one lot, as those of D-1 and D-2 do."""
    sleeves = [
        {"kind": "supplies-receipt", "lot": "SLV", "product": "Sleeves", "type": "packaging", "at": AT},
        {
            "kind": "delivery",
            "code": "D-3",
            "customer": "SHOP",
            "items": "P-1 50 g",
            "packaging": "SLV",
            "at": "2026-03-12 15:00",
        },
    ]
    told = _document(small(tmp_path / "farm.db", [*FARM, *sleeves]))
    _check(told)
    sent = [[one["epcClass"][-4:] for one in event["quantityList"]] for event in _events(told, "shipping")]
    assert len(sent) == 3
    assert all(len(one) == 1 for one in sent)


def test_coir_goes_into_what_was_sown_on_it(tmp_path):
    coir = [
        {"kind": "supplies-receipt", "lot": "COIR", "product": "Coir", "type": "growing medium", "at": AT},
        {
            "kind": "sowing",
            "batch": "T-2",
            "seed": "S-1 100 g",
            "trays": "1",
            "medium": "COIR 2 kg",
            "at": "2026-03-03",
        },
    ]
    told = _document(small(tmp_path / "farm.db", [*FARM, *coir]))
    inputs = [event["inputQuantityList"] for event in _events(told, "creating_class_instance")]
    assert [len(one) for one in inputs] == [1, 2, 1]
    assert {"quantity": 2000, "uom": "GRM"}.items() <= inputs[1][1].items()
