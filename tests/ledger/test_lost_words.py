"""What a person wrote is never dropped without a word, and what two fields name together is never mixed up."""

import pytest
from tests.ledger.farm import everything, load, uses

from lotwalk.errors import Refused


@pytest.mark.parametrize(
    ("entry", "lost"),
    [
        ("{kind: washing, at: 2026-03-01 08:00, by: TO, items: M-01, M-02, method: brushed}", "M-02"),
        ("{kind: washing, at: 2026-03-01 08:00, by: TO, items: M-01, method: scraped, brushed}", "brushed"),
        ("{kind: washing, at: 2026-03-01 08:00, by: TO, items: M-01, method: brushed, metod: }", "metod"),
    ],
)
def test_a_word_after_a_comma_in_braces_is_refused_and_not_lost(lite, entry, lost):
    with pytest.raises(Refused) as refused:
        load(lite, f"- {entry}\n")
    assert f"`{lost}`" in str(refused.value)


def test_an_empty_field_that_the_kind_knows_is_as_if_it_were_not_there(lite):
    (receipt,) = load(lite, "- {kind: washing, at: 2026-03-01 08:00, by: TO, items: M-01, method: brushed, note: }\n")
    assert "touched M-01" in uses(lite, receipt.name)


def test_a_lot_cannot_be_made_of_itself(lite):
    with pytest.raises(Refused, match="K-1"):
        load(lite, "- {kind: solution, at: 2026-03-01 08:00, by: TO, lot: K-1, product: K-1}\n")
    assert all("K-1" not in str(row) for rows in everything(lite).values() for row in rows)


def test_supplier_lots_that_only_look_alike_stay_apart_and_a_taken_code_loses_none(lite):
    load(lite, "- {kind: product, at: 2026-03-01, by: TO, code: 'HOLT:Q9', name: z, commodity: radish}\n")
    lots = {"S-A": "Q9", "S-B": "Q9", "S-C": "'a,b'", "S-D": "a b"}
    common = "common: {kind: seed-receipt, at: 2026-03-01, by: TO, crop: pea, supplier: HOLT, amount: 1 kg}"
    rows = "".join(f"  - {{lot: {lot}, supplier_lot: {theirs}}}\n" for lot, theirs in lots.items())
    first, second, third, other = load(lite, f"{common}\nentries:\n{rows}")

    def shared(receipt):
        return {use for use in uses(lite, receipt.name) if use.startswith("took HOLT:")}

    assert shared(first) == shared(second) != set()
    assert not shared(third) & shared(other)
