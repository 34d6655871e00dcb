"""Asking the judge, and giving an entry's waiting uses the roles that follow from the verdict.

The ledger knows no rule: it asks a judge by the name that the kind gives, and keeps the answer with the entry.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Protocol

from lotwalk.kinds.model import Mention
from lotwalk.kinds.roles import roles
from lotwalk.ledger.entry import Entry
from lotwalk.ledger.evidence import BookEvidence
from lotwalk.ledger.evidence_model import Evidence
from lotwalk.ledger.model import Pending, UseRow
from lotwalk.ledger.verdict import Reason, Verdict
from lotwalk.values.order import LONG
from lotwalk.values.roles import Role


class Judging(Protocol):
    """What the ledger asks of a judge."""

    @property
    def number(self) -> int:
        """Return the judge's number. It rises when a judge learns to decide otherwise."""

    @property
    def largest_file(self) -> int | None:
        """Return how many bytes an attached file may have, or None where the rule set says nothing."""

    @property
    def keeps(self) -> int:
        """Return how many seconds things keep of which nothing else is known."""

    def judge(self, name: str, entry: Entry, codes: Sequence[str], evidence: Evidence) -> Verdict:
        """Return the verdict on each code of the entry."""

    def notices(self, name: str, entry: Entry, evidence: Evidence, *, verdict: str = "") -> Sequence[str]:
        """Return what is to be said at once of an entry, each with the act that mends it.

        `name` and `verdict` are the judges that its kind names for what is said at once and for what it clears.
        """


def judge_pending(pending: Pending, judging: Judging, evidence: BookEvidence) -> None:
    """Judge an entry, where its kind asks for that, and settle the roles of the uses that waited for it."""
    name = pending.checked.kind.verdict
    if not name or not pending.judged:
        return
    codes = tuple(dict.fromkeys(use.thing.code for use, _ in pending.judged))
    verdict = judging.judge(name, evidence.entry(pending.seq), codes, evidence)
    if pending.checked.at.end - pending.checked.at.start > LONG and verdict.passed:
        verdict = _too_long(verdict)
    pending.verdict = verdict
    passed = set(verdict.passed)
    waiting = {id(use) for use, _ in (*pending.judged, *pending.following)}
    settled = [use for use in pending.uses if id(use) not in waiting]
    some_passed = any(use.thing.code in passed and use.thing.cls == "item" for use, _ in pending.judged)
    for use, mention in pending.judged:
        settled += _settled(use, mention, use.thing.code in passed, some_passed)
    for use, mention in pending.following:
        settled += _followed(use, mention, verdict)
    if not verdict.failed:
        follow = {name for name, field in pending.checked.kind.fields.items() if field.follows}
        pending.silent = tuple(name for name in pending.silent if name not in follow)
    pending.uses = settled
    _take_asked(pending, verdict, evidence)


def _take_asked(pending: Pending, verdict: Verdict, evidence: BookEvidence) -> None:
    """Take what is usual at the place for what was asked for and is not named; where nothing is, count the silence."""
    checked = pending.checked
    place = evidence.maker(checked.place) if checked.place else None
    for name, field in checked.kind.fields.items():
        if not field.usual or not field.usual_asked:
            continue
        # Of an entry that is judged again this stands anew, since something else may be asked for by now.
        pending.uses = [use for use in pending.uses if not (use.field == name and use.assumed)]
        pending.silent = tuple(one for one in pending.silent if one != name)
        if name not in verdict.asks or name in checked.values:
            continue
        listed = place.values.get(field.usual) if place else None
        found = [evidence.names.find(str(code)) for code in listed] if isinstance(listed, list) else []
        usual = [one for one in found if one and evidence.kinds.thing_matches(one.kind, field.usual_things)]
        for thing in usual:
            given = roles(field, checked.values, passes=None, thing=(thing.kind, thing.cls))
            pending.uses += [UseRow(role, thing, name, assumed=True) for role in given]
        if not usual:
            pending.silent = (*pending.silent, name)


def notices_on(pending: Pending, judging: Judging, evidence: BookEvidence) -> Sequence[str]:
    """Return what the judge says at once of an entry that is not void. What may hurt is told of every kind."""
    if pending.amendment and pending.amendment.void:
        return ()
    kind = pending.checked.kind
    return judging.notices(kind.notice or "", evidence.entry(pending.seq), evidence, verdict=kind.verdict or "")


def _settled(use: UseRow, mention: Mention, passes: bool, some_passed: bool) -> Iterable[UseRow]:
    found = roles(mention.field, mention.scope, passes=passes, thing=(use.thing.kind, use.thing.cls))
    # What takes no role is named all the same, and so is found when its evidence changes.
    found = found or [Role.ABOUT]
    apart = int(some_passed and not passes and use.thing.cls == "item")
    for number, role in enumerate(found):
        yield replace(use, role=role, part=apart, amount=use.amount if number == 0 else None)


def _followed(use: UseRow, mention: Mention, verdict: Verdict) -> Iterable[UseRow]:
    """What a load names besides what is judged: a tub is touched by what failed in it, and named by what passed."""
    for passes, part in ((True, 0), (False, 1 if verdict.passed else 0)):
        if verdict.passed if passes else verdict.failed:
            kind = (use.thing.kind, use.thing.cls)
            for role in roles(mention.field, mention.scope, passes=passes, thing=kind):
                yield replace(use, role=role, part=part, amount=None)


def _too_long(verdict: Verdict) -> Verdict:
    text = "The time given is longer than a day, so nothing counts as separated by it"
    reason = Reason(verdict.passed, text, "give the day, or the hour")
    failed = (*verdict.failed, *verdict.passed)
    return replace(verdict, passed=(), failed=failed, reasons=(*verdict.reasons, reason))
