"""Verdicts of a judge that has learned since: judged again, and filed anew where they come out otherwise.

Nothing is rewritten. A verdict that comes out otherwise becomes a further version of its entry; that all others were
held against the new judge too is said by one settings entry, which carries the judge's number.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import islice

from sqlalchemy import Connection

from lotwalk.errors import NotUnderstood, Refused
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.evidence import BookEvidence
from lotwalk.ledger.model import Pending
from lotwalk.ledger.read.breaks import judged_by_older
from lotwalk.ledger.write.filed_again import again, stored_version
from lotwalk.ledger.write.judging import Judging, judge_pending
from lotwalk.ledger.write.names import Names
from lotwalk.ledger.write.rejudging import same

_AT_ONCE = 500
"""Entries whose evidence is read and held together."""


def reason(number: int) -> str:
    """Return why an entry is filed anew: a judge of this number sees it otherwise."""
    return f"judge {number}"


def judged_otherwise(
    connection: Connection, kinds: Kinds, judging: Judging, now: int, last: int
) -> tuple[int, list[Pending]]:
    """Return how many verdicts in force are of an older judge, and new versions of those that come out otherwise.

    The versions are numbered after `last`; `now` is in epoch seconds.
    """
    older = judged_by_older(connection, judging.number)
    seqs = iter(older)
    out: list[Pending] = []
    while some := list(islice(seqs, _AT_ONCE)):
        evidence = BookEvidence(connection, kinds, Names(connection, kinds), now)
        for pending in _judged(some, judging, evidence, last):
            pending.seq = last + len(out) + 1
            out.append(pending)
    return len(older), out


def _judged(seqs: Sequence[int], judging: Judging, evidence: BookEvidence, last: int) -> Iterator[Pending]:
    """Judge some entries again; yield those of which the judge says something else than the book does."""
    found = []
    for number, seq in enumerate(seqs, 1):
        version, sheet = stored_version(seq, evidence)
        try:
            pending = again(version, sheet, last + number, evidence, reason(judging.number))
        except (Refused, NotUnderstood):
            # Its kind of record has changed since, and what it says can no longer be read: the verdict stands.
            continue
        evidence.add(pending)
        found.append((pending, version))
    for pending, _ in found:
        judge_pending(pending, judging, evidence)
    for pending, version in found:
        if pending.verdict is not None and not same(pending.verdict, version.verdict):
            rests = tuple(sorted(pending.verdict.evidence))
            if pending.amendment:
                pending.amendment = replace(pending.amendment, evidence=rests)
            yield pending
