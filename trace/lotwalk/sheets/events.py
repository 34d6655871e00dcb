"""From YAML text to mappings, lists and texts that know their line.

YAML's own reading of values is left out on purpose: it takes `NO` for false, `0302` for a number in base eight and
`2:30` for 150. Here every value is the text that was written. What YAML offers beyond lists, mappings and text
(anchors, aliases, tags, several documents) is refused: a record must be readable line by line.
"""

import re
from collections.abc import Iterable

import yaml
from yaml.events import (
    AliasEvent,
    CollectionEndEvent,
    DocumentStartEvent,
    MappingStartEvent,
    ScalarEvent,
    SequenceStartEvent,
)

from lotwalk.collector import uncollected
from lotwalk.errors import Problem
from lotwalk.sheets.words import QUOTES, syntax_problem, unreadable
from lotwalk.values.text import Fields, Listing, Text, Written

NOTHING = Text("")
"""Stands where a field is named and left empty. It is compared by identity, and taken out before anyone sees it."""

DEEPEST = 16
"""No record nests deeper; a text that does is damaged or meant to do damage."""

_EMPTY = frozenset({"", "~", "null", "Null", "NULL"})
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff]")
_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


class _Stop(Exception):
    """What follows cannot be made sense of; the problem is already noted."""


def parse(text: str, problems: list[Problem]) -> "Written | None":
    """Return the text's one document, or None where there is none, and add what is wrong to `problems`.

    The tree holds Fields, Listing and Text, and NOTHING for what was left empty. After a problem it may be
    incomplete.
    """
    found = unreadable(text)
    if found:
        problems += found
        return None
    builder = _Builder(problems)
    try:
        with uncollected():
            builder.build(yaml.parse(text, Loader=_LOADER))
    except _Stop:
        pass
    except yaml.YAMLError as error:
        problems.append(syntax_problem(error, text))
    return builder.root


class _Builder:
    """Builds the tree from the parser's events, without recursion."""

    def __init__(self, problems: list[Problem]) -> None:
        self.problems = problems
        self.root: Written | None = None
        self.open: list[Fields | Listing] = []
        self.key: str | None = None
        self.key_line = 0
        self.documents = 0

    def build(self, events: Iterable[yaml.Event]) -> None:
        """Take in all events. The commonest come first: this loop is most of the time that a sheet takes."""
        for event in events:
            if isinstance(event, ScalarEvent):
                self._scalar(event)
            elif isinstance(event, MappingStartEvent):
                self._start(event, Fields(line=_line(event)))
            elif isinstance(event, SequenceStartEvent):
                self._start(event, Listing(line=_line(event)))
            elif isinstance(event, CollectionEndEvent):
                self.open.pop()
            elif isinstance(event, AliasEvent):
                self._alias(event)
            elif isinstance(event, DocumentStartEvent):
                self._document(event)

    def _scalar(self, event: ScalarEvent) -> None:
        line = _line(event)
        value = event.value
        if event.anchor is not None or event.tag is not None:
            self._refuse_marks(event, line)
        style = event.style
        if style == '"' and _CONTROL.search(value):
            self._note("a sign that does not print", "text that can be printed", line)
        if self.key is None and self.open and self.open[-1].__class__ is Fields:
            self._take_key(value, line)
        elif not value or (not style and value in _EMPTY):
            self._nothing(line)
        else:
            # A text in lines (`|`, `>`) ends in a line break that nobody wrote as part of it.
            self._place(Text(value.rstrip("\n") if style in ("|", ">") else value, line))

    def _take_key(self, name: str, line: int) -> None:
        if name in _EMPTY:
            self._note("a colon without a field's name before it", "`field: value`", line)
        elif name in self.open[-1]:
            self._note(f"the field `{name}` stands here twice", "each field once", line)
        self.key = name
        self.key_line = line

    def _place(self, value: Written) -> None:
        """Put a value where it belongs: under the waiting key, at the end of the open list, or at the top."""
        if not self.open:
            self.root = value
            return
        holder = self.open[-1]
        if isinstance(holder, list):
            holder.append(value)
        elif self.key is not None:
            holder[self.key] = value
            self.key = None

    def _nothing(self, line: int) -> None:
        if self.open and isinstance(self.open[-1], list):
            self._note("an empty place in a list", "a value there, or one dash or comma less", line)
        elif self.open:
            self._place(NOTHING)

    def _start(self, event: MappingStartEvent | SequenceStartEvent, holder: Fields | Listing) -> None:
        if event.anchor is not None or event.tag is not None:
            self._refuse_marks(event, holder.line)
        if self.open and self.open[-1].__class__ is Fields:
            if self.key is None:
                self._note("a list or a mapping stands where a field's name should", "`field: value`", holder.line)
                raise _Stop
            holder.line = self.key_line
        if len(self.open) >= DEEPEST:
            self._note(
                f"more than {DEEPEST} lists and mappings inside each other", "a plain list of entries", holder.line
            )
            raise _Stop
        self._place(holder)
        self.open.append(holder)

    def _alias(self, event: AliasEvent) -> None:
        line = _line(event)
        self._note(f"`*{event.anchor}` refers to another place", f"the value itself, or {QUOTES}", line)
        if self.key is None and self.open and self.open[-1].__class__ is Fields:
            self.key, self.key_line = f"*{event.anchor}", line
        else:
            self._place(Text(event.anchor or "", line))

    def _document(self, event: DocumentStartEvent) -> None:
        self.documents += 1
        if self.documents > 1:
            line = _line(event)
            self._note("a second document starts here (`---`)", "one list of entries in one file", line)
            raise _Stop

    def _refuse_marks(self, event: ScalarEvent | MappingStartEvent | SequenceStartEvent, line: int) -> None:
        if event.anchor is not None:
            self._note(f"`&{event.anchor}` names a place in the sheet", f"the value alone, or {QUOTES}", line)
        if event.tag is not None:
            self._note(f"`{event.tag}` is a tag", f"the value alone, or {QUOTES}", line)

    def _note(self, what: str, expected: str, line: int) -> None:
        self.problems.append(Problem(what, expected, line=line))


def _line(event: yaml.Event) -> int:
    mark = event.start_mark
    return mark.line + 1 if mark else 0
