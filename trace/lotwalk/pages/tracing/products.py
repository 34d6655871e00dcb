"""What was delivered, as those know it who got it: the product, its pack and what is printed on it, beside the lot."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from lotwalk.ledger.read.likeness import first_said, sayers
from lotwalk.pages.tracing.desk import Desk
from lotwalk.recall.model import Delivered
from lotwalk.recall.response.package_marks import BARE, Bag

_SIZE = "pack_size"
"""The field in which the entry that made a lot says how much is in a pack."""


@dataclass(frozen=True, slots=True)
class Goods:
    """A lot in a delivery: what it is called, how much is in a pack, what is printed on it, and how much was delivered.

    `delivery` and `at` say with which delivery, and when. What nobody wrote down is empty.
    """

    lot: str
    product: str
    pack: str
    bag: Bag
    amount: str
    delivery: str
    at: str


def goods(desk: Desk, deliveries: Sequence[Delivered], bags: Mapping[str, Bag]) -> list[Goods]:
    """Return all lots of these deliveries, by time and delivery."""
    lots = list(dict.fromkeys(item.lot for one in deliveries for item in one.items))
    names = desk.names(lots)
    keys = desk.keys(lots)
    said = sayers(desk.connection, desk.kinds, keys)
    sizes = {keys[key]: str(first_said(versions, _SIZE) or "") for key, versions in said.items()}
    return [
        Goods(
            item.lot,
            names.get(item.lot, ""),
            sizes.get(item.lot, ""),
            bags.get(item.lot, BARE),
            desk.item_amount(item),
            one.code,
            one.at,
        )
        for one in sorted(deliveries, key=lambda one: (one.start, one.code))
        for item in one.items
    ]
