"""An entry in force as judges and checks see it: its time at once, and what it says when that is first asked for."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Protocol
from zoneinfo import ZoneInfo

from lotwalk.errors import NotUnderstood, Refused
from lotwalk.kinds.check import Setting, check
from lotwalk.kinds.library import Kinds
from lotwalk.kinds.model import Mention, Value
from lotwalk.ledger.model import Version
from lotwalk.ledger.record import written
from lotwalk.ledger.use import Use
from lotwalk.values import order
from lotwalk.values.times import zone
from lotwalk.values.units import Units


@dataclass(frozen=True, slots=True)
class Content:
    """What an entry says, read as it was when it was recorded. `zone` is the time zone in which it was."""

    at: str
    by: tuple[str, ...]
    values: Mapping[str, Value]
    uses: tuple[Use, ...]
    mentions: Sequence[Mention]
    zone: ZoneInfo


class Text(Protocol):
    """Where an entry's version and its content come from."""

    @property
    def version(self) -> Version:
        """All that is stored of it."""

    @property
    def content(self) -> Content:
        """What it says."""


class StoredText:
    """Reads a stored version, and its content, when either is first asked for. A knife's history can be thousands
    long, and of most of it only the time matters."""

    __slots__ = ("_content", "_kinds", "_load", "_version")

    def __init__(self, load: Callable[[], Version], kinds: Kinds) -> None:
        self._load = load
        self._kinds = kinds
        self._version: Version | None = None
        self._content: Content | None = None

    @property
    def version(self) -> Version:
        """All that is stored of the entry."""
        if self._version is None:
            self._version = self._load()
        return self._version

    @property
    def content(self) -> Content:
        """What the entry says."""
        if self._content is None:
            self._content = content_of(self.version, self._kinds)
        return self._content


@dataclass(frozen=True, slots=True)
class NewText:
    """The content of an entry that is not stored yet."""

    content: Content

    @property
    def version(self) -> Version:
        """Raises LookupError: nothing of it is stored."""
        raise LookupError("an entry that is not stored yet has no version")


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry in force.

    `seq` is the number of its version, `number` that of its first version, by which people name it. `start` and `end`
    are the first and last second of its time, `group` is the attested sheet or 0, `line` its line there.
    """

    seq: int
    number: int
    kind: str
    start: int
    end: int
    group: int
    line: int
    recorded_at: int
    text: Text = field(repr=False, compare=False)

    surely_before = order.surely_before

    @property
    def name(self) -> str:
        """The name by which people know it: `E12`."""
        return f"E{self.number}"

    @property
    def version(self) -> Version:
        """All that is stored of it. Raises LookupError for an entry that is not stored yet."""
        return self.text.version

    @property
    def content(self) -> Content:
        """All that it says."""
        return self.text.content

    @property
    def at(self) -> str:
        """The time as written."""
        return self.content.at

    @property
    def by(self) -> tuple[str, ...]:
        """Who did it."""
        return self.content.by

    @property
    def values(self) -> Mapping[str, Value]:
        """What its fields were read as."""
        return self.content.values

    @property
    def uses(self) -> tuple[Use, ...]:
        """Its links to things."""
        return self.content.uses

    @property
    def zone(self) -> ZoneInfo:
        """The time zone in which its time was written."""
        return self.content.zone

    @property
    def span(self) -> tuple[int, int]:
        """The first and last second of its time."""
        return self.start, self.end


def content_of(version: Version, kinds: Kinds) -> Content:
    """Return the content of a stored version. What a kind file no longer understands is no evidence: no values."""
    setting = Setting(Units.load(version.measures), zone(version.zone))
    try:
        checked = check(kinds[version.kind], written(version), setting, kinds)
        values, mentions = checked.values, checked.mentions
    except (Refused, NotUnderstood):
        values, mentions = {}, ()
    return Content(version.at, version.by, values, version.uses, mentions, setting.zone)
