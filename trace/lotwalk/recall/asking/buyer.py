"""What a customer got in some time: for a complaint that names no delivery, and for a buyer who lost the label."""

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from lotwalk.balance.movements import wrapping
from lotwalk.errors import NotUnderstood
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.model import ThingRow
from lotwalk.ledger.read.things import find_thing, thing_codes, things_of
from lotwalk.ledger.read.uses import beside, used_at
from lotwalk.recall.asking.called import Called
from lotwalk.values.codes import fold
from lotwalk.values.roles import Role
from lotwalk.values.times import show_when
from lotwalk.walk.model import EVER

CUSTOMER = "customer"
_MOST = 6


@dataclass(frozen=True, slots=True)
class Buyer:
    """A buyer who cannot read out a code: which customer, in what time (first and last second), and which crop.

    `customer` is a code or the name of the business; without `crop` all that they got counts.
    """

    customer: str
    crop: str | None = None
    start: int = -EVER
    end: int = EVER


@dataclass(frozen=True, slots=True)
class Got:
    """One delivery that a customer got: its key and code, the node of its entry, and its first and last second."""

    delivery: int
    code: str
    node: int
    start: int
    end: int


def got(connection: Connection, customer: int, start: int = -EVER, end: int = EVER) -> list[Got]:
    """Return the deliveries in force that a customer (database key) got in a time, by time."""
    made = beside(connection, [customer], [Role.TO], [Role.MADE])
    inside = (one for one in made if one.end >= start and one.start <= end)
    found = {Got(one.other, one.code, one.node, one.start, one.end) for one in inside}
    return sorted(found, key=lambda one: (one.start, one.code))


def holding(connection: Connection, deliveries: Collection[int], product: ThingRow) -> set[int]:
    """Return those of the deliveries (keys) that took a lot whose making names the product, or names none.

    What the book leaves out could be anything, so that the sloppiest book does not get the smallest recall.
    """
    taken = beside(connection, deliveries, [Role.MADE], [Role.TOOK])
    products: dict[int, dict[int, set[int]]] = defaultdict(lambda: defaultdict(set))
    for one in beside(connection, {one.other for one in taken}, [Role.MADE], tuple(Role)):
        named = products[one.thing][one.node]
        if one.kind == product.kind:
            named.add(one.other)

    def may_be(lot: int) -> bool:
        made = products.get(lot, {})
        return not made or any(not named or product.id in named for named in made.values())

    return {one.thing for one in taken if may_be(one.other)}


def bought(
    connection: Connection, kinds: Kinds, buyer: Buyer, zone: ZoneInfo
) -> tuple[ThingRow, list[Got], frozenset[int]]:
    """Return the customer, the deliveries that a buyer's words stand for, and the lots of the crop in them (keys).

    The deliveries are those of that time with some of the crop; without a crop all of that time, and no lots. Raises
    NotUnderstood when there is no such customer, or when they got none; then it tells what they did get.
    """
    customer = _customer(connection, kinds, buyer.customer)
    everything = got(connection, customer.id)
    inside = [one for one in everything if one.end >= buyer.start and one.start <= buyer.end]
    if not buyer.crop:
        if inside:
            return customer, inside, frozenset()
        raise NotUnderstood(f"{customer.code} got nothing{_time(buyer, zone)}", _nearest(everything, buyer, zone))
    lots = _lots(connection, kinds, everything)
    called = Called(connection, kinds, {lot for taken in lots.values() for lot in taken})
    wanted = {lot for taken in lots.values() for lot in taken if called.is_called(lot, buyer.crop)}
    # A lot of which the book says nothing could be anything.
    may_be = wanted | {lot for taken in lots.values() for lot in taken if not called.name(lot)}
    of_crop = [one for one in everything if may_be.intersection(lots[one.node])]
    if found := [one for one in of_crop if one in inside]:
        return customer, found, frozenset(lot for one in found for lot in lots[one.node] if lot in wanted)
    what = f"{customer.code} got no {buyer.crop}{_time(buyer, zone)}"
    if inside:
        told = f"something that it got in that time: {_told(inside, lots, called)}"
        raise NotUnderstood(what, f"{told}, or {_nearest(of_crop, buyer, zone)}" if of_crop else told)
    raise NotUnderstood(what, _nearest(of_crop or everything, buyer, zone))


def _nearest(deliveries: Sequence[Got], buyer: Buyer, zone: ZoneInfo) -> str:
    """What to ask instead: the days on which there was something."""
    if not deliveries:
        return "a customer that the book has deliveries to"
    nearest = sorted(sorted(deliveries, key=lambda one: _apart(one, buyer))[:3], key=lambda one: one.start)
    days = ", ".join(f"{one.code} on {show_when(one.start, one.start + 59, zone)[:10]}" for one in nearest)
    return f"a time in which it did; the nearest {'is' if len(nearest) == 1 else 'are'} {days}"


def _customer(connection: Connection, kinds: Kinds, words: str) -> ThingRow:
    thing = find_thing(connection, words)
    if thing is not None and thing.kind == CUSTOMER:
        return thing
    if thing is not None:
        raise NotUnderstood(f"{thing.code} is a {thing.kind.replace('-', ' ')}", "the code or the name of a customer")
    named = customers_called(connection, kinds, words)
    if len(named) == 1:
        return named[0]
    among = named or thing_codes(connection, CUSTOMER)
    called = Called(connection, kinds, [one.id for one in among])
    listed = ", ".join(f"{one.code} ({called.name(one.id)})" for one in among[: 2 * _MOST])
    more = f" and {len(among) - 2 * _MOST} more" if len(among) > 2 * _MOST else ""
    what = f"{len(named)} customers are called `{words}`" if named else f"no customer is called `{words}`"
    raise NotUnderstood(what, f"one of {listed}{more}" if among else "a customer; none is in the book")


def customers_called(connection: Connection, kinds: Kinds, words: str) -> list[ThingRow]:
    """Return the customers whose name holds these words, by code."""
    customers = thing_codes(connection, CUSTOMER)
    called = Called(connection, kinds, [one.id for one in customers])
    return [one for one in customers if called.is_called(one.id, words)]


def _lots(connection: Connection, kinds: Kinds, deliveries: Sequence[Got]) -> dict[int, list[int]]:
    """What each delivering entry (its node) took, without what went around it."""
    took = used_at(connection, [one.node for one in deliveries], [Role.TOOK])
    around = {one.id for one in things_of(connection, {lot for _, lot in took}) if one.kind in wrapping(kinds)}
    found: dict[int, list[int]] = defaultdict(list)
    for node, lot in took:
        if lot not in around:
            found[node].append(lot)
    return found


def _told(deliveries: Sequence[Got], lots: dict[int, list[int]], called: Called) -> str:
    """What a customer got, by what it is called, each with its deliveries."""
    codes: dict[str, list[str]] = defaultdict(list)
    for one in deliveries:
        for name in dict.fromkeys(called.name(lot) or "lots of no name" for lot in lots[one.node]):
            codes[name].append(one.code)
    told = []
    for name, among in sorted(codes.items(), key=lambda pair: fold(pair[0])):
        more = f" and {len(among) - _MOST} more" if len(among) > _MOST else ""
        told.append(f"{name} ({', '.join(among[:_MOST])}{more})")
    return "; ".join(told)


def _time(buyer: Buyer, zone: ZoneInfo) -> str:
    """The time asked about, in words."""
    low = "" if buyer.start == -EVER else f" from {show_when(buyer.start, buyer.start + 59, zone)[:10]}"
    return low + ("" if buyer.end == EVER else f" until {show_when(buyer.end - 59, buyer.end, zone)[:10]}")


def _apart(one: Got, buyer: Buyer) -> int:
    return max(buyer.start - one.end, one.start - buyer.end, 0)
