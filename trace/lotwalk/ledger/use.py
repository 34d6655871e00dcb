"""One use of a thing by an entry, as the entry's hashed text holds it."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any, NamedTuple

from lotwalk.values.roles import Role


class Use(NamedTuple):
    """A link from an entry to a thing. `field` is the field it came from: `items`, `from[2].batch`.

    `amount` is in the canonical `unit`. `assumed`: the place's record says so, and not the entry. `kind` and `type` are
    those of a thing that the entry makes or registers, else None. `part` is 1 for what failed beside what passed.
    """

    role: Role
    code: str
    field: str
    amount: Decimal | None = None
    unit: str | None = None
    assumed: bool = False
    kind: str | None = None
    type: str | None = None
    part: int = 0

    def json(self) -> dict[str, str | int]:
        """Return the use as it is hashed and shown."""
        out: dict[str, str | int] = {"role": self.role.word, "code": self.code, "field": self.field}
        if self.amount is not None:
            out |= {"amount": format(self.amount, "f"), "unit": self.unit or ""}
        if self.assumed:
            out["assumed"] = "yes"
        if self.kind is not None:
            out |= {"kind": self.kind, "type": self.type or ""}
        if self.part:
            out["part"] = self.part
        return out

    @classmethod
    def read(cls, stored: Mapping[str, Any]) -> "Use":
        """Return a use from the text of an entry. Raises KeyError where it is none."""
        amount = stored.get("amount")
        return cls(
            Role.named(stored["role"]),
            stored["code"],
            stored["field"],
            None if amount is None else Decimal(amount),
            stored.get("unit"),
            "assumed" in stored,
            stored.get("kind"),
            stored.get("type"),
            stored.get("part", 0),
        )
