"""The key of a log: what the codes and initials in it stand for."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from lotwalk.ledger.model import Version
from lotwalk.pages.rows.values import Values, words
from lotwalk.values.codes import fold


@dataclass(slots=True)
class Key:
    """Gathers the codes of a log. `paths` are fields with the field of a thing that explains it, such as `by.name`."""

    values: Values
    paths: Sequence[str]
    _titles: dict[str, str] = field(default_factory=dict)
    _codes: dict[str, dict[str, str]] = field(default_factory=dict)
    _met: set[tuple[str, str]] = field(default_factory=set)

    def add(self, version: Version) -> None:
        """Take in the codes of an entry."""
        for path in self.paths:
            name = path.partition(".")[0]
            written = self.values.field(version, name)
            if not written or (path, written) in self._met:
                continue
            self._met.add((path, written))
            self._titles.setdefault(path, self.values.title(version, name))
            codes = self._codes.setdefault(path, {})
            for code in self.values.codes(version, name):
                codes.setdefault(fold(code), code)

    def sentences(self) -> Iterable[str]:
        """Yield a sentence for each field that has codes, these in order: `By: AK = Anna Kern; TO = Tess Orr.`"""
        for path, codes in self._codes.items():
            explains = path.partition(".")[2]
            told = [
                f"{codes[key]} = {words(meaning)}"
                for key in sorted(codes)
                if (meaning := self.values.maker(codes[key]).get(explains))
            ]
            if told:
                yield f"{self._titles[path]}: {'; '.join(told)}."
