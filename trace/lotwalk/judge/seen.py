"""What somebody saw on an item: notes that it was not clean, before it was dipped or afterwards."""

from lotwalk.judge.acts import Act, Step
from lotwalk.judge.case import Case, mentions
from lotwalk.judge.words import listed, many
from lotwalk.ledger.entry import Entry

FIELD = "items"
"""The field in which the entry names what is judged."""


def is_dip(entry: Entry, other: Entry, code: str) -> bool:
    """Return whether another entry put the item through the same treatment as this one."""
    return other.kind == entry.kind and mentions(other, FIELD, code)


def doubts(case: Case, code: str, washing: Entry) -> list[Entry]:
    """Return the notes of the item as unclean that may lie between its washing and this entry."""
    near = [dip for dip in case.evidence.uses_of(code) if dip.end >= washing.start]
    soiled = [dip for dip in near if is_dip(case.entry, dip, code) and dip.values.get("seen_clean") is False]
    return [
        note
        for note in [*case.evidence.telling("unclean", code), *soiled]
        if note.number not in (washing.number, case.entry.number)
        and not note.surely_before(washing)
        and not case.entry.surely_before(note)
    ]


def left_unclean(case: Case, code: str) -> list[Entry]:
    """Return the notes that the item was not clean after a washing, where no use lies surely between them and this.

    Such a washing is none that counts, and yet nobody forgot to wash.
    """
    entry, near = case.entry, case.evidence.uses_of(code)
    dips = [use for use in near if is_dip(entry, use, code)]
    soiled = [dip for dip in dips if dip.values.get("washed") is True and dip.values.get("seen_clean") is False]
    told = [note for note in case.evidence.telling("unclean", code) if note not in dips]
    notes = [note for note in [*told, *soiled] if note.number != entry.number]
    no_use = {entry.number, *(one.number for one in [*dips, *notes])}
    uses = [use for use in near if use.number not in no_use and use.surely_before(entry)]
    return [
        note for note in notes if not entry.surely_before(note) and not any(note.surely_before(use) for use in uses)
    ]


def check_stayed_clean(case: Case) -> None:
    """Fail the items that were noted as not clean later on, where nothing was done with them in between.

    Then they were not clean when they came out either.
    """
    seen: dict[tuple[Entry, ...], list[str]] = {}
    for code in case.codes:
        if notes := _seen_since(case, code):
            case.rests_on(*notes)
            seen.setdefault(tuple(notes), []).append(code)
    for found, codes in seen.items():
        it = many(codes, "it", "them")
        sure = all(case.entry.surely_before(note) for note in found)
        when = "after this" if sure else "on a day or at a time that may be after this"
        text = (
            f"{listed(codes)} {many(codes, 'was', 'were')} noted as not clean {when}"
            f" ({listed([note.name for note in found])}), and no other use of {it} in between is on record"
        )
        hint = "" if sure else "write the minute of both, if the soil was seen first"
        case.fails(text, Act(Step.WASH, f"wash {it} until no soil is left", True, hint), codes)


def _seen_since(case: Case, code: str) -> list[Entry]:
    """The notes of an item as not clean that may come after this entry, with no other use surely between.

    Being dipped soils nothing, and so is no use here; a dip after which soil was seen is such a note.
    """
    entry, told = case.entry, case.evidence.telling("unclean", code)
    noted = {note.number for note in told}
    later = [use for use in case.evidence.uses_of(code) if use.number != entry.number and use.end >= entry.start]
    # Of a long history only what comes next matters: what begins after the next use is over says nothing of this.
    over = (use.end for use in later if use.kind != entry.kind and use.number not in noted and entry.end < use.start)
    until = min(over, default=None)
    near = [use for use in later if until is None or use.start <= until]
    dips = [use for use in near if is_dip(entry, use, code)]
    soiled = [dip for dip in dips if dip.values.get("seen_clean") is False]
    notes = [
        note
        for note in [*told, *soiled]
        if note.number != entry.number and not note.surely_before(entry) and (until is None or note.start <= until)
    ]
    no_use = noted | {dip.number for dip in dips}
    uses = [use for use in near if use.number not in no_use and entry.surely_before(use)]
    return [note for note in notes if not any(use.surely_before(note) for use in uses)]
