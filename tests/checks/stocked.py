"""A farm with bleach, peracid, descaler, ammonia and soap in its store, and the doors by which an entry comes in.

CL is a bleach, PX a peroxyacetic acid, SOUR a descaler with phosphoric acid, AMM an ammonia cleaner, SOAP a plain
detergent. S-C is a mix of the bleach, S-P one of the peracid. TK-1 is a tank.
"""

from tests.forms.filling import filled, printed

from lotwalk.checks.subjects import cleaning, dangers
from lotwalk.sheets.reader import read_sheet

STORES = """
- {kind: supplies-receipt, at: 2026-03-01 09:00, lot: CL, product: Plain bleach, type: sanitiser, strength: 5 %,
   active: sodium hypochlorite, label_min: 50 ppm, label_max: 200 ppm, label_contact: 1 min, expires: 2027-01-01}
- {kind: supplies-receipt, at: 2026-03-01 09:00, lot: PX, product: Keen 15, type: sanitiser, strength: 15 %,
   active: peroxyacetic acid, label_min: 80 ppm, label_max: 500 ppm, label_contact: 1 min, expires: 2027-01-01}
- {kind: supplies-receipt, at: 2026-03-01 09:00, lot: SOUR, product: Scale Off, type: other, active: phosphoric acid}
- {kind: supplies-receipt, at: 2026-03-01 09:00, lot: AMM, product: Window cleaner with ammonia, type: detergent}
- {kind: supplies-receipt, at: 2026-03-01 09:00, lot: SOAP, product: Plain soap, type: detergent}
- {kind: supplies-receipt, at: 2026-03-01 09:00, lot: CARD, product: Acid free card, type: packaging}
- {kind: solution, at: 2026-03-02 08:00, lot: S-C, product: CL, volume: 10 L, discard_at: 2026-03-02 20:00}
- {kind: solution, at: 2026-03-02 08:00, lot: S-P, product: PX, volume: 10 L, discard_at: 2026-03-02 20:00}
- {kind: equipment, at: 2026-03-01 09:00, codes: TK-1, type: tank}
- {kind: sowing, at: 2026-03-01 09:00, batch: T-1, seed: S-1 100 g, trays: 1, equipment: M-9}
- {kind: harvest, at: 2026-03-02 09:00, lot: H-1, from: T-1, amount: 900 g, cut: above the medium}
"""
DIP = {
    "kind": "sanitising",
    "items": "M-1",
    "solution": "S-C",
    "contact": "2 min",
    "washed": "yes",
    "temperature": "25 C",
}


def python(farm, entry):
    farm.now += 60
    return farm.book.record(at="2026-03-02 10:00", by="TO", again=True, **entry)


def sheet(farm, entry):
    told = ", ".join(f"{name}: '{value}'" for name, value in entry.items())
    text = f"entries:\n- {{at: 2026-03-02 10:00, by: TO, {told}}}\n"
    return farm.book.load(read_sheet(text, "sheet.yaml"), again=True)[0]


def form(farm, entry, folder):
    kinds = farm.book.ledger.kinds
    name = f"{entry['kind']}/1/"
    typed = {f"{name}at": "2026-03-02 10:00", f"{name}by": "TO"}
    for field, value in entry.items():
        known = kinds[entry["kind"]].fields.get(field)
        if known is not None and known.form == "rows":
            lot, amount = value.split(" ", 1)
            typed |= {f"{name}{field}/1/{next(iter(known.fields))}": lot, f"{name}{field}/1/amount": amount}
        elif known is not None:
            box = known.choices or known.read == "yes-no"
            typed |= {f"{name}{field}={value}": True} if box else {f"{name}{field}": value}
    path = folder / "form.pdf"
    path.write_bytes(filled(printed(kinds, entry["kind"]), typed))
    return farm.book.load(path, again=True)[0]


def found(farm, name):
    """The findings of dangers and of residues that name an entry."""
    known = {**farm.found(dangers, "2026-03-02"), **farm.found(cleaning, "2026-03-02")}
    return [one for one in known.values() if one.about[0] == name and one.severity == "critical"]


def pour(farm, at, what, into="TK-1", **more):
    """Fill a tank, and type it a minute after all that was typed before."""
    farm.now += 60
    return farm.book.record("tank-fill", at=at, by="TO", again=True, tank=into, solution=what, **more)


def dangers_found(farm):
    return {name: one for name, one in farm.found(dangers, "2026-03-02").items() if name.startswith("never-mixed")}


def amended(farm, code, **changes):
    """Amend the entry that made a thing, and return the receipt of that."""
    with farm.book.ledger.reading() as connection:
        number = farm.asked(connection, "2026-03-02").maker(code).number
    return farm.book.amend(number, changes, because="another can", by=["TO"])[0]
