"""What the papers of a bad day read from the ledger: what lots are, how much of them, whom to call."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property

from sqlalchemy import Connection

from lotwalk.book import rules_in_force
from lotwalk.kinds.roles import holds
from lotwalk.ledger.entry import content_of
from lotwalk.ledger.ledger import Ledger
from lotwalk.ledger.model import Version
from lotwalk.ledger.read.things import keys_of
from lotwalk.ledger.read.uses import makers
from lotwalk.ledger.read.versions import settings_entry
from lotwalk.pages.rows.values import Values
from lotwalk.pages.sheet.frame import Facts
from lotwalk.recall.asking.called import Called
from lotwalk.recall.model import Item
from lotwalk.recall.words.common import amount_words
from lotwalk.values.times import show_when
from lotwalk.values.units import Units

_ADDRESS = ("street", "city", "region", "postcode", "country")


@dataclass(frozen=True, slots=True)
class Contact:
    """Where a customer is reached, as far as the book knows."""

    code: str
    name: str = ""
    email: str = ""
    address: str = ""

    @property
    def title(self) -> str:
        """The name with the code, where the two differ."""
        return self.code if self.name.casefold() in ("", self.code.casefold()) else f"{self.name} ({self.code})"


class Desk:
    """The ledger at one state of it, with words for what stands in it."""

    def __init__(self, connection: Connection, ledger: Ledger) -> None:
        self.connection = connection
        self.ledger = ledger
        self.kinds = ledger.kinds
        self.settings = ledger.settings(connection)
        self.zone = self.settings.zone
        self.units = Units.load(self.settings.measures)
        self.printed = int(ledger.clock())
        self.head = ledger.head(connection)
        self.values = Values(connection, ledger.kinds, self.zone)

    @property
    def paper(self) -> str:
        """The page size that is usual where the farm's measures are."""
        return "Letter" if self.settings.measures == "us" else "A4"

    @cached_property
    def farm(self) -> Mapping[str, str]:
        """What the farm's own record says: name, location, contact, phone, email, as far as it does."""
        kinds = [name for name in self.kinds.names if self.kinds[name].settings]
        return {name: str(value) for name, value in settings_entry(self.connection, kinds).fields.items()}

    @property
    def reached_by(self) -> str:
        """Whom to ask for on the farm, with number and address for email; nothing where the book names none."""
        return ", ".join(self.farm[name] for name in ("contact", "phone", "email") if self.farm.get(name))

    def facts(
        self, title: str, about: Sequence[str], cautions: Sequence[tuple[str, str]], signatures: Sequence[str]
    ) -> Facts:
        """Return what stands on every page."""
        rules, head = rules_in_force(self.connection, self.settings), self.head
        return Facts(
            title=title,
            farm=self.settings.name,
            location=self.settings.location,
            about=(*about, f"Times: {self.zone.key}."),
            aside=(
                f"Rule set: {self.settings.rules} ({rules.title})",
                f"Printed {show_when(self.printed, self.printed, self.zone)}",
            ),
            cautions=tuple(cautions),
            signatures=tuple(signatures),
            head=f"Ledger head: size {head.size}, root {head.root.hex()}",
        )

    def contact(self, code: str) -> Contact:
        """Return where a partner is reached."""
        fields = {name: str(value) for name, value in self.values.maker(code).items()}
        return Contact(
            code,
            fields.get("name", ""),
            fields.get("email", ""),
            ", ".join(fields[name] for name in _ADDRESS if fields.get(name)),
        )

    def names(self, codes: Sequence[str]) -> Mapping[str, str]:
        """Return what each of these lots is called, by its code: its product, or what it grew from."""
        keys = self.keys(codes)
        called = Called(self.connection, self.kinds, list(keys))
        return {code: called.name(key) for key, code in keys.items()}

    def makers(self, codes: Sequence[str]) -> Mapping[str, Version]:
        """Return the entry in force that made each of these things, by its code."""
        keys = self.keys(codes)
        return {keys[key]: version for key, version in makers(self.connection, list(keys)).items()}

    def tells(self, code: str, fact: str) -> bool:
        """Return whether the entry that made or registered a thing tells a fact of itself."""
        version = self.makers([code]).get(code)
        if version is None:
            return False
        told = [one for one in self.kinds[version.kind].facts if one.name == fact]
        values = content_of(version, self.kinds).values if told else {}
        return any(holds(one.when, values, passes=None, thing=None) for one in told)

    def keys(self, codes: Sequence[str]) -> dict[int, str]:
        """Return the database keys of the things of these codes, each with its code."""
        return keys_of(self.connection, codes)

    def amount(self, amount: Decimal | None, unit: str | None) -> str:
        """Return an amount in the farm's measures; nothing where it is not known."""
        return amount_words(amount, unit, self.units)

    def item(self, item: Item) -> str:
        """Return a lot in a delivery with its amount."""
        return f"{item.lot} {self.item_amount(item)}".strip()

    def item_amount(self, item: Item) -> str:
        """Return how much of a lot a delivery holds; nothing where it does not say."""
        return self.amount(None if item.amount is None else Decimal(item.amount), item.unit)
