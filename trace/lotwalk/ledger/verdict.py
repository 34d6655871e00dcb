"""What a judge answers, as a value and as the hashed text of an entry holds it."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

from lotwalk.finding import RESIDUE

ReasonKind = Literal["break", "residue", "unshown", "note"]
"""`break`: the code fails because of it. `residue`: too strong, yet no failure. `unshown`: it passes, and nobody wrote
whether the mix was warm enough, or of the right pH. `note`: worth knowing."""

FIRST_JUDGE = 1
"""The number of the judge whose verdicts say no number."""


@dataclass(frozen=True, slots=True)
class Reason:
    """One plain sentence on one or more of the judged codes (`codes` empty: all), and the act that mends it.

    Some acts help for a while only: after the second `until` (since 1970) it is `later` that mends it.
    """

    codes: tuple[str, ...]
    text: str
    do: str
    kind: ReasonKind = "break"
    until: int = 0
    later: str = ""

    def __str__(self) -> str:
        return f"{self.text}: {self.do}." if self.do else f"{self.text}."

    def act(self, now: int) -> str:
        """Return the act that mends it at a time in epoch seconds."""
        return self.later if self.later and now > self.until else self.do

    def json(self) -> dict[str, Any]:
        """Return the reason as it is hashed and shown."""
        told = {"codes": list(self.codes), "text": self.text, "do": self.do, "kind": self.kind}
        return told | ({"until": self.until, "later": self.later} if self.later else {})

    @classmethod
    def read(cls, stored: Mapping[str, Any]) -> "Reason":
        """Return a reason from the text of an entry."""
        until, later = stored.get("until", 0), stored.get("later", "")
        return cls(tuple(stored["codes"]), stored["text"], stored["do"], stored["kind"], until, later)


@dataclass(frozen=True, slots=True)
class Verdict:
    """Which codes passed, which failed, why, and the numbers of the entries that the answer rests on.

    `now` is what to do now in one sentence, without its full stop, where several acts are needed; else it is empty.
    `judge` is the number of the judge that said so: it rises when a judge learns to decide otherwise. `asks` are the
    fields in which something is asked for that the entry does not name, such as the water of a rinse: the ledger takes
    what is usual there. It is no part of the text, since what was taken is.
    """

    passed: tuple[str, ...]
    failed: tuple[str, ...]
    reasons: tuple[Reason, ...]
    evidence: tuple[int, ...]
    now: str = ""
    judge: int = FIRST_JUDGE
    asks: tuple[str, ...] = ()

    def because(self, kind: ReasonKind, code: str = "") -> list[Reason]:
        """Return the reasons of one kind; with a code, those that concern it."""
        return [one for one in self.reasons if one.kind == kind and (not code or not one.codes or code in one.codes)]

    def residue(self, name: str, at: str) -> tuple[str, str] | None:
        """Return what an entry (its name, its time as written) left too much of, and what to do, as sentences.

        None where nothing says that it did.
        """
        told = self.because("residue")
        if not told:
            return None
        do = "; ".join(dict.fromkeys(one.do for one in told if one.do)) or "rinse with drinking water"
        return f"{RESIDUE}{name} ({at}): {'; '.join(one.text for one in told)}.", f"{do[:1].upper()}{do[1:]}."

    def json(self) -> dict[str, Any]:
        """Return the verdict as it is hashed and shown."""
        told = {"now": self.now} if self.now else {}
        return told | {
            "judge": self.judge,
            "passed": list(self.passed),
            "failed": list(self.failed),
            "reasons": [reason.json() for reason in self.reasons],
            "evidence": [f"E{number}" for number in self.evidence],
        }

    @classmethod
    def read(cls, stored: Mapping[str, Any]) -> "Verdict":
        """Return a verdict from the text of an entry."""
        return cls(
            passed=tuple(stored["passed"]),
            failed=tuple(stored["failed"]),
            reasons=tuple(map(Reason.read, stored["reasons"])),
            evidence=tuple(int(name[1:]) for name in stored["evidence"]),
            now=stored.get("now", ""),
            judge=stored.get("judge", FIRST_JUDGE),
        )


NO_VERDICT = Verdict((), (), (), ())
"""That of an entry which nobody judged."""
