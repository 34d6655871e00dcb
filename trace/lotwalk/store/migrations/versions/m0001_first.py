"""The first tables of a ledger."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None

_key = sa.BigInteger().with_variant(sa.Integer, "sqlite")


def upgrade() -> None:
    """Create every table."""
    op.create_table(
        "thing",
        sa.Column("id", _key, primary_key=True),
        sa.Column("code", sa.Text, nullable=False),
        sa.Column("fold", sa.Text, nullable=False, unique=True),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("cls", sa.Text, nullable=False),
        sa.Column("type", sa.Text),
        sa.Column("bought", sa.SmallInteger, nullable=False),
        sa.Column("farm_wide", sa.SmallInteger, nullable=False),
        sa.Column("counted", sa.SmallInteger, nullable=False),
    )
    op.create_index("thing_kind", "thing", ["kind"])
    op.create_table(
        "sheet",
        sa.Column("id", _key, primary_key=True),
        sa.Column("digest", sa.Text, nullable=False, unique=True),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("in_order", sa.SmallInteger, nullable=False),
    )
    op.create_table(
        "entry",
        sa.Column("seq", _key, primary_key=True, autoincrement=False),
        sa.Column("first", sa.BigInteger, nullable=False),
        sa.Column("amends", sa.BigInteger, sa.ForeignKey("entry.seq")),
        sa.Column("void", sa.SmallInteger, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("at_from", sa.BigInteger, nullable=False),
        sa.Column("at_to", sa.BigInteger, nullable=False),
        sa.Column("recorded_at", sa.BigInteger, nullable=False),
        sa.Column("sheet", sa.BigInteger, sa.ForeignKey("sheet.id")),
        sa.Column("line", sa.Integer, nullable=False),
        sa.Column("judged", sa.SmallInteger, nullable=False),
        sa.Column("silent", sa.Text, nullable=False),
        sa.Column("alike", sa.Text, nullable=False),
        sa.Column("record", sa.Text, nullable=False),
        sa.Column("digest", sa.LargeBinary(32), nullable=False),
        sa.Column("root", sa.LargeBinary(32), nullable=False),
        sa.Column("peaks", sa.LargeBinary, nullable=False),
        sa.UniqueConstraint("amends", name="entry_amends"),
    )
    op.create_index("entry_kind", "entry", ["kind", "at_from"])
    op.create_index("entry_first", "entry", ["first"])
    op.create_index("entry_alike", "entry", ["alike"])
    op.create_table(
        "use",
        sa.Column("node", sa.BigInteger, primary_key=True, autoincrement=False),
        sa.Column("role", sa.SmallInteger, primary_key=True, autoincrement=False),
        sa.Column("thing", sa.BigInteger, primary_key=True, autoincrement=False),
        sa.Column("at_from", sa.BigInteger, nullable=False),
        sa.Column("at_to", sa.BigInteger, nullable=False),
        sa.Column("grp", sa.BigInteger, nullable=False),
        sa.Column("line", sa.Integer, nullable=False),
        sa.Column("amount", sa.Text),
        sa.Column("unit", sa.Text),
        sa.Column("assumed", sa.SmallInteger, nullable=False),
        sqlite_with_rowid=False,
    )
    when = ["thing", "at_from", "at_to", "grp", "line"]
    _partial("use_in", when, "role <= 4")
    _partial("use_out", when, "role BETWEEN 3 AND 8")
    _partial("use_clear", when, "role >= 7 AND role <= 8")
    _partial("use_long", ["thing", "at_to", "at_from"], "at_to - at_from > 90000")
    _partial("use_named", ["thing", "at_from"], "role >= 9")
    op.create_table(
        "ref",
        sa.Column("seq", sa.BigInteger, sa.ForeignKey("entry.seq"), primary_key=True, autoincrement=False),
        sa.Column("first", sa.BigInteger, primary_key=True, autoincrement=False),
    )
    op.create_index("ref_first", "ref", ["first"])
    op.create_table(
        "attachment",
        sa.Column("digest", sa.Text, primary_key=True),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("media_type", sa.Text, nullable=False),
        sa.Column("content", sa.LargeBinary, nullable=False),
    )
    op.create_table(
        "farm",
        sa.Column("seq", sa.BigInteger, sa.ForeignKey("entry.seq"), primary_key=True, autoincrement=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("location", sa.Text, nullable=False),
        sa.Column("timezone", sa.Text, nullable=False),
        sa.Column("measures", sa.Text, nullable=False),
        sa.Column("rules", sa.Text, nullable=False),
        sa.Column("rules_digest", sa.Text, sa.ForeignKey("attachment.digest"), nullable=False),
    )


def _partial(name: str, columns: list[str], condition: str) -> None:
    where = sa.text(condition)
    op.create_index(name, "use", columns, sqlite_where=where, postgresql_where=where)
