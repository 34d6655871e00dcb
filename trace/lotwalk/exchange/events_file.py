"""Reads schemas/exchange/traceability.yaml: which records are which traceability event, and where its elements stand.

A folder of a grower's own kinds may hold `exchange/traceability.yaml` with further `sources` for the events there are.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from lotwalk.data import folder
from lotwalk.errors import KindError, NotUnderstood
from lotwalk.kinds.files import read_yaml
from lotwalk.kinds.library import Kinds
from lotwalk.values.roles import WORDS, Role

FILE = "exchange/traceability.yaml"
VALUE, DATE, AMOUNT, LOCATION, DOCUMENT = "value", "date", "amount", "location", "document"
FORMS = (VALUE, DATE, AMOUNT, LOCATION, DOCUMENT)
"""What a column holds: words, a day, an amount with its unit, a location description, a document's type and number."""

LOT, INPUT = "lot", "input"
COLD = "cold"
_SOURCE_KEYS = {"kind", LOT, "lots", INPUT, "inputs", "when", "values", "locations"}


@dataclass(frozen=True, slots=True)
class Column:
    """One key data element: its title, what it holds and the paths of its value, of which the first that says counts.

    `needed`: the rule asks for it, so that its absence is told.
    """

    title: str
    form: str
    paths: tuple[str, ...]
    needed: bool = False


@dataclass(frozen=True, slots=True)
class Source:
    """One kind of record that is this event: a row for each thing used in the role `lot`.

    With `input` there is a row for each pair of that and a thing used in the role `input`. `lots` and `inputs` are the
    kinds of thing that count (none: all). `cold` is a field that must name a cold store. `instead` are paths for
    columns, by title, that stand elsewhere in this kind.
    """

    kind: str
    lot: Role
    lots: tuple[str, ...] = ()
    input: Role | None = None
    inputs: tuple[str, ...] = ()
    cold: str = ""
    instead: Mapping[str, tuple[str, ...]] | None = None


@dataclass(frozen=True, slots=True)
class Event:
    """One event of the rule, which is one sheet."""

    name: str
    title: str
    rule: str
    says: str
    sources: tuple[Source, ...]
    columns: tuple[Column, ...]

    def source(self, kind: str) -> tuple[Source, ...]:
        """Return the sources of this kind of record."""
        return tuple(one for one in self.sources if one.kind == kind)


@dataclass(frozen=True, slots=True)
class Events:
    """All events, and what is said before them."""

    says: tuple[str, ...]
    events: tuple[Event, ...]

    @property
    def kinds(self) -> tuple[str, ...]:
        """The kinds of record that are any of the events."""
        return tuple(dict.fromkeys(source.kind for event in self.events for source in event.sources))

    def named(self, names: Sequence[str]) -> "Events":
        """Return only the events of these names, in their order here. Raises NotUnderstood for an unknown one."""
        known = [one.name for one in self.events]
        for name in names:
            if name not in known:
                raise NotUnderstood(f"there is no event named {name}", f"one of {', '.join(known)}")
        return Events(self.says, tuple(one for one in self.events if one.name in names))


def read_events(kinds: Kinds, own: Sequence[Path] = ()) -> Events:
    """Return the events that ship, with the sources that a grower's own folders add. Raises KindError."""
    content, _ = read_yaml(folder("schemas") / FILE)
    events = {one.name: one for one in map(_event, content["events"])}
    for place in own:
        if (path := place / FILE).exists():
            for name, sources in _further(path, events):
                old = events[name]
                events[name] = replace(old, sources=(*old.sources, *sources))
    for event in events.values():
        for source in event.sources:
            if source.kind not in kinds.names:
                raise KindError(f"{FILE}: {event.name}: there is no kind of record named {source.kind}")
    return Events(tuple(map(_line, content["says"])), tuple(events.values()))


def _further(path: Path, events: Mapping[str, Event]) -> list[tuple[str, tuple[Source, ...]]]:
    content, _ = read_yaml(path)
    listed = content.get("sources")
    if set(content) != {"sources"} or not isinstance(listed, dict):
        raise KindError(f"{path}: only a mapping named sources, from events to lists, was expected")
    if strange := [name for name in listed if name not in events]:
        raise KindError(f"{path}: there is no event named {strange[0]}; there are {', '.join(events)}")
    return [(name, tuple(_source(one, str(path)) for one in sources)) for name, sources in listed.items()]


def _event(said: Mapping[str, Any]) -> Event:
    return Event(
        name=said["name"],
        title=said["title"],
        rule=said["rule"],
        says=_line(said.get("says", "")),
        sources=tuple(_source(one, FILE) for one in said["sources"]),
        columns=tuple(_column(one) for one in said["columns"]),
    )


def _source(said: Any, where: str) -> Source:
    if not isinstance(said, dict) or not {"kind", LOT} <= set(said) <= _SOURCE_KEYS:
        raise KindError(f"{where}: a source says kind and lot, and perhaps {', '.join(sorted(_SOURCE_KEYS))}")
    when = said.get("when", {})
    if set(when) - {COLD}:
        raise KindError(f"{where}: {said['kind']}: when says {COLD} and a field that names a place")
    instead = {**said.get("values", {}), **said.get("locations", {})}
    return Source(
        kind=said["kind"],
        lot=role_of(said[LOT], where),
        lots=tuple(said.get("lots", ())),
        input=role_of(said[INPUT], where) if INPUT in said else None,
        inputs=tuple(said.get("inputs", ())),
        cold=when.get(COLD, ""),
        instead={title: tuple(paths) for title, paths in instead.items()} or None,
    )


def role_of(word: Any, where: str) -> Role:
    """Return the role that a word of such a file names. Raises KindError for one that names none."""
    if word not in WORDS:
        raise KindError(f"{where}: a role is one of {', '.join(WORDS)}, not {word!r}")
    return Role.named(word)


def _column(said: Mapping[str, Any]) -> Column:
    form = next(form for form in FORMS if form in said)
    paths = said[form]
    return Column(said["title"], form, (paths,) if isinstance(paths, str) else tuple(paths), bool(said.get("needed")))


def _line(text: str) -> str:
    return " ".join(str(text).split())
