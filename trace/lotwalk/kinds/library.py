"""All kinds of record and of thing: those that ship, and a grower's own, each read when first asked for."""

import difflib
import hashlib
import re
from collections.abc import Callable, Collection, Iterable, Mapping
from pathlib import Path
from types import MappingProxyType
from typing import TypeVar

from lotwalk.data import folder
from lotwalk.errors import KindError, NotUnderstood
from lotwalk.kinds.fields import Builder
from lotwalk.kinds.files import KindFile, Schema, check_subset, read_common, read_yaml
from lotwalk.kinds.model import LEAVES, Field, Kind, Makes, ThingKind

Item = TypeVar("Item")

_NOT_KINDS = frozenset({"common", "things", "units"})
_CLASSES = ("lot", "item", "water-source", "place", "person", "partner", "paper")
_NAME = re.compile(r"[a-z][a-z0-9-]*")
_THING_KEYS = {
    "title", "plural", "class", "bought", "farm-wide", "counted", "not-washed-off", "travels-with",
    "not-carried-by-people", "bath", "vessel", "keeps",
}  # fmt: skip


class Kinds:
    """The kinds of record by name, and the kinds of thing.

    `names` are the kinds of record there are, in alphabetical order.
    """

    def __init__(self, files: Mapping[str, Path], own: Collection[str], things: Mapping[str, ThingKind]) -> None:
        self.names: tuple[str, ...] = tuple(sorted(files))
        self.things: Mapping[str, ThingKind] = MappingProxyType(dict(things))
        self._files = {name: KindFile(path) for name, path in files.items()}
        self._own = frozenset(own)
        self._built: dict[str, Kind] = {}
        self._read: dict[str, Kind] = {}
        self._telling: dict[str, tuple[str, ...]] = {}
        self._read_out: dict[str, frozenset[str]] | None = None
        self._having: dict[str, tuple[str, ...]] = {}
        self._leaving: dict[str, frozenset[str]] | None = None
        self._shared: Schema | None = None

    @classmethod
    def load(cls, *own: Path) -> "Kinds":
        """Return the kinds that ship and those in the grower's own folders.

        An own folder may hold kind files, and a things.yaml with further kinds of thing. Raises KindError when a
        folder is missing, or when a name is already taken.
        """
        files: dict[str, Path] = {}
        things: dict[str, ThingKind] = {}
        shipped = folder("schemas")
        for place in (shipped, *own):
            if not place.is_dir():
                raise KindError(f"{place}: there is no such folder of kinds")
            for path in sorted(place.glob("*.yaml")):
                if path.stem == "things":
                    _add(things, read_things(path), path)
                elif path.stem not in _NOT_KINDS:
                    _add(files, {path.stem: path}, path)
        return cls(files, [name for name, path in files.items() if path.parent != shipped], things)

    def __getitem__(self, name: str) -> Kind:
        """Return a kind. Raises NotUnderstood for an unknown name, KindError for a file that breaks the rules."""
        kind = self._read.get(name)
        if kind is None:
            kind = self._read[name] = self._load(name)
        return kind

    def thing_matches(self, thing_kind: str, allowed: Collection[str]) -> bool:
        """Return whether a kind of thing, or its class, is among those allowed."""
        return thing_kind in allowed or self.things[thing_kind].cls in allowed

    def telling(self, fact: str) -> tuple[str, ...]:
        """Return the names of the kinds that tell a fact of something they name, or of themselves.

        Only files that say the word are read as kinds, since a judge asks this at the sink. Raises KindError where
        one of them breaks the rules.
        """
        if fact not in self._telling:
            saying = [name for name in self.names if self._files[name].says("x-tells", fact)]
            self._telling[fact] = tuple(name for name in saying if _kind_tells(self[name], fact))
        return self._telling[fact]

    def says(self, name: str, word: str) -> bool:
        """Return whether the file of a kind says a word. One that does not need not be read as a kind."""
        return name not in self._files or self._files[name].says(word)

    def taking(self) -> tuple[str, ...]:
        """Return the names of the kinds of which a field takes lots off what they stand on (`x-with`)."""
        return self._with("x-with", lambda field: field.stands is not None)

    def concerning(self) -> tuple[str, ...]:
        """Return the names of the kinds of which a field means the lots that were there (`x-there`)."""
        return self._with("x-there", lambda field: bool(field.there))

    def _with(self, word: str, holds: Callable[[Field], bool]) -> tuple[str, ...]:
        """The kinds of which some field, or one of a row, has what a word of the kind files gives it."""
        if word not in self._having:
            saying = [name for name in self.names if self._files[name].says(word)]
            self._having[word] = tuple(name for name in saying if any(map(holds, _all(self[name].fields.values()))))
        return self._having[word]

    def leaving(self) -> Mapping[str, frozenset[str]]:
        """Return the names of the kinds of which the book may decide whether an entry left some of a lot.

        Each with the kinds or classes of those lots.
        """
        if self._leaving is None:
            saying = [name for name in self.names if self._files[name].says("x-role", LEAVES)]
            found = {name: frozenset(_left(self[name].fields.values())) for name in saying}
            self._leaving = {name: lots for name, lots in found.items() if lots}
        return self._leaving

    def read_out(self) -> Mapping[str, frozenset[str]]:
        """Return the names of the fields, of an entry or of a row, that a caller may read out, by the kind of record.

        Kinds without any are left out, and only files that say the word are read as kinds.
        """
        if self._read_out is None:
            saying = [name for name in self.names if self._files[name].says("x-read-out")]
            found = {name: frozenset(_read_out(self[name].fields.values())) for name in saying}
            self._read_out = {name: fields for name, fields in found.items() if fields}
        return self._read_out

    def _load(self, name: str) -> Kind:
        """Return a kind, an own one only when what it rests on in others is there."""
        kind = self._build(name)
        if kind.own:
            self._check_usual(kind)
        return kind

    def _build(self, name: str) -> Kind:
        if name in self._built:
            return self._built[name]
        file = self._files.get(name)
        if file is None:
            close = difflib.get_close_matches(name.casefold().replace(" ", "-"), self.names, 3)
            expected = " or ".join(close) if close else f"one of {', '.join(self.names)}"
            expected += ". Is it a kind of your own? Name its folder with --kinds"
            raise NotUnderstood(f"there is no kind of record named {name!r}", expected)
        if self._shared is None:
            self._shared = read_common(folder("schemas"))
        check_subset(file.schema, file.path.name)
        digest = hashlib.sha256(file.text.encode()).hexdigest()
        builder = Builder(file.path, file.schema, self._shared, self.things)
        kind = self._built[name] = builder.kind(name, file.text, digest, own=name in self._own)
        return kind

    def _check_usual(self, kind: Kind) -> None:
        # A slip here would leave silence unfilled, and a recall too small, without a word.
        places = kind.fields["place"].things
        for field in kind.fields.values():
            if field.usual and not self._is_usual(field.usual, places):
                what = f"x-usual: a place has no field of codes named {field.usual}"
                raise KindError(f"{self._files[kind.name].path.name}: {field.name}: {what}")

    def _is_usual(self, name: str, places: Collection[str]) -> bool:
        """Return whether a kind of record that registers such places names things in a field of this name."""
        kinds = (self._build(kind) for kind in self.names if self._files[kind].says("x-makes", name))
        return any(
            name in kind.fields and kind.fields[name].things and self._makes(kind.fields, places) for kind in kinds
        )

    def _makes(self, fields: Mapping[str, Field], wanted: Collection[str]) -> bool:
        """Return whether one of the fields, or of a row's, may make a thing of these kinds or classes."""
        for field in fields.values():
            made = _made(field.makes, fields) if field.makes else ()
            both = [kind for kind in self.things if self.thing_matches(kind, made) and self.thing_matches(kind, wanted)]
            if both or self._makes(field.fields, wanted):
                return True
        return False


def _made(makes: Makes, beside: Mapping[str, Field]) -> Collection[str]:
    """Return the kinds or classes of what is made."""
    if makes.kind_from:
        return beside[makes.kind_from].choices
    return beside[makes.kind_of].things if makes.kind_of else (str(makes.kind),)


def _kind_tells(kind: Kind, fact: str) -> bool:
    return any(one.name == fact for one in kind.facts) or _tells(kind.fields.values(), fact)


def _tells(fields: Iterable[Field], fact: str) -> bool:
    return any(any(one.name == fact for one in field.facts) or _tells(field.fields.values(), fact) for field in fields)


def _all(fields: Iterable[Field]) -> Iterable[Field]:
    """The fields, and those of their rows."""
    for field in fields:
        yield field
        yield from _all(field.fields.values())


def _left(fields: Iterable[Field]) -> Iterable[str]:
    for field in fields:
        if any(isinstance(case.when, Mapping) and LEAVES in case.when for case in field.roles):
            yield from field.things
        yield from _left(field.fields.values())


def _read_out(fields: Iterable[Field]) -> Iterable[str]:
    for field in fields:
        if field.read_out:
            yield field.name
        yield from _read_out(field.fields.values())


def _add(known: dict[str, Item], more: Mapping[str, Item], path: Path) -> None:
    for name, item in more.items():
        if not _NAME.fullmatch(name):
            raise KindError(f"{path}: a kind is named with a-z, 0-9 and -, not {name!r}")
        if name in known:
            raise KindError(f"{path}: there is a kind named {name} already; choose another name")
        known[name] = item


def read_things(path: Path) -> dict[str, ThingKind]:
    """Return the kinds of thing in a things.yaml. Raises KindError."""
    content, _ = read_yaml(path)
    listed = content.get("things")
    if set(content) != {"things"} or not isinstance(listed, dict):
        raise KindError(f"{path.name}: only a mapping named things was expected")
    return {str(name): _thing(str(name), value, path) for name, value in listed.items()}


def _thing(name: str, value: object, path: Path) -> ThingKind:
    if not isinstance(value, dict) or not {"title", "plural", "class"} <= set(value) <= _THING_KEYS:
        raise KindError(
            f"{path.name}: {name}: title, plural and class were expected, perhaps bought, farm-wide, counted,"
            " not-washed-off, travels-with, not-carried-by-people, bath, vessel, keeps"
        )
    if value["class"] not in _CLASSES:
        raise KindError(f"{path.name}: {name}: class is one of {', '.join(_CLASSES)}, not {value['class']!r}")
    wide = value.get("farm-wide", False)
    return ThingKind(
        name=name,
        title=str(value["title"]),
        plural=str(value["plural"]),
        cls=str(value["class"]),
        bought=value.get("bought") is True,
        farm_wide=wide is True,
        farm_wide_types=tuple(map(str, wide)) if isinstance(wide, list) else (),
        counted=value.get("counted") is not False,
        not_washed_off=_types(value, "not-washed-off", f"{path.name}: {name}"),
        travels_with=_types(value, "travels-with", f"{path.name}: {name}"),
        not_carried_by_people=_types(value, "not-carried-by-people", f"{path.name}: {name}"),
        bath=value.get("bath") is True,
        vessel=value.get("vessel") is True,
        keeps=value.get("keeps") is True,
    )


def _types(value: Mapping[str, object], key: str, where: str) -> tuple[str, ...]:
    listed = value.get(key, [])
    if not isinstance(listed, list):
        raise KindError(f"{where}: {key}: a list of types was expected, not {listed!r}")
    return tuple(map(str, listed))
