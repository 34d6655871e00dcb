"""The walk's SQL, for SQLite and PostgreSQL: each statement reads one level of the walk.

The frontier goes in as one JSON array. Index predicates are literals, so that SQLite may use partial indexes.
An entry that a later one amends is skipped wherever uses are looked up. `N` is the earliest end of the clean
breaks surely after a use, `P` the latest start of those surely before.
"""

from dataclasses import dataclass

from sqlalchemy import TextClause, text

from lotwalk.walk.model import Doubt

_LONG = 90_000
_COLUMNS = "{u}.node, {u}.role, {u}.thing, {u}.at_from, {u}.at_to, {u}.grp, {u}.line, {u}.assumed"


@dataclass(frozen=True, slots=True)
class Statements:
    """The statements of a walk for one dialect (`sqlite` or `postgresql`) and one doubt."""

    dialect: str
    doubt: Doubt

    def _list(self, parameter: str) -> str:
        """A table `j` with one row for each element of a JSON array."""
        if self.dialect == "sqlite":
            return f"json_each(:{parameter}) j"
        return f"json_array_elements(CAST(:{parameter} AS json)) AS j(value)"

    def _scalar(self) -> str:
        return "j.value" if self.dialect == "sqlite" else "CAST(j.value #>> '{}' AS bigint)"

    def _item(self, index: int) -> str:
        if self.dialect == "sqlite":
            return f"json_extract(j.value, '$[{index}]')"
        return f"CAST(j.value ->> {index} AS bigint)"

    def _by(self, index: str) -> str:
        return f"INDEXED BY {index}" if self.dialect == "sqlite" else ""

    def _join(self) -> str:
        return "CROSS JOIN use k" if self.dialect == "sqlite" else "JOIN use k"

    @staticmethod
    def live(alias: str) -> str:
        """The condition that nothing amends the entry of this use."""
        return f"NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = ({alias}.node >> 1))"

    def _doubted(self, alias: str) -> str:
        if self.doubt.all or self.doubt.items:
            return "1 = 1"
        if self.dialect == "sqlite":
            chosen = "SELECT d.value FROM json_each(:doubted) d"
        else:
            chosen = "SELECT CAST(d.value AS bigint) FROM json_array_elements_text(CAST(:doubted AS json)) AS d(value)"
        return f"({alias}.node >> 1) IN ({chosen})"

    @property
    def doubts(self) -> bool:
        """Whether any clean break may be disbelieved."""
        return self.doubt.all or self.doubt.items or bool(self.doubt.entries)

    def _break(self, alias: str, of: str) -> str:
        """The condition that `alias` is a believed clean break of the thing of `of`."""
        condition = f"{alias}.thing = {of}.thing AND {alias}.role >= 7 AND {alias}.role <= 8 AND {self.live(alias)}"
        if self.doubt.all:
            return f"{condition} AND 1 = 0"
        if self.doubt.items:
            condition += f" AND {alias}.role = 8"
        if self.doubt.entries:
            doubted = Statements(self.dialect, Doubt(self.doubt.entries))._doubted(alias)
            condition += f" AND NOT {doubted}"
        return condition

    def _next(self, use: str) -> tuple[str, str]:
        """N of a use: by time, and by line within its attested sheet."""
        first = (
            f"SELECT c.at_to FROM use c {self._by('use_clear')} WHERE {self._break('c', use)}"
            f" AND c.at_from > {use}.at_to ORDER BY c.at_from LIMIT 1"
        )
        by_time = (
            f"SELECT min(d.at_to) FROM use d {self._by('use_clear')} WHERE {self._break('d', use)}"
            f" AND d.at_from > {use}.at_to AND d.at_from <= ({first})"
        )
        by_line = (
            f"SELECT min(g.at_to) FROM use g {self._by('use_clear')} WHERE {self._same_sheet('g', use)}"
            f" AND g.line > {use}.line"
        )
        return by_time, by_line

    def _last(self, use: str) -> tuple[str, str]:
        """P of a use: by time, and by line within its attested sheet."""
        by_time = (
            f"SELECT c.at_from FROM use c {self._by('use_clear')} WHERE {self._break('c', use)}"
            f" AND c.at_from < {use}.at_from AND c.at_to < {use}.at_from ORDER BY c.at_from DESC LIMIT 1"
        )
        by_line = (
            f"SELECT max(g.at_from) FROM use g {self._by('use_clear')} WHERE {self._same_sheet('g', use)}"
            f" AND g.line < {use}.line"
        )
        return by_time, by_line

    def _same_sheet(self, alias: str, use: str) -> str:
        return (
            f"{self._break(alias, use)} AND {alias}.at_from >= {use}.at_from - {_LONG}"
            f" AND {alias}.at_from <= {use}.at_to AND {alias}.at_to >= {use}.at_from AND {alias}.grp = {use}.grp"
        )

    def _sinks(self, alias: str) -> str:
        condition = f"{alias}.role BETWEEN 3 AND 8"
        if self.doubt.all:
            return f"{condition} AND {alias}.role <> 8"
        if self.doubt.entries:
            doubted = Statements(self.dialect, Doubt(self.doubt.entries))._doubted(alias)
            condition += f" AND NOT ({alias}.role = 8 AND {doubted})"
        return condition

    def _sources(self, alias: str) -> str:
        if not self.doubts:
            return f"{alias}.role <= 4"
        return f"({alias}.role <= 4 OR ({alias}.role = 7 AND {self._doubted(alias)}))"

    def sinks_of(self) -> TextClause:
        """For the `nodes`: every sink, with N (by time, by line) for items and water."""
        return self._uses_of(self._sinks("k"), self._next("k"), "(4, 7, 8)")

    def sources_of(self) -> TextClause:
        """For the `nodes`: every source, with P (by time, by line) for items and water."""
        return self._uses_of(self._sources("k"), self._last("k"), "(2, 4, 7)")

    def _uses_of(self, condition: str, breaks: tuple[str, str], roles: str) -> TextClause:
        by_time, by_line = breaks
        return text(
            f"SELECT {_COLUMNS.format(u='k')}, CASE WHEN k.role IN {roles} THEN ({by_time}) END AS by_time,"
            f" CASE WHEN k.role IN {roles} AND k.grp <> 0 THEN ({by_line}) END AS by_line"
            f" FROM {self._list('nodes')} {self._join()} ON k.node = {self._scalar()} AND {condition}"
        )

    def spells_of(self) -> TextClause:
        """For `uses` (node, role, thing): P and N, each by time and by line, and the use's own start."""
        last_time, last_line = self._last("k")
        next_time, next_line = self._next("k")
        return text(
            f"SELECT k.node, k.role, k.thing, ({last_time}) AS last_time,"
            f" CASE WHEN k.grp <> 0 THEN ({last_line}) END AS last_line, ({next_time}) AS next_time,"
            f" CASE WHEN k.grp <> 0 THEN ({next_line}) END AS next_line, k.at_from"
            f" FROM {self._list('uses')} {self._join()}"
            f" ON k.node = {self._item(0)} AND k.role = {self._item(1)} AND k.thing = {self._item(2)}"
        )

    def named_of(self, roles: str) -> TextClause:
        """For the `nodes`: the people or places that they name, in these roles (an SQL condition)."""
        return text(
            f"SELECT {_COLUMNS.format(u='k')} FROM {self._list('nodes')} {self._join()}"
            f" ON k.node = {self._scalar()} AND {roles}"
        )

    def lot_sources(self) -> TextClause:
        """For `crossings` (thing, start, end, grp, line, made): sources of the lot that may come after.

        What made the lot (made = 1) leads to every use of it: a clock slip must not cut its ancestry.
        """
        order = (
            f"{self._item(5)} = 1 OR (k.at_to >= {self._item(1)} AND NOT (k.grp = {self._item(3)} AND k.grp <> 0"
            f" AND k.line < {self._item(4)} AND k.at_from <= {self._item(2)}))"
        )
        return self._lots("use_in", "k.role <= 4", order)

    def lot_sinks(self) -> TextClause:
        """For `crossings` (as in `lot_sources`): sinks of the lot that may come before; its making always does."""
        order = (
            f"k.role = 6 OR (k.at_from <= {self._item(2)} AND NOT (k.grp = {self._item(3)} AND k.grp <> 0"
            f" AND k.line > {self._item(4)} AND k.at_to >= {self._item(1)}))"
        )
        return self._lots("use_out", "k.role BETWEEN 3 AND 8", order)

    def _lots(self, index: str, roles: str, order: str) -> TextClause:
        return text(
            f"SELECT {_COLUMNS.format(u='k')} FROM {self._list('crossings')} {self._join()} {self._by(index)}"
            f" ON k.thing = {self._item(0)} AND {roles} WHERE ({order}) AND {self.live('k')}"
        )

    def item_sources(self) -> TextClause:
        """For `windows` (thing, low, high): uses that take from the item or water and overlap the window."""
        parts = [self._scan("use_in", "k.role <= 4"), self._scan_long("k.role <= 4")]
        if self.doubts:
            parts.append(
                self._scan("use_clear", f"k.role >= 7 AND k.role <= 8 AND k.role = 7 AND {self._doubted('k')}")
            )
        return text(" UNION ALL ".join(parts))

    def item_sinks(self) -> TextClause:
        """For `windows`: uses that give to the item or water and overlap the window."""
        return text(" UNION ALL ".join([self._scan("use_out", self._sinks("k")), self._scan_long(self._sinks("k"))]))

    def _scan(self, index: str, roles: str) -> str:
        low, high = self._item(1), self._item(2)
        return (
            f"SELECT {_COLUMNS.format(u='k')} FROM {self._list('windows')} {self._join()} {self._by(index)}"
            f" ON k.thing = {self._item(0)} AND {roles} AND k.at_from BETWEEN {low} - {_LONG} AND {high}"
            f" AND k.at_to >= {low} WHERE {self.live('k')}"
        )

    def _scan_long(self, roles: str) -> str:
        low, high = self._item(1), self._item(2)
        return (
            f"SELECT {_COLUMNS.format(u='k')} FROM {self._list('windows')} {self._join()} {self._by('use_long')}"
            f" ON k.thing = {self._item(0)} AND {roles} AND k.at_to - k.at_from > 90000"
            f" AND k.at_to >= {low} AND k.at_from <= {high} WHERE {self.live('k')}"
        )

    def ends(self) -> tuple[str, str]:
        """The conditions on a use `k` that is a sink, and on one that is a source."""
        return self._sinks("k"), self._sources("k")

    def starts(self, roles: str) -> TextClause:
        """For `things` (thing, low, high): uses in these roles (an SQL list) that overlap the window."""
        return text(
            f"SELECT {_COLUMNS.format(u='k')} FROM {self._list('things')} {self._join()}"
            f" ON k.thing = {self._item(0)} AND {roles} AND k.at_to >= {self._item(1)}"
            f" AND k.at_from <= {self._item(2)} WHERE {self.live('k')}"
        )

    def sheet_breaks(self) -> TextClause:
        """The believed breaks of one `thing` that stand in one sheet and overlap `low` to `high`."""
        broken = self._break("c", "t")
        return text(
            f"SELECT {_COLUMNS.format(u='c')} FROM (SELECT CAST(:thing AS bigint) AS thing) t"
            f" JOIN use c ON {broken} AND c.grp = :grp AND c.at_from <= :high AND c.at_to >= :low"
        )
