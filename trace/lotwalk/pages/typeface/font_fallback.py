"""Typefaces that fill in for one another, and text of any script laid out in them, one line at a time."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby
from typing import TypeAlias

from lotwalk.pages.typeface.font_files import Face, Glyph, script
from lotwalk.pages.typeface.graphemes import clusters
from lotwalk.values import bidi

_LONGEST_KEPT = 400

Pair: TypeAlias = tuple[Face, Face]
"""One typeface, regular and bold."""


class Line(str):
    """A line that belongs to a paragraph of a direction of its own: 1 from right to left, else 0."""

    __slots__ = ("base",)
    base: int

    def __new__(cls, text: str, base: int) -> "Line":
        """Return the line."""
        line = str.__new__(cls, text)
        line.base = base
        return line


@dataclass(frozen=True, slots=True)
class Run:
    """Shapes of one face that stand side by side, and the words that they are, which may run leftward."""

    text: str
    leftward: bool
    face: Face
    glyphs: tuple[Glyph, ...]

    @property
    def simple(self) -> bool:
        """Whether each shape is a letter of its own, on the line."""
        return all(glyph.up == 0 and glyph.sign in self.text for glyph in self.glyphs)

    @property
    def width(self) -> float:
        """In thousandths of the size of the letters."""
        return sum(glyph.advance for glyph in self.glyphs)


class Family:
    """The lead typeface and those that fill in for it, each read when the ones before it lack a letter."""

    def __init__(self, lead: Pair, others: Sequence[Callable[[], Pair]] = ()) -> None:
        self._pairs = [lead]
        self._others = list(others)
        self.pick = lru_cache(maxsize=16_384)(self._pick)
        self._runs = lru_cache(maxsize=4096)(self._shaped)

    def _pick(self, cluster: str) -> int | None:
        """Return the number of the first typeface that has a letter with all its marks, in both weights."""
        needed = {ord(sign) for sign in cluster}
        for number in range(len(self._pairs) + len(self._others)):
            if number == len(self._pairs):
                self._pairs.append(self._others.pop(0)())
            regular, bold = self._pairs[number]
            if needed <= regular.known and needed <= bold.known:
                return number
        return None

    def runs(self, text: str, *, bold: bool) -> tuple[Run, ...]:
        """Return a line of printable text laid out, from left to right."""
        base = text.base if isinstance(text, Line) else bidi.direction(text)
        # Whole notes are measured once, and then only their lines again.
        lay_out = self._runs if len(text) <= _LONGEST_KEPT else self._shaped
        return lay_out(str(text), base, bold)

    def _shaped(self, text: str, base: int, bold: bool) -> tuple[Run, ...]:
        depths = bidi.levels(text, base)
        parts: list[tuple[tuple[int, int, str], str]] = []
        place, last = 0, ""
        for cluster in clusters(text):
            last = script(cluster[0]) or last
            parts.append(((depths[place], self.pick(cluster) or 0, last), cluster))
            place += len(cluster)
        runs = []
        for (depth, number, _), run in groupby(parts, key=lambda part: part[0]):
            face = self._pairs[number][bold]
            words = "".join(cluster for _, cluster in run)
            leftward = bool(depth % 2)
            runs.append((depth, Run(words, leftward, face, face.shape(words, leftward))))
        return tuple(runs[number][1] for number in bidi.visual([depth for depth, _ in runs]))
