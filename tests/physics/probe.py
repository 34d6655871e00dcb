"""One farm put to the test: lived, written down, asked about; and what is wrong told with the smallest sheet."""

from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

import yaml
from tests.physics.book import kept
from tests.physics.compare import Compared, Miss, compare
from tests.physics.farm import Farm, Style, live, random_farm
from tests.physics.shrink import smallest
from tests.physics.slips import sheet_of

from lotwalk.errors import LotwalkError


@dataclass
class Total:
    """What many farms came to."""

    farms: int = 0
    causes: int = 0
    recalls: int = 0
    drawn: Counter[str] = field(default_factory=Counter)
    wrong: Counter[str] = field(default_factory=Counter)
    reached: Counter[int] = field(default_factory=Counter)
    dirty: Counter[int] = field(default_factory=Counter)
    told: list[str] = field(default_factory=list)


def tried(farm: Farm, template: Path) -> tuple[Compared, str]:
    """Return what a farm came to, and why its sheet was refused, if it was."""
    lived = live(farm)
    try:
        book = kept(farm, lived.done, template)
    except LotwalkError as error:
        return Compared(), str(error)
    try:
        return compare(book, lived), ""
    finally:
        book.ledger.engine.dispose()


def try_many(seeds: range, template: Path, most: int = 1) -> Total:
    """Try the farms of these numbers. The first few with something wrong are told with their smallest sheet."""
    total = Total()
    for seed in seeds:
        farm, drawn = random_farm(seed)
        found, refused = tried(farm, template)
        total.farms += 1
        total.causes += found.causes
        total.recalls += found.recalls
        total.drawn += drawn
        total.reached += found.reached
        total.dirty += found.dirty
        total.wrong.update(miss.question.split()[0] for miss in found.misses)
        total.wrong.update(["refused"] if refused else [])
        if (found.misses or refused) and len(total.told) < most:
            total.told.append(f"farm {seed}: {told(farm, template, found.misses, refused)}")
    return total


def told(farm: Farm, template: Path, misses: list[Miss], refused: str) -> str:
    """Return in words what is wrong with a farm, with the smallest sheet that shows it."""
    first = misses[0] if misses else None

    def same(other: Farm) -> bool:
        found, why = tried(other, template)
        if first is None:
            return bool(why)
        return any(miss.question.split()[0] == first.question.split()[0] for miss in found.misses)

    small = smallest(farm, same)
    found, why = tried(small, template)
    lines = [f"refused: {why}"] if why else []
    for miss in found.misses:
        lines.append(f"{miss.question} does not reach from {miss.cause.label}: {', '.join(sorted(miss.things))}")
    done = live(small).done
    sheet = yaml.safe_dump(sheet_of(small, done), sort_keys=False, width=200, default_flow_style=None)
    typos = {minute: style for minute, style in small.styles.items() if style != Style()}
    written = f"{'in order ' * small.in_order}{typos or ''}"
    dirt = "".join(f"{code} is dirty from minute {minute} on\n" for minute, code in small.soiled)
    return "\n".join([*lines, written, dirt + sheet, *map(repr, done)])
