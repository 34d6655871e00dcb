"""That no answer is read from a damaged book: what a walk went by is held against the tables before it is told."""

from collections.abc import Collection, Iterator
from contextlib import contextmanager

from sqlalchemy import Connection, Engine

from lotwalk.errors import Damaged, DatabaseRefused
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.read.versions import size
from lotwalk.store import engine as store
from lotwalk.store.damage import READ, damage, damage_of

SMALL = 5_000
"""Entries. So many are looked through whole in some forty milliseconds."""
_TIMES_WALKED = 2
"""A book of at most so many times the entries walked is looked through whole: it takes less time than the walk did."""
_STUMBLES = (ValueError, LookupError, TypeError, AttributeError, ArithmeticError, AssertionError, MemoryError)
"""What is raised where a stored text or number is not what was written."""


def check_walked(connection: Connection, things: Collection[int], walked: int) -> None:
    """Raise Damaged where the indexes by which these things (database keys) were walked differ from the tables.

    `walked` is how many entries were walked through. All that a walk reads is compared where the book is small, or
    where most of it was walked; else what it read of these things.
    """
    whole = connection.dialect.name == "sqlite" and size(connection) <= max(SMALL, _TIMES_WALKED * walked)
    if found := damage(connection, READ) if whole else damage_of(connection, things):
        raise _damaged(connection.engine, found.text, found.of_index)


@contextmanager
def unharmed(engine: Engine, kinds: Kinds) -> Iterator[None]:
    """Tell whatever the block stumbles over as Damaged, where the ledger is not as it was recorded.

    The ledger is looked through only then. Where it is whole, the error goes on as it is.
    """
    try:
        yield
    except (DatabaseRefused, *_STUMBLES) as error:
        # Read only then, so that an entry at the sink does not wait for it.
        from lotwalk.ledger.verify import verify

        with store.reading(engine) as connection:
            found = verify(connection, kinds)
        if found.ok:
            raise
        where = f"{found.first_bad}: " if found.first_bad else ""
        raise _damaged(engine, where + found.why) from error


def _damaged(engine: Engine, what: str, of_index: bool = False) -> Damaged:
    mend = (
        "`lotwalk migrate` makes its indexes again if `lotwalk verify` finds nothing else"
        if of_index
        else "`lotwalk verify` says how far it is whole, and `lotwalk restore` puts a backup in its place"
    )
    return Damaged(
        f"{store.name_of(engine)}: it is damaged ({what}). Nothing is told from it, since something could be missing."
        f" Keep this file as it is: {mend}"
    )
