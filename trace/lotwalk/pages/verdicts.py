"""A stored verdict in the words of a log: what passed, what failed, why, and which values were out of limits."""

from collections.abc import Mapping, Sequence
from typing import Any

from lotwalk.judge.words import listed
from lotwalk.ledger.model import Version
from lotwalk.pages.model import Piece

_NOTE = "note"
_LEADS = {"residue": "Residue: ", _NOTE: "To note: "}


def result(version: Version, passed: str, failed: str, mark: str) -> list[Piece]:
    """Return the verdict in these words for passed and failed; nothing for an entry that is not judged."""
    verdict = _verdict(version)
    good, bad = verdict["passed"], verdict["failed"]
    pieces = []
    if good:
        pieces.append(Piece(f"{passed}: {listed(good)}" if bad else passed))
    if bad:
        pieces.append(Piece(f"{mark}{failed}: {listed(bad)}" if good else f"{mark}{failed}", "bold"))
    return pieces


def breaks(version: Version) -> Sequence[str]:
    """Return the codes that failed."""
    failed: list[str] = _verdict(version)["failed"]
    return failed


def sentences(version: Version) -> list[tuple[str, bool]]:
    """Return each reason with the act that mends it, and whether it is only a note."""
    found = []
    for reason in _verdict(version)["reasons"]:
        codes, text, act = reason["codes"], reason["text"], reason["do"]
        whom = listed(codes) if codes else ""
        lead = f"{whom}: " if whom and whom not in text else ""
        to_do = f". To do: {act}" if act else ""
        found.append((f"{_LEADS.get(reason['kind'], '')}{lead}{text}{to_do}.", reason["kind"] == _NOTE))
    return found


def out_of_limits(version: Version, name: str) -> bool:
    """Return whether the verdict speaks of a field's value as failing or too strong.

    A judge's sentence about a value begins with the field and the value as written: `Reading 30 ppm is below...`.
    """
    written = version.fields.get(name)
    if not isinstance(written, str) or not written:
        return False
    told = f"{name.replace('_', ' ')} {written}".casefold()
    return any(
        reason["kind"] != _NOTE and _begins(reason["text"].casefold(), told) for reason in _verdict(version)["reasons"]
    )


def _begins(sentence: str, told: str) -> bool:
    return sentence.startswith(told) and not sentence[len(told) : len(told) + 1].isalnum()


def _verdict(version: Version) -> Mapping[str, Any]:
    return version.verdict or {"passed": [], "failed": [], "reasons": []}
