"""The walk by its definition: every pair of entries, every state of a path."""

from collections import deque
from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass

from tests.walk.farm import ITEMS, WATERS, Act, Node

BATH = "the bath of "
"""A mix as what its loads share: it leads from load to load, whichever came first, and to nothing else."""


@dataclass(frozen=True)
class Answer:
    """What is reached: link and level for each code, and the acts walked through."""

    links: dict[str, str]
    levels: dict[str, int]
    acts: set[int]


class Brute:
    """All pairs, for one set of acts and one doubt (a predicate on acts)."""

    def __init__(self, acts: Iterable[Act], doubted: Callable[[Act], bool] = lambda act: False) -> None:
        self.kind = {
            code: name for act in acts for name in ("made", "bought", "mixed") for code in act.fields.get(name, ())
        }
        mixes = {code for code, name in self.kind.items() if name == "mixed"}
        self.nodes = [node for act in acts if not act.void for node in _nodes(act, doubted(act), mixes)]

    def leads(self, one: Node, two: Node, thing: str) -> bool:
        """The definition: `one` leads to `two` through `thing`."""
        if one is two or thing not in one.sinks or thing not in two.sources:
            return False
        if two.before(one) and one.sinks[thing] != "made":
            return False
        if thing in ITEMS or thing in WATERS:
            return not any(thing in c.clears and one.before(c) and c.before(two) for c in self.nodes)
        return True

    def walk(self, direction: str, code: str, window: tuple[int, int] | None = None) -> Answer:
        """Search every state (node, items passed, handled, bought, farm-wide, only ingredients)."""
        forward = direction == "forward"
        outs = (lambda n: n.sinks) if forward else (lambda n: n.sources)
        ins = (lambda n: n.sources) if forward else (lambda n: n.sinks)
        seen: set[tuple[Node, tuple[int, bool, bool, bool, bool]]] = set()
        queue: deque[tuple[Node, tuple[int, bool, bool, bool, bool]]] = deque()

        def go(node: Node, state: tuple[int, bool, bool, bool, bool]) -> None:
            if (node, state) not in seen:
                seen.add((node, state))
                queue.append((node, state))

        for node in self.nodes:
            if window is None or (node.act.end >= window[0] and node.act.start <= window[1]):
                for key in (code, BATH + code):
                    if key in ins(node):
                        go(node, self._pass((0, False, False, False, True), key, ins(node)[key]))
        links: dict[str, str] = {}
        levels: dict[str, int] = {}
        while queue:
            node, state = queue.popleft()
            for thing, role in outs(node).items():
                at_thing = self._pass(state, thing, role)
                name = thing.removeprefix(BATH)
                links[name] = "ingredient" if at_thing[4] or links.get(name) == "ingredient" else "contact"
                levels[name] = min(levels.get(name, 9), _level(at_thing))
                for other in self.nodes:
                    pair = (node, other) if forward else (other, node)
                    if self.leads(*pair, thing):
                        go(other, self._use(at_thing, ins(other)[thing]))
        return Answer(links, levels, {node.act.number for node, _ in seen})

    def _pass(
        self, state: tuple[int, bool, bool, bool, bool], thing: str, role: str
    ) -> tuple[int, bool, bool, bool, bool]:
        items, handled, bought, wide, ingredient = self._use(state, role)
        items = min(2, items + (thing in ITEMS or thing.startswith(BATH)))
        wide = wide or thing in WATERS or self.kind.get(thing) == "mixed"
        bought = bought or self.kind.get(thing) == "bought"
        return items, handled, bought, wide, ingredient

    @staticmethod
    def _use(state: tuple[int, bool, bool, bool, bool], role: str) -> tuple[int, bool, bool, bool, bool]:
        items, handled, bought, wide, ingredient = state
        return (
            items,
            handled or role in ("tended", "handled"),
            bought,
            wide,
            ingredient and role in ("took", "drew", "made"),
        )

    def spell(self, node: Node, thing: str, sink: bool) -> tuple[int | None, int | None]:
        """The spell of one use: latest start of breaks surely before (its own for a clearing), earliest end after."""
        clears = [c for c in self.nodes if thing in c.clears]
        before = [c.act.start for c in clears if c.before(node)]
        after = [c.act.end for c in clears if node.before(c)]
        start = node.act.start if sink and thing in node.clears else max(before, default=None)
        return start, min(after, default=None)


def _level(state: tuple[int, bool, bool, bool, bool]) -> int:
    items, handled, bought, wide, _ = state
    if wide:
        return 5
    if items >= 2:
        return 4
    if items == 1 or handled:
        return 3
    return 2 if bought else 1


def _nodes(act: Act, doubted: bool, mixes: Collection[str]) -> list[Node]:
    """An act as it walks: in two parts when some of its items passed and others failed.

    It shares the mixes that it took or handled, unless it cleaned something or proved its water: then only what failed
    does.
    """
    can_clear = act.end - act.start < 90_000 and not doubted
    cleaned = act.fields.get("cleaned", ())
    passed = [code for code in cleaned if can_clear and code in act.good]
    failed = [code for code in cleaned if code not in passed]
    sources: dict[str, str] = {}
    sinks: dict[str, str] = {}
    for name, takes, gives in (
        ("took", True, False),
        ("tended", False, True),
        ("handled", True, True),
        ("touched", True, True),
        ("drew", True, False),
        ("made", False, True),
        ("bought", False, True),
        ("mixed", False, True),
    ):
        role = "made" if name in ("made", "bought", "mixed") else name
        for code in act.fields.get(name, ()):
            if takes:
                sources[code] = role
            if gives:
                sinks[code] = role
    water = [code for code in act.fields.get("tested", ()) if can_clear and code in act.good]
    sinks |= dict.fromkeys(water, "cleared")
    # A mix that something happens to, such as being spilt, is shared as one that is taken from.
    had = (*act.fields.get("took", ()), *act.fields.get("handled", ()))
    shared = {BATH + code: "shared" for code in had if code in mixes}
    if passed and failed:
        good = Node(act, dict(sources), sinks | dict.fromkeys(passed, "cleared"), frozenset([*passed, *water]), 0)
        touched = dict.fromkeys(failed, "touched")
        bad = Node(act, sources | touched | shared, sinks | touched | shared, frozenset(water), 1)
        return [good, bad]
    if failed or not (passed or water):
        sources, sinks = sources | shared, sinks | shared
    touched = dict.fromkeys(failed, "touched")
    cleared = dict.fromkeys(passed, "cleared")
    return [Node(act, sources | touched, sinks | touched | cleared, frozenset([*passed, *water]), 0)]
