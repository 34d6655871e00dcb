"""Reading words, lists and mappings of a report definition, with every mistake named by file, line and key."""

import difflib
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field

from lotwalk.errors import Problem
from lotwalk.values.text import Fields, Written, line_of


@dataclass(slots=True)
class Collected:
    """What is wrong with a definition so far. `sources` are the files that its keys come from, `source` the first."""

    written: Fields
    sources: Mapping[str, str]
    source: str
    problems: list[Problem] = field(default_factory=list)

    def wrong(self, key: str, what: str, expected: str, written: Written | None = None) -> None:
        """Add a problem of a key, on the line of what was written there, else of the key at the top."""
        top = key.partition(".")[0].partition("[")[0]
        line = line_of(written) or line_of(self.written.get(top))
        self.problems.append(Problem(what, expected, key, self.sources.get(top, self.source), line))

    def plain(self, key: str, value: Written) -> str:
        """Return words with single spaces, or nothing for what is none."""
        if not isinstance(value, str) or not value.strip():
            self.wrong(key, "this holds no words", "a few words", value)
            return ""
        return " ".join(value.split())

    def listed(self, key: str, value: Written) -> tuple[str, ...]:
        """Return the words of a list."""
        if not isinstance(value, list):
            self.wrong(key, "this is no list", "a list of words", value)
            return ()
        return tuple(self.plain(f"{key}[{number}]", word) for number, word in enumerate(value, 1))

    def one_or_more(self, key: str, value: Written) -> tuple[str, ...]:
        """Return one word, or the words of a list."""
        return (value,) if isinstance(value, str) else self.listed(key, value)

    def mapping(self, key: str, value: Written, known: Collection[str]) -> Fields:
        """Return a mapping; its keys are among those known."""
        if not isinstance(value, Fields):
            self.wrong(key, "this is no mapping", ", ".join(known), value)
            return Fields()
        for name in value:
            if name not in known:
                what = f"{name} is not known here{near(name, known)}"
                self.wrong(f"{key}.{name}" if key else name, what, ", ".join(known), value)
        return value

    def rows(self, key: str, value: Written, expected: str) -> list[Written]:
        """Return a list of what `expected` says."""
        if not isinstance(value, list):
            self.wrong(key, "this is no list", expected, value)
            return []
        return list(value)

    def yes(self, key: str, value: Written, written: Written) -> bool:
        """Return whether the value is yes."""
        if value not in ("yes", "no"):
            self.wrong(key, f"{value} is neither yes nor no", "yes or no", written)
        return value == "yes"

    def choice(self, key: str, value: Written, known: Collection[str], written: Written | None = None) -> str:
        """Return a word that is among those known."""
        if value not in known:
            self.wrong(key, f"{value} is not known{near(str(value), known)}", " or ".join(known), written)
        return str(value)


def near(word: str, known: Collection[str]) -> str:
    """Return a question for the word that may have been meant, or nothing."""
    close = difflib.get_close_matches(word, known, n=1)
    return f" (did you mean {close[0]}?)" if close else ""
