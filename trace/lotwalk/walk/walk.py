"""The walk's answer: what is reached, by ingredient or contact, in which ring, and in which spells."""

from collections.abc import Collection, Iterable

from sqlalchemy import Connection, TextClause, text

from lotwalk.walk.frontier import Frontier
from lotwalk.walk.model import CONTACT, FORWARD, INGREDIENT, RINGS, Doubt, Reached, Spell, Start, Touch, Walk, step

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
    frontier = Frontier(connection, direction, doubt or Doubt())
    frontier.run(starts)
    if direction != FORWARD:
        _name_sources(frontier, through)
    ingredient = _by_ingredient(frontier)
    found_spells = _spells(frontier) if spells else {}
    reached = [
        Reached(
            thing=frontier.things[thing],
            link=INGREDIENT if thing in ingredient else CONTACT,
            level=min(touches.values()),
            spells=found_spells.get(thing, ()),
            assumed=all(touch.assumed for touch in touches),
        )
        for thing, touches in frontier.found.items()
    ]
    reached.sort(key=lambda one: (one.ring, one.thing.kind, one.thing.code))
    entries = _entries(frontier)
    rings = {node: RINGS[level] for node, level in frontier.levels.items()}
    numbers = tuple(sorted(number for number, _ in entries))
    return Walk(direction, tuple(reached), rings, numbers, _count(fields for _, fields in entries))


def _by_ingredient(frontier: Frontier) -> set[int]:
    """The things reached by took, drew and made alone, both ends included."""
    things: set[int] = set()
    seen: set[int] = set()
    nodes = list(frontier.start_nodes)
    while nodes:
        node = nodes.pop()
        if node in seen:
            continue
        seen.add(node)
        for thing in frontier.made[node]:
            if thing not in things:
                things.add(thing)
                nodes.extend(frontier.users[thing])
    return things


def _name_sources(frontier: Frontier, through: Collection[str]) -> None:
    roles = [number for name, number in _NAMED.items() if name in through]
    if not roles:
        return
    chosen = f"k.role IN ({', '.join(map(str, roles))})"
    for row in frontier.rows(frontier.statements.named_of(chosen), nodes=sorted(frontier.levels)):
        touch = Touch(*row)
        frontier.load_things([touch.thing])
        level = frontier.levels[touch.node]
        frontier.found[touch.thing][touch] = step(level, frontier.things[touch.thing], touch.role)


def _spells(frontier: Frontier) -> dict[int, tuple[Spell, ...]]:
    uses = [
        [touch.node, touch.role, thing]
        for thing, touches in frontier.found.items()
        if frontier.things[thing].cls in ("item", "water-source")
        for touch in touches
    ]
    if not uses:
        return {}
    parts = uses + [[node | 1, role, thing] for node, role, thing in uses if frontier.doubt.of(node >> 1)]
    by_thing: dict[int, set[Spell]] = {}
    for node, role, thing, last_time, last_line, next_time, next_line, own in frontier.rows(
        frontier.statements.spells_of(), uses=parts
    ):
        starts = [start for start in (last_time, last_line) if start is not None]
        ends = [end for end in (next_time, next_line) if end is not None]
        start = max(starts) if starts else None
        if role in (7, 8) and not frontier.doubt.of(node >> 1):
            start = own
        by_thing.setdefault(thing, set()).add(Spell(start, min(ends) if ends else None))
    return {thing: tuple(sorted(spells, key=_spell_order)) for thing, spells in by_thing.items()}


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
