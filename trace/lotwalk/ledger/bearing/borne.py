"""What a judge asks of what stands on an item: which lots it bears, under whichever code, and since when."""

from lotwalk.ledger.bearing.facts import BEARS, BECOMES, CARRIES, ON
from lotwalk.ledger.entry import Entry
from lotwalk.ledger.evidence_model import Evidence
from lotwalk.values.roles import Role


def borne(evidence: Evidence, code: str) -> list[tuple[str, Entry]]:
    """Return each lot that came to stand on an item, with the entry by which it did; whether it still does is not said.

    What stood on a mat that was cut up or got a new tag stands on what became of it.
    """
    found: list[tuple[str, Entry]] = []
    for name in codes_of(evidence, code):
        for entry in evidence.telling(BEARS, name):
            found += [(use.code, entry) for use in entry.uses if use.role is Role.MADE]
        for entry in evidence.telling(CARRIES, name):
            if len(lots := _worked_on(entry)) == 1:
                found += [(lot, entry) for lot in lots]
    return found


def codes_of(evidence: Evidence, code: str) -> list[str]:
    """Return the item's code, and those that it had before."""
    found, left = [code], [code]
    while left:
        name = left.pop()
        maker = evidence.maker(name)
        if maker is None:
            continue
        touched = {use.code for use in maker.uses if use.role is Role.TOUCHED}
        for before in sorted(touched - set(found)):
            if any(one.number == maker.number for one in evidence.telling(BECOMES, before)):
                found.append(before)
                left.append(before)
    return found


def _worked_on(entry: Entry) -> set[str]:
    """The lots that an entry tends or handles by its own words, and not since they stand on something."""
    worked_on = [use for use in entry.uses if use.role in (Role.TENDED, Role.HANDLED)]
    return {use.code for use in worked_on if not use.field.startswith(ON)}
