"""That no answer is read from a damaged book: what a walk went by is held against the tables before it is told."""

from collections.abc import Collection, Iterator
from contextlib import contextmanager

from sqlalchemy import Connection, Engine

from lotwalk.errors import Damaged, DatabaseRefused
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.read.versions import size
from lotwalk.store import engine as store
from lotwalk.store.damage import READ, damage, damage_of
from lotwalk.store.nodes import parts_of
from lotwalk.store.sql import select_keys

SMALL = 5_000
"""Entries. The whole log of so many is derived again in some 0.3 s."""
MIDDLING = 50_000
"""Entries. All that a walk reads of so many, with its indexes, is looked through in some 0.4 s."""
_STUMBLES = (ValueError, LookupError, TypeError, AttributeError, ArithmeticError, AssertionError, MemoryError)
"""What is raised where a stored text or number is not what was written."""

_THINGS = (
    "SELECT t.code, t.fold, t.kind, t.cls, t.type, t.bought, t.farm_wide, t.counted, t.bath"
    " FROM {listed} JOIN thing t ON t.id = j.value"
)


def check_walked(connection: Connection, kinds: Kinds, things: Collection[int], seqs: Collection[int]) -> None:
    """Raise Damaged where what a walk read of things (database keys) and entries (versions) is not what was recorded.

    The tables that a walk reads are looked through with their indexes, whole in a book that is not large; in a larger
    one what it read of these things and entries is held against one pass over the tables. What the things are is held
    against the files of their kinds, and in a small book every entry, use and thing against what was hashed.
    """
    # Read only for a walk, so that an entry at the sink does not wait for it.
    from lotwalk.ledger.verify.entries import check_entries
    from lotwalk.ledger.verify.stored_entry import Wrong
    from lotwalk.ledger.verify.tables import check_thing

    entries = size(connection)
    whole = connection.dialect.name == "sqlite" and entries <= MIDDLING
    nodes = [node for seq in seqs for node in parts_of(seq)]
    if found := damage(connection, READ) if whole else damage_of(connection, things, nodes):
        raise _damaged(connection.engine, found.text, found.of_index)
    try:
        if entries <= SMALL:
            check_entries(connection, kinds)
        else:
            for row in select_keys(connection, _THINGS, things):
                if row[2] in kinds.things:
                    check_thing(row, kinds)
    except Wrong as wrong:
        raise _damaged(connection.engine, f"{wrong.entry}: {wrong.why}" if wrong.entry else wrong.why) from None


@contextmanager
def unharmed(engine: Engine, kinds: Kinds) -> Iterator[None]:
    """Tell whatever the block stumbles over as Damaged, where the ledger is not as it was recorded.

    The ledger is looked through only then. Where it is whole, the error goes on as it is.
    """
    try:
        yield
    except (DatabaseRefused, *_STUMBLES) as error:
        # Read only then, so that an entry at the sink does not wait for it.
        from lotwalk.ledger.verify.entries import verify

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
