"""Entries on their way in: those that their kinds understand, and every problem in the others."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from lotwalk.errors import NotUnderstood, Problem
from lotwalk.kinds.model import Kind, Mention
from lotwalk.ledger.write.append import Incoming
from lotwalk.values.codes import expand, fold
from lotwalk.values.text import Written


@dataclass(slots=True)
class Checking:
    """Entries that their kinds understand, the problems in the others, and the words in which those could have
    made codes."""

    incoming: list[Incoming]
    problems: list[Problem] = field(default_factory=list)
    unread: set[str] = field(default_factory=set)
    named: list[Mention] = field(default_factory=list)

    def fail(
        self,
        entry: Mapping[str, Written],
        kind: Kind | None,
        problems: Sequence[Problem],
        named: Sequence[object] = (),
    ) -> None:
        """Note an entry that was not understood, and what could be understood of the things it names."""
        self.problems += problems
        self.named += [mention for mention in named if isinstance(mention, Mention)]
        for name, value in entry.items():
            if kind is None or (name in kind.fields and kind.fields[name].makes):
                for word in [value] if isinstance(value, str) else value if isinstance(value, list) else []:
                    self.unread |= _codes_in(word) if isinstance(word, str) else set()


def _codes_in(words: str) -> set[str]:
    try:
        return {fold(code) for code in expand(words)}
    except NotUnderstood:
        return set()


def out_of_order(incoming: Sequence[Incoming]) -> list[Problem]:
    """A sheet that attests its order may not have a line that surely comes before an earlier one."""
    problems: list[Problem] = []
    latest: Incoming | None = None
    for one in incoming:
        if latest and one.checked.at.end < latest.checked.at.start:
            what = f"{one.checked.at.written} is before {latest.checked.at.written} on line {latest.line}"
            problems.append(
                Problem(what, "lines in the order in which things happened, or no `in_order`", line=one.line)
            )
        if latest is None or one.checked.at.start > latest.checked.at.start:
            latest = one
    return problems
