"""Whether an item was there to be cleaned: registered by then, not lost, not retired, and not lent out."""

from collections.abc import Sequence

from lotwalk.judge.case import Case
from lotwalk.judge.words import listed, many
from lotwalk.ledger.entry import Entry


def check_there(case: Case) -> None:
    """Fail the items that were not on the farm at that time, or of which the book says that they were not yet."""
    if gone := [code for code in case.codes if _leaving(case, code, "gone", ("back",))]:
        names = listed(gone)
        text = f"{names} {many(gone, 'is', 'are')} recorded as lost or retired"
        case.fails(text, f"check the code, or record that {names} came back into use", gone)
    _check_lent(case)
    _check_registered(case)


def _check_lent(case: Case) -> None:
    """Fail what was with a customer: nobody here can have cleaned it."""
    lent: dict[Entry, list[str]] = {}
    for code in case.codes:
        if left := _leaving(case, code, "lent", ("home", "back")):
            lent.setdefault(left, []).append(code)
    for left, codes in lent.items():
        text = f"{listed(codes)} {many(codes, 'was', 'were')} lent out then ({left.name}, {left.at})"
        do = f"check the code and the time, or record when {listed(codes)} came back"
        case.fails(text, do, codes)


def _leaving(case: Case, code: str, fact: str, ended_by: Sequence[str]) -> Entry | None:
    """Return the entry by which an item was surely away at this entry's time, or None where it may have been there."""
    leavings = [left for left in case.evidence.telling(fact, code) if left.surely_before(case.entry)]
    for left in leavings:
        if not _came_back(case, code, left, ended_by):
            case.rests_on(left)
            return left
    return None


def _came_back(case: Case, code: str, left: Entry, ended_by: Sequence[str]) -> bool:
    """Return whether the item may have come back between `left` and this entry."""
    for back in (back for fact in ended_by for back in case.evidence.telling(fact, code)):
        if not back.surely_before(left) and not case.entry.surely_before(back):
            case.rests_on(back)
            return True
    return False


def _check_registered(case: Case) -> None:
    """Fail what was registered later. A piece, or what got a new tag, is there from that change on."""
    later: dict[Entry, list[str]] = {}
    unknown: list[str] = []
    for code in case.codes:
        maker = case.evidence.maker(code)
        if maker is None:
            unknown.append(code)
        elif case.entry.surely_before(maker):
            case.rests_on(maker)
            later.setdefault(maker, []).append(code)
    for maker, codes in later.items():
        text = f"{listed(codes)} {many(codes, 'was', 'were')} not there yet: registered at {maker.at} ({maker.name})"
        do = f"check the code, or amend the time of {maker.name} if {many(codes, 'it was', 'they were')} there before"
        case.fails(text, do, codes)
    if unknown:
        names = listed(unknown)
        text = f"No entry in force registers {names}"
        case.fails(text, f"register {names}, with the time when {many(unknown, 'it', 'they')} came", unknown)
