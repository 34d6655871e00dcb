"""How much of a lot: its maker fixes the unit, and packs are as large as the packing or the product says."""

import pytest
from tests.ledger.farm import load, refused, uses

HARVEST = """
    - {kind: sowing, at: 2026-03-02, by: TO, batch: T-1, seed: S-1 200 g, trays: 4}
    - {kind: harvest, at: 2026-03-09, by: TO, lot: H-1, from: T-1, amount: 3 kg, cut: above the medium}
"""


def took(book, sheet: str) -> set[str]:
    """What the last entry of a sheet took or made, with amounts."""
    name = load(book, sheet)[-1].name
    return {use for use in uses(book, name) if use.startswith(("took", "made"))}


def test_amounts_are_kept_in_one_unit_whatever_was_written(book):
    load(book, HARVEST)
    assert took(book, "- {kind: disposal, at: 2026-03-10, by: TO, items: H-1 1 lb}\n") == {"took H-1 453.59237 g"}
    assert took(book, "- {kind: disposal, at: 2026-03-10, by: TO, items: H-1 0.25 kg}\n") == {"took H-1 250 g"}


@pytest.mark.parametrize(
    ("fields", "problem"),
    [
        ("kind: disposal, items: H-1 2 L", "items[0].lot: 2 L of H-1, which is kept in g; expected an amount in g"),
        ("kind: stock-count, lot: H-1, amount: 12 bunches", "lot: 12 bunches of H-1, which is kept in g"),
        ("kind: sample, of: S-1, amount: 100 seeds", "of: 100 seeds of S-1, which is kept in g"),
        ("kind: disposal, items: T-1 500 g", "items[0].lot: 500 g of T-1, which is kept in count"),
        ("kind: disposal, items: {lot: H-1, trays: 2}", "items[0].lot: 2 of H-1, which is kept in g"),
        ("kind: delivery, code: D-1, customer: CAFE, items: {lot: H-1, packs: 2}", "items[0].lot: the packing of H-1"),
    ],
)
def test_the_maker_fixes_the_unit(lite, fields, problem):
    load(lite, HARVEST)
    (found,) = refused(lite, f"- {{at: 2026-03-10, by: TO, {fields}}}\n")
    assert found.startswith(f"sheet.yaml:1: {problem}")


def test_the_unit_of_a_lot_made_on_the_same_sheet_counts_too(lite):
    (problem,) = refused(lite, HARVEST + "    - {kind: stock-count, at: 2026-03-09, by: TO, lot: H-1, amount: 3 L}\n")
    assert problem.startswith("sheet.yaml:3: lot: 3 L of H-1, which is kept in g")


def test_a_lot_that_was_made_without_an_amount_takes_any_unit(lite):
    load(lite, "- {kind: soaking, at: 2026-03-02, by: TO, lot: K-1, seed: S-1 200 g}\n")
    assert took(lite, "- {kind: disposal, at: 2026-03-03, by: TO, items: K-1 1 L}\n") == {"took K-1 1000 mL"}


def test_rows_of_one_lot_in_two_units_are_told(lite):
    load(lite, "- {kind: soaking, at: 2026-03-02, by: TO, lot: K-1, seed: S-1 200 g}\n")
    (problem,) = refused(lite, "- {kind: disposal, at: 2026-03-03, by: TO, items: [K-1 1 L, K-1 200 g]}\n")
    assert problem.startswith(
        "sheet.yaml:1: items[1].lot: K-1 is named twice, in mL and in g; expected one kind of unit"
    )


@pytest.mark.parametrize(
    ("packing", "made", "delivered", "taken"),
    [
        # The packing says how large a pack is; else the product does; else packs are counted.
        ("packs: 20, pack_size: 40 g, product: PEA-50", "800 g", "{lot: P-1, packs: 3}", "120 g"),
        ("packs: 20, pack_size: 40 g", "800 g", "P-1 3 packs", "120 g"),
        ("packs: 20, product: PEA-50", "1000 g", "{lot: P-1, packs: 3}", "150 g"),
        ("packs: 20, product: PEA-50", "1000 g", "P-1 3 clamshells", "150 g"),
        ("packs: 20", "20 count", "{lot: P-1, packs: 3}", "3 count"),
        ("packs: 20", "20 count", "P-1 3 packs", "3 count"),
        ("amount: 1 kg, product: PEA-50", "1000 g", "{lot: P-1, packs: 3}", "150 g"),
        ("amount: 1 kg", "1000 g", "P-1 150 g", "150 g"),
        ("amount: 1 kg", "1000 g", "{lot: P-1, packs: 3, pack_size: 60 g}", "180 g"),
        ("packs: 20, pack_size: 40 g", "800 g", "[P-1 3 packs, P-1 30 g]", "150 g"),
    ],
)  # fmt: skip
@pytest.mark.parametrize("together", [True, False], ids=["one sheet", "two sheets"])
def test_packs_are_as_large_as_the_packing_or_the_product_says(lite, packing, made, delivered, taken, together):
    packed = f"- {{kind: packing, at: 2026-03-10, by: TO, lot: P-1, from: H-1 1 kg, {packing}}}\n"
    sent = f"- {{kind: delivery, at: 2026-03-10, by: TO, code: D-1, customer: CAFE, items: {delivered}}}\n"
    load(lite, HARVEST)
    if together:
        assert took(lite, packed + sent) >= {f"took P-1 {taken}"}
    else:
        assert took(lite, packed) >= {f"made P-1 {made}"}
        assert took(lite, sent) >= {f"took P-1 {taken}"}


def test_packs_of_a_packing_that_gives_no_size_are_refused(book):
    load(book, HARVEST)
    load(book, "- {kind: packing, at: 2026-03-10, by: TO, lot: P-1, from: H-1 1 kg, amount: 1 kg}\n")
    (problem,) = refused(
        book, "- {kind: delivery, at: 2026-03-10, by: TO, code: D-1, customer: CAFE, items: P-1 3 packs}\n"
    )
    assert problem.startswith(
        "sheet.yaml:1: items[0].lot: the packing of P-1 gives no pack size; expected an amount with its unit"
    )


def test_a_pack_in_another_unit_than_the_lot_is_refused(lite):
    load(lite, HARVEST)
    load(lite, "- {kind: packing, at: 2026-03-10, by: TO, lot: P-1, from: H-1 1 kg, packs: 20, pack_size: 40 g}\n")
    (problem,) = refused(
        lite,
        """
        - kind: delivery
          at: 2026-03-10
          by: TO
          code: D-1
          customer: CAFE
          items: {lot: P-1, packs: 3, pack_size: 60 mL}
        """,
    )
    assert "of P-1, which is kept in g" in problem


def test_trays_are_counted_or_named(book):
    load(
        book, "- {kind: sowing, at: 2026-03-02, by: TO, batch: T-1, seed: S-1 1 kg, trays: 4, equipment: M-01..M-04}\n"
    )
    sheet = "- {{kind: harvest, at: 2026-03-09, by: TO, lot: {lot}, from: {rows}, amount: 1 kg, cut: with roots}}\n"
    assert took(book, sheet.format(lot="H-1", rows="{batch: T-1, trays: 3, finished: no}")) == {
        "took T-1 3 count",
        "made H-1 1000 g",
    }
    assert took(book, sheet.format(lot="H-2", rows="{batch: T-1, trays: M-04}")) == {
        "took T-1 1 count",
        "made H-2 1000 g",
    }


def test_a_return_that_is_restocked_makes_a_lot_of_the_same_kind(book):
    load(
        book,
        HARVEST
        + """
    - {kind: packing, at: 2026-03-10, by: TO, lot: P-1, from: H-1 1 kg, packs: 20, product: PEA-50}
    - {kind: delivery, at: 2026-03-10, by: TO, code: D-1, customer: CAFE, items: P-1 10 packs}
    """,
    )
    (held,) = load(
        book, "- {kind: return, at: 2026-03-11, by: TO, delivery: D-1, lot: P-1, amount: 100 g, then: held}\n"
    )
    assert uses(book, held.name) == {"by TO", "handled D-1", "handled P-1 100 g"}
    (thrown,) = load(
        book, "- {kind: return, at: 2026-03-11, by: TO, delivery: D-1, lot: P-1, amount: 50 g, then: disposed}\n"
    )
    assert uses(book, thrown.name) == {"by TO", "about D-1", "about P-1 50 g"}
    (back,) = load(
        book,
        """
        - {kind: return, at: 2026-03-11, by: TO, delivery: D-1, lot: P-1, amount: 100 g,
           then: restocked as a new lot, new_lot: P-1B}
        """,
    )
    assert uses(book, back.name) == {"by TO", "handled D-1", "took P-1 100 g", "made P-1B 100 g"}
    load(book, "- {kind: delivery, at: 2026-03-11, by: TO, code: D-2, customer: CAFE, items: P-1B 100 g}\n")
