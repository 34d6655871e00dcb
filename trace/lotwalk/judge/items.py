"""Whether items could be cleared at all: washed since their last use, seen clean, standing free, in use."""

from collections.abc import Mapping

from lotwalk.judge.acts import Act, Step
from lotwalk.judge.case import Case, mentions
from lotwalk.judge.words import listed, many
from lotwalk.ledger.bearing.borne import borne, codes_of
from lotwalk.ledger.bearing.finishing import History
from lotwalk.ledger.entry import Entry

FIELD = "items"
"""The field in which the entry names what is judged."""

_MINUTE = 60
"""Seconds."""


def check_items(case: Case) -> None:
    """Fail the items that were not washed, not clean, under a crop, or not in use."""
    _check_washed(case)
    _check_standing(case)
    _check_gone(case)


def _check_washed(case: Case) -> None:
    if case.entry.values.get("seen_clean") is False:
        case.fails("Soil was left on the items", Act(Step.WASH, "wash them until they look clean", True))
        return
    if case.entry.values.get("washed") is True:
        return
    unwashed: list[str] = []
    unclean: dict[tuple[int, ...], list[str]] = {}
    unordered: dict[Entry, list[str]] = {}
    same_minute: dict[Entry, list[str]] = {}
    for code in case.codes:
        washings = [(washing, _doubts(case, code, washing)) for washing in _washings(case, code)]
        good = [washing for washing, doubts in washings if not doubts]
        before = [washing for washing in good if washing.surely_before(case.entry)]
        trusted = before or [washing for washing in good if _in_one_minute(washing, case.entry)]
        if trusted:
            # The one recorded first, so that the verdict rests on no later paper than it must.
            washing = min(trusted, key=lambda one: one.seq)
            case.rests_on(washing)
            if not before:
                same_minute.setdefault(washing, []).append(code)
        elif found := [doubt for _, doubts in washings for doubt in doubts] or _left_unclean(case, code):
            case.rests_on(*(washing for washing, _ in washings), *found)
            unclean.setdefault(tuple(sorted({doubt.number for doubt in found})), []).append(code)
        elif good:
            case.rests_on(*good)
            unordered.setdefault(good[-1], []).append(code)
        else:
            unwashed.append(code)
    _tell_unwashed(case, unwashed)
    _tell_unordered(case, unordered)
    for washing, codes in same_minute.items():
        text = f"The washing of {listed(codes)} ({washing.name}) has the same minute as this"
        case.notes(text, "write washed: yes here, or the minute at which the washing began", codes)
    for notes, codes in unclean.items():
        it, where = many(codes, "it", "them"), listed([f"E{name}" for name in notes])
        text = f"{listed(codes)} {many(codes, 'was', 'were')} noted as not clean after washing ({where})"
        case.fails(text, Act(Step.WASH, f"wash {it} again and write seen_clean: yes", True), codes)


def _tell_unwashed(case: Case, unwashed: list[str]) -> None:
    if unwashed:
        names, it = listed(unwashed), many(unwashed, "it", "them")
        text = f"{names} {many(unwashed, 'was', 'were')} not washed since {many(unwashed, 'its', 'their')} last use"
        case.fails(text, Act(Step.WASH, f"wash {it}", True), unwashed)


def _tell_unordered(case: Case, unordered: Mapping[Entry, list[str]]) -> None:
    """Fail the items of which nobody can tell that they were washed first: a date holds no order."""
    for washing, codes in unordered.items():
        it, first = many(codes, "it", "them"), f"{many(codes, 'it was', 'they were')} washed first"
        text = f"The washing of {listed(codes)} of {washing.at} ({washing.name}) may have come after this"
        act = Act(Step.WRITE, f"write washed: yes here, if {first}", hint=f"wash {it}, then dip {it} again")
        case.fails(text, act, codes)


def _in_one_minute(washing: Entry, dip: Entry) -> bool:
    """Return whether both are written with one and the same minute, as happens on a phone."""
    return washing.span == dip.span and dip.end - dip.start < _MINUTE


def _washings(case: Case, code: str) -> list[Entry]:
    """Return the washings that may count: they may come before this entry, and no other use lies surely between.

    A dip that failed is no use, for it soils nothing, and the washing that was recorded with it still counts.
    """
    entry = case.entry
    told = [washing for washing in case.evidence.telling("washed", code) if washing.number != entry.number]
    soiled = {note.number for note in case.evidence.telling("unclean", code)}
    others = [use for use in case.evidence.uses_of(code) if use.number != entry.number]
    # Of a long history only the end matters: what ended before the latest soiling that is surely over cannot count.
    over = (
        use.start for use in others if use.kind != entry.kind and use.end < entry.start and use.number not in soiled
    )
    latest = max((start for start in over), default=None)
    if latest is not None:
        told = [washing for washing in told if washing.end >= latest]
        # A sheet in order can put a use after a washing whose time is longer, so what overlaps a washing counts too.
        first = min([latest, *(one.start for one in (*told, *others) if one.end >= latest)])
        others = [use for use in others if use.end >= first]
    washed = {washing.number for washing in told}
    dips = [use for use in others if _is_dip(entry, use, code)]
    no_use = soiled | {dip.number for dip in dips}
    uses = [use for use in others if use.number not in no_use]
    washings = told + [dip for dip in dips if _washed_clean(dip) and dip.number not in washed]
    return [
        washing
        for washing in washings
        if not entry.surely_before(washing)
        and not any(
            washing.surely_before(use) and use.surely_before(entry) for use in uses if use.number != washing.number
        )
    ]


def _is_dip(entry: Entry, other: Entry, code: str) -> bool:
    """Return whether another entry put the item through the same treatment as this one."""
    return other.kind == entry.kind and mentions(other, FIELD, code)


def _washed_clean(dip: Entry) -> bool:
    return dip.values.get("washed") is True and dip.values.get("seen_clean") is not False


def _doubts(case: Case, code: str, washing: Entry) -> list[Entry]:
    """Return the notes of the item as unclean that may lie between its washing and this entry."""
    near = [dip for dip in case.evidence.uses_of(code) if dip.end >= washing.start]
    soiled = [dip for dip in near if _is_dip(case.entry, dip, code) and dip.values.get("seen_clean") is False]
    return [
        note
        for note in [*case.evidence.telling("unclean", code), *soiled]
        if note.number not in (washing.number, case.entry.number)
        and not note.surely_before(washing)
        and not case.entry.surely_before(note)
    ]


def _left_unclean(case: Case, code: str) -> list[Entry]:
    """Return the notes that the item was not clean after a washing, where no use lies surely between them and this.

    Such a washing is none that counts, and yet nobody forgot to wash.
    """
    entry, near = case.entry, case.evidence.uses_of(code)
    dips = [use for use in near if _is_dip(entry, use, code)]
    soiled = [dip for dip in dips if dip.values.get("washed") is True and dip.values.get("seen_clean") is False]
    notes = [note for note in [*case.evidence.telling("unclean", code), *soiled] if note.number != entry.number]
    no_use = {entry.number, *(one.number for one in [*dips, *notes])}
    uses = [use for use in near if use.number not in no_use and use.surely_before(entry)]
    return [
        note for note in notes if not entry.surely_before(note) and not any(note.surely_before(use) for use in uses)
    ]


def _check_standing(case: Case) -> None:
    under: dict[str, list[str]] = {}
    histories: dict[str, History] = {}
    for code in case.codes:
        for lot, since in borne(case.evidence, code):
            if not since.surely_before(case.entry):
                continue
            history = histories.get(lot) or histories.setdefault(lot, History(case.evidence, lot))
            ends = history.ends(codes_of(case.evidence, code))
            ended = [end for end in ends if not case.entry.surely_before(end)]
            case.rests_on(*ended[:1])
            if not ended:
                case.rests_on(since)
                codes = under.setdefault(lot, [])
                codes += [code] if code not in codes else []
    for lot, codes in under.items():
        text = f"{listed(codes)} still {many(codes, 'carries', 'carry')} {lot}"
        case.fails(text, f"record what finished {lot}, a harvest, disposal, packing or delivery, with its time", codes)


def _check_gone(case: Case) -> None:
    gone = []
    for code in case.codes:
        leavings = [left for left in case.evidence.telling("gone", code) if left.surely_before(case.entry)]
        lasting = [left for left in leavings if not _came_back(case, code, left)]
        if lasting:
            case.rests_on(lasting[0])
            gone.append(code)
    if gone:
        names = listed(gone)
        text = f"{names} {many(gone, 'is', 'are')} recorded as lost or retired"
        case.fails(text, f"check the code, or record that {names} came back into use", gone)


def _came_back(case: Case, code: str, left: Entry) -> bool:
    """Return whether the item may have come back into use between `left` and this entry."""
    for back in case.evidence.telling("back", code):
        if not back.surely_before(left) and not case.entry.surely_before(back):
            case.rests_on(back)
            return True
    return False
