"""A trace: what it starts from, as somebody asks for it, and what the walk from there reached."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from lotwalk.errors import NotUnderstood
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.model import ThingRow
from lotwalk.ledger.read.spellings import Alike, spelled_too
from lotwalk.ledger.read.things import things_of, void_among
from lotwalk.recall.asking.asked import COMPLAINT, Asked, ReadAs, ask
from lotwalk.recall.asking.box import apart
from lotwalk.recall.asking.period import period
from lotwalk.recall.asking.sought import sought
from lotwalk.walk.distrust import doubt
from lotwalk.walk.model import BACK, FORWARD, Doubt, Start, Walk
from lotwalk.walk.walk import check_read, check_through, walk

WINDOWED = ("item", "water-source", "person", "place")
"""Classes of thing that a walk may start from within a window."""
_ONLY_NAMED = ("partner", "paper")
"""Classes of thing that a walk does not go through: that it reached nothing would say nothing."""


@dataclass(frozen=True, slots=True)
class Begun:
    """What a trace starts from: a thing, and the starts of the walk from it.

    `read_as` tells which words were read as its code, where it was not asked for by that. `complaints` is the complaint
    where it is one, which stands for its deliveries and lots. `doubt` is what the words in `distrusted` stand for.
    """

    thing: ThingRow
    read_as: ReadAs | None
    starts: tuple[Start, ...]
    complaints: tuple[Asked, ...]
    doubt: Doubt
    distrusted: tuple[str, ...] = ()
    through: tuple[str, ...] = ()

    @property
    def keys(self) -> list[int]:
        """The database keys of what the walk starts from."""
        return [one.thing for one in self.starts]


@dataclass(frozen=True, slots=True)
class Trace:
    """A walk one way. `stands_for` are the codes for which what was asked stands, `void` the database keys of what was
    reached and no entry in force makes any more. `spelled` are suppliers' lots that may be written otherwise too."""

    begun: Begun
    walk: Walk
    stands_for: tuple[str, ...]
    void: frozenset[int]
    spelled: tuple[Alike, ...] = ()


def begin(
    connection: Connection,
    kinds: Kinds,
    zone: ZoneInfo,
    words: str,
    *,
    since: str | None = None,
    until: str | None = None,
    distrust: Iterable[str] = (),
    through: Iterable[str] = (),
    older: Collection[int] = (),
) -> Begun:
    """Return what a trace of a code, or of what a package or a paper says, starts from.

    `since` and `until` say in words in what time an item, a water source, a person or a place counts. `older` are the
    versions whose verdicts are of an older judge. Raises NotUnderstood for what the book does not know.
    """
    check_through(through := tuple(through))
    named = sought(connection, words, kinds)
    thing = named.thing
    if thing.cls in _ONLY_NAMED:
        raise NotUnderstood(
            f"{thing.code} is a {thing.kind}, and nothing is followed through one",
            "a lot, a delivery, a complaint, an item, a water source, a person or a place;"
            f" `recall --customer` asks about what a customer got, and `show {thing.code}` says what names it",
        )
    if (since or until) and thing.cls not in WINDOWED:
        raise NotUnderstood(
            f"{thing.code} is a {thing.kind.replace('-', ' ')}, and --from and --until do not go with it",
            "an item, a water source, a person or a place with a window",
        )
    window = period(zone, since, until) if since or until else None
    complaints = ask(connection, [thing.code]) if thing.kind == COMPLAINT else []
    complaints = [apart(connection, kinds, one) for one in complaints]
    starts = [Start(key) for one in complaints for key in one.starts] if complaints else [Start(thing.id, window)]
    distrusted = tuple(distrust)
    doubted = doubt(connection, distrusted, older)
    return Begun(thing, named.read_as, tuple(starts), tuple(complaints), doubted, distrusted, through)


def trace(connection: Connection, kinds: Kinds, begun: Begun, direction: str) -> Trace:
    """Return what is reached, `back` to causes or `forward` to what could be concerned.

    Raises NotUnderstood for another direction, and Damaged where what was read is not what was recorded.
    """
    if direction not in (BACK, FORWARD):
        raise NotUnderstood(f"direction {direction}", f"{BACK} (to causes) or {FORWARD} (to what it could concern)")
    found = walk(connection, direction, begun.starts, doubt=begun.doubt, through=begun.through, sure=True)
    check_read(connection, kinds, begun.keys, [found])
    void = void_among(connection, [one.thing.id for one in found.reached])
    others = [key for key in begun.keys if key != begun.thing.id]
    stands_for = tuple(one.code for one in things_of(connection, others))
    spelled = tuple(spelled_too(connection, kinds, begun.keys, [one.thing.id for one in found.reached]))
    return Trace(begun, found, stands_for, frozenset(void), spelled)
