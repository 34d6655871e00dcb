"""The farm's settings: those of a new ledger, those that an entry sets, and how they are stored."""

from collections.abc import Sequence
from dataclasses import replace

from sqlalchemy import Connection, insert

from lotwalk.errors import LedgerError, NotUnderstood, Problem, Refused
from lotwalk.kinds.model import Checked
from lotwalk.ledger.model import File, Receipt, Settings
from lotwalk.ledger.record import settings_row
from lotwalk.ledger.verdict import FIRST_JUDGE
from lotwalk.ledger.write.append import Incoming
from lotwalk.ledger.write.checking import Checking
from lotwalk.store import tables
from lotwalk.values.times import zone


def new_settings(checking: Checking, rules: File | None) -> Settings:
    """Return the settings that a ledger begins with. Raises Refused, or LedgerError where the first entry sets none."""
    if checking.problems:
        raise Refused(checking.problems)
    first = checking.incoming[0].checked if checking.incoming else None
    if first is None or not first.kind.settings or rules is None:
        raise LedgerError("a ledger begins with the farm's settings; run `lotwalk start`")
    return _settings(first, rules.digest, FIRST_JUDGE, None)


def with_settings(incoming: Sequence[Incoming], rules: File | None, before: Settings) -> list[Incoming]:
    """Return the entries, with what they set where they set something. `rules` is the rule set that one names.

    The judge whose verdicts the book holds stays the one that it was: a change of the settings judges nothing again.
    """
    digest = rules.digest if rules else before.rules_digest
    return [
        replace(one, sets=_settings(one.checked, digest, before.judge, before))
        if one.checked.kind.settings and one.sets is None
        else one
        for one in incoming
    ]


def beside_settings(incoming: Sequence[Incoming]) -> list[Problem]:
    """Return the problems of entries that change the settings beside others, which were read by those before."""
    if len(incoming) == 1:
        return []
    what, expected = "a change of the farm's settings stands beside other entries", "it alone, and the others after it"
    return [Problem(what, expected, line=one.checked.line) for one in incoming if one.checked.kind.settings]


def store_settings(connection: Connection, receipt: Receipt, settings: Settings) -> None:
    """Store the settings that an entry sets."""
    connection.execute(insert(tables.farm), {"seq": int(receipt.name[1:]), **settings_row(settings)})


def _settings(checked: Checked, rules_digest: str, judge: int, before: Settings | None) -> Settings:
    def value(name: str, default: str) -> str:
        return str(checked.values.get(name, default))

    try:
        place = zone(value("timezone", before.zone.key if before else "UTC"))
    except NotUnderstood as error:
        raise Refused([error.problem("timezone", checked.line)]) from None
    return Settings(
        name=value("name", before.name if before else ""),
        location=value("location", before.location if before else ""),
        zone=place,
        measures=value("measures", before.measures if before else "us"),
        rules=value("rules", before.rules if before else "general"),
        rules_digest=rules_digest,
        judge=judge,
    )
