"""The walk's answer: what is reached, by ingredient or contact, at which level, and in which spells."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Sequence

from sqlalchemy import Connection

from lotwalk.collector import uncollected
from lotwalk.errors import NotUnderstood
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.verify.sound import check_walked
from lotwalk.store.nodes import seq_of
from lotwalk.values.roles import Role
from lotwalk.walk.contacts import Contacts
from lotwalk.walk.frontier import Frontier
from lotwalk.walk.model import (
    BACK,
    CLEARS,
    CONTACT,
    EVER,
    FORWARD,
    INGREDIENT,
    LEVEL_OF,
    Doubt,
    Reached,
    Spell,
    Start,
    Walk,
    step,
)
from lotwalk.walk.packed import Packed

_NAMED = {"people": Role.BY, "places": Role.PLACE}


def walk(
    connection: Connection,
    direction: str,
    starts: Iterable[Start],
    *,
    doubt: Doubt | None = None,
    through: Collection[str] = (),
    spells: bool = True,
    sure: bool = False,
    contacts: bool = False,
) -> Walk:
    """Return all that is reached from the starts, `forward` or `back`.

    `through` may name `people` and `places`: walking back they are then reached as sources (walking forward
    they are never sinks; start from one). Without `spells` the spells of items and water are not looked up.

    A thing is told to be assumed when the entries by which it is reached only assume it; with `sure`, when every path
    to it passes something assumed, for which what the entries do name is walked once more where that can differ.

    With `contacts` a walk back also counts those between each thing that it reaches and the start.
    """
    begins = list(starts)
    with uncollected():
        frontier = Frontier(connection, direction, doubt or Doubt(), spells=spells)
        frontier.run(begins)
        named = None
        if sure and frontier.rows(frontier.statements.any_assumed, nodes=sorted(frontier.ranks)):
            named = Frontier(connection, direction, doubt or Doubt(), named=True)
            named.run(begins)
        return _answer(frontier, through, spells, named, Contacts(frontier, begins) if contacts else None)


def check_through(through: Iterable[str]) -> None:
    """Raise NotUnderstood for what nothing can be walked through."""
    for word in through:
        if word not in _NAMED:
            raise NotUnderstood(f"through {word}", " or ".join(_NAMED))


def check_read(connection: Connection, kinds: Kinds, starts: Iterable[int], walks: Sequence[Walk]) -> None:
    """Raise Damaged where what these walks from some things (database keys) read is not what was recorded."""
    things = {*starts, *(one.thing.id for found in walks for one in found.reached)}
    check_walked(connection, kinds, things, {seq_of(node) for found in walks for node in found.nodes})


def _answer(
    frontier: Frontier, through: Collection[str], spells: bool, named: Frontier | None, contacts: Contacts | None
) -> Walk:
    uses = zip(frontier.left.column("thing"), frontier.left.column("assumed"), strict=True)
    surely = set(named.lowest) if named else {abs(thing) for thing, assumed in uses if not assumed}
    if not frontier.forward:
        surely |= _name_sources(frontier, through, named or frontier, contacts)
    ingredient = _by_ingredient(frontier)
    found_spells = _spells(frontier) if spells else {}
    reached = [
        Reached(
            frontier.things[key],
            INGREDIENT if key in ingredient else CONTACT,
            frontier.lowest[key],
            found_spells.get(key, ()),
            key not in surely,
            contacts.of(key, found_spells.get(key, ())) if contacts else (),
        )
        for *_, key in sorted(_order(frontier))
    ]
    entries = _entries(frontier)
    levels = {node: LEVEL_OF[rank] for node, rank in frontier.ranks.items()}
    numbers = tuple(sorted(number for number, _ in entries))
    direction = FORWARD if frontier.forward else BACK
    silent = _count(fields for _, fields in entries)
    return Walk(direction, tuple(reached), levels, numbers, silent, contacts.nodes if contacts else {})


def _order(frontier: Frontier) -> Iterator[tuple[int, str, str, int]]:
    """What the reached things are ordered by, and last of all the key of each."""
    for key, rank in frontier.lowest.items():
        thing = frontier.things[key]
        yield LEVEL_OF[rank], thing.kind, thing.code, key


def _by_ingredient(frontier: Frontier) -> set[int]:
    """The things reached by took, drew and made alone, both ends included."""
    given = _edges(frontier.left, "node", "thing", frontier.gives)
    taken = _edges(frontier.came, "thing", "node", frontier.takes)
    things: set[int] = set()
    seen: set[int] = set()
    nodes = [touch.node for touches in frontier.started.values() for touch in touches if touch.role in frontier.takes]
    while nodes:
        node = nodes.pop()
        if node in seen:
            continue
        seen.add(node)
        for thing in given.get(node, ()):
            if thing not in things:
                things.add(thing)
                nodes.extend(taken.get(thing, ()))
    return things


def _edges(uses: Packed, first: str, second: str, roles: Collection[int]) -> dict[int, list[int]]:
    """One field of the uses in some roles by another."""
    edges: dict[int, list[int]] = defaultdict(list)
    for one, other, role in zip(uses.column(first), uses.column(second), uses.column("role"), strict=True):
        if role in roles:
            edges[one].append(other)
    return edges


def _name_sources(frontier: Frontier, through: Collection[str], sure: Frontier, contacts: Contacts | None) -> set[int]:
    """Reach the people and places, where they are asked for, that the nodes name; return those surely named."""
    roles = [number for name, number in _NAMED.items() if name in through]
    if not roles:
        return set()
    rows = [row for row in frontier.rows(frontier.statements.named_of, nodes=sorted(frontier.ranks)) if row[1] in roles]
    frontier.load_things(row[2] for row in rows)
    for node, role, thing, _ in rows:
        rank = step(frontier.ranks[node], frontier.things[thing], role)
        frontier.lowest[thing] = min(rank, frontier.lowest.get(thing, rank))
        if contacts:
            contacts.name(thing, node)
    return {thing for node, _, thing, assumed in rows if not assumed and node in sure.ranks}


def _spells(frontier: Frontier) -> dict[int, tuple[Spell, ...]]:
    """The spells of the items and water sources reached. A clearing use begins its spell itself."""
    ends: dict[int, set[tuple[int, int]]] = defaultdict(set)
    names = ("node", "role", "thing", "start", "bound", "other_bound")
    uses = zip(*(frontier.left.column(name) for name in names), strict=True)
    for node, role, thing, start, bound, other in uses:
        if other and thing > 0:
            clears = role in CLEARS and not frontier.doubt.of(seq_of(node))
            last, following = (other, bound) if frontier.forward else (-bound, other)
            ends[thing].add((start if clears else last, following))
    return {thing: tuple(Spell(*map(_shown, both)) for both in sorted(found)) for thing, found in ends.items()}


def _shown(end: int) -> int | None:
    return None if abs(end) == EVER else end


def _entries(frontier: Frontier) -> list[tuple[int, str]]:
    """The entries walked through: the number of the first version, and the fields that were silent."""
    seqs = sorted(set(map(seq_of, frontier.ranks)))
    return frontier.rows(frontier.statements.entries, seqs=seqs) if seqs else []


def silence(frontier: Frontier) -> dict[str, int]:
    """Return, by field, how many entries walked through named nothing where they could have."""
    return _count(fields for _, fields in _entries(frontier))


def _count(silent: Iterable[str]) -> dict[str, int]:
    counts: dict[str, int] = {}
    for fields in silent:
        for name in fields.split():
            counts[name] = counts.get(name, 0) + 1
    return counts
