"""The farm that exports: its settings in force, the state of its ledger, and what identifies it."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime

from sqlalchemy import Connection

from lotwalk.exchange.reading import Location
from lotwalk.ledger.ledger import Ledger
from lotwalk.ledger.model import Settings
from lotwalk.ledger.read.versions import first_digest, last_recorded, settings_entry
from lotwalk.values.text import Written

_NEEDS = ("name", "phone", "location")


@dataclass(frozen=True, slots=True)
class Farm:
    """The farm at one state of its ledger.

    `head` is the ledger's size and root; `newest` the second (UTC) in which its newest entry was recorded, which dates
    whatever is exported, so that the same ledger gives the same file; `first` the digest of its first entry (hex).
    """

    settings: Settings
    fields: Mapping[str, Written]
    head: str
    newest: datetime
    first: str

    def field(self, name: str) -> str:
        """Return a setting as it was written, or nothing."""
        return str(self.fields.get(name, ""))

    @property
    def location(self) -> Location:
        """The farm's location description: name, phone and address."""
        told = [words for name in _NEEDS if (words := self.field(name))]
        return Location(", ".join(told), tuple(name for name in _NEEDS if not self.field(name)))


def read_farm(connection: Connection, ledger: Ledger) -> Farm:
    """Return the farm as the ledger has it now."""
    head = ledger.head(connection)
    kinds = [name for name in ledger.kinds.names if ledger.kinds[name].settings]
    newest = settings_entry(connection, kinds)
    return Farm(
        settings=ledger.settings(connection),
        fields=newest.fields,
        head=f"{head.size}:{head.root.hex()}",
        newest=datetime.fromtimestamp(last_recorded(connection), UTC),
        first=first_digest(connection).hex(),
    )
