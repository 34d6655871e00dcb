"""The acts that mend failures, and the one sentence that puts several of them into the order in which they are done."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import IntEnum

from lotwalk.judge.words import listed


class Step(IntEnum):
    """What kind of act it is, in the order of the work at a sink. `WRITE` is paper, and needs nothing done again."""

    WASH = 1
    FRESH = 2
    MEND = 3
    READ = 4
    HEAT = 5
    DIP = 6
    WRITE = 7


@dataclass(frozen=True, slots=True)
class Act:
    """One act. `again`: the items are dipped again after it. `hint` is how the failure might be a slip of the pen.

    An act that helps for a while only does so to the second `until` (since 1970); from then on it is `later`.
    """

    step: Step
    words: str
    again: bool = False
    hint: str = ""
    until: int = 0
    later: str = ""

    def told(self, codes: Sequence[str]) -> str:
        """Return the whole act in words; `codes` are the items it is for, none where it is for all."""
        names = f"{listed(codes)} " if codes else ""
        dip = f", then dip {names}again" if self.again else ""
        return f"{self.words}{dip}{f'; or {self.hint}' if self.hint else ''}"


def write(words: str) -> Act:
    """Return the act of writing down what is missing, or correcting what is wrong."""
    return Act(Step.WRITE, words)


def now(acts: Sequence[tuple[Act, tuple[str, ...]]]) -> str:
    """Return what to do now as one sentence without its full stop, from acts with the items that each is for.

    A fresh mix makes mending the old one needless. Empty where there is one act only, which says it all itself.
    """
    if len({act.told(codes) for act, codes in acts}) < 2:
        return ""

    def words(step: Step) -> list[str]:
        return list(dict.fromkeys(act.words for act, _ in acts if act.step == step))

    washed, dipped = (_codes(acts, *steps) for steps in ((Step.WASH,), ()))
    work = [f"wash {listed(washed)}"] if washed else []
    fresh = words(Step.FRESH)
    work += [max(fresh, key=len)] if fresh else words(Step.MEND) or words(Step.READ)
    work += words(Step.HEAT)[:1]
    told = ", ".join(work)
    if dipped:
        longest = max((text.partition(" again")[2] for text in words(Step.DIP)), key=len, default="")
        told += f"{', then ' if told else ''}dip {listed(dipped)} again{longest}"
    failed = {code for _, codes in acts for code in codes}
    paper = [
        act.words if set(codes) == failed else f"for {listed(codes)}, {act.words}"
        for act, codes in acts
        if act.step == Step.WRITE
    ]
    return "; ".join(part for part in (told, *dict.fromkeys(paper)) if part)


def _codes(acts: Sequence[tuple[Act, tuple[str, ...]]], *steps: Step) -> list[str]:
    """Return the items of acts of these steps; without one, those that must be dipped again."""
    found = [
        code
        for act, codes in acts
        for code in codes
        if (act.step in steps if steps else act.again or act.step == Step.DIP)
    ]
    return sorted(dict.fromkeys(found))
