"""The tables of a ledger, and the numbers under which roles are stored.

No row is ever deleted, and none changed save a thing's type, which follows the entry in force that says it. `use`
is laid out for the walk: a node is `2 * seq + part`, since the items that failed in an entry walk as an entry of
their own; times are the first and the last second (UTC); `grp` is the attested sheet, or 0. The role numbers put
the sources at 1 to 4 and the sinks at 3 to 8, so that the walk's indexes can be partial.
"""

from sqlalchemy import (
    BigInteger,
    Column,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    SmallInteger,
    Table,
    Text,
    UniqueConstraint,
    text,
)

ROLES = {
    "took": 1,
    "drew": 2,
    "handled": 3,
    "touched": 4,
    "tended": 5,
    "made": 6,
    "cleared": 7,
    "about": 9,
    "from": 10,
    "to": 11,
    "by": 12,
    "place": 13,
    "names": 14,
}
CLEARED_WATER = 8
"""`cleared` of a water source; 7 is `cleared` of an item."""

ROLE_NAMES = {number: name for name, number in ROLES.items()} | {CLEARED_WATER: "cleared"}

LONG = 90_000
"""Seconds. A use longer than a day (25 hours, for the day on which summer time ends) stands in `use_long` too."""

metadata = MetaData()
_key = BigInteger().with_variant(Integer, "sqlite")

thing = Table(
    "thing",
    metadata,
    Column("id", _key, primary_key=True),
    Column("code", Text, nullable=False),
    Column("fold", Text, nullable=False, unique=True),
    Column("kind", Text, nullable=False),
    Column("cls", Text, nullable=False),
    Column("type", Text),
    Column("bought", SmallInteger, nullable=False),
    Column("farm_wide", SmallInteger, nullable=False),
    Column("counted", SmallInteger, nullable=False),
    Index("thing_kind", "kind"),
)

sheet = Table(
    "sheet",
    metadata,
    Column("id", _key, primary_key=True),
    Column("digest", Text, nullable=False, unique=True),
    Column("name", Text, nullable=False),
    Column("in_order", SmallInteger, nullable=False),
)

entry = Table(
    "entry",
    metadata,
    Column("seq", _key, primary_key=True, autoincrement=False),
    Column("first", BigInteger, nullable=False),
    Column("amends", BigInteger, ForeignKey("entry.seq")),
    Column("void", SmallInteger, nullable=False),
    Column("kind", Text, nullable=False),
    Column("at_from", BigInteger, nullable=False),
    Column("at_to", BigInteger, nullable=False),
    Column("recorded_at", BigInteger, nullable=False),
    Column("sheet", BigInteger, ForeignKey("sheet.id")),
    Column("line", Integer, nullable=False),
    Column("judged", SmallInteger, nullable=False),
    Column("silent", Text, nullable=False),
    Column("alike", Text, nullable=False),
    Column("record", Text, nullable=False),
    Column("digest", LargeBinary(32), nullable=False),
    Column("root", LargeBinary(32), nullable=False),
    Column("peaks", LargeBinary, nullable=False),
    UniqueConstraint("amends", name="entry_amends"),
    Index("entry_kind", "kind", "at_from"),
    Index("entry_first", "first"),
    Index("entry_alike", "alike"),
)

use = Table(
    "use",
    metadata,
    Column("node", BigInteger, primary_key=True, autoincrement=False),
    Column("role", SmallInteger, primary_key=True, autoincrement=False),
    Column("thing", BigInteger, primary_key=True, autoincrement=False),
    Column("at_from", BigInteger, nullable=False),
    Column("at_to", BigInteger, nullable=False),
    Column("grp", BigInteger, nullable=False),
    Column("line", Integer, nullable=False),
    Column("amount", Text),
    Column("unit", Text),
    Column("assumed", SmallInteger, nullable=False),
    sqlite_with_rowid=False,
)


def _partial(name: str, condition: str, *columns: str) -> Index:
    return Index(name, *(use.c[c] for c in columns), sqlite_where=text(condition))


_WHEN = ("thing", "at_from", "at_to", "grp", "line")
_partial("use_in", "role <= 4", *_WHEN)
_partial("use_out", "role BETWEEN 3 AND 8", *_WHEN)
_partial("use_clear", "role >= 7 AND role <= 8", *_WHEN)
_partial("use_long", "at_to - at_from > 90000", "thing", "at_to", "at_from")
_partial("use_named", "role >= 9", "thing", "at_from")


def complete_for_postgresql() -> None:
    """Tell the partial indexes their condition on PostgreSQL as well.

    It is told when that database is opened, since SQLAlchemy then loads all that it knows of it, which takes a tenth of
    the time that recording one entry does.
    """
    for index in use.indexes:
        index.dialect_kwargs["postgresql_where"] = index.dialect_kwargs["sqlite_where"]


def in_roles(use: str, *roles: int) -> str:
    """Return the SQL condition that a use (the alias of its table) has one of these roles.

    It repeats the indexes' own conditions, since SQLite uses a partial index only where it finds its words. Without
    them, looking up the uses of a thing reads the whole table.
    """
    ranges = ((1, 4, "role <= 4"), (5, 8, "role BETWEEN 3 AND 8"), (9, 14, "role >= 9"))
    parts = []
    for low, high, within in ranges:
        chosen = [str(role) for role in roles if low <= role <= high]
        if chosen:
            parts.append(f"{use}.{within} AND {use}.role IN ({', '.join(chosen)})")
    return f"({' OR '.join(parts)})"


MADE_OR_NAMED = (ROLES["made"], ROLES["names"])
"""The roles in which an entry makes a thing or registers it."""


ref = Table(
    "ref",
    metadata,
    Column("seq", BigInteger, ForeignKey("entry.seq"), primary_key=True, autoincrement=False),
    Column("first", BigInteger, primary_key=True, autoincrement=False),
    Index("ref_first", "first"),
)
"""An entry that names other entries (`E12`), by the number of the named one's first version."""

attachment = Table(
    "attachment",
    metadata,
    Column("digest", Text, primary_key=True),
    Column("name", Text, nullable=False),
    Column("media_type", Text, nullable=False),
    Column("content", LargeBinary, nullable=False),
)

farm = Table(
    "farm",
    metadata,
    Column("seq", BigInteger, ForeignKey("entry.seq"), primary_key=True, autoincrement=False),
    Column("name", Text, nullable=False),
    Column("location", Text, nullable=False),
    Column("timezone", Text, nullable=False),
    Column("measures", Text, nullable=False),
    Column("rules", Text, nullable=False),
    Column("rules_digest", Text, ForeignKey("attachment.digest"), nullable=False),
)
