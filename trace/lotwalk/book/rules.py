"""The rule set in force, and the judge that goes by it."""

from sqlalchemy import Connection

from lotwalk.errors import LedgerError, LotwalkError
from lotwalk.judge import Judge
from lotwalk.judge.ruleset.rules import RuleSet
from lotwalk.ledger.model import Settings
from lotwalk.ledger.read.files import content

DEFAULT_RULES = "general"


class Judges:
    """The judge for the rule set in force, read from the ledger itself; each rule set is read once."""

    def __init__(self) -> None:
        self._read: dict[str, Judge] = {}

    def __call__(self, connection: Connection, settings: Settings) -> Judge:
        """Return the judge for these settings."""
        digest = settings.rules_digest
        if digest not in self._read:
            self._read[digest] = Judge(rules_in_force(connection, settings))
        return self._read[digest]


def rules_in_force(connection: Connection, settings: Settings) -> RuleSet:
    """Return the rule set that the ledger holds and judges by."""
    found = content(connection, settings.rules_digest)
    if found is None:
        raise LedgerError(f"the rule set {settings.rules} is missing from the ledger; run `lotwalk verify`")
    return RuleSet.read(found.decode(), [settings.rules])


def rules_or_shipped(connection: Connection, settings: Settings) -> RuleSet:
    """Return the rule set in force; of a book that is damaged there the one that ships."""
    try:
        return rules_in_force(connection, settings)
    except (LotwalkError, ValueError):
        return RuleSet.load(DEFAULT_RULES)
