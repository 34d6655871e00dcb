"""Which clean breaks a person does not believe: one entry, all that relied on a lot, all of a kind, or all."""

from collections.abc import Collection, Iterable

from sqlalchemy import Connection

from lotwalk.errors import NotUnderstood
from lotwalk.ledger.read.breaks import judged_of_kind, relying_on, unshown_verdicts
from lotwalk.ledger.read.things import find_thing
from lotwalk.ledger.read.versions import in_force_of
from lotwalk.values.codes import entry_number
from lotwalk.walk.model import Doubt

OLDER_JUDGE = "older-judge"
"""The word for all that a judge of a lower number has passed."""

UNSHOWN = "unshown"
"""The word for all that passed without its temperature or pH, where label or rule set ask for one."""


def doubt(connection: Connection, distrusted: Iterable[str], older: Collection[int] = ()) -> Doubt:
    """Return the doubt that these words stand for.

    `E12`, a lot's code, a kind of record, `older-judge`, `unshown`, or `all`.

    A lot is relied on through any number of steps: a supplies lot stands for the solutions made of it, a solution
    for the entries that took it. `older` are the versions whose verdicts are of an older judge. Raises NotUnderstood
    for a word that is none of these.
    """
    seqs: set[int] = set()
    for word in distrusted:
        if word.casefold() == "all":
            return Doubt(all=True)
        seqs |= _versions(connection, word, older)
    return Doubt(frozenset(seqs))


def _versions(connection: Connection, word: str, older: Collection[int]) -> set[int]:
    if word.casefold() == OLDER_JUDGE:
        return set(older)
    return unshown_verdicts(connection) if word.casefold() == UNSHOWN else _entries(connection, word)


def _entries(connection: Connection, word: str) -> set[int]:
    number = entry_number(word)
    if number is not None:
        found = in_force_of(connection, [number])
        if not found:
            raise NotUnderstood(f"there is no entry {word}", "an entry such as E12")
        return {version.seq for version in found}
    thing = find_thing(connection, word)
    if thing is not None and thing.cls == "lot":
        return set(relying_on(connection, thing.id))
    if thing is not None:
        raise NotUnderstood(f"{thing.code} is a {thing.kind}", "an entry (E12), a lot, a kind of record, or all")
    judged = judged_of_kind(connection, word)
    if not judged:
        raise NotUnderstood(f"{word} is not in the book", "an entry (E12), a lot, a kind of record that clears, or all")
    return set(judged)
