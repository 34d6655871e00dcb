"""The record that an honest grower writes of an act: what was done, with what, as the kinds of record ask it."""

from tests.physics import acts, cleaning, sheet_cleaning, sheet_goods, sheet_growing
from tests.physics.acts import Act
from tests.physics.words import Entry, at

WRITE = {**sheet_growing.WRITE, **sheet_goods.WRITE, **sheet_cleaning.WRITE}


def written(act: Act, how: str = "minute", silent: bool = False) -> list[Entry]:
    """Return the entries of an act. `silent`: what is usual at the place is left out where it was what is usual."""
    if isinstance(act, acts.Tend) and act.again:
        return []
    entry = WRITE[type(act)](act, silent)
    days = act.days if isinstance(act, acts.Tend) else 0
    entries = [{"at": at(act.minute, how, days), "by": "TO"} | _filled(entry)]
    if isinstance(act, cleaning.Dip) and act.soiled:
        seen = {"kind": "washing", "items": list(act.soiled), "method": "looked at", "seen_clean": "no", "tub": "none"}
        entries.append({"at": at(act.minute + 1), "by": "TO"} | seen)
    return entries


def _filled(entry: Entry) -> Entry:
    return {name: value for name, value in entry.items() if value not in ("", [])}
