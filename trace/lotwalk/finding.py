"""What the records show to be missing, late or out of limits; and what must be done by when."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Literal, cast

from lotwalk.data import folder

Severity = Literal["critical", "major", "minor"]
"""`critical`: it may have reached somebody's plate, or would on the next delivery. `major`: a rule that the farm goes
by is not kept, or not shown to be. `minor`: the paper could be better."""

SEVERITIES: tuple[Severity, ...] = ("critical", "major", "minor")
MINOR = SEVERITIES[-1]

DANGER, ALLERGEN, RESIDUE = "DANGER: ", "ALLERGEN: ", "Residue: "
"""How sentences begin that tell of what may hurt somebody, now or at table; the worst first."""

_URGENT = (DANGER, ALLERGEN, RESIDUE)


def urgency(told: str) -> int:
    """Return the place of a sentence among others: 0 for the worst, `NOT_URGENT` for what may wait."""
    return next((place for place, word in enumerate(_URGENT) if told.startswith(word)), NOT_URGENT)


NOT_URGENT = len(_URGENT)
"""The place of what hurts nobody."""


@dataclass(frozen=True, slots=True)
class Cause:
    """What several findings come of, told once in short: `text` is what happened, `do` what to do, in full sentences.

    `parts` name it for good: the sort of cause, then the entry or thing that is the cause. No other finding has that
    name; one that is its own cause may, to be told in short. Where many causes share `text` and `do`, `detail` is what
    is so of this one. `about` are codes and entries that belong to the cause itself; what else its findings name is
    what it concerns. Where they are better counted than named, `each` is what one of them is: `spell`. `alone`: these
    words serve for a single finding too, which is told in its own words otherwise.
    """

    parts: tuple[str, ...]
    text: str
    do: str
    about: tuple[str, ...] = ()
    detail: str = ""
    each: str = ""
    alone: bool = False

    @property
    def id(self) -> str:
        """The name by which a corrective action can point to it."""
        return ":".join(self.parts)


@dataclass(frozen=True, slots=True)
class Finding:
    """Something that the records show to be wrong: what, of which things and entries, what to do, by which rule.

    `parts` name it for good, as long as it stands: the check, then what it is of. `span` is the first and last second
    that it concerns, or None where it concerns the book as it stands. `closers` are codes and entries which a closed
    corrective action may name instead of the finding's own id. `cause` is what it comes of, given by the check where
    others may come of the same; a finding without one is its own.
    """

    parts: tuple[str, ...]
    severity: Severity
    about: tuple[str, ...]
    text: str
    do: str
    basis: str
    span: tuple[int, int] | None = None
    closers: tuple[str, ...] = ()
    cause: Cause | None = None

    @property
    def id(self) -> str:
        """The name by which a corrective action can point to it."""
        return ":".join(self.parts)

    @property
    def check(self) -> str:
        """The name of the check that found it."""
        return self.parts[0]

    @property
    def comes_of(self) -> str:
        """The name of its cause, which is its own where it has no other."""
        return self.cause.id if self.cause else self.id

    @property
    def told(self) -> str:
        """What is wrong and what to do, as it is told at once to whoever records it."""
        return f"{self.text} {self.do}"

    def json(self) -> dict[str, object]:
        """Return it as JSON."""
        return {
            "id": self.id,
            "severity": self.severity,
            "about": list(self.about),
            "text": self.text,
            "do": self.do,
            "basis": self.basis,
            "cause": self.comes_of,
        }


@dataclass(frozen=True, slots=True)
class Sought:
    """What the checks look for under a name: how grave it is, the usual severity first, and in few words what it is.

    `at_once`: it is told right when the entry is written that brings it about.
    """

    severities: tuple[Severity, ...]
    title: str
    at_once: bool = False


@cache
def sought() -> Mapping[str, Sought]:
    """Return all findings that the checks may make, by name, as schemas/checks/findings.yaml lists them."""
    from lotwalk.values.yaml_text import file_text, words_of  # Slow to import; most entries are told nothing.

    path = folder("schemas") / "checks" / "findings.yaml"
    found = {}
    for name, one in words_of(file_text(path), path.name).items():
        severities = one["severity"] if isinstance(one["severity"], list) else [one["severity"]]
        graded = tuple(cast(Severity, word) for word in severities)
        found[name] = Sought(graded, one["title"], one.get("at_once") == "yes")
    return MappingProxyType(found)


def finding(
    name: str,
    of: tuple[str, ...],
    *,
    about: tuple[str, ...],
    text: str,
    do: str,
    basis: str,
    span: tuple[int, int] | None = None,
    closers: tuple[str, ...] = (),
    cause: Cause | None = None,
    severity: Severity | None = None,
) -> Finding:
    """Return a finding by its name in the list, `of` what it is; `severity` is said where it is not the usual one."""
    severities = sought()[name].severities
    if severity is not None and severity not in severities:
        raise ValueError(f"{name} is never {severity}")
    return Finding((name, *of), severity or severities[0], about, text, do, basis, span, closers, cause)


@dataclass(frozen=True, slots=True)
class Due:
    """Something to be done by a day: `by` is that day (ISO), `about` what it is for, `do` the act, `basis` the rule."""

    by: str
    about: tuple[str, ...]
    text: str
    do: str
    basis: str
