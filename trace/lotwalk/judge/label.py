"""The numbers that a sanitising must meet: the label's, or the receipt's copy of them. Without any, nothing passes.

A farm's own rule set may say that its numbers stand in for a label; the verdict then names it.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from lotwalk.judge.case import Case, ends, named, numbers
from lotwalk.judge.ruleset.limits import Active
from lotwalk.kinds.model import Value
from lotwalk.ledger.entry import Entry
from lotwalk.values.codes import fold
from lotwalk.values.roles import Role
from lotwalk.values.units import Amount

Row = Mapping[str, Value]

WITHOUT_LABEL = "sanitising.without_label"


@dataclass(frozen=True, slots=True)
class Need:
    """What one product must reach on one item.

    `whose` says whose numbers they are. Where `problem` is not empty there are no numbers to go by, and
    `mend` says what would give some. `conditions`: pH and temperature must be on record, since the rule set's
    numbers hold for them only. `hint` is how a failure might be a misreading of the label.
    `not_for_food`: the label record says that this use is not for surfaces which food touches.
    `porous`: the problem is that the item is porous.
    """

    whose: str
    least: Amount | None = None
    most: Amount | None = None
    contact: Amount | None = None
    temperature: tuple[Amount, Amount] | None = None
    ph: tuple[Decimal, Decimal] | None = None
    rinse: bool = False
    not_for_food: bool = False
    active: str = ""
    conditions: bool = False
    most_unrinsed: bool = False
    hint: str = ""
    problem: str = ""
    mend: str = ""
    porous: bool = False


@dataclass(frozen=True, slots=True)
class Product:
    """A supplies lot that a solution was made of, with its receipt and the label record that counts for it."""

    code: str
    receipt: Entry
    label: Entry | None

    @property
    def active(self) -> str:
        """The active ingredient, as the label or the receipt names it, or as the product is called."""
        told = (self.label and self.label.values.get("active")) or self.receipt.values.get("active")
        return str(told or self.receipt.values.get("product") or "")

    @property
    def labelled(self) -> bool:
        """Whether the book names a label, by a record of it or by its registration."""
        return self.label is not None or bool(self.receipt.values.get("registration"))


@dataclass(frozen=True, slots=True)
class Item:
    """What the label's choice turns on: is the item porous, and the words for what it is."""

    code: str
    porous: bool
    words: frozenset[str]


def products_of(case: Case, lot: str, seen: Sequence[str] = ()) -> list[Product]:
    """Return the supplies lots in a solution, through solutions of solutions; a supplies lot is its own product."""
    made = case.evidence.maker(lot)
    if made is None or fold(lot) in seen:
        return []
    case.rests_on(made)
    parts = [use.code for use in made.uses if use.role is Role.TOOK and use.code in named(made, "product")]
    if parts:
        return [product for part in parts for product in products_of(case, part, [*seen, fold(lot)])]
    label = next((entry for code in named(made, "label") if (entry := case.evidence.maker(code))), None)
    if label:
        case.rests_on(label)
    return [Product(lot, made, label)]


def item_of(case: Case, code: str, seen: Sequence[str] = ()) -> Item:
    """Return what is recorded of an item. A piece cut from others is as porous as they are."""
    made = case.evidence.maker(code)
    thing = case.evidence.thing(code)
    words = {thing.kind.casefold()} if thing else set()
    if made is None or fold(code) in seen:
        return Item(code, False, frozenset(words))
    case.rests_on(made)
    words |= {str(made.values[key]).casefold() for key in ("material", "type") if made.values.get(key)}
    porous = made.values.get("porous")
    if not isinstance(porous, bool):
        parents = [item_of(case, parent, [*seen, fold(code)]) for parent in named(made, "items")]
        porous = any(parent.porous for parent in parents)
        words = words.union(*(parent.words for parent in parents))
    return Item(code, porous, frozenset(words))


def need_of(case: Case, product: Product, item: Item) -> Need:
    """Return what the product must reach on the item."""
    rows = rows_of(product.label)
    if rows:
        return _from_row(case, product, item, rows)
    receipt = product.receipt.values
    least, contact = _amount(receipt.get("label_min")), _amount(receipt.get("label_contact"))
    if item.porous:
        return _no_porous(product)
    if least is None and contact is None:
        return _from_rules(case, product)
    return _with_rule_maximum(
        case,
        product,
        Need("the label's", least, _amount(receipt.get("label_max")), contact, active=product.active),
    )


def rows_of(label: Entry | None) -> list[Row]:
    """Return the uses that a label record lists."""
    rows = label.values.get("uses") if label else None
    return [row for row in rows if isinstance(row, Mapping)] if isinstance(rows, list) else []


def _from_row(case: Case, product: Product, item: Item, rows: list[Row]) -> Need:
    use = case.entry.values.get("use")
    uses = sorted({str(row["use"]) for row in rows if row.get("use")})
    if use:
        rows = [row for row in rows if str(row.get("use", "")).casefold() == str(use).casefold()]
        if not rows:
            text = f"The label of {product.code} names no use '{use}'"
            return Need("the label's", problem=text, mend=f"write the use as one of: {', '.join(uses)}")
    fitting = [row for row in rows if (row.get("porous") is True) == item.porous]
    if item.porous and not fitting:
        return _no_porous(product)
    fitting = fitting or rows
    fitting = [row for row in fitting if str(row.get("surface", "")).casefold() in item.words] or fitting
    row = max(fitting, key=_strictness)
    receipt = product.receipt.values
    several = not use and len({row.get("use") for row in fitting}) > 1
    return _with_rule_maximum(
        case,
        product,
        Need(
            "the label's",
            least=_amount(row.get("min")) or _amount(receipt.get("label_min")),
            most=_amount(row.get("max")) or _amount(receipt.get("label_max")),
            contact=_amount(row.get("contact")) or _amount(receipt.get("label_contact")),
            temperature=ends(row.get("temperature")),
            ph=numbers(row.get("ph")),
            rinse=row.get("rinse") is True,
            not_for_food=row.get("food_contact") is False,
            active=product.active,
            hint=f"write which use of the label it was ({', '.join(uses)})" if several else "",
        ),
    )


def no_label(product: Product) -> Need:
    """Return the need of a product of which nobody wrote down what its label says."""
    return Need(
        "the label's",
        problem=f"No label numbers are on record for {product.code}",
        mend="write label_min and label_contact from its label on its receipt, or record its label",
    )


def tell_own_rules(case: Case, product: Product) -> None:
    """Take note that the rule set's numbers stood in for a label, since a farm's own rules say that they may."""
    text = f"No label of {product.code} is on record: the numbers of the rule set {case.rules.title} stand in for it"
    case.notes(f"{text} ({case.rules.limits[WITHOUT_LABEL].source})", "record the label: it governs")


def _from_rules(case: Case, product: Product) -> Need:
    """Return the rule set's numbers for the active ingredient, if it has some and lets them stand in for a label.

    A label whose numbers nobody wrote down is a label all the same.
    """
    active = case.rules.active(product.active)
    steps = [row.at_least for row in active.table.rows if row.at_least] if active and active.table else []
    contact = active.amount("contact") if active else None
    if not active or not steps or not contact or product.labelled or not case.rules.flag(WITHOUT_LABEL):
        return no_label(product)
    least = min(steps)
    need = Need(
        "the rule set's",
        least=Amount(least, "mg/L", f"{least:f} ppm"),
        contact=contact,
        active=product.active,
        conditions=True,
    )
    return _with_rule_maximum(case, product, need)


def _with_rule_maximum(case: Case, product: Product, need: Need) -> Need:
    """Return the need with the rule set's maximum for use without a rinse, where the label names no maximum."""
    active: Active | None = case.rules.active(product.active)
    most = active.amount("max") if active else None
    if need.most is not None or most is None:
        return need
    return replace(need, most=most, most_unrinsed=True)


def _no_porous(product: Product) -> Need:
    return Need(
        "the label's",
        problem=f"the label on record for {product.code} does not cover porous items",
        mend="use a way that a label allows for porous items, or record that use of the label",
        porous=True,
    )


def _strictness(row: Row) -> tuple[Decimal, Decimal]:
    least, contact = _amount(row.get("min")), _amount(row.get("contact"))
    return (least.value if least else Decimal(0), contact.value if contact else Decimal(0))


def _amount(value: "Value | None") -> Amount | None:
    return value if isinstance(value, Amount) else None
