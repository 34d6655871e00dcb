"""What a recall tells first, in few words: what a test found, who was kept away, and what its answer rests on."""

from collections.abc import Iterator, Sequence

from lotwalk.kinds.library import Kinds
from lotwalk.recall.model import Done, Found, KeptAway, Recall
from lotwalk.recall.words.common import code_list, count, size_words

_MOST = 4
"""So many facts, and so many entries, are named; the rest is counted."""


def first_facts(found: Recall, kinds: Kinds) -> list[str]:
    """Return what tests found and who was kept away, a sentence or two each; or that there is none."""
    facts = [_tested(one, kinds) for one in found.found] + [_away(one, kinds) for one in found.kept_away]
    facts += [one.sentence for one in found.spelled]
    told = facts[:_MOST]
    if len(facts) > _MOST:
        told.append(f"{len(facts) - _MOST} more: --causes tells them.")
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


def first_doubts(found: Recall, narrower: Recall | None, distrusted: Sequence[str]) -> Iterator[str]:
    """Yield what the answer rests on, what was not written and what was changed since, a line or two each."""
    if found.with_box:
        yield f"In the same box, so behind it too: {code_list(found.with_box)}."
    if found.not_washed_off:
        yield f"{code_list(found.not_washed_off)}: washing does not undo that, so no cleaning counts."
    if distrusted:
        yield f"Not believed, as asked: {', '.join(distrusted)}."
    if found.late and narrower:
        same = size_words(narrower) == size_words(found)
        with_it = "the same" if same else f"{len(narrower.lots):,} lots, {len(narrower.deliveries):,} deliveries"
        option = " ".join(f"--believe {name}" for name in found.late)
        yield f"Not counted, since written after the complaint ({option}: {with_it})."
    if found.needless:
        yield f"Believed anyway: {', '.join(found.needless)}."
    if found.older:
        yield f"{count(found.older, 'clean break')} of an older judge: `lotwalk migrate`, or --distrust older-judge."
    if found.unshown:
        yield f"{count(found.unshown, 'clean break')} lack a temperature or pH: --distrust unshown."
    if found.changed:
        names = [f"{name} (void)" if void else name for name, void in found.changed]
        more = f" and {len(names) - _MOST} more" if len(names) > _MOST else ""
        yield f"Amended since the complaint: {', '.join(names[:_MOST])}{more}."
    if not found.people_followed:
        yield "People were not followed: --through people."
    if found.silent:
        most = sorted(found.silent.items(), key=lambda one: -one[1])
        told = ", ".join(f"{name.replace('_', ' ')} {number:,}" for name, number in most)
        yield f"Unwritten, so it may be wider: {told}."
