"""How soon a recall names the true cause of an outbreak: `python -m tests.bench.outbreaks`.

On a made-up grower (`shape.py`) one cause is planted: a lot, or an item or a well between two clean breaks. From there
germs spread along true links, by the order in which things were really done: from an entry to the next through a thing,
with one chance where an ingredient is taken or water is drawn, and another by contact. Of the deliveries that they
reach some complain, and people complain of others by chance. Then the recall is asked about all of these deliveries.

The spreading shares no code with the walk and knows nothing of spells save when things were cleaned. Printed is where
the true cause stands in the list, and whether every delivery that made somebody ill was in the widest scope.

The growers are of two sorts: one cleans its knife and bench each day and has its well tested each week, the other never
does. Their kinds of cause are drawn evenly: a seed lot is as likely as one of a thousand batches.
"""

import argparse
import tempfile
from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from random import Random
from statistics import median

from tests.bench.shape import DAY, Size, all_deeds
from tests.bench.walks import reading
from tests.bench.writer import write

from lotwalk.recall.asking.asked import ask
from lotwalk.recall.model import Candidate, Recall
from lotwalk.recall.recall import recall
from lotwalk.recall.traceback.ranking import Ranked, rank

FARMS = {
    "tidy": Size("tidy", 1, 1, 50, days=60),
    "never cleans": Size("never cleans", 1, 1, 50, days=45, neglectful=True),
}
COMPLAINING, STRAY = 0.4, 0.25
"""The share of ill deliveries that complain, and of the complaints that have another cause."""
FEWEST = 2
"""One complaint is no outbreak: another cause is planted."""
_PLANTED = ("seed-lot", "supplies-lot", "solution", "tray-batch", "harvest-lot", "medium", "tool", "surface")
_PLANTED_WATER = "water-source"
_SOURCES = ("took", "drew", "handled", "touched")
_SINKS = ("made", "tended", "handled", "touched", "cleared")


@dataclass(frozen=True, slots=True)
class Chances:
    """With which chance germs pass a link."""

    ingredient: float
    contact: float


CHANCES = (Chances(0.9, 0.5), Chances(0.5, 0.9))


@dataclass(frozen=True, slots=True)
class Cause:
    """What is planted: a thing, from the first to the last second in which it is dirty by itself."""

    code: str
    first: int
    last: int


@dataclass(frozen=True, slots=True)
class Outbreak:
    """A cause, the deliveries that it made somebody ill by, and those of which people complained."""

    cause: Cause
    ill: frozenset[str]
    asked: tuple[str, ...]


class Grower:
    """A made-up grower: its deeds in the order in which they were done, and what could be dirty when."""

    def __init__(self, size: Size, seed: int) -> None:
        self.deeds = sorted((one for one in all_deeds(size, seed) if one.kind != "complaint"), key=lambda one: one.at)
        self.kinds = {use.code: use.kind for deed in self.deeds for use in deed.uses if use.kind}
        self.delivered = {use.code: deed.at for deed in self.deeds if deed.kind == "delivery" for use in deed.uses[:1]}
        cleared: dict[str, list[int]] = defaultdict(list)
        used: dict[str, list[int]] = defaultdict(list)
        for deed in self.deeds:
            for use in deed.uses:
                if use.role == "cleared":
                    cleared[use.code].append(deed.at)
                elif use.role in _SOURCES:
                    used[use.code].append(deed.at)
        self.causes: dict[str, list[Cause]] = defaultdict(list)
        for code, times in used.items():
            kind = self.kinds.get(code) or ""
            if kind not in (*_PLANTED, _PLANTED_WATER):
                continue
            ends = [times[0], *cleared[code], times[-1] + 1]
            # Between two cleanings in which it was used at all.
            for first, last in pairwise(ends):
                if any(first <= at <= last for at in times):
                    self.causes[kind].append(Cause(code, first, last))

    def write(self, path: Path) -> None:
        """Write the book that the grower kept."""
        write(path, self.deeds)

    def outbreak(self, random: Random, chances: Chances, complains: float = COMPLAINING) -> Outbreak:
        """Return an outbreak with a cause of any kind. `complains` is the chance with which an ill delivery does."""
        while True:
            kind = random.choice(sorted(self.causes))
            for _ in range(200):
                cause = random.choice(self.causes[kind])
                ill = self._spread(cause, random, chances)
                complaining = [code for code in sorted(ill) if random.random() < complains]
                if len(complaining) >= FEWEST:
                    return Outbreak(cause, frozenset(ill), (*complaining, *self._strays(ill, len(complaining), random)))

    def _strays(self, ill: set[str], complaining: int, random: Random) -> list[str]:
        """Deliveries that people complain of for another reason, near that time."""
        expected = complaining * STRAY / (1 - STRAY)
        number = int(expected) + (random.random() < expected % 1)
        first, last = min(self.delivered[code] for code in ill), max(self.delivered[code] for code in ill)
        near = [code for code, at in self.delivered.items() if first - 3 * DAY <= at <= last + 3 * DAY]
        return random.sample(sorted({*near} - ill), min(number, len({*near} - ill)))

    def _spread(self, cause: Cause, random: Random, chances: Chances) -> set[str]:
        """The deliveries that the germs came to. `dirty` gives each thing the ways in which it became so."""
        dirty: dict[str, list[str]] = defaultdict(list)
        ill: set[str] = set()
        for deed in self.deeds:
            if deed.at < cause.first:
                continue
            caught = False
            for use in deed.uses:
                if use.role not in _SOURCES:
                    continue
                planted = use.code == cause.code and deed.at <= cause.last
                for way in [*dirty[use.code], *(["made"] if planted else [])]:
                    ingredient = use.role == "drew" or (use.role == "took" and way == "made")
                    caught = caught or random.random() < (chances.ingredient if ingredient else chances.contact)
            for use in deed.uses:
                if use.role == "cleared":
                    dirty[use.code] = []
                if caught and use.role in _SINKS:
                    dirty[use.code].append(use.role)
                    if deed.kind == "delivery":
                        ill.add(use.code)
        return ill


Order = Callable[[Ranked], tuple[object, ...]]


def by_chance(one: Ranked) -> tuple[object, ...]:
    """Of what explains as much, the smaller p of Fisher's test first."""
    found = one.candidate
    return -found.explains, one.chance, found.others, found.thing.code


def by_contacts(one: Ranked) -> tuple[object, ...]:
    """Of what explains as much, the fewer contacts first."""
    found = one.candidate
    return -found.explains, found.contacts, found.others, found.thing.code


ORDERS: dict[str, Order | None] = {
    "as ranked, by rows": None,
    "as ranked, one by one": None,
    "explains, contacts, others": by_contacts,
    "explains, Fisher's p, others": by_chance,
}


def is_cause(one: Candidate, cause: Cause) -> bool:
    """Whether a candidate is what was planted."""
    spell = one.spell
    if one.thing.code != cause.code or spell is None:
        return one.thing.code == cause.code
    return (spell.start is None or spell.start <= cause.first) and (spell.end is None or spell.end >= cause.last)


def asked_of(path: Path, outbreak: Outbreak) -> Recall:
    """The recall of all that people complained of."""
    with reading(path) as (book, connection):
        return recall(connection, ask(connection, outbreak.asked), book.ledger.kinds, check=False)


def places(found: Recall, cause: Cause) -> dict[str, int]:
    """The place of the true cause in each order; by rows, that of the row in which it stands."""
    ranked = rank(found.candidates, len(found.asked), found.further)
    out: dict[str, int] = {}
    for name, order in ORDERS.items():
        ordered = sorted(ranked, key=order) if order else ranked
        place, true = next((n, one) for n, one in enumerate(ordered, 1) if is_cause(one.candidate, cause))
        out[name] = true.row if name == "as ranked, by rows" else place
    return out


def measured(size: Size, seeds: range, chances: Chances, complains: float, folder: Path) -> Iterator[str]:
    """Yield the rows of the table for one sort of grower and one pair of chances."""
    found: dict[str, list[int]] = defaultdict(list)
    complete = 0
    for seed in seeds:
        grower, path = Grower(size, seed), folder / f"{seed}.db"
        grower.write(path)
        outbreak = grower.outbreak(Random(f"{seed} {chances}"), chances, complains)
        answer = asked_of(path, outbreak)
        complete += outbreak.ill <= {one.code for one in answer.deliveries}
        for name, place in places(answer, outbreak.cause).items():
            found[name].append(place)
        for written in folder.glob(f"{seed}.db*"):
            written.unlink()
    for name, some in found.items():
        told = [f"{100 * sum(place <= most for place in some) / len(some):.0f}" for most in (1, 3, 10)]
        odds = f"{chances.ingredient} / {chances.contact}"
        yield f"| {size.name} | {odds} | {name} | {' | '.join(told)} | {median(some):g} | {complete} of {len(some)} |"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=200)
    parser.add_argument("--from", type=int, default=1, dest="first")
    parser.add_argument("--complaining", type=float, default=COMPLAINING)
    options = parser.parse_args()
    print("| grower | ingredient / contact | order | first | of three | of ten | median place | scope complete |")
    print("| --- | --- | --- | --- | --- | --- | --- | --- |")
    with tempfile.TemporaryDirectory() as folder:
        for size in FARMS.values():
            for chances in CHANCES:
                seeds = range(options.first, options.first + options.count)
                for row in measured(size, seeds, chances, options.complaining, Path(folder)):
                    print(row, flush=True)


if __name__ == "__main__":
    main()
