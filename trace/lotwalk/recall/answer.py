"""The answer to a recall: what was reckoned, the scope to call by, whom to call, what to hold, and how it balances.

All that people and programs are told of a recall stands in one `Answer`; screen, paper, JSON and CSV only say it.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from functools import cached_property, partial
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from lotwalk.balance.model import Balance
from lotwalk.balance.reckoning import balance
from lotwalk.errors import NotUnderstood
from lotwalk.judge.ruleset.rules import RuleSet
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.model import Settings
from lotwalk.ledger.read.things import things_of
from lotwalk.ledger.read.versions import versions
from lotwalk.ledger.verify.entries import end_fits
from lotwalk.recall.asking.asked import ASKABLE, Asked, ask, ask_buyer
from lotwalk.recall.asking.sought import all_sought
from lotwalk.recall.model import Recall
from lotwalk.recall.one_cause.closely import Closely, explain, rows_of
from lotwalk.recall.question import Question
from lotwalk.recall.recall import recall
from lotwalk.recall.response.calls import Call, calls
from lotwalk.recall.response.holds import Holds, holds
from lotwalk.recall.response.package_marks import Bag, bags
from lotwalk.recall.response.urgent import CLOSEST, Urgent, urgent
from lotwalk.recall.traceback.kept_away import AROUND
from lotwalk.recall.traceback.ranking import Ranked, Together, rank
from lotwalk.recall.traceback.ranking import rows_of as rows_of_ranked
from lotwalk.recall.traceforward.levels import in_level, only
from lotwalk.recall.traceforward.long_spells import Wide, wide
from lotwalk.values.codes import entry_number
from lotwalk.values.times import SHELF_LIFE
from lotwalk.values.units import Units
from lotwalk.walk.distrust import doubt


@dataclass(frozen=True, slots=True)
class Times:
    """The times, in seconds, that a recall reckons with.

    How long things keep where no product says it, and how long before somebody was kept away and after the return what
    they did counts.
    """

    shelf_life: int
    before_exclusion: int
    after_return: int

    @classmethod
    def of(cls, rules: RuleSet) -> "Times":
        """Return the times of a rule set; where it says nothing, the usual ones."""

        def seconds(limit: str, usual: int) -> int:
            told = rules.amount(limit)
            return int(told.value) if told else usual

        return cls(
            seconds("recall.shelf_life", SHELF_LIFE),
            seconds("people.before_exclusion", AROUND),
            seconds("people.after_return", AROUND),
        )


@dataclass(frozen=True, eq=False)
class Answer:
    """A recall that was reckoned.

    `found` is the widest scope, with every candidate; `scope` the one to call by, which is the same unless the question
    restricts it; `narrower` the one if all that was recorded late were believed, None where nothing was.

    `balance`, `calls` and `holds` are of the scope to call by. `marks` are what stands on packages, by the codes of
    their lots, in the widest scope. `wide` are things that were long in use without a clean break.
    `log_fits`: the newest entry is what was hashed, and follows onto the log. `detail` is the cause that was asked for,
    or what was to be explained.

    `stands_for` gives the codes for which each asked one stands, and `meant` those of the lots that were meant, where a
    product or a crop was named. `urgent` is what to do first. `farm`, `zone` and `units` are of the
    farm's settings, `times` of its rule set.
    """

    question: Question
    found: Recall
    scope: Recall
    narrower: Recall | None
    balance: Balance
    calls: tuple[Call, ...]
    holds: Holds
    marks: Mapping[str, Bag]
    wide: tuple[Wide, ...]
    log_fits: bool
    detail: Closely | None
    stands_for: Mapping[str, tuple[str, ...]]
    meant: Mapping[str, tuple[str, ...]]
    farm: str
    zone: ZoneInfo
    units: Units
    times: Times
    urgent: Urgent

    @property
    def codes(self) -> tuple[str, ...]:
        """The codes that were asked about; of a buyer who had none, the customer's."""
        return tuple(one.code for one in self.found.asked)

    @property
    def started_from(self) -> list[str]:
        """The codes that were asked about; of a buyer who had none, those of what they got."""
        codes = [(one.code,) if one.code != one.customer else self.stands_for[one.code] for one in self.found.asked]
        return list(dict.fromkeys(code for some in codes for code in some))

    @property
    def names(self) -> dict[str, str]:
        """What each customer to call is called, by code; empty where nobody wrote it down."""
        return {one.customer: one.name for one in self.calls}

    @cached_property
    def bags(self) -> Mapping[str, Bag]:
        """What stands on the packages of the scope to call by, by the codes of their lots."""
        return {lot: self.marks[lot] for lot in self.scope.lots if lot in self.marks}

    @cached_property
    def ranked(self) -> list[Ranked]:
        """The candidates, the likeliest first (`recall/traceback/ranking.py`)."""
        return rank(self.found.candidates, len(self.found.asked), self.found.further)

    @cached_property
    def ranked_rows(self) -> list[Together]:
        """The same as the rows of a list, each of what the book cannot tell apart."""
        return rows_of_ranked(self.ranked)


def answer(
    connection: Connection,
    kinds: Kinds,
    question: Question,
    settings: Settings,
    rules: RuleSet,
    now: int,
    older: Collection[int] = (),
) -> Answer:
    """Return the answer of one state of the ledger to a question.

    `now` is in epoch seconds; `older` are the versions whose verdicts are of an older judge. Raises NotUnderstood for
    what the book does not know, and Damaged where what was read is not what was recorded, unless the question says
    `although_damaged`.
    """
    check = not question.although_damaged
    asked = _asked(connection, kinds, question, settings.zone)
    times = Times.of(rules)
    walked = partial(
        recall,
        connection,
        asked,
        kinds,
        doubt=doubt(connection, question.distrust, older),
        through=question.through,
        with_the_box=question.with_the_box,
        shelf_life=times.shelf_life,
        before_exclusion=times.before_exclusion,
        after_return=times.after_return,
    )
    believed = _believed(connection, question.believe)
    found = walked(believe=believed, older=older, check=check)
    narrower = walked(believe=believed | _believed(connection, found.late), check=False) if found.late else None
    scope = _scope(found, question.level, question.cause)
    weighed = balance(connection, scope.lots, kinds)
    marks = bags(connection, kinds, found.lots)
    stands_for = {one.code: _codes(connection, one.starts) for one in found.asked}
    meant = {one.code: _codes(connection, one.lots) for one in found.asked}
    first = urgent(
        connection,
        kinds,
        found,
        _lots_asked(found, stands_for, meant),
        marks,
        question.day(settings.zone, now),
        question.level or CLOSEST,
        times.shelf_life,
        rows_of(found, question.cause) if question.cause else (),
    )
    return Answer(
        question=question,
        found=found,
        scope=scope,
        narrower=narrower,
        balance=weighed,
        calls=tuple(calls(connection, kinds, scope)),
        holds=holds(connection, kinds, scope, weighed, times.shelf_life),
        marks=marks,
        wide=tuple(wide(connection, found)),
        log_fits=end_fits(connection),
        detail=_detail(connection, kinds, found, question),
        stands_for=stands_for,
        meant=meant,
        farm=settings.name,
        zone=settings.zone,
        units=Units.load(settings.measures),
        times=times,
        urgent=first,
    )


def _asked(connection: Connection, kinds: Kinds, question: Question, zone: ZoneInfo) -> list[Asked]:
    """What is asked about, each with the words as which it was read where those are no code."""
    buyer = question.buyer(zone)
    named = [one for words in question.codes for one in all_sought(connection, words, kinds, ASKABLE)]
    read = {one.code: one.read_as for one in named if one.read_as}
    asked = [replace(one, read_as=read.get(one.code)) for one in ask(connection, [one.code for one in named])]
    return [*asked, ask_buyer(connection, kinds, buyer, zone)] if buyer else asked


def _lots_asked(
    found: Recall, stands_for: Mapping[str, Collection[str]], meant: Mapping[str, Collection[str]]
) -> set[str]:
    """The lots asked about: those meant, or else those named and those in the deliveries named."""
    inside = {one.code: {item.lot for item in one.items} for one in found.deliveries}
    lots: set[str] = set()
    for one in found.asked:
        named = meant[one.code] or stands_for[one.code]
        lots.update(lot for code in named for lot in (code, *inside.get(code, ())))
    return lots


def _believed(connection: Connection, words: Collection[str]) -> set[int]:
    """The numbers of these entries. Raises NotUnderstood for what is none."""
    numbers = set()
    for word in words:
        number = entry_number(word)
        if number is None:
            raise NotUnderstood(f"--believe {word}", "an entry, such as E12")
        if not versions(connection, number):
            raise NotUnderstood(f"there is no entry {word}", "an entry such as E12")
        numbers.add(number)
    return numbers


def _scope(found: Recall, level: int | None, cause: str | None) -> Recall:
    """The scope to call by: what lies in the level, of what the cause reaches."""
    scope = in_level(found, level) if level else found
    if cause:
        rows = rows_of(found, cause)
        codes = {code for row in rows for code in (*row.lots, *row.deliveries)}
        scope = only(scope, codes | {row.thing.code for row in rows})
    return scope


def _detail(connection: Connection, kinds: Kinds, found: Recall, question: Question) -> Closely | None:
    if not question.cause and not question.why:
        return None
    return explain(connection, kinds, found, question.cause, question.why)


def _codes(connection: Connection, keys: Collection[int]) -> tuple[str, ...]:
    return tuple(thing.code for thing in things_of(connection, keys))
