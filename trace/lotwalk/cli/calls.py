"""Whom to call at a customer on a bad day."""

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import Connection

from lotwalk.ledger.read import find_thing, makers


@dataclass(frozen=True, slots=True)
class Called:
    """Whom to call at a customer: the business, the person and the number, as far as the book knows them."""

    code: str
    name: str = ""
    contact: str = ""
    phone: str = ""


def called(connection: Connection, codes: Sequence[str]) -> dict[str, Called]:
    """Return whom to call at each customer: for a recall if its record says so, else whom the farm deals with."""
    things = {thing.id: thing.code for code in codes if (thing := find_thing(connection, code))}
    out = {}
    for key, version in makers(connection, list(things)).items():
        fields = {name: str(value) for name, value in version.fields.items()}
        contact = fields.get("recall_contact") or fields.get("contact") or ""
        phone = fields.get("recall_phone") or fields.get("phone") or ""
        out[things[key]] = Called(things[key], fields.get("name", ""), contact, phone)
    return out
