"""The tables of a ledger.

No row is ever deleted, and none changed save a thing's type, which follows the entry in force that says it. `use`
is laid out for the walk: `node` is an entry or the part of it that failed (`store/nodes.py`), `role` the number of a
role (`values/roles.py`); times are the first and the last second (UTC); `grp` is the attested sheet, or 0.
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

from lotwalk.store.sql import BREAKS, NAMED, SINKS, SOURCES

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
    Column("bath", SmallInteger, nullable=False, server_default=text("0")),
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
_partial("use_in", SOURCES, *_WHEN)
_partial("use_out", SINKS, *_WHEN)
_partial("use_clear", BREAKS, *_WHEN)
# What is longer than LONG.
_partial("use_long", "at_to - at_from > 90000", "thing", "at_to", "at_from")
_partial("use_named", NAMED, "thing", "at_from")


def complete_for_postgresql() -> None:
    """Tell the partial indexes their condition on PostgreSQL as well.

    It is told when that database is opened, since SQLAlchemy then loads all that it knows of it, which takes a tenth of
    the time that recording one entry does.
    """
    for index in use.indexes:
        index.dialect_kwargs["postgresql_where"] = index.dialect_kwargs["sqlite_where"]


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
