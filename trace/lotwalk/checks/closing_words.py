"""What a corrective action does to the findings that it names, said to the person who records it."""

import difflib
from collections.abc import Iterator, Sequence

from lotwalk.checks.causes import by_number
from lotwalk.checks.findings import Standing
from lotwalk.checks.records import Records
from lotwalk.judge.words import listed, ranges
from lotwalk.values.codes import fold

_MOST = 6
"""So many findings are named in one sentence."""


def closing_words(records: Records, standing: Sequence[Standing], action: str, named: Sequence[str]) -> Iterator[str]:
    """Yield sentences: what the action (`E12`), which names these codes, closes, has in hand and does not touch."""
    closed = [one.finding.id for one in standing if one.closed_by == action]
    open_still = [one for one in standing if one.open and action in one.actions]
    said = {fold(name) for name in named}
    asking = [one for one in open_still if one.undecided and fold(one.finding.comes_of) in said]
    in_hand = [one.finding.id for one in open_still if one not in asking]
    if closed:
        yield f"This closes {_short(closed)}."
    if in_hand:
        yield f"In hand, and open until the day of closing is written: {_short(in_hand)}."
    for cause in dict.fromkeys(one.finding.comes_of for one in asking):
        lots = {code for one in asking if one.finding.comes_of == cause for code in one.undecided}
        left = _short(ranges(sorted(lots, key=by_number)))
        yield f"{cause} stays open until a closed action names it and {left}, with what became of them."
    touched = {fold(name) for name in (*closed, *(one.finding.id for one in open_still))}
    ids = {fold(name): name for one in standing for name in (one.finding.id, one.finding.comes_of)}
    for name in named:
        known = fold(name) in ids or records.thing(name) is not None
        others = [
            one.finding.id
            for one in standing
            if one.open and name in one.finding.about and fold(one.finding.id) not in touched
        ]
        if others:
            yield f"{name} is named, and these findings of it stay open, each closed by its own name: {_short(others)}."
        elif ":" in name and not known:
            near = difflib.get_close_matches(name, ids.values(), 3, 0.7)
            yield f"There is no finding {name}{f'; did you mean {listed(near)}' if near else ''}."


def _short(ids: Sequence[str]) -> str:
    more = f" and {len(ids) - _MOST} more" if len(ids) > _MOST else ""
    return f"{', '.join(ids[:_MOST])}{more}"
