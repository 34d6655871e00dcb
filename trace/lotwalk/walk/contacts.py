"""How closely what a walk back reached stands behind its start: the fewest contacts on a path from one to the other.

A step leads from one entry to the next through a thing. It is by ingredient where a lot that was made is taken, or
where water is drawn; every other step is a contact, and so is one that is only assumed. What was asked about is the end
of the path: an entry that did not make it, and only tended or handled it, is one contact away.

The search is exact on the walk's own relation (`Touch.leads_to`), clean breaks and the lines of sheets included. It
goes from distance to distance, so an entry is settled the first time that it is met. Each use is read once for each
clean break that bounds it, as in the walk, so it stays linear.
"""

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence

from lotwalk.values.roles import Role
from lotwalk.walk.frontier import Frontier
from lotwalk.walk.model import EVER, MADE, Spell, Start, Touch

_TOOK, _DREW = int(Role.TOOK), int(Role.DREW)


class Contacts:
    """The contacts between the start of a walk back, which has run, and what it reached.

    `nodes` gives those of each node that the walk came through. Times are those of the walk: negated.
    """

    def __init__(self, frontier: Frontier, starts: Iterable[Start]) -> None:
        self.nodes: dict[int, int] = {}
        self._left: dict[int, list[Touch]] = defaultdict(list)
        for touch in frontier.left:
            self._left[touch.node].append(touch)
        came: dict[int, list[Touch]] = defaultdict(list)
        for touch in frontier.came:
            came[touch.thing].append(touch)
        self._came = {thing: _Uses(touches) for thing, touches in came.items()}
        self._search(_begun(frontier, starts))
        self._uses: dict[int, list[tuple[int, int, int]]] = defaultdict(list)
        for node, touches in self._left.items():
            for touch in touches:
                self._uses[abs(touch.thing)].append((-touch.end, -touch.start, self.nodes[node]))

    def name(self, thing: int, node: int) -> None:
        """Count a node of the walk among those that use a thing: somebody, or a place, that it names."""
        self._uses[thing].append((-EVER, EVER, self.nodes[node]))

    def of(self, thing: int, spells: Sequence[Spell]) -> tuple[int, ...]:
        """Return the contacts of a thing (database key): of each of its spells; where it has none, of all its uses.

        They are those of the entries that a walk forward from there starts with, and that the walk back came through.
        """
        uses = self._uses[thing]
        if not spells:
            return (min(contacts for *_, contacts in uses),)
        uses.sort()
        starts = [start for start, *_ in uses]
        longest = max(end - start for start, end, _ in uses)
        found = []
        for spell in spells:
            low = -EVER if spell.start is None else spell.start
            high = EVER if spell.end is None else spell.end
            near = uses[bisect_left(starts, low - longest) : bisect_right(starts, high)]
            found.append(min(contacts for _, end, contacts in near if end >= low))
        return tuple(found)

    def _search(self, pending: dict[int, list[int]]) -> None:
        """Settle the nodes in the order of their contacts. `pending` are nodes by the contacts at which they wait."""
        contacts, settled = 0, self.nodes
        while pending:
            now, later = pending.pop(contacts, []), pending.setdefault(contacts + 1, [])
            while now:
                node = now.pop()
                if node not in settled:
                    settled[node] = contacts
                    for touch in self._left.get(node, ()):
                        if touch.thing in self._came:
                            self._came[touch.thing].follow(touch, now, later)
            if not later:
                del pending[contacts + 1]
            contacts += 1


class _Uses:
    """The uses of one thing by which the walk comes to nodes. Each is handed out once as a near one, and as a far one.

    Who made a lot comes before every use of it, whatever the clocks say; the uses that no sheet orders follow where
    the times allow it; the others are tested one by one.
    """

    __slots__ = ("_ends", "_longest", "_longest_waiting", "_loose", "_made", "_scanned", "_waiting")

    def __init__(self, touches: Iterable[Touch]) -> None:
        made, loose, ordered = [], [], []
        for touch in touches:
            if touch.role == MADE:
                made.append(touch.node)
            elif touch.group:
                ordered.append((touch.start, touch))
            else:
                loose.append((touch.end, touch.start, touch.node))
        loose.sort()
        ordered.sort()
        self._made = [made, made]
        self._loose = loose
        self._ends = [end for end, *_ in loose]
        self._longest = max((end - start for end, start, _ in loose), default=0)
        self._waiting = [ordered, [*ordered]]
        self._longest_waiting = max((touch.end - start for start, touch in ordered), default=0)
        self._scanned: dict[tuple[int, bool], int] = {}

    def follow(self, touch: Touch, near: list[int], far: list[int]) -> None:
        """Add the nodes to which the walk goes on from a use: those by ingredient to `near`, those by contact to `far`.

        Nodes that were added for an earlier use are left out.
        """
        taken, drawn = (touch.role == role and not touch.assumed for role in (_TOOK, _DREW))
        by_making = not (taken or drawn)
        if self._made[by_making]:
            (far if by_making else near).extend(self._made[by_making])
            self._made[by_making] = []
        if self._loose:
            (near if drawn else far).extend(self._in_time(touch, by_contact=not drawn))
        if self._waiting[not drawn]:
            (near if drawn else far).extend(self._on_sheets(touch, by_contact=not drawn))

    def _in_time(self, touch: Touch, *, by_contact: bool) -> Iterator[int]:
        """The uses that no sheet orders, as far as none with the same bound was there before."""
        known = self._scanned.get((touch.bound, by_contact))
        if known is not None and known <= touch.start:
            return iter(())
        self._scanned[touch.bound, by_contact] = touch.start
        ends = self._ends
        last = bisect_right(ends, touch.bound + self._longest) if known is None else bisect_left(ends, known)
        some = self._loose[bisect_left(ends, touch.start) : last]
        return (node for _, start, node in some if start <= touch.bound)

    def _on_sheets(self, touch: Touch, *, by_contact: bool) -> list[int]:
        """The uses on attested sheets that follow; those that do not wait for the next one."""
        held = self._waiting[by_contact]
        low, high = bisect_left(held, (touch.start - self._longest_waiting,)), bisect_left(held, (touch.bound + 1,))
        found = [one for _, one in held[low:high] if touch.leads_to(one)]
        if found:
            held[low:high] = [one for one in held[low:high] if not touch.leads_to(one[1])]
        return [one.node for one in found]


def _begun(frontier: Frontier, starts: Iterable[Start]) -> dict[int, list[int]]:
    """The nodes from which the walk started, by their contacts."""
    begun: dict[int, list[int]] = defaultdict(list)
    for start in starts:
        low, high = start.window or (-EVER, EVER)
        for key in (start.thing, -start.thing):
            for touch in frontier.started.get(key, ()):
                if -touch.start >= low and -touch.end <= high:
                    contacts = int(touch.role != MADE) if start.contacts is None else start.contacts
                    begun[contacts].append(touch.node)
    return begun
