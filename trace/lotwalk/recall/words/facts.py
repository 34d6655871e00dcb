"""The hard facts of a recall in sentences, to be read first: which tests found a germ, who was to be kept away."""

from collections.abc import Sequence

from lotwalk.kinds.library import Kinds
from lotwalk.recall.model import Done, Found, KeptAway, Recall
from lotwalk.recall.words.common import count

_MOST = 4
"""So many entries are named in a sentence."""

FOLLOW = "`--through people` follows everybody"
"""How all people are walked."""


def fact_words(found: Recall, kinds: Kinds) -> list[str]:
    """Return the facts, one a sentence or two; nothing where there is none."""
    tested = [found_words(one, kinds) for one in found.found]
    return [*tested, *(kept_away_words(one, kinds) for one in found.kept_away), *spelled_words(found)]


def spelled_words(found: Recall) -> list[str]:
    """Return which suppliers' lots may be written otherwise too, the first few."""
    told = [one.sentence for one in found.spelled[:_MOST]]
    if len(found.spelled) > _MOST:
        told.append(f"{len(found.spelled) - _MOST} more lots of suppliers may be written otherwise: `lotwalk check`.")
    return told


def found_words(one: Found, kinds: Kinds) -> str:
    """Return what a test found, in what, by which entry, and how far that reaches."""
    told = one.evidence
    what = ", ".join(told.germs) or told.looked_for or "something that must not be there"
    where = f"{one.thing.code} ({kinds.things[one.thing.kind].title.lower()})"
    words = f"{kinds[told.kind].title.lower()} {told.entry} of {told.at}{f', `{told.says}`' if told.says else ''}"
    if one.candidate is None:
        return f"Tested positive: {where}, for {what}: {words}. It is what was asked about."
    reached = one.candidate
    size = f"{count(len(reached.lots), 'lot')}, {count(len(reached.deliveries), 'delivery', 'deliveries')}"
    return f"Tested positive: {where}, for {what}: {words}. If it was this: {size}."


def people_words(found: Recall) -> str:
    """Return that people were not followed, and how they are; nothing where they were."""
    if found.people_followed:
        return ""
    if any(one.candidate for one in found.kept_away):
        return f"No other people were followed: {FOLLOW} who did any of it."
    return f"People were not followed: {FOLLOW} who did any of it."


def kept_away_words(one: KeptAway, kinds: Kinds) -> str:
    """Return when somebody was to be kept away, what they did, and whether that makes them a candidate cause."""
    until = f"to {_when(one.back)}" if one.back else "on, with no return that counts"
    did = "handled what was asked about" if one.handled else "did work that lies behind what was asked about"
    so = f"So {one.person} is a candidate cause."
    if not one.candidate:
        so = f"A recall does not follow somebody so far from those days, so {one.person} is no candidate cause."
    return (
        f"Kept away: {one.person} was to be kept away from {_when(one.since)} {until}."
        f" {one.person} {did}: {_listed(one.handled or one.behind, kinds)}. {so}"
    )


def _when(one: Done) -> str:
    return f"{one.at} ({one.entry})"


def _listed(done: Sequence[Done], kinds: Kinds) -> str:
    told = [f"{kinds[one.kind].title.lower()} {one.entry} of {one.at}" for one in done[:_MOST]]
    more = f" and {len(done) - _MOST} more" if len(done) > _MOST else ""
    return f"{', '.join(told)}{more}"
