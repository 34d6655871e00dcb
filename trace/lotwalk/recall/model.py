"""What a recall answers."""

from dataclasses import dataclass

from lotwalk.ledger.read.spellings import Alike
from lotwalk.recall.asking.asked import Asked, ReadAs
from lotwalk.recall.traceforward.reachability import Codes
from lotwalk.walk.model import Doubt, Spell, Thing

PASSED, FAILED, NOT_SHOWN, UNREAD, NOT_NAMED = "passed", "failed", "not shown", "unread", "not named"
"""What an examination came to: `not shown` is a count below its limit, which is no negative; `unread` is told in words
that say neither, `not named` not at all."""

BEFORE, WITHIN, AFTER = "before", "within", "after"
"""On which side of a spell an examination lies: at its beginning, inside it or at its end."""


@dataclass(frozen=True, slots=True)
class Evidence:
    """An entry (`E12`) by which a candidate was examined: when (as written), its kind, what it came to, its words.

    `side` tells where it lies of an item's or a water source's spell; None for a lot, and where its time is not known.
    `looked_for` is what was tested, in its words. `germs` are what was found, by the names that people know, as far as
    the words name any; `positive` whether that is more than an indicator.
    """

    entry: str
    at: str
    kind: str
    result: str
    says: str
    side: str | None = None
    looked_for: str = ""
    germs: tuple[str, ...] = ()
    positive: bool = False


@dataclass(frozen=True, slots=True)
class Candidate:
    """One candidate cause and what it reaches, as codes: a lot, an item or a water source in one spell, or somebody.

    The spell of a person is the time around being kept away; one who was asked for has none, and counts at all times.
    `explains` is how many of the asked have it behind them, `contacts` the sum over those of the fewest contacts on a
    path from it (`walk/contacts.py`): none where it is in all of them as an ingredient. `others` is how many further
    deliveries it reaches in the time that the asked ones span, widened by the shelf life. `evidence` is what is in hand
    of it, by time; it takes nothing off the list, whatever it says. `assumed`: it lies behind them only by what no
    entry names, such as the usual knife. Candidates with the same number in `joined` are one row of a list
    (`recall/traceback/joined.py`); the number says no more, and None that it is alone.
    """

    thing: Thing
    link: str
    level: int
    spell: Spell | None
    explains: int
    others: int
    lots: Codes
    deliveries: Codes
    customers: tuple[str, ...]
    evidence: tuple[Evidence, ...] = ()
    assumed: bool = False
    contacts: int = 0
    joined: int | None = None

    @property
    def positive(self) -> bool:
        """Whether a test found a germ in it, at its time or at one that is not known. What has one stands first."""
        return any(one.positive for one in self.evidence)


@dataclass(frozen=True, slots=True)
class Found:
    """A test that found a germ: in a candidate cause (of several spells the widest), or in what was asked about."""

    thing: Thing
    evidence: Evidence
    candidate: Candidate | None


@dataclass(frozen=True, slots=True)
class Done:
    """An entry (`E12`) by somebody, when it was (as written), and its kind of record."""

    entry: str
    at: str
    kind: str


@dataclass(frozen=True, slots=True)
class KeptAway:
    """Somebody who was to be kept away, since one entry and until another (None: not back yet).

    `behind` are the entries by them that lie behind the asked, in the time in which they are followed: where there are
    some, they are a candidate. `handled` are those that handled what was asked about within fourteen days of that time.
    """

    person: str
    since: Done
    back: Done | None
    behind: tuple[Done, ...]
    handled: tuple[Done, ...]

    @property
    def candidate(self) -> bool:
        """Whether they are a candidate cause."""
        return bool(self.behind)


@dataclass(frozen=True, slots=True)
class Item:
    """An affected lot in a delivery, with its amount in the canonical unit where one was given."""

    lot: str
    amount: str | None
    unit: str | None


@dataclass(frozen=True, slots=True)
class Delivered:
    """One affected delivery: when (as written, and its first second), to whom, and its affected lots.

    `kind` is the kind of record that made it.
    """

    code: str
    kind: str
    customer: str | None
    at: str
    start: int
    items: tuple[Item, ...]


@dataclass(frozen=True, slots=True)
class LevelTotal:
    """How many lots, deliveries and customers lie in this level or closer."""

    level: int
    lots: int
    deliveries: int
    customers: int


@dataclass(frozen=True, slots=True)
class Recall:
    """The answer.

    `lots`, `deliveries` and `customers` are the widest scope, or what of it lies in the level asked for; `levels` gives
    each affected thing's level by its code, `totals` the running totals. `further` is how many other deliveries there
    were in `span` (first and last second). `late` are the entries (`E12`) whose clean breaks were not believed since
    they were recorded late, `needless` those that were to be believed and that nobody doubted, and `changed` those that
    people amended after the earliest complaint, each with whether it is void now. `silent` counts entries in scope that
    named no water or tool where they could have, `older` the clean breaks in scope that an older judge has passed, and
    `unshown` those that passed without the temperature or pH which label or rule set ask for. `left_out` are the lots
    that travelled with the product asked about and from which the recall does not start, `with_box` those that are
    behind it by contact. `found` are the tests that found a germ, by the order of the candidates. `kept_away` are those
    who were to be kept away and handled what was asked about, or are candidates; `late_returns` what of `late` tells
    that somebody is back; `people_followed` whether people were asked for, so that all are walked. `spelled` are
    suppliers' lots, behind what was asked about or among it, that may be written otherwise too.
    """

    asked: tuple[Asked, ...]
    candidates: tuple[Candidate, ...]
    lots: tuple[str, ...]
    deliveries: tuple[Delivered, ...]
    customers: tuple[str, ...]
    levels: dict[str, int]
    totals: tuple[LevelTotal, ...]
    further: int
    doubt: Doubt
    span: tuple[int, int]
    late: tuple[str, ...]
    needless: tuple[str, ...]
    changed: tuple[tuple[str, bool], ...]
    not_washed_off: tuple[str, ...]
    silent: dict[str, int]
    older: int
    unshown: int
    entries: int
    left_out: tuple[str, ...] = ()
    with_box: tuple[str, ...] = ()
    found: tuple[Found, ...] = ()
    kept_away: tuple[KeptAway, ...] = ()
    late_returns: tuple[str, ...] = ()
    people_followed: bool = False
    spelled: tuple[Alike, ...] = ()

    @property
    def read_as(self) -> tuple[ReadAs, ...]:
        """The words that are no code, and the codes as which they were read."""
        return tuple(one.read_as for one in self.asked if one.read_as)
