"""What a recall is asked about: complaints, deliveries and lots, and what a complaint stands for."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import Connection, text

from lotwalk.errors import NotUnderstood
from lotwalk.ledger.names import select_listed
from lotwalk.ledger.read import find_thing
from lotwalk.ledger.record import parse
from lotwalk.store.tables import in_roles
from lotwalk.values.times import read_when, zone

COMPLAINT = "complaint"
DELIVERY = "delivery"

NOT_WASHED_OFF = frozenset({"foreign body", "chemical or taste", "allergen"})
"""Types of complaint that no washing undoes: a clean break speaks of microbes."""


@dataclass(frozen=True, slots=True)
class Asked:
    """One thing asked about: its code and kind, and the things (database keys) that the walk starts from.

    For a complaint also its first second, the number of its entry's version, its type and its customer.
    """

    code: str
    kind: str
    starts: tuple[int, ...]
    at: int | None = None
    seq: int | None = None
    type: str | None = None
    customer: str | None = None


def ask(connection: Connection, codes: Sequence[str]) -> list[Asked]:
    """Return what these codes ask about. Raises NotUnderstood for a code that no recall starts from."""
    return [_ask(connection, code) for code in dict.fromkeys(codes)]


def _ask(connection: Connection, code: str) -> Asked:
    thing = find_thing(connection, code)
    if thing is None:
        raise NotUnderstood(f"{code} is not in the book", "the code of a complaint, a delivery or a lot")
    if thing.cls != "lot":
        raise NotUnderstood(
            f"{thing.code} is a {thing.kind}", "a complaint, a delivery or a lot; `trace` walks from anything else"
        )
    if thing.kind != COMPLAINT:
        return Asked(thing.code, thing.kind, (thing.id,))
    return _complaint(connection, thing.id, thing.code)


def _complaint(connection: Connection, key: int, code: str) -> Asked:
    row = connection.execute(
        text(
            "SELECT e.seq, e.record, e.at_from FROM use u JOIN entry e ON e.seq = (u.node >> 1)"
            f" WHERE u.thing = :id AND {in_roles('u', 6)} AND NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = e.seq)"
        ),
        {"id": key},
    ).first()
    if row is None:
        raise NotUnderstood(f"{code} is void", "a complaint in force")
    version = parse(row[1])
    named = [
        str(use["code"])
        for use in version.uses
        if use["role"] == "about" and str(use["field"]).split("[")[0] in ("deliveries", "lots")
    ]
    starts = [thing.id for one in named if (thing := find_thing(connection, one))]
    fields = version.fields
    customer = next((str(use["code"]) for use in version.uses if use["role"] == "from"), None)
    if not starts and customer:
        starts = _got(connection, customer, fields, version.start, version.zone)
    return Asked(
        code=code,
        kind=COMPLAINT,
        starts=tuple(starts),
        at=row[2],
        seq=row[0],
        type=str(fields["type"]) if "type" in fields else None,
        customer=customer,
    )


def _got(connection: Connection, customer: str, fields: Mapping[str, object], before: int, zone_name: str) -> list[int]:
    """The deliveries that a customer got: of that product, between those dates, where the complaint says so."""
    place = zone(zone_name)
    low = read_when(str(fields["from"]), place).start if "from" in fields else -(1 << 62)
    high = read_when(str(fields["until"]), place).end if "until" in fields else before + 86_400
    thing = find_thing(connection, customer)
    assert thing is not None, "a stored use names a stored thing"
    rows = connection.execute(
        text(
            "SELECT m.thing, u.node FROM use u JOIN use m ON m.node = u.node AND m.role = 6"
            f" JOIN entry e ON e.seq = (u.node >> 1) WHERE u.thing = :customer AND {in_roles('u', 11)}"
            " AND u.at_to >= :low AND u.at_from <= :high"
            " AND NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = e.seq)"
        ),
        {"customer": thing.id, "low": low, "high": high},
    ).all()
    product = find_thing(connection, str(fields["product"])) if "product" in fields else None
    if product is None:
        return [row[0] for row in rows]
    holding = _holding(connection, [row[1] for row in rows], product.id)
    return [row[0] for row in rows if row[1] in holding]


def _holding(connection: Connection, nodes: Iterable[int], product: int) -> set[int]:
    """Those of the delivering entries that took a lot whose making names the product."""
    sql = (
        "SELECT DISTINCT k.node FROM {listed} JOIN use k ON k.node = j.value AND k.role = 1"
        f" JOIN use m ON m.thing = k.thing AND {in_roles('m', 6)} JOIN use p ON p.node = m.node AND p.thing = "
        f"{int(product)} JOIN entry e ON e.seq = (m.node >> 1)"
        " WHERE NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = e.seq)"
    )
    return {row[0] for row in select_listed(connection, sql, list(nodes), "bigint")}
