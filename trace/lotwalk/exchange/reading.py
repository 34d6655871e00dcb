"""Reads what an export needs of the ledger: who made a lot, what it was made of, and where partners and places are."""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from lotwalk.kinds.library import Kinds
from lotwalk.kinds.model import Mention
from lotwalk.ledger.entry import Content, content_of
from lotwalk.ledger.model import ThingRow, Version
from lotwalk.ledger.read.likeness import how_much, like
from lotwalk.ledger.read.things import find_things
from lotwalk.ledger.read.uses import makers, versions_using
from lotwalk.ledger.use import Use
from lotwalk.recall.words.common import written_words
from lotwalk.values.codes import fold
from lotwalk.values.roles import Role
from lotwalk.values.text import Written

_INDEX = re.compile(r"\[\d+\]")


@dataclass(slots=True)
class Reader:
    """The ledger at one state of it. What was looked up is kept."""

    connection: Connection
    kinds: Kinds
    zone: ZoneInfo
    _things: dict[str, ThingRow | None] = field(default_factory=dict)
    _makers: dict[str, Version | None] = field(default_factory=dict)
    _takers: dict[str, list[Version]] = field(default_factory=dict)
    _contents: dict[int, Content] = field(default_factory=dict)

    def learn(self, codes: Iterable[str]) -> None:
        """Look up many things and their makers at once."""
        missing = sorted({folded for code in codes if (folded := fold(code)) not in self._things})
        if not missing:
            return
        self._things.update(dict.fromkeys(missing))
        self._makers.update(dict.fromkeys(missing))
        found = find_things(self.connection, missing)
        self._things.update(found)
        folds = {thing.id: folded for folded, thing in found.items()}
        for key, version in makers(self.connection, folds).items():
            self._makers[folds[key]] = version

    def learn_behind(self, codes: Iterable[str]) -> None:
        """Look up things, all that they were made of, and all that that was made of."""
        seen: set[str] = set()
        fresh = set(codes)
        while fresh:
            self.learn(fresh)
            seen |= fresh
            made = [version for code in fresh if (version := self.maker(code))]
            fresh = {use.code for version in made for use in uses(version, Role.TOOK)} - seen

    def thing(self, code: str) -> ThingRow | None:
        """Return the thing of this code, or None."""
        self.learn([code])
        return self._things[fold(code)]

    def maker(self, code: str) -> Version | None:
        """Return the entry in force that made or registered a thing, or None."""
        self.learn([code])
        return self._makers[fold(code)]

    def learn_takers(self, codes: Iterable[str]) -> None:
        """Look up who took many lots at once."""
        missing = sorted({folded for code in codes if (folded := fold(code)) not in self._takers})
        self._takers.update({folded: [] for folded in missing})
        keys = {thing.id: folded for folded in missing if (thing := self.thing(folded))}
        for key, _, version in versions_using(self.connection, keys, [Role.TOOK]):
            self._takers[keys[key]].append(version)

    def takers(self, code: str) -> list[Version]:
        """Return the entries in force that took some of a lot, by time."""
        self.learn_takers([code])
        return self._takers[fold(code)]

    def content(self, version: Version) -> Content:
        """Return an entry as the book reads it."""
        if version.seq not in self._contents:
            self._contents[version.seq] = content_of(version, self.kinds)
        return self._contents[version.seq]

    def words(self, version: Version, name: str) -> str:
        """Return a field as it was written, in one line; nothing where it is not."""
        if name == "place":
            return version.place or ""
        written = version.fields.get(name)
        if written is None:
            return ""
        return written_words(written, self.kinds[version.kind].fields.get(name))

    def follow(self, version: Version, path: Sequence[str]) -> list[str]:
        """Return the words at the end of a path of fields from an entry; each field but the last names a thing.

        `behind` before a field stands for the nearest of what the entry took that has it, each way back.
        """
        versions = [version]
        for place, name in enumerate(path):
            if name == "behind":
                return self._behind(versions, path[place + 1 :])
            told = [words for one in versions if (words := self._said(one, name))]
            if place == len(path) - 1:
                return list(dict.fromkeys(told))
            versions = [made for code in dict.fromkeys(told) if (made := self.maker(code))]
        return []

    def _said(self, version: Version, name: str) -> str:
        """A field as it was written; where the entry made some of another lot, and does not say it, as that lot's."""
        for one in self._alike(version):
            if one is not version and name in how_much(one, self.kinds):
                continue
            if words := self.words(one, name):
                return words
        return ""

    def _alike(self, version: Version) -> Iterator[Version]:
        """An entry, and those that made what its own lot is some of."""
        seen: set[int] = set()
        here: Version | None = version
        while here is not None and here.seq not in seen:
            yield here
            seen.add(here.seq)
            code = like(here, self.kinds)
            here = self.maker(code) if code else None

    def _taken(self, version: Version) -> list[str]:
        """What an entry took; of a lot that is some of another that one alone, whatever it was taken back with."""
        of = like(version, self.kinds)
        return [of] if of else [use.code for use in uses(version, Role.TOOK)]

    def _behind(self, versions: Sequence[Version], path: Sequence[str]) -> list[str]:
        found: list[str] = []
        seen: set[int] = set()
        left = list(versions)
        while left:
            fresh: list[Version] = []
            for version in left:
                for code in self._taken(version):
                    made = self.maker(code)
                    if made is None or made.seq in seen:
                        continue
                    seen.add(made.seq)
                    told = self.follow(made, path)
                    found += told
                    fresh += [] if told else [made]
            left = fresh
        return list(dict.fromkeys(found))

    def written_amount(self, version: Version, use: Use) -> str:
        """Return the amount of a use as people wrote it, the parts of several rows with a plus."""
        told = [
            _written(mention)
            for mention in self.content(version).mentions
            if _INDEX.sub("", mention.path) == _INDEX.sub("", use.field) and fold(use.code) in map(fold, mention.codes)
        ]
        return " + ".join(filter(None, told))


def uses(version: Version, *roles: Role) -> list[Use]:
    """Return the uses of an entry in these roles, in its order."""
    return [use for use in version.uses if use.role in roles]


def _written(mention: Mention) -> str:
    if mention.packs is not None:
        return f"{mention.packs} {'pack' if mention.packs == 1 else 'packs'}"
    return mention.amount.written if mention.amount else ""


_PARTNER = ("name", "phone", "street", "city", "region", "postcode", "country")
_PARTNER_NEEDS = ("name", "phone", "street", "city", "region", "postcode")


@dataclass(frozen=True, slots=True)
class Location:
    """A location description, and which of its parts the book does not hold."""

    words: str
    missing: tuple[str, ...] = ()


def partner_location(fields: Mapping[str, Written], code: str) -> Location:
    """Return where a partner is: the name, phone and address, as 21 CFR 1.1310 describes a location (from memory)."""
    told = [written_words(fields[name]) for name in _PARTNER if name in fields]
    return Location(", ".join(told) or code, tuple(name for name in _PARTNER_NEEDS if name not in fields))


def place_location(reader: Reader, code: str, farm: Location) -> Location:
    """Return where a place of the farm is: its name, the address or coordinates nearest to it, and the farm's."""
    names: list[str] = []
    address = ""
    seen: set[str] = set()
    here: str = code
    while here and fold(here) not in seen and not address:
        seen.add(fold(here))
        made = reader.maker(here)
        names.append((reader.words(made, "name") if made else "") or here)
        address = ", ".join(
            words for name in ("address", "coordinates") if made and (words := reader.words(made, name))
        )
        here = reader.words(made, "inside") if made else ""
    told = ", ".join(filter(None, [*names, address]))
    return Location(f"{told}; {farm.words}", farm.missing)
