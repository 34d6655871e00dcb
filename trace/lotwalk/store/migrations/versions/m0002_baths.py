"""Which things are baths: mixes in which one load can leave what it had on it for the next.

From here on records may be of form 2. A program that knows form 1 alone is kept out by the number of this migration.
Which kinds of thing are baths stand in the kind files, so the column is filled by `ledger/keep/migrating.py`.
"""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Add the column; no thing is a bath yet."""
    op.add_column("thing", sa.Column("bath", sa.SmallInteger, nullable=False, server_default=sa.text("0")))
