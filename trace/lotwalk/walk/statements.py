"""The walk's SQL, for SQLite and PostgreSQL: two statements read one rank of the walk.

The frontier goes in as one JSON array. Index predicates are literals, so that SQLite may use partial indexes.
An entry that a later one amends is skipped wherever uses are looked up. `N` is the earliest end of the clean
breaks surely after a use, `P` the latest start of those surely before.

A walk back is a walk forward in time run backwards: its rows come with start, end and line negated, and -P for N.
"""

from dataclasses import dataclass
from functools import cache

from sqlalchemy import TextClause, text

from lotwalk.values.order import LONG
from lotwalk.walk.model import EVER, SHARED, Doubt

_BATHED = "k.role IN (1, 3)"
"""An entry took some of a mix or handled it, and so shares it where it cleaned nothing."""


@dataclass(frozen=True, slots=True)
class Statements:
    """The statements of a walk for one dialect, one direction and one sort of doubt.

    `leave`: for the `nodes`, every use by which the walk goes on, and how far that reaches; `leave_with_spells` gives
    the other end of the spell too. `scan`: for `windows` (thing, first and last second, which of its uses), every use
    by which the walk can come to a node, save the long ones, which `scan_long` gives; `scan_all`: for `things`, every
    such use at any time. `scan_named` is for people and places, which are only named, and `named_of` gives the people
    and places that the `nodes` name; `any_assumed` gives one of the `nodes` that use something only assumed. `things`:
    what the walk must know of things, and whether any use of a thing is long. `entries`: of `seqs`, what people name
    them by, and their silent fields.
    """

    leave: TextClause
    leave_with_spells: TextClause
    scan: TextClause
    scan_long: TextClause
    scan_all: TextClause
    scan_named: TextClause
    named_of: TextClause
    any_assumed: TextClause
    things: TextClause
    entries: TextClause


def statements(dialect: str, forward: bool, doubt: Doubt, *, named: bool = False) -> Statements:
    """Return the statements for a dialect (`sqlite` or `postgresql`), a direction and a doubt.

    With `named` only the uses that entries name are walked, and not those that are assumed.
    """
    return _statements(dialect, forward, bool(doubt.entries), doubt.items, doubt.all, named)


@cache
def _statements(dialect: str, forward: bool, some: bool, items: bool, every: bool, named: bool) -> Statements:
    sql = _Sql(dialect, forward, some, items, every, named)
    return Statements(
        leave=text(sql.leave(spells=False)),
        leave_with_spells=text(sql.leave(spells=True)),
        scan=text(sql.scan()),
        scan_long=text(sql.scan_long()),
        scan_all=text(sql.scan_all()),
        scan_named=text(sql.scan_named()),
        named_of=text(sql.named_of()),
        any_assumed=text(sql.any_assumed()),
        things=text(sql.things()),
        entries=text(sql.entries()),
    )


@dataclass(frozen=True, slots=True)
class _Sql:
    """Writes the statements. Of the doubts, `some`: entries are given as `doubted`; `items`, `every`: as in Doubt.

    `named`: no use that was only assumed.
    """

    dialect: str
    forward: bool
    some: bool
    items: bool
    every: bool
    named: bool

    def leave(self, spells: bool) -> str:
        """Sinks of the nodes walking forward, sources walking back."""
        last, following = self._last("k"), self._next("k")
        bound, other = (following, last) if self.forward else (f"-{last}", following)
        condition, of_items = (self._sinks(), "(4, 7, 8)") if self.forward else (self._sources(), "(2, 4, 7)")
        ends = f"CASE WHEN k.role IN {of_items} THEN {bound} ELSE {EVER} END"
        ends += f", CASE WHEN k.role IN {of_items} THEN {other} ELSE 0 END" if spells else ", 0"
        sql = f"SELECT {self._columns()}, k.assumed, {ends} FROM {self._nodes()} AND {condition}{self._sure()}"
        if self._any_doubt():
            # What is disbelieved shares the mix that it took or handled, which nothing ever cleans.
            bath = "EXISTS (SELECT 1 FROM thing t WHERE t.id = k.thing AND t.bath = 1)"
            sql += (
                f" UNION ALL SELECT {self._columns(SHARED)}, k.assumed, {EVER}, {EVER if spells else 0}"
                f" FROM {self._nodes()} AND {_BATHED} AND {self._doubted()} AND {bath}{self._sure()}"
            )
        return sql

    def scan(self) -> str:
        """Sources that overlap the windows walking forward, sinks walking back; none longer than a day."""
        index, condition = self._coming()
        which = self._which()
        parts = [self._scan(index, f"{condition} AND ({which} IN (0, 3) OR (k.role = 4) = ({which} = 1))")]
        if self._any_doubt():
            shared = f"k.role <= 4 AND {_BATHED} AND {which} IN (1, 3) AND {self._doubted()}"
            parts.append(self._scan("use_in", shared, SHARED))
            if self.forward:
                parts.append(
                    self._scan("use_clear", f"k.role >= 7 AND k.role <= 8 AND k.role = 7 AND {self._doubted()}")
                )
        return " UNION ALL ".join(parts)

    def scan_long(self) -> str:
        """Those so long that the scan, which begins a day before the window, does not see them."""
        thing, low, _ = self._window()
        _, condition = self._coming()
        which = self._which()
        parts: list[tuple[int | None, str]] = [
            (None, f"{condition} AND ({which} IN (0, 3) OR (k.role = 4) = ({which} = 1))")
        ]
        if self._any_doubt():
            parts.append((SHARED, f"{_BATHED} AND {which} IN (1, 3) AND {self._doubted()}"))
        return " UNION ALL ".join(
            f"SELECT {self._columns(role)}, {self._come()} FROM {self._windows()} {self._join('use_long')}"
            f" ON k.thing = {thing} AND {chosen} AND k.at_to - k.at_from > {LONG}"
            f" AND k.at_to >= {low} AND k.at_from < {low} - {LONG} WHERE {_live('k')}{self._sure()}"
            for role, chosen in parts
        )

    def scan_all(self) -> str:
        """Those of lots at any time; in which mixes are shared, none of these is."""
        index, condition = self._coming()
        return (
            f"SELECT {self._columns()}, {self._come()} FROM {self._listed_as('things')} {self._join(index)}"
            f" ON k.thing = {self._element()} AND {condition} AND k.role <> 4 WHERE {_live('k')}{self._sure()}"
        )

    def scan_named(self) -> str:
        """Uses as person or place that overlap the windows."""
        thing, low, high = self._window()
        return (
            f"SELECT {self._columns()}, 0, 0, 0 FROM {self._windows()} {self._join('use_named')}"
            f" ON k.thing = {thing} AND k.role >= 9 AND k.role IN (12, 13)"
            f" AND k.at_to >= {low} AND k.at_from <= {high} WHERE {_live('k')}{self._sure()}"
        )

    def named_of(self) -> str:
        """Uses of the nodes as person or place."""
        return f"SELECT k.node, k.role, k.thing, k.assumed FROM {self._nodes()} AND k.role IN (12, 13)"

    def any_assumed(self) -> str:
        """One node that uses something which its entry does not name."""
        return f"SELECT k.node FROM {self._nodes()} AND k.assumed = 1 LIMIT 1"

    def things(self) -> str:
        """The things themselves."""
        join = "CROSS JOIN" if self.dialect == "sqlite" else "JOIN"
        long = f"EXISTS (SELECT 1 FROM use u WHERE u.thing = t.id AND u.at_to - u.at_from > {LONG})"
        return (
            f"SELECT t.id, t.code, t.kind, t.cls, t.type, t.bought, t.farm_wide, t.counted, t.bath, {long}"
            f" FROM {self._listed_as('things')} {join} thing t ON t.id = {self._element()}"
        )

    def entries(self) -> str:
        """The number of each entry (of `seqs`), and the fields that were silent."""
        join = "CROSS JOIN" if self.dialect == "sqlite" else "JOIN"
        return f"SELECT e.first, e.silent FROM {self._listed_as('seqs')} {join} entry e ON e.seq = {self._element()}"

    def _any_doubt(self) -> bool:
        return self.some or self.items or self.every

    def _columns(self, role: int | None = None) -> str:
        """A row's first fields; `role` is said of it instead of the stored one."""
        sheet = _sheet("k")
        when = f"k.at_from, k.at_to, {sheet}, k.line" if self.forward else f"-k.at_to, -k.at_from, {sheet}, -k.line"
        return f"k.node, {'k.role' if role is None else role}, k.thing, {when}"

    def _nodes(self) -> str:
        join = "CROSS JOIN use k" if self.dialect == "sqlite" else "JOIN use k"
        return f"{self._listed_as('nodes')} {join} ON k.node = {self._element()}"

    def _listed_as(self, parameter: str) -> str:
        """A table `j` of the numbers in a JSON array."""
        if self.dialect == "sqlite":
            return f"json_each(:{parameter}) j"
        return f"json_array_elements_text(CAST(:{parameter} AS json)) AS j(value)"

    def _element(self) -> str:
        return "j.value" if self.dialect == "sqlite" else "CAST(j.value AS bigint)"

    def _windows(self) -> str:
        """A table `j` of the windows."""
        if self.dialect == "sqlite":
            return "json_each(:windows) j"
        return "json_array_elements(CAST(:windows AS json)) AS j(value)"

    def _window(self) -> tuple[str, str, str]:
        """A window's thing, its first and its last second."""
        if self.dialect == "sqlite":
            return "json_extract(j.value, '$[0]')", "json_extract(j.value, '$[1]')", "json_extract(j.value, '$[2]')"
        return "CAST(j.value ->> 0 AS bigint)", "CAST(j.value ->> 1 AS bigint)", "CAST(j.value ->> 2 AS bigint)"

    def _which(self) -> str:
        """Which of its thing's uses a window is for: 0 any, 1 those by which a mix is shared, 2 no such, 3 all."""
        return "json_extract(j.value, '$[3]')" if self.dialect == "sqlite" else "CAST(j.value ->> 3 AS bigint)"

    def _scan(self, index: str, condition: str, role: int | None = None) -> str:
        thing, low, high = self._window()
        return (
            f"SELECT {self._columns(role)}, {self._come()} FROM {self._windows()} {self._join(index)}"
            f" ON k.thing = {thing} AND {condition} AND k.at_from BETWEEN {low} - {LONG} AND {high}"
            f" AND k.at_to >= {low} WHERE {_live('k')}{self._sure()}"
        )

    def _sure(self) -> str:
        return " AND k.assumed = 0" if self.named else ""

    def _coming(self) -> tuple[str, str]:
        return ("use_in", "k.role <= 4") if self.forward else ("use_out", self._sinks())

    def _come(self) -> str:
        """How early what leads to a use on an attested sheet may be, and on which line of that sheet at the earliest.

        Any other use is led to exactly when it overlaps a window, and has no bounds. Whether it was assumed matters
        where the walk leaves only, and is not in the indexes.
        """
        if self.forward:
            bound = self._last("k")
            line = f"(SELECT max(g.line) {self._same_sheet('g', 'k')} AND g.line < k.line)"
        else:
            bound = f"-{self._next('k')}"
            line = f"(SELECT -min(g.line) {self._same_sheet('g', 'k')} AND g.line > k.line)"
        return (
            f"0, CASE WHEN {_sheet('k')} <> 0 THEN {bound} ELSE 0 END,"
            f" CASE WHEN {_sheet('k')} <> 0 THEN coalesce({line}, {-EVER}) ELSE 0 END"
        )

    def _next(self, use: str) -> str:
        """N of a use: by time, or by line within its attested sheet; EVER where there is no break."""
        first = f"SELECT c.at_to {self._breaks('c', use)} AND c.at_from > {use}.at_to ORDER BY c.at_from LIMIT 1"
        by_time = f"SELECT min(d.at_to) {self._breaks('d', use)} AND d.at_from > {use}.at_to AND d.at_from <= ({first})"
        by_line = f"SELECT min(g.at_to) {self._same_sheet('g', use)} AND g.line > {use}.line"
        return _nearer("min" if self.dialect == "sqlite" else "least", use, by_time, by_line, EVER)

    def _last(self, use: str) -> str:
        """P of a use: by time, or by line within its attested sheet; -EVER where there is no break."""
        by_time = (
            f"SELECT c.at_from {self._breaks('c', use)} AND c.at_from < {use}.at_from AND c.at_to < {use}.at_from"
            " ORDER BY c.at_from DESC LIMIT 1"
        )
        by_line = f"SELECT max(g.at_from) {self._same_sheet('g', use)} AND g.line < {use}.line"
        return _nearer("max" if self.dialect == "sqlite" else "greatest", use, by_time, by_line, -EVER)

    def _same_sheet(self, alias: str, use: str) -> str:
        """The believed breaks in the attested sheet of a use that overlap its time."""
        return (
            f"{self._breaks(alias, use)} AND {alias}.at_from BETWEEN {use}.at_from - {LONG} AND {use}.at_to"
            f" AND {alias}.at_to >= {use}.at_from AND {alias}.grp = {use}.grp"
        )

    def _breaks(self, alias: str, of: str) -> str:
        """The believed clean breaks of the thing of a use."""
        by = " INDEXED BY use_clear" if self.dialect == "sqlite" else ""
        sql = (
            f"FROM use {alias}{by} WHERE {alias}.thing = {of}.thing AND {alias}.role >= 7 AND {alias}.role <= 8"
            f" AND {_live(alias)}"
        )
        if self.every:
            return f"{sql} AND 1 = 0"
        if self.items:
            sql += f" AND {alias}.role = 8"
        if self.some:
            sql += f" AND NOT {self._listed(alias)}"
        return sql

    def _sinks(self) -> str:
        """A disbelieved water test only names the water."""
        condition = "k.role BETWEEN 3 AND 8"
        if self.every:
            return f"{condition} AND k.role <> 8"
        if self.some:
            condition += f" AND NOT (k.role = 8 AND {self._listed('k')})"
        return condition

    def _sources(self) -> str:
        """An item that a disbelieved cleaning names was only touched."""
        if not self._any_doubt():
            return "k.role <= 4"
        return f"(k.role <= 4 OR (k.role = 7 AND {self._doubted()}))"

    def _doubted(self) -> str:
        return "1 = 1" if self.every or self.items else self._listed("k")

    def _listed(self, alias: str) -> str:
        if self.dialect == "sqlite":
            chosen = "SELECT d.value FROM json_each(:doubted) d"
        else:
            chosen = "SELECT CAST(d.value AS bigint) FROM json_array_elements_text(CAST(:doubted AS json)) AS d(value)"
        return f"({alias}.node >> 1) IN ({chosen})"

    def _join(self, index: str) -> str:
        return f"CROSS JOIN use k INDEXED BY {index}" if self.dialect == "sqlite" else "JOIN use k"


def _live(alias: str) -> str:
    """The condition that nothing amends the entry of this use."""
    return f"NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = ({alias}.node >> 1))"


def _sheet(alias: str) -> str:
    """The attested sheet that orders a use by its line; 0 where none does, since it has none or is too long."""
    return f"CASE WHEN {alias}.at_to - {alias}.at_from > {LONG} THEN 0 ELSE {alias}.grp END"


def _nearer(function: str, use: str, by_time: str, by_line: str, none: int) -> str:
    """The nearer of two breaks; only a use that an attested sheet orders has one by line."""
    return (
        f"{function}(coalesce(({by_time}), {none}),"
        f" CASE WHEN {_sheet(use)} <> 0 THEN coalesce(({by_line}), {none}) ELSE {none} END)"
    )
