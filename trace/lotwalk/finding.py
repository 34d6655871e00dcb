"""What the records show to be missing, late or out of limits; and what must be done by when."""

from dataclasses import dataclass
from typing import Literal

Severity = Literal["critical", "major", "minor"]
"""`critical`: it may have reached somebody's plate, or would on the next delivery. `major`: a rule that the farm goes
by is not kept, or not shown to be. `minor`: the paper could be better."""

SEVERITIES: tuple[Severity, ...] = ("critical", "major", "minor")

DANGER, ALLERGEN, RESIDUE = "DANGER: ", "ALLERGEN: ", "Residue: "
"""How sentences begin that tell of what may hurt somebody, now or at table; the worst first."""

_URGENT = (DANGER, ALLERGEN, RESIDUE)


def urgency(told: str) -> int:
    """Return the place of a sentence among others: 0 for the worst, `NOT_URGENT` for what may wait."""
    return next((place for place, word in enumerate(_URGENT) if told.startswith(word)), NOT_URGENT)


NOT_URGENT = len(_URGENT)
"""The place of what hurts nobody."""


@dataclass(frozen=True, slots=True)
class Finding:
    """Something that the records show to be wrong: what, of which things and entries, what to do, by which rule.

    `parts` name it for good, as long as it stands: the check, then what it is of. `span` is the first and last second
    that it concerns, or None where it concerns the book as it stands. `closers` are codes and entries which a closed
    corrective action may name instead of the finding's own id.
    """

    parts: tuple[str, ...]
    severity: Severity
    about: tuple[str, ...]
    text: str
    do: str
    basis: str
    span: tuple[int, int] | None = None
    closers: tuple[str, ...] = ()

    @property
    def id(self) -> str:
        """The name by which a corrective action can point to it."""
        return ":".join(self.parts)

    @property
    def check(self) -> str:
        """The name of the check that found it."""
        return self.parts[0]

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
        }


@dataclass(frozen=True, slots=True)
class Due:
    """Something to be done by a day: `by` is that day (ISO), `about` what it is for, `do` the act, `basis` the rule."""

    by: str
    about: tuple[str, ...]
    text: str
    do: str
    basis: str
