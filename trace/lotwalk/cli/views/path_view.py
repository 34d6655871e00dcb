"""A path of the walk printed as a person would tell it: entry by entry, by time, each in a sentence or two."""

from collections.abc import Sequence
from zoneinfo import ZoneInfo

from lotwalk.cli.output import say
from lotwalk.kinds.library import Kinds
from lotwalk.recall.one_cause.detail import Step
from lotwalk.recall.words.path import PathWords


class PathView:
    """Prints paths."""

    def __init__(self, kinds: Kinds, zone: ZoneInfo) -> None:
        self.words = PathWords(kinds, zone)

    def print(self, title: str, steps: Sequence[Step]) -> None:
        """Print a path, entry by entry, in order of time."""
        say(title)
        if not steps:
            say("There is no path between them on the evidence in this book.", indent=2)
        for number, step in enumerate(steps, 1):
            say(f"{number}. {self.words.head(step)}:", indent=2)
            for line in self.words.lines(step, number):
                say(line, indent=5)
        say()
