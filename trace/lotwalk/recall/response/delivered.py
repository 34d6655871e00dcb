"""Deliveries as the ledger has them: to whom, when, of what, how much."""

from collections import defaultdict
from collections.abc import Collection, Sequence
from decimal import Decimal

from sqlalchemy import Connection

from lotwalk.kinds.library import Kinds
from lotwalk.ledger.read.likeness import sayers
from lotwalk.ledger.read.things import find_things, things_of
from lotwalk.ledger.read.uses import beside, made_between, makers, makings
from lotwalk.recall.asking.asked import DELIVERY
from lotwalk.recall.model import Delivered, Item
from lotwalk.values.roles import Role


def delivered_of(connection: Connection, keys: Sequence[int], affected: set[int]) -> dict[int, Delivered]:
    """The affected deliveries in force, with their affected lots."""
    codes = {thing.id: thing.code for thing in things_of(connection, keys)}
    customers: dict[int, str] = {}
    items: dict[int, list[Item]] = defaultdict(list)
    for one in beside(connection, keys, [Role.MADE], [Role.TOOK, Role.TO]):
        if one.role is Role.TO:
            customers[one.thing] = one.code
        elif one.other in affected:
            items[one.thing].append(Item(one.code, one.amount, one.unit))
    return {
        key: Delivered(codes[key], made.kind, customers.get(key), made.at, made.start, tuple(items[key]))
        for key, made in sorted(makings(connection, keys).items())
    }


def further(connection: Connection, kinds: Collection[str], span: tuple[int, int], besides: set[int]) -> int:
    """Return how many deliveries in force there were in a time (first and last second), besides those named.

    `kinds` are the kinds of record that make deliveries.
    """
    return len(made_between(connection, kinds, DELIVERY, *span) - besides)


def shelf_life(connection: Connection, kinds: Kinds, asked: Collection[int]) -> int | None:
    """Return the longest shelf life (seconds) on record of the products in what was asked, or None."""
    inside = {one.other for one in beside(connection, asked, [Role.MADE], [Role.TOOK])}
    said = sayers(connection, kinds, {*asked, *inside}).values()
    codes = {use.code for versions in said for one in versions for use in one.uses if use.role is Role.ABOUT}
    products = {thing.id for thing in find_things(connection, codes).values() if thing.cls == "paper"}
    read = [made.read.get("shelf_life") for made in makers(connection, products).values()]
    return max((int(Decimal(life[0])) for life in read if life), default=None)
