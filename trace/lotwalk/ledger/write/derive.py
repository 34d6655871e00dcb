"""What follows from an entry's text for the walk: under which node and in which role each of its uses is stored.

The same functions store an entry, bring an older book up to date and verify one, so that they cannot disagree.
"""

from collections.abc import Callable, Sequence
from operator import itemgetter
from typing import TypeVar

from lotwalk.ledger.use import Use
from lotwalk.ledger.verdict import Verdict
from lotwalk.values.codes import fold
from lotwalk.values.roles import Role

SHARING_SINCE = 2
"""The form of records which say themselves what mixes an entry shares. Of older ones it follows from the verdict."""

_Use = TypeVar("_Use")
_PART = itemgetter(0)

Derived = tuple[int, Role, _Use, bool]
"""A use as it is stored: the part of the entry, the role, the use itself, and whether its amount stands here."""


def derived(uses: Sequence[tuple[Role, str, int, _Use]]) -> list[Derived[_Use]]:
    """Return the stored uses of one entry. Each of its uses comes as (role, class of the thing, part, use).

    What failed beside what passed walks as a node of its own, with all the entry's other uses but no amounts.
    """
    cleared = Role.CLEARED
    out = [(part, role.of(cls) if role is cleared else role, use, True) for role, cls, part, use in uses]
    if any(map(_PART, out)):
        out += [(1, role, use, False) for part, role, use, _ in out if not part and role is not cleared]
    return out


_TAKEN = (Role.TOOK,)
"""How a load has a mix, and all of which it follows that an older record shares one."""
SHARING = (*_TAKEN, Role.HANDLED)
"""How an entry has a mix which it shares: it took some of it, or what happened to it happened to all that is in it."""


def shared(
    uses: Sequence[Use], verdict: Verdict | None, is_bath: Callable[[str], bool], *, older: bool = False
) -> list[Use]:
    """Return the uses by which an entry shares the mixes that it has with their other loads. `older`: of a form that
    does not say itself what is shared.

    `uses` are the entry's others, with the roles that the verdict gave them; `is_bath` says of a code whether it is a
    mix in which things are dipped. What passed shares nothing: what others left in the bath was killed on it. What
    failed, what is unproven and what nobody judged (a washing, a mix made of a mix, a mix that was spilt) takes from
    the bath and gives to it.
    """
    failed = {fold(code) for code in verdict.failed} if verdict else set()
    passed = {fold(code) for code in verdict.passed} if verdict else set()
    dirty = [use.part for use in uses if use.role is Role.TOUCHED and fold(use.code) in failed]
    cleared = any(use.role is Role.CLEARED for use in uses)
    out: dict[str, Use] = {}
    for use in uses:
        code = fold(use.code)
        if use.role not in (_TAKEN if older else SHARING) or code in out or not is_bath(use.code):
            continue
        if code in passed or (code not in failed and cleared and not dirty):
            continue
        # A mix that is judged itself, as the wash water of a packing is, concerns the whole entry.
        part = 0 if code in failed else max(dirty, default=0)
        out[code] = Use(Role.SHARED, use.code, use.field, part=part)
    return list(out.values())
