"""An entry in force as the judges see it, of which only the time is read at first and the rest when it is asked for."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from lotwalk.errors import NotUnderstood, Refused
from lotwalk.kinds.check import Setting, check
from lotwalk.kinds.library import Kinds
from lotwalk.kinds.model import Mention, Value
from lotwalk.ledger.evidence_model import Entry, Use
from lotwalk.ledger.model import Version
from lotwalk.ledger.record import written
from lotwalk.values.times import zone
from lotwalk.values.units import Units


@dataclass(frozen=True, slots=True)
class Content:
    """What an entry says, read as it was when it was recorded."""

    at: str
    by: tuple[str, ...]
    values: Mapping[str, Value]
    uses: tuple[Use, ...]
    mentions: Sequence[Mention]


class StoredEntry(Entry):
    """An entry whose content is loaded when it is first asked for. A knife's history can be thousands long."""

    __slots__ = ("_content", "_load")
    _content: Content | None
    _load: Callable[[int], Content]

    def __init__(self, row: Sequence[int | str], load: Callable[[int], Content]) -> None:
        """`row` is (seq, first, kind, start, end, group, line, recorded_at)."""
        for name, value in zip(
            ("seq", "name", "kind", "start", "end", "group", "line", "recorded_at"), row, strict=True
        ):
            object.__setattr__(self, name, value)
        object.__setattr__(self, "_load", load)
        object.__setattr__(self, "_content", None)

    @property
    def content(self) -> Content:
        """All that the entry says."""
        if self._content is None:
            content = self._load(self.seq)
            object.__setattr__(self, "_content", content)
            return content
        return self._content

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


def content_of(version: Version, kinds: Kinds) -> Content:
    """Return the content of a stored version. What a kind file no longer understands is no evidence: no values."""
    setting = Setting(Units.load(version.measures), zone(version.zone))
    try:
        checked = check(kinds[version.kind], written(version), setting, kinds)
        values, mentions = checked.values, checked.mentions
    except (Refused, NotUnderstood):
        values, mentions = {}, ()
    uses = tuple(Use(str(use["role"]), str(use["code"]), str(use["field"])) for use in version.uses)
    return Content(version.at, version.by, values, uses, mentions)
