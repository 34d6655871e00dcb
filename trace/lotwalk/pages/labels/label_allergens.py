"""The allergens in a pack that its product does not declare, for its label."""

from dataclasses import dataclass, field

from sqlalchemy import Connection

from lotwalk.book import rules_in_force
from lotwalk.judge.case import Case
from lotwalk.judge.dangers.allergens import Crops, is_pack, undeclared
from lotwalk.judge.ruleset.rules import RuleSet
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.evidence import BookEvidence
from lotwalk.ledger.model import Settings
from lotwalk.ledger.write.names import Names

NOT_DECLARED = "ALLERGEN NOT DECLARED"


@dataclass(slots=True)
class Allergens:
    """Looks at packs at one state of the ledger."""

    connection: Connection
    kinds: Kinds
    settings: Settings
    _rules: RuleSet = field(init=False)
    _evidence: BookEvidence = field(init=False)
    _crops: Crops = field(init=False)

    def __post_init__(self) -> None:
        self._rules = rules_in_force(self.connection, self.settings)
        self._evidence = BookEvidence(self.connection, self.kinds, Names(self.connection, self.kinds), 0)
        self._crops = Crops(self._evidence)

    def not_declared(self, code: str) -> list[str]:
        """Return the allergens that a lot holds and its product does not declare; none for other things."""
        made = self._evidence.maker(code)
        if made is None or not is_pack(made, self.kinds[made.kind].notice):
            return []
        return [one.name for one in undeclared(Case(made, (), self._evidence, self._rules), self._crops)]
