"""The walk's answer: what is reached, by ingredient or contact, in which ring, and in which spells."""

from collections import defaultdict
from collections.abc import Collection, Iterable

from sqlalchemy import Connection, TextClause, text

from lotwalk.walk.frontier import Frontier
from lotwalk.walk.model import CONTACT, FORWARD, INGREDIENT, RINGS, Doubt, Reached, Spell, Start, Walk, step
from lotwalk.walk.packed import nodes_in

_NAMED = {"people": 12, "places": 13}


def walk(
    connection: Connection,
    direction: str,
    starts: Iterable[Start],
    *,
    doubt: Doubt | None = None,
    through: Collection[str] = (),
    spells: bool = True,
) -> Walk:
    """Return all that is reached from the starts, `forward` or `back`.

    `through` may name `people` and `places`: walking back they are then reached as sources (walking forward
    they are never sinks; start from one). Without `spells` the spells of items and water are not looked up.
    """
    frontier = Frontier(connection, direction, doubt or Doubt(), spells=spells)
    frontier.run(starts)
    if direction != FORWARD:
        _name_sources(frontier, through)
    ingredient = _by_ingredient(frontier)
    reached = [
        Reached(
            thing=frontier.things[thing],
            link=INGREDIENT if thing in ingredient else CONTACT,
            level=level,
            spells=tuple(sorted(frontier.spells.get(thing, ()), key=_spell_order)),
            assumed=thing not in frontier.surely,
        )
        for thing, level in frontier.lowest.items()
    ]
    reached.sort(key=lambda one: (one.ring, one.thing.kind, one.thing.code))
    entries = _entries(frontier)
    rings = {node: RINGS[level] for node, level in frontier.levels.items()}
    numbers = tuple(sorted(number for number, _ in entries))
    return Walk(direction, tuple(reached), rings, numbers, _count(fields for _, fields in entries))


def _by_ingredient(frontier: Frontier) -> set[int]:
    """The things reached by took, drew and made alone, both ends included."""
    given: dict[int, list[int]] = defaultdict(list)
    for thing, numbers in frontier.left.items():
        for node in nodes_in(numbers, frontier.gives):
            given[node].append(thing)
    things: set[int] = set()
    seen: set[int] = set()
    nodes = [touch.node for touches in frontier.started.values() for touch in touches if touch.role in frontier.takes]
    while nodes:
        node = nodes.pop()
        if node in seen:
            continue
        seen.add(node)
        for thing in given[node]:
            if thing not in things:
                things.add(thing)
                nodes.extend(nodes_in(frontier.came[thing], frontier.takes))
    return things


def _name_sources(frontier: Frontier, through: Collection[str]) -> None:
    """Reach the people and places, where they are asked for, that the nodes walked through name."""
    roles = [number for name, number in _NAMED.items() if name in through]
    if not roles:
        return
    rows = frontier.rows(frontier.statements.named_of, nodes=sorted(frontier.levels))
    frontier.load_things(row[2] for row in rows)
    for node, role, thing, assumed in rows:
        if role in roles:
            level = step(frontier.levels[node], frontier.things[thing], role)
            frontier.lowest[thing] = min(level, frontier.lowest.get(thing, level))
            if not assumed:
                frontier.surely.add(thing)


def _spell_order(spell: Spell) -> tuple[bool, int, bool, int]:
    return spell.start is not None, spell.start or 0, spell.end is None, spell.end or 0


def _entries(frontier: Frontier) -> list[tuple[int, str]]:
    """The entries walked through: the number of the first version, and the fields that were silent."""
    seqs = sorted({node >> 1 for node in frontier.levels})
    if not seqs:
        return []
    return [(row[0], row[1]) for row in frontier.rows(_names(frontier.connection.dialect.name), seqs=seqs)]


def silence(frontier: Frontier) -> dict[str, int]:
    """Return, by field, how many entries walked through named nothing where they could have."""
    return _count(fields for _, fields in _entries(frontier))


def _count(silent: Iterable[str]) -> dict[str, int]:
    counts: dict[str, int] = {}
    for fields in silent:
        for name in fields.split():
            counts[name] = counts.get(name, 0) + 1
    return counts


def _names(dialect: str) -> TextClause:
    table = (
        "json_each(:seqs) j CROSS JOIN entry e ON e.seq = j.value"
        if dialect == "sqlite"
        else "json_array_elements_text(CAST(:seqs AS json)) AS j(value) JOIN entry e ON e.seq = CAST(j.value AS bigint)"
    )
    return text(f"SELECT e.first, e.silent FROM {table}")
