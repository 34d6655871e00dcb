"""What a recall tells first, in few words: what a test found, who was kept away, and what its answer rests on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from lotwalk.kinds.library import Kinds
from lotwalk.recall.model import Done, Found, KeptAway, Recall
from lotwalk.recall.not_followed import not_followed
from lotwalk.recall.words.common import box_words, code_list, count, size_words

if TYPE_CHECKING:
    from lotwalk.recall.answer import Answer
    from lotwalk.recall.response.urgent import Urgent

_MOST = 4
"""So many facts, and so many entries, are named; the rest is counted."""


def first_asked(answer: Answer, kinds: Kinds) -> Iterator[str]:
    """Yield what was asked about, and the lots that it stands for, a line each."""
    if left_out := box_words(answer.found):
        yield left_out
    for one in answer.found.asked:
        about = f" of {one.customer}" if one.customer and one.customer != one.code else ""
        kind = kinds.things[one.kind].title.lower()
        told = f"{one.code} ({kind}{about}{f', {one.type}' if one.type else ''})"
        stands_for = [code for code in answer.stands_for[one.code] if code != one.code]
        told += f", for {code_list(stands_for)}" if stands_for else ""
        yield told + (f" with {code_list(answer.meant[one.code])}" if one.lots else "")
        yield from one.words()


def first_scope(first: Urgent) -> str:
    """Return by what to hold and call."""
    told = f"level {first.level}" if first.level == 1 else f"levels 1 to {first.level}"
    return f"{told}, and all that {code_list(first.found)} reached" if first.found else told


def first_further(first: Urgent, *, options: bool = True) -> str:
    """Return what the next level would add to hold and call, with its option; nothing where that is nothing."""
    if not first.further_holds and not first.further_dated:
        return ""
    more = count(first.further_dated, "delivery", "deliveries")
    lots, level = count(len(first.further_holds), "lot"), max(first.level, 2)
    told = f"Level 2 adds {lots} on hand and {more} in date to hold and call"
    return f"{told}: --level {level}" if options else f"{told}."


def first_facts(found: Recall, kinds: Kinds, *, behind: str = "") -> list[str]:
    """Return what tests found and who was kept away, a sentence or two each; or that there is none.

    On a screen the first few are told. On a paper each test that found a germ is, however many, since nobody can ask it
    for more; `behind` is the heading under which the rest stands.
    """
    facts = [_tested(one, kinds) for one in found.found] + [_away(one, kinds) for one in found.kept_away]
    facts += [one.sentence for one in found.spelled]
    most = max(_MOST, len(found.found)) if behind else _MOST
    told, left = facts[:most], len(facts) - most
    if left > 0 and behind:
        told.append(f"{count(left, 'more fact stands', 'more facts stand')} under `{behind}`.")
    elif left > 0:
        told.append(f"{left} more: --causes tells them.")
    return told or ["No test found a germ in what lies behind it."]


def _tested(one: Found, kinds: Kinds) -> str:
    told = one.evidence
    what = (", ".join(told.germs) or told.looked_for or "what must not be there").upper()
    where = f"{one.thing.code}, {kinds.things[one.thing.kind].title.lower()}"
    asked = "" if one.candidate else ", which was asked about"
    return f"! {what} in {where}{asked} ({told.entry}, {told.at[:10]}{f', {told.says}' if told.says else ''})."


def _away(one: KeptAway, kinds: Kinds) -> str:
    until = f"to {one.back.at[:10]}" if one.back else "on"
    did = one.handled or one.behind
    last = did[-1]
    more = f" and {count(len(did) - 1, 'more entry', 'more entries')}" if len(did) > 1 else ""
    what = "handled it" if one.handled else "lie behind it" if len(did) > 1 else "lies behind it"
    so = ": a candidate cause" if one.candidate else ", too far from those days to be a cause"
    return f"! {one.person} was kept away, {one.since.at[:10]} {until}. {_done(last, kinds)}{more} {what}{so}."


def _done(one: Done, kinds: Kinds) -> str:
    return f"{kinds[one.kind].title} {one.entry} of {one.at[:10]}"


def first_doubts(
    found: Recall, narrower: Recall | None, distrusted: Sequence[str], *, options: bool = True
) -> Iterator[str]:
    """Yield what the answer rests on, what was not written and what was changed since, a line or two each.

    Without `options` no option of the command is named, for those who hold a paper.
    """
    if found.with_box:
        yield f"In the same box, so behind it too: {code_list(found.with_box)}."
    if found.not_washed_off:
        yield f"{code_list(found.not_washed_off)}: washing does not undo that, so no cleaning counts."
    if distrusted:
        yield f"Not believed, as asked: {', '.join(distrusted)}."
    if found.late and narrower:
        same = size_words(narrower) == size_words(found)
        with_it = "the same" if same else f"{len(narrower.lots):,} lots, {len(narrower.deliveries):,} deliveries"
        late = " ".join(f"--believe {name}" for name in found.late) if options else code_list(found.late)
        yield f"Not counted, since written after the complaint ({late}: {with_it})."
    if found.needless:
        yield f"Believed anyway: {', '.join(found.needless)}."
    if found.older:
        told = f"{count(found.older, 'clean break')} of an older judge"
        yield f"{told}: `lotwalk migrate`, or --distrust older-judge." if options else f"{told}."
    if found.unshown:
        told = f"{count(found.unshown, 'clean break')} lack a temperature or pH"
        yield f"{told}: --distrust unshown." if options else f"{told}: believed all the same."
    if found.changed:
        names = [f"{name} (void)" if void else name for name, void in found.changed]
        more = f" and {len(names) - _MOST} more" if len(names) > _MOST else ""
        yield f"Amended since the complaint: {', '.join(names[:_MOST])}{more}."
    if not found.people_followed:
        yield "People were not followed: --through people." if options else "People were not followed."
    if found.silent:
        most = sorted(found.silent.items(), key=lambda one: -one[1])
        told = ", ".join(f"{name.replace('_', ' ')} {number:,}" for name, number in most)
        yield f"Unwritten, so it may be wider: {told}."
    yield f"Not followed: {', '.join(one.short for one in not_followed())}."
