"""What a recall is asked about: complaints, deliveries and lots, and what a complaint stands for."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from lotwalk.errors import NotUnderstood
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.model import ThingRow, Version
from lotwalk.ledger.read.things import find_thing, things_of, void_among
from lotwalk.ledger.read.uses import makers
from lotwalk.recall.asking.buyer import Buyer, bought, got, holding
from lotwalk.values.roles import Role
from lotwalk.values.times import DAY, read_when, zone
from lotwalk.walk.model import EVER

COMPLAINT = "complaint"
DELIVERY = "delivery"
ASKABLE = ("lot",)
"""The classes of thing that a recall starts from."""


@dataclass(frozen=True, slots=True)
class ReadAs:
    """Words that are no code, and the code as which they were read: `how` tells why, in words.

    `field` and `entry` (`E12`) are the field and the entry that say the words, where it is one entry.
    """

    words: str
    code: str
    how: str
    field: str | None = None
    entry: str | None = None

    @property
    def sentence(self) -> str:
        """It in a sentence."""
        return f"{self.words} is no code. It is read as {self.code}{': ' if self.entry else ', '}{self.how}."

    def json(self) -> dict[str, str | None]:
        """Return it as JSON."""
        return {"words": self.words, "code": self.code, "how": self.how, "field": self.field, "entry": self.entry}


@dataclass(frozen=True, slots=True)
class Asked:
    """One thing asked about: its code and kind, and the things (database keys) that the walk starts from.

    For a complaint also its first and last second, the number under which it was first recorded, its type and its
    customer. A buyer who lost the label stands under the customer's code. `void` are the codes among them that no entry
    in force makes any more: nothing lies behind them. `read_as` tells which words were read as the code, where it was
    not asked about by its code.

    Where a `product` (its code) or a `crop` was named, `boxes` are the deliveries among the starts of which only some
    `lots` were meant, `beside` the others in them, and `whole` the codes of deliveries that hold nothing of the kind.
    `among` are the deliveries of which the starts are those that may hold the product, where no delivery was named.
    """

    code: str
    kind: str
    starts: tuple[int, ...]
    at: int | None = None
    until: int | None = None
    number: int | None = None
    type: str | None = None
    customer: str | None = None
    lots: tuple[int, ...] = ()
    void: tuple[str, ...] = ()
    read_as: ReadAs | None = None
    product: str | None = None
    crop: str | None = None
    among: tuple[int, ...] = ()
    boxes: tuple[int, ...] = ()
    beside: tuple[int, ...] = ()
    whole: tuple[str, ...] = ()

    @property
    def begins(self) -> tuple[int, ...]:
        """The things (database keys) from which the causes are looked for: what was asked about, or the lots meant."""
        return (*(key for key in self.starts if key not in self.boxes), *self.lots) if self.boxes else self.starts

    def words(self) -> list[str]:
        """Return, in sentences, how it was read and why less may lie behind it than was meant."""
        told = [self.read_as.sentence] if self.read_as else []
        if not self.starts:
            told.append(
                "It names no delivery or lot, and its customer got nothing that it could be about, by the product and"
                " the days in it. Amend it, or ask by --customer, --from and --until."
            )
        if self.whole:
            what = self.product or self.crop
            told.append(f"By the book nothing in {', '.join(self.whole)} is {what}, so all of it is taken.")
        for code in self.void:
            told.append(f"{code} is void, so nothing lies behind it. Ask about what was recorded in its place.")
        return told


def ask(connection: Connection, codes: Sequence[str]) -> list[Asked]:
    """Return what these codes ask about. Raises NotUnderstood for a code that no recall starts from."""
    return [_ask(connection, code) for code in dict.fromkeys(codes)]


def ask_buyer(connection: Connection, kinds: Kinds, buyer: Buyer, zone: ZoneInfo) -> Asked:
    """Return what a buyer who lost the label asks about. Raises NotUnderstood when they got nothing of that kind."""
    customer, found, lots = bought(connection, kinds, buyer, zone)
    starts = tuple(one.delivery for one in found)
    named = Asked(customer.code, customer.kind, starts, customer=customer.code, crop=buyer.crop)
    return replace(named, lots=tuple(sorted(lots)))


def _ask(connection: Connection, code: str) -> Asked:
    thing = find_thing(connection, code)
    if thing is None:
        raise NotUnderstood(f"{code} is not in the book", "the code of a complaint, a delivery or a lot")
    if thing.cls not in ASKABLE:
        raise NotUnderstood(
            f"{thing.code} is a {thing.kind}", "a complaint, a delivery or a lot; `trace` walks from anything else"
        )
    if thing.kind != COMPLAINT:
        return Asked(thing.code, thing.kind, (thing.id,), void=_void(connection, [thing.id]))
    return _complaint(connection, thing.id, thing.code)


def _complaint(connection: Connection, key: int, code: str) -> Asked:
    version = makers(connection, [key]).get(key)
    if version is None:
        raise NotUnderstood(f"{code} is void", "a complaint in force")
    named = [
        use.code for use in version.uses if use.role is Role.ABOUT and use.field.split("[")[0] in ("deliveries", "lots")
    ]
    starts = [thing.id for one in named if (thing := find_thing(connection, one))]
    fields = version.fields
    customer = next((use.code for use in version.uses if use.role is Role.FROM), None)
    product = find_thing(connection, str(fields["product"])) if "product" in fields else None
    among: list[int] = []
    if not starts and customer:
        among = _got(connection, customer, version)
        starts = _holding(connection, among, product) if product else among
    return Asked(
        code=code,
        kind=COMPLAINT,
        starts=tuple(starts),
        at=version.start,
        until=version.end,
        number=version.number,
        type=str(fields["type"]) if "type" in fields else None,
        customer=customer,
        void=_void(connection, starts),
        product=product.code if product else None,
        among=tuple(among) if product else (),
    )


def _void(connection: Connection, things: Sequence[int]) -> tuple[str, ...]:
    """The codes of those of the things that entries once made, and none in force does."""
    return tuple(one.code for one in things_of(connection, sorted(void_among(connection, things))))


def _got(connection: Connection, customer: str, complaint: Version) -> list[int]:
    """The deliveries that a customer got between the dates that a complaint says, or until the day after it."""
    fields, place = complaint.fields, zone(complaint.zone)
    low = read_when(str(fields["from"]), place).start if "from" in fields else -EVER
    high = read_when(str(fields["until"]), place).end if "until" in fields else complaint.start + DAY
    thing = find_thing(connection, customer)
    assert thing is not None, "a stored use names a stored thing"
    return [one.delivery for one in got(connection, thing.id, low, high)]


def _holding(connection: Connection, deliveries: Sequence[int], product: ThingRow) -> list[int]:
    """Those of the deliveries that may hold a product; all of them where none does, since callers misname things."""
    may_hold = holding(connection, deliveries, product)
    return [key for key in deliveries if key in may_hold] or list(deliveries)
