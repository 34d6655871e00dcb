"""The entries of a made-up grower, each as a person writes it and as the ledger understands it.

A deed holds both: the fields for the front door, and the uses, amounts and verdict that the ledger stores. That the
two say the same is held by a test, which puts deeds through the front door and compares the tables.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any, NamedTuple


class Used(NamedTuple):
    """One use: the role, the thing's code, the field; an amount; the kind and type of a thing that it brings in."""

    role: str
    code: str
    field: str
    amount: str | None = None
    unit: str | None = None
    kind: str | None = None
    type: str = ""


@dataclass(slots=True)
class Deed:
    """One entry. `at` is its first second, `passed` what a judged entry cleared, `silent` what it does not name."""

    kind: str
    at: int
    by: str
    fields: dict[str, Any]
    uses: list[Used]
    read: dict[str, list[str]] = field(default_factory=dict)
    silent: tuple[str, ...] = ()
    passed: tuple[str, ...] | None = None

    @property
    def written_at(self) -> str:
        return datetime.fromtimestamp(self.at, UTC).strftime("%Y-%m-%d %H:%M")

    def written(self) -> dict[str, Any]:
        """The entry as a person writes it."""
        return {"kind": self.kind, "at": self.written_at, "by": self.by, **self.fields}


def grams(amount: int) -> str:
    return f"{amount} g"


def person(at: int, code: str) -> Deed:
    return Deed("person", at, code, {"code": code, "name": f"Worker {code}"}, [_named(code, "code", "person")])


def supplier(at: int, by: str, code: str) -> Deed:
    return Deed("supplier", at, by, {"code": code, "name": "Larkmere Seeds"}, [_named(code, "code", "supplier")])


def customer(at: int, by: str, code: str, number: int) -> Deed:
    fields = {"code": code, "name": f"Kitchen {number}", "type": "kitchen", "phone": f"555-{number:04d}"}
    return Deed("customer", at, by, fields, [_named(code, "code", "customer")])


def product(at: int, by: str, code: str) -> Deed:
    fields = {"code": code, "name": "Cut greens", "commodity": "mixed greens", "shelf_life": "10 d"}
    return Deed("product", at, by, fields, [_named(code, "code", "product")], {"shelf_life": ["864000", "s"]})


def water_source(at: int, by: str, code: str) -> Deed:
    fields = {"code": code, "name": f"Well {code}", "type": "ground", "used_for": "growing"}
    return Deed("water-source", at, by, fields, [_named(code, "code", "water-source", "ground")])


def equipment(at: int, by: str, codes: Sequence[str], kind: str) -> Deed:
    fields = {"codes": ", ".join(codes), "type": kind}
    return Deed("equipment", at, by, fields, [_named(code, "codes", kind) for code in codes])


def seed_receipt(at: int, by: str, lot: str, supplied_by: str, crop: str) -> Deed:
    fields = {"lot": lot, "crop": crop, "supplier": supplied_by, "supplier_lot": f"K{lot}", "amount": "20000 g"}
    uses = [
        Used("made", lot, "lot", "20000", "g", "seed-lot", crop),
        Used("from", supplied_by, "supplier"),
        Used("took", f"{supplied_by}:K{lot}", "supplier_lot", None, None, "supplier-lot"),
    ]
    return Deed("seed-receipt", at, by, fields, uses, {"amount": ["20000", "g"]})


def boxes_receipt(at: int, by: str, lot: str) -> Deed:
    fields = {"lot": lot, "product": "Box 50", "type": "packaging", "amount": "5000 count"}
    uses = [Used("made", lot, "lot", "5000", "count", "supplies-lot", "packaging")]
    return Deed("supplies-receipt", at, by, fields, uses, {"amount": ["5000", "count"]})


def sanitiser_receipt(at: int, by: str, lot: str) -> Deed:
    fields = {"lot": lot, "product": "Clear Mix", "type": "sanitiser", "active": "peroxyacetic acid", "strength": "5 %"}
    fields |= {"label_min": "80 ppm", "label_max": "200 ppm", "label_contact": "1 min", "amount": "20000 mL"}
    uses = [Used("made", lot, "lot", "20000", "mL", "supplies-lot", "sanitiser")]
    read = {"strength": ["5", "%"], "label_min": ["80", "mg/L"], "label_max": ["200", "mg/L"]}
    read |= {"label_contact": ["60", "s"], "amount": ["20000", "mL"]}
    return Deed("supplies-receipt", at, by, fields, uses, read)


def water_test(at: int, by: str, source: str) -> Deed:
    fields = {"source": source, "e_coli": "<1 MPN/100 mL", "coliforms": "<1 MPN/100 mL"}
    return Deed("water-test", at, by, fields, [Used("cleared", source, "source")], passed=(source,))


def solution(at: int, by: str, lot: str, sanitiser: str, well: str) -> Deed:
    fields = {"lot": lot, "product": sanitiser, "amount": "40 mL", "water": well, "volume": "20000 mL"}
    uses = [
        Used("made", lot, "lot", "20000", "mL", "solution", "sanitiser"),
        Used("took", sanitiser, "product", "40", "mL"),
        Used("drew", well, "water"),
    ]
    return Deed("solution", at, by, fields, uses, {"amount": ["40", "mL"], "volume": ["20000", "mL"]})


def sanitising(at: int, by: str, items: Sequence[str], mix: str) -> Deed:
    fields = {"items": ", ".join(items), "solution": mix, "reading": "110 ppm", "contact": "2 min", "washed": "yes"}
    uses = [Used("took", mix, "solution"), *(Used("cleared", item, "items") for item in items)]
    read = {"reading": ["110", "110", "mg/L"], "contact": ["120", "s"]}
    return Deed("sanitising", at, by, fields, uses, read, passed=tuple(items))


def sowing(at: int, by: str, batch: str, seeds: Sequence[str], medium: str, well: str) -> Deed:
    amount = 60 // len(seeds)
    rows = [{"lot": seed, "amount": grams(amount)} for seed in seeds]
    fields = {"batch": batch, "seed": rows, "trays": "1", "equipment": medium, "water": well}
    uses = [
        Used("made", batch, "batch", "1", "count", "tray-batch"),
        *(Used("took", seed, f"seed[{place}].lot", str(amount), "g") for place, seed in enumerate(seeds)),
        Used("touched", medium, "equipment"),
        Used("drew", well, "water"),
    ]
    read = {f"seed[{place}].amount": [str(amount), "g"] for place in range(len(seeds))}
    return Deed("sowing", at, by, fields, uses, read, silent=("tool",))


def growing_check(at: int, by: str, batches: Sequence[str], well: str) -> Deed:
    fields = {"batches": ", ".join(batches), "water": well, "equipment": "none"}
    uses = [*(Used("tended", batch, "batches") for batch in batches), Used("drew", well, "water")]
    return Deed("growing-check", at, by, fields, uses)


def harvest(at: int, by: str, lot: str, batches: Sequence[tuple[str, str]], amount: int, knife: str) -> Deed:
    """`batches` are pairs of a batch and the medium that it stands on."""
    rows = [{"batch": batch} for batch, _ in batches]
    fields = {"lot": lot, "from": rows, "amount": grams(amount), "equipment": knife, "cut": "above the medium"}
    uses = [Used("made", lot, "lot", str(amount), "g", "harvest-lot")]
    for place, (batch, medium) in enumerate(batches):
        uses += [Used("took", batch, f"from[{place}].batch"), Used("touched", medium, f"from[{place}].batch")]
    return Deed("harvest", at, by, fields, [*uses, Used("touched", knife, "equipment")], {"amount": [str(amount), "g"]})


def packing(at: int, by: str, lot: str, harvests: Sequence[tuple[str, int]], of: str, boxes: str, bench: str) -> Deed:
    """`harvests` are pairs of a harvest lot and how many grams of it were packed."""
    total = sum(amount for _, amount in harvests)
    rows = [{"lot": name, "amount": grams(amount)} for name, amount in harvests]
    fields = {"lot": lot, "from": rows, "product": of, "packaging": boxes, "equipment": bench, "water": "none"}
    uses = [
        Used("made", lot, "lot", str(total), "g", "packed-lot"),
        *(Used("took", name, f"from[{place}].lot", str(amount), "g") for place, (name, amount) in enumerate(harvests)),
        Used("about", of, "product"),
        Used("took", boxes, "packaging"),
        Used("touched", bench, "equipment"),
    ]
    read = {f"from[{place}].amount": [str(amount), "g"] for place, (_, amount) in enumerate(harvests)}
    return Deed("packing", at, by, fields | {"amount": grams(total)}, uses, read | {"amount": [str(total), "g"]})


def delivery(at: int, by: str, code: str, to: str, items: Iterable[tuple[str, int]]) -> Deed:
    """`items` are pairs of a packed lot and how many grams of it went."""
    held = list(items)
    fields = {"code": code, "customer": to, "items": [{"lot": lot, "amount": grams(amount)} for lot, amount in held]}
    uses = [
        Used("made", code, "code", kind="delivery"),
        Used("to", to, "customer"),
        *(Used("took", lot, f"items[{place}].lot", str(amount), "g") for place, (lot, amount) in enumerate(held)),
    ]
    read = {f"items[{place}].amount": [str(amount), "g"] for place, (_, amount) in enumerate(held)}
    return Deed("delivery", at, by, fields, uses, read)


def complaint(at: int, by: str, code: str, customer_code: str, delivered: str) -> Deed:
    fields = {"code": code, "customer": customer_code, "type": "illness", "deliveries": delivered}
    uses = [
        Used("made", code, "code", kind="complaint", type="illness"),
        Used("from", customer_code, "customer"),
        Used("about", delivered, "deliveries"),
    ]
    return Deed("complaint", at, by, fields | {"description": "two guests ill in the night"}, uses)


def _named(code: str, name: str, kind: str, type_: str = "") -> Used:
    return Used("names", code, name, kind=kind, type=type_)
