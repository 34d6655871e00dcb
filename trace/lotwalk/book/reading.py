"""What a record book can be asked: a recall, a trace, a balance, the checks, what is due, its entries, its things,
and the proof that entries stand in the log.

What is asked is said in words, as on the command line: codes, days and times (`2026-03-02`, `2026-03-02 09:10`, in the
farm's time zone). Times in an answer are seconds since 1970 beside the words in which they were written down; amounts
are `Decimal` in the unit beside them (g, mL or count).

Each method reads one state of the ledger, and raises NotUnderstood for what the book does not know and Damaged where
what it read is not what was recorded. Those with `at` read on a connection that is open already instead
(`book.ledger.reading()`), so that several answers are of one state.
"""

from collections.abc import Iterable
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection

from lotwalk.book.rules import rules_in_force, rules_or_shipped
from lotwalk.judge import Judge
from lotwalk.judge.case import asking
from lotwalk.judge.ruleset.rules import RuleSet
from lotwalk.kinds.check import Setting
from lotwalk.ledger.evidence import BookEvidence
from lotwalk.ledger.ledger import Ledger
from lotwalk.ledger.model import Settings, Version
from lotwalk.ledger.read.breaks import judged_by_older
from lotwalk.ledger.read.versions import entries
from lotwalk.ledger.write.names import Names
from lotwalk.values.text import words
from lotwalk.values.times import read_when
from lotwalk.values.units import Units

# What answers is read only when something is asked of it, so that an entry at the sink does not wait for it.
if TYPE_CHECKING:
    from lotwalk.balance.weighing import Weighing
    from lotwalk.book.known import Known
    from lotwalk.checks.overview import Ahead, Overview
    from lotwalk.checks.records import Records
    from lotwalk.judge.calculator.on_record import OnRecord
    from lotwalk.ledger.model import Head
    from lotwalk.ledger.verify.proof import Opens, Proof
    from lotwalk.recall.answer import Answer
    from lotwalk.recall.asking.sought import Sought
    from lotwalk.recall.question import Question
    from lotwalk.recall.traced import Trace


@dataclass(slots=True)
class BookReader:
    """A ledger with its kinds of record and its judge, as far as it is only read."""

    ledger: Ledger

    def recall(
        self, asked: "Question | str | Iterable[str]" = (), *, at: Connection | None = None, **options: Any
    ) -> "Answer":
        """Return the answer to a recall from complaints, deliveries or lots, or from what a customer got.

        `asked` is a code, several, or a whole `Question`, whose fields are the options, such as `distrust="all"`,
        `level=2` or `customer="CAFE", since="2026-03-02"`. The answer holds candidate causes, scope, calls, holds and
        balance; see `recall.answer.Answer`. Raises TypeError for an option that there is not.
        """
        from lotwalk.recall.answer import answer
        from lotwalk.recall.question import Question

        question = asked if isinstance(asked, Question) else Question.of(asked, **options)
        with self._at(at) as connection:
            settings = self.ledger.settings(connection)
            damaged = question.although_damaged
            older = [] if damaged else self.older_verdicts(connection)
            rules = (rules_or_shipped if damaged else rules_in_force)(connection, settings)
            now = int(self.ledger.clock())
            return answer(connection, self.ledger.kinds, question, settings, rules, now, older)

    def trace(
        self,
        code: str,
        direction: str,
        *,
        since: str | None = None,
        until: str | None = None,
        distrust: str | Iterable[str] = (),
        through: str | Iterable[str] = (),
    ) -> "Trace":
        """Return all that is reached from a thing, `back` to possible causes or `forward` to what could be concerned.

        `since` and `until` are the time in which an item, a water source, a person or a place counts. `distrust` and
        `through` are as in a recall. What was reached stands in the answer's `walk.reached`, each with its link
        (`ingredient` or `contact`), its level (1 to 5) and its spells between clean breaks.
        """
        from lotwalk.recall.traced import begin, trace

        kinds = self.ledger.kinds
        with self.ledger.reading() as connection:
            begun = begin(
                connection,
                kinds,
                self.ledger.settings(connection).zone,
                code,
                since=since,
                until=until,
                distrust=words(distrust),
                through=words(through),
                older=self.older_verdicts(connection),
            )
            return trace(connection, kinds, begun, direction)

    def balance(self, codes: str | Iterable[str], *, onward: bool = False) -> "Weighing":
        """Return the mass balance of lots, by codes and ranges of codes (`P-1..P-9`), and of all of them together.

        With `onward` also every lot with some of them inside. Percentages are of what came in.
        """
        from lotwalk.balance.weighing import weigh

        with self.ledger.reading() as connection:
            rules = rules_in_force(connection, self.ledger.settings(connection))
            return weigh(connection, self.ledger.kinds, words(codes), rules, follow=onward)

    def check(
        self,
        *,
        since: str | None = None,
        until: str | None = None,
        only: str | Iterable[str] = (),
        on: str | None = None,
    ) -> "Overview":
        """Return what the records show to be missing, late or out of limits, open and closed, in a period of days.

        `only` keeps findings by severity (`critical`, `major`, `minor`), check or name; `on` is the day as of which is
        asked instead of today.
        """
        from lotwalk.checks.overview import look_over

        with self.ledger.reading() as connection:
            records = self._records_on(connection, on)
            start = read_when(since, records.zone).start if since else None
            end = read_when(until, records.zone).end if until else None
            return look_over(records, start, end, words(only))

    def due(self, days: int = 14, *, on: str | None = None) -> "Ahead":
        """Return what must be done within so many days and what is overdue, by day. `on` is as in `check`."""
        from lotwalk.checks.overview import look_ahead

        with self.ledger.reading() as connection:
            return look_ahead(self._records_on(connection, on), days)

    def entries(
        self,
        kind: str | None = None,
        *,
        since: str | None = None,
        until: str | None = None,
        void: bool = False,
        at: Connection | None = None,
    ) -> list[Version]:
        """Return the entries in force of a kind of record, or of all, by time; those that overlap a time.

        `fields` of an entry holds what was written. With `void` those that were taken out of the reckoning stand among
        them. Raises NotUnderstood for a kind that there is not.
        """
        if kind is not None:
            kind = self.ledger.kinds[kind].name
        with self._at(at) as connection:
            zone = self.ledger.settings(connection).zone
            start = read_when(since, zone).start if since else None
            end = read_when(until, zone).end if until else None
            return list(entries(connection, kind, start=start, end=end, void=void))

    def thing(self, asked: "str | Sought", *, at: Connection | None = None) -> "Known":
        """Return what the book knows of a thing, by its code or by what a package or a paper says: every entry in force
        that names it, by time. Raises NotUnderstood where that is no thing, or could be several, and Damaged where what
        was read is not what was recorded."""
        from lotwalk.book.known import known_of
        from lotwalk.checks.subjects.water.levels import levels
        from lotwalk.ledger.verify.sound import check_walked
        from lotwalk.recall.asking.sought import sought

        with self._at(at) as connection:
            named = sought(connection, asked, self.ledger.kinds) if isinstance(asked, str) else asked
            # Of water the tests together say more than each alone.
            is_water = named.thing.cls == "water-source"
            tested = levels(self.records(connection), named.code) if is_water else ()
            known = known_of(connection, named, next(iter(tested), None))
            seqs = {one.version.seq for one in known.mentions}
            check_walked(connection, self.ledger.kinds, {named.thing.id}, seqs)
            return known

    def setting(self) -> Setting:
        """Return the farm's measures and time zone in force."""
        with self.ledger.reading() as connection:
            settings = self.ledger.settings(connection)
        return Setting(Units.load(settings.measures), settings.zone)

    def rules(self) -> tuple[Settings, RuleSet]:
        """Return the farm's settings and the rule set in force."""
        with self.ledger.reading() as connection:
            settings = self.ledger.settings(connection)
            return settings, rules_in_force(connection, settings)

    def proof(
        self,
        asked: "str | Iterable[str]",
        *,
        older: "Head | None" = None,
        opens: "Opens | None" = None,
        at: Connection | None = None,
    ) -> "Proof":
        """Return the proof that entries stand in the log: of entries (`E12`) and of all that name these codes.

        `older` is a head that somebody holds already; `opens` says whose text may be handed over. Raises Damaged too
        where that head is none of this log.
        """
        from lotwalk.ledger.verify.proof import asked_for, prove

        with self._at(at) as connection:
            head = self.ledger.head(connection)
            return prove(connection, head, asked_for(connection, words(asked)), older=older, opens=opens)

    def on_record(
        self, code: str, rules: RuleSet, use: str = "", *, porous: bool = False, rinse: bool = False
    ) -> "OnRecord":
        """Return what the book knows of a sanitiser that is to be mixed: a supplies lot, its label or a solution.

        Raises NotUnderstood where it must not be mixed so; see `judge.on_record`.
        """
        from lotwalk.judge.calculator.on_record import on_record

        now = int(self.ledger.clock())
        with self.ledger.reading() as connection:
            kinds = self.ledger.kinds
            evidence = BookEvidence(connection, kinds, Names(connection, kinds), now)
            return on_record(asking(evidence, rules, now), code, use, porous=porous, rinse=rinse)

    def records(self, connection: Connection, now: int | None = None) -> "Records":
        """Return the book as the checks read it, at a time in epoch seconds (None: now)."""
        from lotwalk.checks.records import Records

        settings = self.ledger.settings(connection)
        rules = rules_in_force(connection, settings)
        when = int(self.ledger.clock()) if now is None else now
        units = Units.load(settings.measures)
        older = len(self.older_verdicts(connection))
        return Records(connection, self.ledger.kinds, rules, units, settings.zone, when, older)

    def older_verdicts(self, connection: Connection) -> list[int]:
        """Return the versions in force with the verdict of an older judge, while they have not been judged again."""
        settings = self.ledger.settings(connection)
        number = self.ledger.judging(connection, settings).number
        return judged_by_older(connection, number) if settings.judge < number else []

    def _judged_by(self, connection: Connection, settings: Settings) -> RuleSet:
        """The rule set in force; where the judge has read it already, that one, since to read it takes a while."""
        judge = self.ledger.judging(connection, settings)
        return judge.rules if isinstance(judge, Judge) else rules_in_force(connection, settings)

    def _records_on(self, connection: Connection, day: str | None) -> "Records":
        zone = self.ledger.settings(connection).zone
        return self.records(connection, read_when(day, zone).end if day else None)

    def _at(self, at: Connection | None) -> AbstractContextManager[Connection]:
        return nullcontext(at) if at else self.ledger.reading()
