"""What a walk reached, for people and for programs."""

from collections import Counter
from collections.abc import Sequence
from typing import Any
from zoneinfo import ZoneInfo

from lotwalk.cli.output import print_table, say
from lotwalk.cli.words import LEVELS, LINKS, code_list, count, moment, silence_words, spell_json, spell_words
from lotwalk.kinds.library import Kinds
from lotwalk.recall.traced import Trace
from lotwalk.walk.model import FORWARD, Reached

_WITH_SPELLS = ("item", "water-source")
_MOST = 300
"""Rows. More are put together by kind, link and level, unless all are asked for."""
_FEW = 4
"""Codes, or ranges of them, by which a row of many is told."""


class TraceView:
    """A walk's answer. `level` leaves out what lies farther; the entries are always those of the whole walk. `every`
    shows each thing, however many there are."""

    def __init__(self, found: Trace, zone: ZoneInfo, kinds: Kinds, level: int | None, *, every: bool) -> None:
        self.asked = found.begun.thing
        self.read_as = found.begun.read_as
        self.distrusted = found.begun.distrusted
        self.stands_for = found.stands_for
        self.walk = found.walk
        self.void = found.void
        self.spelled = found.spelled
        self.zone = zone
        self.kinds = kinds
        self.every = every
        self.reached = [one for one in found.walk.reached if level is None or one.level <= level]

    def json(self) -> dict[str, Any]:
        """Return the walk as JSON."""
        return {
            "asked": {
                "code": self.asked.code,
                "direction": self.walk.direction,
                "distrusted": list(self.distrusted),
                "stands_for": list(self.stands_for),
                "read_as": self.read_as.json() if self.read_as else None,
            },
            "reached": [self._one(one) for one in self.reached],
            "entries": [f"E{number}" for number in self.walk.entries],
            "silent": self.walk.silent,
        } | ({"spelled_too": [one.json() for one in self.spelled]} if self.spelled else {})

    def _one(self, one: Reached) -> dict[str, Any]:
        out: dict[str, Any] = {"code": one.thing.code, "kind": one.thing.kind, "link": one.link, "ring": one.level}
        if one.thing.cls in _WITH_SPELLS:
            out["spells"] = [spell_json(spell, self.zone) for spell in one.spells]
        return out | {"assumed": one.assumed, "void": one.thing.id in self.void}

    def csv(self) -> tuple[Sequence[str], Sequence[Sequence[object]]]:
        """Return a row for each reached thing and spell."""
        columns = ("code", "kind", "link", "ring", "from", "until", "assumed", "void")
        rows: list[Sequence[object]] = []
        for one in self.reached:
            marks = ("yes" if one.assumed else "", "yes" if one.thing.id in self.void else "")
            for spell in one.spells or (None,):
                times = (moment(spell.start, self.zone), moment(spell.end, self.zone)) if spell else ("", "")
                rows.append((one.thing.code, one.thing.kind, one.link, one.level, *times, *marks))
        return columns, rows

    def table(self) -> None:
        """Print what was asked, how much lies in each level, and all that was reached, by kind.

        Where that is very much, things are put together, unless every one shall be shown.
        """
        kind = self.kinds.things[self.asked.kind].title.lower()
        way = (
            "forward, to all that it could concern"
            if self.walk.direction == FORWARD
            else "back, to all possible causes"
        )
        say(f"{self.asked.code} ({kind}), {way}")
        if self.read_as:
            say(self.read_as.sentence)
        if self.stands_for:
            say(f"It stands for {code_list(self.stands_for)}.")
        elif self.asked.kind == "complaint":
            say("It names no delivery or lot, and its customer got nothing that it could be about.")
        if self.distrusted:
            say(f"Clean breaks not believed: {', '.join(self.distrusted)}.")
        for alike in self.spelled[:_FEW]:
            say(alike.sentence)
        say()
        if not self.reached:
            say("Nothing is reached.")
        else:
            print_table(("Level", "How", "Reached"), self._levels())
            rows = self._rows()
            if self.every or len(rows) <= _MOST:
                print_table(("Kind", "Code", "Link", "Level", "Spell between clean breaks", ""), rows)
            else:
                print_table(("Reached", "Link", "Level", "Spells between clean breaks"), self._many_rows())
                say("These are put together: --all shows each, and --format csv lists them.")
        say(f"{count(len(self.walk.entries), 'entry was', 'entries were')} walked through.")
        for line in silence_words(self.walk.silent):
            say(line)

    def _levels(self) -> list[tuple[str, str, str]]:
        rows = []
        for level in sorted({one.level for one in self.reached}):
            kinds = Counter(one.thing.kind for one in self.reached if one.level == level)
            told = ", ".join(self._many(kind, number) for kind, number in sorted(kinds.items()))
            rows.append((str(level), LEVELS[level], told))
        return rows

    def _many(self, kind: str, number: int) -> str:
        of_kind = self.kinds.things[kind]
        return count(number, of_kind.title.lower(), of_kind.plural.lower())

    def _many_rows(self) -> list[tuple[str, str, str, str]]:
        """A row for all of one kind that are reached by one link in one level."""
        groups: dict[tuple[str, str, int], list[Reached]] = {}
        for one in self.reached:
            groups.setdefault((one.thing.kind, one.link, one.level), []).append(one)
        rows = []
        for (kind, link, level), some in sorted(groups.items()):
            spells = sum(len(one.spells) for one in some)
            codes = code_list(sorted((one.thing.code for one in some), key=lambda code: (len(code), code)))
            parts = codes.split(", ")
            more = f" and {count(len(parts) - _FEW, 'more range')}" if len(parts) > _FEW else ""
            shown = f"{self._many(kind, len(some))}: {', '.join(parts[:_FEW])}{more}"
            rows.append((shown, LINKS[link], str(level), count(spells, "spell") if spells else ""))
        return rows

    def _rows(self) -> list[tuple[str, ...]]:
        rows: list[tuple[str, ...]] = []
        last = ""
        for one in sorted(
            self.reached, key=lambda one: (one.thing.cls != "lot", one.thing.kind, one.level, one.thing.code)
        ):
            title = self.kinds.things[one.thing.kind].title
            marks = [word for word, holds in (("VOID", one.thing.id in self.void), ("assumed", one.assumed)) if holds]
            for number, spell in enumerate(one.spells or (None,)):
                cells = (one.thing.code, LINKS[one.link], str(one.level)) if number == 0 else ("", "", "")
                shown = title if title != last else ""
                rows.append((shown, *cells, spell_words(spell, self.zone), ", ".join(marks) if number == 0 else ""))
                last = title
        return rows
