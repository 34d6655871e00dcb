"""Reads schemas/exchange/epcis.yaml: which records are which EPCIS event, in the words of the vocabulary."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from lotwalk.data import folder
from lotwalk.errors import KindError
from lotwalk.exchange.events_file import role_of
from lotwalk.kinds.files import read_yaml
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.model import Version
from lotwalk.values.roles import Role

FILE = "exchange/epcis.yaml"
OBJECT, TRANSFORMATION = "ObjectEvent", "TransformationEvent"
_TYPES = (OBJECT, TRANSFORMATION)
_ACTIONS = ("ADD", "OBSERVE", "DELETE")
_KEYS = {
    "kind", "type", "action", "step", "disposition", "lots", "from", "to", "place", "documents", "days", "given",
    "absent", "inside",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Mapped:
    """One kind of record as an event.

    `lots` is the role of what an object event is of, or of what a transformation gives out; what it takes in is what
    the entry took. `source` and `destination` are paths to partners, `place` a field with where the lots are then.
    `documents` are types of business transaction by field, `days` attributes by the field with their day. `given` and
    `absent` are fields on which it depends. `inside`: of no concern to who got a lot.
    """

    kind: str
    type: str
    step: str
    lots: Role
    action: str = ""
    disposition: str = ""
    source: tuple[str, ...] = ()
    destination: tuple[str, ...] = ()
    place: str = ""
    documents: Mapping[str, str] = field(default_factory=dict)
    days: Mapping[str, str] = field(default_factory=dict)
    given: str = ""
    absent: str = ""
    inside: bool = False

    def holds(self, version: Version) -> bool:
        """Return whether this is how that entry is told."""
        fields = version.fields
        return self.kind == version.kind and (not self.given or self.given in fields) and self.absent not in fields


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """All of the file: what is said, the path of a lot's article number, unit codes, and the events."""

    says: tuple[str, ...]
    article: tuple[str, ...]
    units: Mapping[str, str]
    events: tuple[Mapped, ...]

    def mapped(self, version: Version, *, inside: bool) -> Mapped | None:
        """Return how an entry is told; None for one that is no event."""
        return next((one for one in self.events if one.holds(version) and (inside or not one.inside)), None)

    @property
    def kinds(self) -> tuple[str, ...]:
        """The kinds of record that are events."""
        return tuple(dict.fromkeys(one.kind for one in self.events))


def read_vocabulary(kinds: Kinds, own: Sequence[Path] = ()) -> Vocabulary:
    """Return the events that ship, before them those of a grower's own folders (`exchange/epcis.yaml` with `events`).

    Raises KindError.
    """
    content, _ = read_yaml(folder("schemas") / FILE)
    listed = [(one, FILE) for one in content["events"]]
    for place in own:
        if (path := place / FILE).exists():
            more, _ = read_yaml(path)
            if set(more) != {"events"} or not isinstance(more["events"], list):
                raise KindError(f"{path}: only a list named events was expected")
            listed = [(one, str(path)) for one in more["events"]] + listed
    events = tuple(_mapped(one, where) for one, where in listed)
    for one in events:
        if one.kind not in kinds.names:
            raise KindError(f"{FILE}: there is no kind of record named {one.kind}")
    says = tuple(" ".join(words.split()) for words in content["says"])
    return Vocabulary(says, tuple(content["article"].split(".")), content["units"], events)


def _mapped(said: Any, where: str) -> Mapped:
    if not isinstance(said, dict) or not {"kind", "type", "step", "lots"} <= set(said) <= _KEYS:
        raise KindError(f"{where}: an event says kind, type, step and lots, and perhaps {', '.join(sorted(_KEYS))}")
    kind, form, action = said["kind"], said["type"], said.get("action", "")
    if form not in _TYPES or (form == OBJECT) != (action in _ACTIONS):
        raise KindError(f"{where}: {kind}: an {OBJECT} with {', '.join(_ACTIONS)}, or a {TRANSFORMATION}, was expected")
    return Mapped(
        kind=kind,
        type=form,
        step=said["step"],
        lots=role_of(said["lots"], where),
        action=action,
        disposition=said.get("disposition", ""),
        source=tuple(said["from"].split(".")) if "from" in said else (),
        destination=tuple(said["to"].split(".")) if "to" in said else (),
        place=said.get("place", ""),
        documents=said.get("documents", {}),
        days=said.get("days", {}),
        given=said.get("given", ""),
        absent=said.get("absent", ""),
        inside=bool(said.get("inside")),
    )
