"""The engine knows no kind of record by name: with every kind renamed, a farm gives the same walk and verdicts."""

import itertools
from dataclasses import replace

from lotwalk.book import SETTINGS_KIND, Book
from lotwalk.checks.by_subject import CHECKS, LOOKS
from lotwalk.checks.findings import due, find
from lotwalk.data import folder
from lotwalk.kinds.library import Kinds, read_things
from lotwalk.recall.asking.asked import ask
from lotwalk.recall.recall import recall

AT = "2026-03-01 08:00"
FARM = [
    {"kind": "person", "code": "TO", "name": "Tess Orr", "at": AT},
    {"kind": "water-source", "code": "MAIN", "name": "Main", "type": "ground", "at": AT},
    {"kind": "equipment", "codes": "M-1..M-4", "type": "medium", "at": AT},
    {"kind": "equipment", "codes": "KN-1", "type": "tool", "at": AT},
    {"kind": "place", "code": "ROOM", "name": "Room", "use": "growing", "usual_tools": "KN-1", "at": AT},
    {"kind": "supplier", "code": "SEEDS", "name": "Seeds", "at": AT},
    {"kind": "customer", "code": "CAFE", "name": "Cafe", "at": AT},
    {"kind": "supplies-receipt", "lot": "BL-1", "product": "Bleach", "type": "sanitiser", "active": "chlorine",
     "label_min": "50 ppm", "label_max": "200 ppm", "label_contact": "1 min", "at": AT},
    {"kind": "seed-receipt", "lot": "S-1", "crop": "radish", "supplier": "SEEDS", "supplier_lot": "A 1",
     "amount": "2 kg", "at": AT},
    {"kind": "sowing", "batch": "T-1", "seed": "S-1 200 g", "trays": "2", "equipment": "M-1, M-2", "water": "MAIN",
     "at": "2026-03-02 09:00"},
    {"kind": "sowing", "batch": "T-2", "seed": "S-1 200 g", "trays": "2", "equipment": "M-3, M-4", "water": "none",
     "at": "2026-03-02 10:00"},
    {"kind": "harvest", "lot": "H-1", "from": "T-1 2", "amount": "300 g", "cut": "above the medium", "place": "ROOM",
     "at": "2026-03-10 09:00"},
    {"kind": "solution", "lot": "SOL-1", "product": "BL-1", "volume": "10 L", "at": "2026-03-10 10:00"},
    {"kind": "sanitising", "items": "M-1..M-3", "solution": "SOL-1", "reading": "100 ppm", "contact": "2 min",
     "at": "2026-03-10 11:00"},
    {"kind": "washing", "items": "M-1", "method": "brush", "at": "2026-03-10 10:30"},
    {"kind": "water-test", "source": "MAIN", "e_coli": "<1 MPN/100 mL", "at": "2026-03-10 12:00"},
    {"kind": "delivery", "code": "D-1", "customer": "CAFE", "items": "H-1 250 g", "at": "2026-03-10 15:00"},
    {"kind": "complaint", "code": "Q-1", "customer": "CAFE", "type": "illness", "deliveries": "D-1",
     "description": "two ill", "at": "2026-03-14 09:00"},
    {"kind": "equipment", "codes": "KN-2", "type": "tool", "at": AT},
    {"kind": "place", "code": "TRIM", "name": "Trimming bench", "use": "trimming", "usual_tools": "KN-2", "at": AT},
    {"kind": "trimming", "lots": "H-1", "place": "TRIM", "at": "2026-03-10 09:30"},
    {"kind": "fitness", "person": "TO", "state": "excluded", "at": "2026-03-11 09:00"},
    {"kind": "fitness", "person": "TO", "state": "back", "at": "2026-03-12 09:00"},
]  # fmt: skip
TRIMMING = """
$schema: https://json-schema.org/draft/2020-12/schema
$id: trimming
title: Trimming
description: Lots trimmed after the harvest.
$ref: common.yaml
unevaluatedProperties: false
required: [lots]
properties:
  lots:
    title: Lots
    description: Which lots, such as H-1
    $ref: common.yaml#/$defs/codes
    x-thing: [lot]
    x-role: [{role: handled}]
  tools:
    title: Tools
    description: What they were trimmed with, such as KN-2; or none
    $ref: common.yaml#/$defs/codes
    x-thing: [item]
    x-role: [{role: touched}]
    x-usual: usual_tools
"""
"""A kind of the grower's own, which rests on what a place's record names."""


def _told(kinds: Kinds, rename, path) -> list[object]:
    book = Book.start(str(path), name="F", location="L", timezone="UTC", rules="us", clock=lambda: 1_773_000_000)
    book.ledger.kinds = kinds
    receipts = list(
        itertools.chain.from_iterable(
            book.record_all([{"by": "TO", **entry, "kind": rename(entry["kind"])}]) for entry in FARM
        )
    )
    with book.ledger.reading() as connection:
        answer = recall(connection, ask(connection, ["Q-1"]), kinds)
        # Asked more than a year on, when whatever is done yearly is overdue.
        records = book.records(connection, 1_805_000_000)
        checked = [[one.finding for one in find(records, CHECKS)], due(records, LOOKS, 400)]
    verdicts = [(r.name, r.verdict.passed, r.verdict.failed) for r in receipts if r.verdict]
    deliveries = [replace(one, kind="") for one in answer.deliveries]
    candidates = [
        replace(one, evidence=[replace(found, kind="") for found in one.evidence]) for one in answer.candidates
    ]
    return [verdicts, checked, candidates, answer.lots, deliveries, answer.silent]


def test_renaming_every_kind_changes_nothing(tmp_path):
    schemas, own = folder("schemas"), tmp_path / "own"
    own.mkdir()
    (own / "trimming.yaml").write_text(TRIMMING)
    files = {path.stem: path for path in schemas.glob("*.yaml") if path.stem not in ("common", "things", "units")}
    files["trimming"] = own / "trimming.yaml"
    renamed = {SETTINGS_KIND: files.pop(SETTINGS_KIND)}
    for name, path in files.items():
        renamed[f"our-{name}"] = tmp_path / f"our-{name}.yaml"
        renamed[f"our-{name}"].write_text(path.read_text("utf-8").replace(f"$id: {name}\n", f"$id: our-{name}\n"))
    things = read_things(schemas / "things.yaml")
    plain = _told(Kinds.load(own), lambda name: name, tmp_path / "plain.db")
    ours = _told(Kinds(renamed, ["our-trimming"], things), lambda name: f"our-{name}", tmp_path / "ours.db")
    assert ours == plain
    verdicts, (findings, ahead), candidates, *_ = plain
    assert {one.check for one in findings} >= {"to-mend", "seed-paper", "unaccounted", "exercise-late"}
    assert ahead
    assert verdicts == [
        ("E15", (), ("M-1", "M-2", "M-3")),
        ("E15", ("M-1",), ("M-2", "M-3")),
        ("E18", ("MAIN",), ()),
    ]
    assert [one.result for main in candidates if main.thing.code == "MAIN" for one in main.evidence] == ["passed"]
    # No entry names KN-2: it is the usual tool of the bench at which H-1 was trimmed.
    assert {one.thing.code for one in candidates} >= {"S-1", "SEEDS:A_1", "M-1", "KN-1", "KN-2", "MAIN", "T-1", "H-1"}
    # TO, who cut H-1 on the day before being kept away, is one too: which kind of record tells that stands in its file.
    assert [one.spell is not None for one in candidates if one.thing.code == "TO"] == [True]


def test_the_kind_that_begins_a_ledger_is_the_one_that_holds_settings():
    kinds = Kinds.load()
    assert [name for name in kinds.names if kinds[name].settings] == [SETTINGS_KIND]
