"""Deliveries as the ledger has them: to whom, when, of what, how much."""

import json
from collections.abc import Collection, Sequence
from dataclasses import replace
from decimal import Decimal

from sqlalchemy import Connection, text

from lotwalk.ledger.names import select_listed
from lotwalk.recall.asked import DELIVERY
from lotwalk.recall.model import Delivered, Item
from lotwalk.store.tables import in_roles


def delivered_of(connection: Connection, keys: Sequence[int], affected: set[int]) -> dict[int, Delivered]:
    """The affected deliveries in force, with their affected lots."""
    sql = (
        "SELECT m.thing, t.code, e.record, e.at_from, u.role, x.id, x.code, u.amount, u.unit FROM {listed}"
        f" CROSS JOIN use m ON m.thing = j.value AND {in_roles('m', 6)}"
        " CROSS JOIN entry e ON e.seq = (m.node >> 1)"
        " CROSS JOIN thing t ON t.id = m.thing CROSS JOIN use u ON u.node = m.node AND u.role IN (1, 11)"
        " CROSS JOIN thing x ON x.id = u.thing"
        " WHERE NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = e.seq) ORDER BY m.thing, x.code"
    )
    out: dict[int, Delivered] = {}
    for key, code, record, start, role, thing, name, amount, unit in select_listed(connection, sql, keys, "bigint"):
        if key not in out:
            content = json.loads(record)
            out[key] = Delivered(code, content["kind"], None, content["at"], start, ())
        if role == 11:
            out[key] = replace(out[key], customer=name)
        elif thing in affected:
            out[key] = replace(out[key], items=(*out[key].items, Item(name, amount, unit)))
    return out


def further(connection: Connection, kinds: Collection[str], span: tuple[int, int], besides: set[int]) -> int:
    """Return how many deliveries in force there were in a time (first and last second), besides those named.

    `kinds` are the kinds of record that make deliveries.
    """
    sql = text(
        "SELECT m.thing FROM entry e JOIN use m ON m.node = 2 * e.seq AND m.role = 6"
        " JOIN thing t ON t.id = m.thing AND t.kind = :delivery"
        " WHERE e.kind = :kind AND e.at_from BETWEEN :low AND :high"
        " AND NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = e.seq)"
    )
    found: set[int] = set()
    for kind in kinds:
        rows = connection.execute(sql, {"delivery": DELIVERY, "kind": kind, "low": span[0], "high": span[1]})
        found |= {row[0] for row in rows}
    return len(found - besides)


def shelf_life(connection: Connection, asked: Collection[int]) -> int | None:
    """Return the longest shelf life (seconds) on record of the products in what was asked, or None."""
    products = (
        " JOIN use p ON p.node = m.node AND p.role = 9 JOIN thing t ON t.id = p.thing AND t.cls = 'paper'"
        f" JOIN use r ON r.thing = t.id AND {in_roles('r', 14)} JOIN entry e ON e.seq = (r.node >> 1)"
        " WHERE NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = e.seq)"
    )
    made = in_roles("m", 6)
    lots = f"SELECT e.record FROM {{listed}} JOIN use m ON m.thing = j.value AND {made}{products}"
    inside = (
        f"SELECT e.record FROM {{listed}} JOIN use d ON d.thing = j.value AND {in_roles('d', 6)}"
        f" JOIN use k ON k.node = d.node AND k.role = 1 JOIN use m ON m.thing = k.thing AND {made}{products}"
    )
    records = {row[0] for sql in (lots, inside) for row in select_listed(connection, sql, list(asked), "bigint")}
    read = [json.loads(record)["read"].get("shelf_life") for record in records]
    return max((int(Decimal(life[0])) for life in read if life), default=None)
