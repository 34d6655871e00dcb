"""Whether items could be cleared at all: washed since their last use, seen clean, standing free, there."""

from collections.abc import Mapping

from lotwalk.judge.acts import Act, Step
from lotwalk.judge.case import Case
from lotwalk.judge.seen import check_stayed_clean, doubts, is_dip, left_unclean
from lotwalk.judge.there import check_there
from lotwalk.judge.words import listed, many
from lotwalk.ledger.bearing.borne import borne, codes_of
from lotwalk.ledger.bearing.finishing import History
from lotwalk.ledger.entry import Entry
from lotwalk.values.order import LONG

_MINUTE = 60
"""Seconds."""


def check_items(case: Case) -> None:
    """Fail the items that were not washed, not clean, under a crop, or not there."""
    _check_washed(case)
    check_stayed_clean(case)
    _check_standing(case)
    check_there(case)


def _check_washed(case: Case) -> None:
    if case.entry.values.get("seen_clean") is False:
        case.fails("Soil was left on the items", Act(Step.WASH, "wash them until they look clean", True))
        return
    if case.entry.values.get("washed") is True:
        return
    unwashed: list[str] = []
    unclean: dict[tuple[int, ...], list[str]] = {}
    unordered: dict[Entry, list[str]] = {}
    used: dict[tuple[Entry, Entry], list[str]] = {}
    same_minute: dict[Entry, list[str]] = {}
    for code in case.codes:
        washings, used_since = _washings(case, code)
        told = [(washing, doubts(case, code, washing)) for washing in washings]
        good = [washing for washing, found in told if not found]
        before = [washing for washing in good if washing.surely_before(case.entry)]
        trusted = before or [washing for washing in good if _in_one_minute(washing, case.entry)]
        if trusted:
            # The one recorded first, so that the verdict rests on no later paper than it must.
            washing = min(trusted, key=lambda one: one.seq)
            case.rests_on(washing)
            if not before:
                same_minute.setdefault(washing, []).append(code)
        elif found := [doubt for _, some in told for doubt in some] or left_unclean(case, code):
            case.rests_on(*washings, *found)
            unclean.setdefault(tuple(sorted({doubt.number for doubt in found})), []).append(code)
        elif good:
            case.rests_on(*good)
            unordered.setdefault(good[-1], []).append(code)
        elif used_since:
            case.rests_on(*used_since)
            used.setdefault(used_since, []).append(code)
        else:
            unwashed.append(code)
    _tell_unwashed(case, unwashed)
    _tell_unordered(case, unordered)
    _tell_used(case, used)
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


def _tell_used(case: Case, used: Mapping[tuple[Entry, Entry], list[str]]) -> None:
    """Fail the items that may have been used after they were washed: a use of a date, or of days, may lie there."""
    for (washing, use), codes in used.items():
        it, first = many(codes, "it", "them"), f"{many(codes, 'it was', 'they were')} washed after that"
        text = f"{listed(codes)} may have been used ({use.name}, {use.at}) after {many(codes, 'its', 'their')} washing"
        act = Act(Step.WRITE, f"write washed: yes here, if {first}", hint=f"wash {it}, then dip {it} again")
        case.fails(f"{text} ({washing.name})", act, codes)


def _in_one_minute(washing: Entry, dip: Entry) -> bool:
    """Return whether both are written with one and the same minute, as happens on a phone."""
    return washing.span == dip.span and dip.end - dip.start < _MINUTE


def _washings(case: Case, code: str) -> tuple[list[Entry], tuple[Entry, Entry] | tuple[()]]:
    """Return the washings that may count: they may come before this entry, and no other use lies surely between.

    A use of more than a day, such as a watering day after day, counts as between where some of it may be. A dip that
    failed is no use, for it soils nothing, and the washing that was recorded with it still counts. Where no washing
    counts since such a use may lie between, but need not, the latest of those and that use come beside.
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
    dips = [use for use in others if is_dip(entry, use, code)]
    no_use = soiled | washed | {dip.number for dip in dips}
    uses = [use for use in others if use.number not in no_use and not entry.surely_before(use)]
    before = [
        washing
        for washing in told + [dip for dip in dips if _washed_clean(dip) and dip.number not in washed]
        if not entry.surely_before(washing)
    ]
    since = {washing: [use for use in uses if _between(washing, use, entry)] for washing in before}
    counting = [washing for washing in before if not since[washing]]
    for washing in [] if counting else reversed(before):
        if not any(washing.surely_before(use) and use.surely_before(entry) for use in since[washing]):
            return [], (washing, since[washing][-1])
    return counting, ()


def _between(washing: Entry, use: Entry, dip: Entry) -> bool:
    """Whether a use counts as between a washing and a dip that it does not surely follow."""
    if washing.surely_before(use) and use.surely_before(dip):
        return True
    return use.end - use.start > LONG and not use.surely_before(washing)


def _washed_clean(dip: Entry) -> bool:
    return dip.values.get("washed") is True and dip.values.get("seen_clean") is not False


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
