"""A stored verdict in the words of a log: what passed, what failed, why, and which values were out of limits."""

from collections.abc import Sequence

from lotwalk.judge.words import listed
from lotwalk.ledger.model import Version
from lotwalk.pages.definitions.model import Piece
from lotwalk.values.codes import fold

_LEADS = {"residue": "Residue: ", "unshown": "Not shown: ", "note": "To note: "}
_NOTES = ("unshown", "note")
"""What fails nothing and is no residue."""


def result(version: Version, passed: str, failed: str, mark: str, about: str = "") -> list[Piece]:
    """Return the verdict in these words for passed and failed; nothing for an entry that is not judged.

    With `about`, a code, it is the verdict on that thing alone.
    """
    good, bad = _of(version.judged.passed, about), breaks(version, about)
    pieces = []
    if good:
        pieces.append(Piece(f"{passed}: {listed(good)}" if bad else passed))
    if bad:
        pieces.append(Piece(f"{mark}{failed}: {listed(bad)}" if good else f"{mark}{failed}", "bold"))
    return pieces


def breaks(version: Version, about: str = "") -> Sequence[str]:
    """Return the codes that failed; with `about`, a code, no other than that one."""
    return _of(version.judged.failed, about)


def sentences(version: Version, about: str = "") -> list[tuple[str, bool]]:
    """Return each reason with the act that mends it, and whether it is only a note.

    With `about`, a code, only those that concern that thing.
    """
    found = []
    for reason in version.judged.reasons:
        codes, text, act = reason.codes, reason.text, reason.do
        if about and codes and fold(about) not in map(fold, codes):
            continue
        whom = listed(codes) if codes else ""
        lead = f"{whom}: " if whom and whom not in text else ""
        to_do = f". To do: {act}" if act else ""
        found.append((f"{_LEADS.get(reason.kind, '')}{lead}{text}{to_do}.", reason.kind in _NOTES))
    return found


def concerns(version: Version, code: str) -> object:
    """Return what the verdict says of one thing; things of which it says the same give the same."""
    folded = fold(code)
    verdict = version.judged
    reasons = [
        number for number, reason in enumerate(verdict.reasons) if not reason.codes or folded in map(fold, reason.codes)
    ]
    return bool(_of(verdict.passed, code)), bool(_of(verdict.failed, code)), tuple(reasons)


def out_of_limits(version: Version, name: str) -> bool:
    """Return whether the verdict speaks of a field's value as failing or too strong.

    A judge's sentence about a value begins with the field and the value as written: `Reading 30 ppm is below...`.
    """
    written = version.fields.get(name)
    if not isinstance(written, str) or not written:
        return False
    told = f"{name.replace('_', ' ')} {written}".casefold()
    return any(reason.kind not in _NOTES and _begins(reason.text.casefold(), told) for reason in version.judged.reasons)


def _begins(sentence: str, told: str) -> bool:
    return sentence.startswith(told) and not sentence[len(told) : len(told) + 1].isalnum()


def _of(codes: Sequence[str], about: str) -> Sequence[str]:
    return [code for code in codes if not about or fold(code) == fold(about)]
