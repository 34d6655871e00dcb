"""That no answer is read from a damaged book: what a walk went by is held against the tables before it is told."""

from collections import defaultdict
from collections.abc import Collection, Iterator
from contextlib import contextmanager
from typing import Any

from sqlalchemy import Connection, Engine

from lotwalk.errors import Damaged, DatabaseRefused
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.read.versions import size
from lotwalk.ledger.stored_entry import ENTRY, USE, Row, Wrong, as_hashed, check_columns, check_uses, first_of
from lotwalk.ledger.verify_rest import check_thing
from lotwalk.store import engine as store
from lotwalk.store.damage import READ, damage, damage_of
from lotwalk.store.nodes import parts_of, seq_of
from lotwalk.store.sql import select_keys

SMALL = 5_000
"""Entries. The indexes of so many are looked through whole in some forty milliseconds."""
_TIMES_WALKED = 2
"""A book of at most so many times the entries walked is looked through whole: it takes less time than the walk did."""
_STUMBLES = (ValueError, LookupError, TypeError, AttributeError, ArithmeticError, AssertionError, MemoryError)
"""What is raised where a stored text or number is not what was written."""

_THINGS = (
    "SELECT t.code, t.fold, t.kind, t.cls, t.type, t.bought, t.farm_wide, t.counted, t.bath"
    " FROM {listed} JOIN thing t ON t.id = j.value"
)
_ENTRIES = f"SELECT {ENTRY} FROM {{listed}} JOIN entry e ON e.seq = j.value LEFT JOIN sheet s ON s.id = e.sheet"
_USES = f"SELECT {USE}, t.kind FROM {{listed}} JOIN use u ON u.node = j.value LEFT JOIN thing t ON t.id = u.thing"


def check_walked(connection: Connection, kinds: Kinds, things: Collection[int], seqs: Collection[int]) -> None:
    """Raise Damaged where what a walk read of things (database keys) and entries (versions) is not what was recorded.

    The indexes by which it went are compared with the tables: whole where the book is small or most of it was walked,
    else what it read of these things. What the things are is compared with the files of their kinds. In a small book
    each entry walked through is compared with its hashed text as well.
    """
    entries = size(connection)
    whole = connection.dialect.name == "sqlite" and entries <= max(SMALL, _TIMES_WALKED * len(seqs))
    if found := damage(connection, READ) if whole else damage_of(connection, things):
        raise _damaged(connection.engine, found.text, found.of_index)
    try:
        for row in select_keys(connection, _THINGS, things):
            check_thing(row, kinds)
        if entries <= SMALL:
            _check_entries(connection, kinds, seqs)
    except Wrong as wrong:
        raise _damaged(connection.engine, f"{wrong.entry}: {wrong.why}" if wrong.entry else wrong.why) from None


def _check_entries(connection: Connection, kinds: Kinds, seqs: Collection[int]) -> None:
    """Compare entries with their texts. Raises Wrong."""
    uses: dict[int, list[Any]] = defaultdict(list)
    for *use, kind in select_keys(connection, _USES, [node for seq in seqs for node in parts_of(seq)]):
        uses[seq_of(use[0])].append((tuple(use), kind))
    for columns in select_keys(connection, _ENTRIES, seqs):
        row = Row.of(columns)
        record = as_hashed(row, f"E{row.told.first}")
        name = f"E{first_of(record)}"
        check_columns(row, record, name)
        of_entry = uses[row.told.seq]
        kind_of = {use[2]: kind for use, kind in of_entry}.get
        check_uses(row, record, name, [use for use, _ in of_entry], kind_of, kinds, derives=True)


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
