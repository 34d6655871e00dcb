"""The limits that a form prints: the rule set's, by the annotations of kind files, and those of labels on record."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from decimal import Decimal

from sqlalchemy import Connection

from lotwalk.errors import KindError
from lotwalk.judge.ruleset.limits import KNOWN, Limit
from lotwalk.judge.ruleset.rules import RuleSet
from lotwalk.judge.strength import SANITISER
from lotwalk.kinds.model import Field, FieldLimit, Kind
from lotwalk.ledger.read.things import bought_of_type
from lotwalk.pages.rows.values import Values, words
from lotwalk.values.text import Written
from lotwalk.values.units import Amount, Units

LABEL = "label"

_SAYS = {
    "at_most": "at most {}",
    "at_least": "at least {}",
    "between": "{}",
    "within": "within {}",
    "none_in": "none found in {}",
}
_SURE = {"memory": ", from memory: look it up", "computed": ", computed"}
_MOST_LABELS = 6


@dataclass(frozen=True, slots=True)
class Bound:
    """One limit of the rule set in words: the fields' titles, what it says, and where it is published."""

    titles: tuple[str, ...]
    says: str
    of: str
    source: str

    def __str__(self) -> str:
        of = f", {self.of}" if self.of else ""
        return f"{', '.join(self.titles)}{of}: {self.says} ({self.source})."


def limits_of(kind: Kind, rules: RuleSet, units: Units) -> tuple[Mapping[str, str], tuple[Bound, ...]]:
    """Return the rule set's limits to the fields of a kind: in short words by field, and each in full.

    Raises KindError where the kind's file names a limit that no rule set can have.
    """
    short: dict[str, str] = {}
    full: dict[FieldLimit, Bound] = {}
    for field in kind.fields.values():
        for asked in field.limits:
            limit = _limit(kind, field, asked, rules)
            if limit is None:
                continue
            says = _SAYS[asked.sense].format(_shown(limit, asked.sense, units))
            if len(field.limits) == 1:
                short[field.name] = says
            titles = full[asked].titles if asked in full else ()
            source = f"{limit.source}{_SURE.get(limit.confidence, '')}"
            if limit.confidence == "memory" and "memory" in limit.source:
                source = f"{limit.source}: look it up"
            full[asked] = Bound((*titles, field.title), says, asked.of, source)
    return short, tuple(full.values())


def asks_label(kind: Kind) -> bool:
    """Return whether a product's label sets limits to a field of the kind."""
    return any(limit.sense == LABEL for field in kind.fields.values() for limit in field.limits)


def _limit(kind: Kind, field: Field, asked: FieldLimit, rules: RuleSet) -> Limit | None:
    if asked.sense == LABEL:
        return None
    if asked.key not in KNOWN:
        raise KindError(f"{kind.name}.yaml: {field.name}: x-limit: no rule set has a limit named {asked.key}")
    return rules.limits.get(asked.key)


def _shown(limit: Limit, sense: str, units: Units) -> str:
    """Return a limit in the farm's measures. A difference of temperatures stays as it is written."""
    value = limit.value
    if isinstance(value, Amount) and sense != "within":
        return units.show(value.value, value.unit)
    if isinstance(value, tuple) and value and isinstance(value[0], Amount | Decimal):
        return limit.written.replace("-", " to ", 1)
    return limit.written


def labels_on_record(connection: Connection, values: Values, now: int) -> list[str]:
    """Return a line for each product on record that sanitises and is in date: what its label asks, lots together."""
    today = datetime.fromtimestamp(now, UTC).strftime("%Y-%m-%d")
    lots: dict[str, list[str]] = {}
    for code in bought_of_type(connection, SANITISER):
        receipt = values.maker(code)
        expires = receipt.get("expires")
        if not receipt.get("product") or (isinstance(expires, str) and expires < today):
            continue
        for says in _asked(receipt, values):
            lots.setdefault(says, []).append(code)
    lines = [f"{', '.join(reversed(codes[:4]))}: {says}" for says, codes in lots.items()]
    more = len(lines) - _MOST_LABELS
    return [*lines[:_MOST_LABELS], f"And {more} more: see the labels."] if more > 0 else lines


def _asked(receipt: Mapping[str, Written], values: Values) -> Iterable[str]:
    """Yield what the label of a receipt's product asks, one line for each of its uses."""
    product = words(receipt["product"])
    label = values.maker(words(receipt["label"])) if receipt.get("label") else {}
    rows = label.get("uses")
    for row in rows if isinstance(rows, list) else [rows] if isinstance(rows, dict) else []:
        if isinstance(row, dict):
            use = [words(row[name]) for name in ("use", "surface") if row.get(name)]
            if words(row.get("porous", "")).casefold() in ("yes", "y", "true"):
                use.append("porous")
            extra = [f"pH {words(row['ph'])}"] if row.get("ph") else []
            extra += [words(row["temperature"])] if row.get("temperature") else []
            extra += ["rinse"] if words(row.get("rinse", "")).casefold() in ("yes", "y", "true") else []
            yield _line(", ".join([product, *use]), [row.get(name) for name in ("min", "max", "contact")], extra)
    if not rows:
        yield _line(product, [receipt.get(name) for name in ("label_min", "label_max", "label_contact")], [])


def _line(what: str, numbers: Sequence[Written | None], extra: Sequence[str]) -> str:
    least, most, contact = (words(one) if one else "" for one in numbers)
    strength = f"{least} to {most}" if least and most else f"at least {least}" if least else f"at most {most}"
    parts = [strength] if least or most else []
    parts += [f"contact {contact}"] if contact else []
    return f"{what}: {', '.join([*parts, *extra]) or 'look at the label, its numbers are not on record'}."
