"""What a book knows of a sanitiser that somebody is about to mix: its strength, what its label allows, its dates."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from lotwalk.errors import NotUnderstood
from lotwalk.judge.case import Case, ends, numbers
from lotwalk.judge.dangers.chemicals import unfit
from lotwalk.judge.label import Product, Row, products_of, rows_of
from lotwalk.judge.ruleset.rules import RuleSet
from lotwalk.ledger.entry import Entry
from lotwalk.mixing.concentrate import CHLORINE, Stock, read_stock
from lotwalk.mixing.limits import Limits
from lotwalk.values.units import Amount

SANITISER = "sanitiser"
_FOOD = "food"
"""The word by which a use that a label calls so is known to be for surfaces that food touches."""


@dataclass(frozen=True, slots=True)
class OnRecord:
    """One product as the book has it. `use` is the label's use whose limits count, `dose` product for so much water.

    `doubt` is what the label's record does not say. `volume` and `target` are those of a solution; `temperature` and
    `ph` are what the label asks of a mix, `last_ph` is what a solution read last, with the entry that says so. `danger`
    says why it must not be mixed at all; then nothing else is told.
    """

    code: str
    name: str
    active: str
    stock: Stock | None
    limits: Limits
    use: str = ""
    dose: tuple[Amount, Amount] | None = None
    doubt: str = ""
    expires: str = ""
    opened: str = ""
    volume: Amount | None = None
    target: Amount | None = None
    temperature: tuple[Amount, Amount] | None = None
    ph: tuple[Decimal, Decimal] | None = None
    last_ph: tuple[Decimal, str] | None = None
    danger: str = ""


def on_record(case: Case, code: str, use: str = "", *, porous: bool = False, rinse: bool = False) -> OnRecord:
    """Return what the book knows of a supplies lot, a label, or the product of a solution.

    Raises NotUnderstood where there is nothing to mix by: it is no sanitiser, or its label gives no food-contact use,
    or none that is asked for.
    """
    parts = products_of(case, code)
    if danger := unfit(case.rules, parts):
        return OnRecord(code, "", " and ".join(part.active for part in parts), None, Limits(), danger=danger)
    made, product = _sanitiser(case, code)
    row, doubt = _use(product, use, porous)
    return replace(_known(case, made, product, row, doubt, rinse=rinse), last_ph=_last_ph(case, code))


def _last_ph(case: Case, code: str) -> tuple[Decimal, str] | None:
    """Return the lower end of the pH that a solution read last, and the entry that says so; None where none does."""
    read = [
        (ph[0], entry.name)
        for entry in case.evidence.telling("measured", code)
        if (ph := numbers(entry.values.get("ph")))
    ]
    return read[-1] if read else None


def uses_on_record(case: Case, code: str) -> list[OnRecord]:
    """Return what the book knows of a product by each use of its label on surfaces that food touches.

    The first is that of `on_record`. Raises NotUnderstood as it does.
    """
    made, product = _sanitiser(case, code)
    first, doubt = _use(product, "", porous=False)
    others = [row for row in rows_of(product.label) if row is not first and _touches_food(row)]
    return [_known(case, made, product, row, doubt) for row in [first, *others]]


def _sanitiser(case: Case, code: str) -> tuple[Entry | None, Product]:
    thing = case.evidence.thing(code)
    code = thing.code if thing else code
    product = _product(case, code)
    kind = product.receipt.values.get("type")
    if kind not in (None, SANITISER):
        raise NotUnderstood(f"{product.code} is recorded as {kind}", "a product recorded as a sanitiser")
    return case.evidence.maker(code), product


def steps_of(rules: RuleSet, active: str) -> tuple[Decimal, ...]:
    """Return the strengths (ppm) at which a rule set's table for an active ingredient begins anew, lowest first."""
    known = rules.active(active)
    rows = known.table.rows if known and known.table else ()
    return tuple(sorted({row.at_least for row in rows if row.at_least}))


def _known(case: Case, made: Entry | None, product: Product, row: Row, doubt: str, *, rinse: bool = False) -> OnRecord:
    expires, opened = (product.receipt.values.get(key) for key in ("expires", "opened"))
    dose, water = amount(row.get("dose")), amount(row.get("dose_water"))
    values = made.values if made else {}
    return OnRecord(
        code=product.code,
        name=str(product.receipt.values.get("product") or ""),
        active=product.active,
        stock=stock_of(case.rules, product),
        limits=_limits(case.rules, product, row, rinse=rinse),
        use=str(row.get("use") or ""),
        dose=(dose, water) if dose and water else None,
        doubt=doubt,
        expires=str(expires or ""),
        opened=str(opened or ""),
        volume=amount(values.get("volume")),
        target=amount(values.get("target")),
        temperature=ends(row.get("temperature")),
        ph=numbers(row.get("ph")),
    )


def _product(case: Case, code: str) -> Product:
    made = case.evidence.maker(code)
    if made and made.values.get("uses"):
        return Product(code, made, made)
    products = products_of(case, code)
    if not products:
        raise NotUnderstood(
            f"{code} is not in the book", "the code of a sanitiser, of its label or of a solution of it"
        )
    if len(products) > 1:
        names = " and ".join(product.code for product in products)
        raise NotUnderstood(f"{code} is made of several products, {names}", "one of them")
    return products[0]


def stock_of(rules: RuleSet, product: Product) -> Stock | None:
    """Return the strength of a product by its label or else its receipt; None where neither tells it.

    What comes in by weight is a powder. Raises NotUnderstood for a strength or basis that cannot be.
    """
    sources = [source.values for source in (product.label, product.receipt) if source]
    found = next((values for values in sources if amount(values.get("strength"))), None)
    strength = amount(found.get("strength")) if found else None
    if not found or not strength:
        return None
    gravity = found.get("gravity")
    received = amount(product.receipt.values.get("amount"))
    return read_stock(
        strength,
        basis=str(found.get("basis") or ""),
        gravity=gravity if isinstance(gravity, Decimal) else None,
        chlorine=is_chlorine(rules, product.active),
        powder=bool(received and received.unit == "g"),
    )


def is_chlorine(rules: RuleSet, active: str) -> bool:
    """Return whether an active ingredient is read as available chlorine."""
    known = rules.active(active)
    return known is not None and known.name == CHLORINE


def unrinsed(rules: RuleSet, active: str) -> tuple[Amount | None, str]:
    """Return the rule set's highest strength of an active ingredient without a rinse, and where that is published."""
    known = rules.active(active)
    limit = known.limits.get("max") if known else None
    if known is None or limit is None:
        return None, ""
    return known.amount("max"), f"{limit.source}{', from memory' if limit.confidence == 'memory' else ''}"


def _limits(rules: RuleSet, product: Product, row: Row, *, rinse: bool) -> Limits:
    receipt = product.receipt.values
    highest, source = unrinsed(rules, product.active)
    asked = row.get("rinse") is True
    return Limits(
        least=amount(row.get("min")) or amount(receipt.get("label_min")),
        most=amount(row.get("max")) or amount(receipt.get("label_max")),
        unrinsed=highest,
        source=source,
        rinse=rinse or asked,
        asked=asked,
        steps=steps_of(rules, product.active),
    )


def _use(product: Product, use: str, porous: bool) -> tuple[Row, str]:
    """Return the row of the label that counts, and what is in doubt about it; an empty row where there is no label."""
    rows = rows_of(product.label)
    if not rows:
        if porous:
            raise NotUnderstood(f"no label on record for {product.code} allows porous items", "one that does")
        return {}, f"What the label of {product.code} allows on surfaces that food touches is not on record: read it."
    if use:
        named = [row for row in rows if use.casefold() in str(row.get("use", "")).casefold()]
        if not named:
            raise NotUnderstood(f"the label of {product.code} names no use `{use}`", _names(rows))
        rows = named
    fitting = [row for row in rows if _touches_food(row) or (use and row.get("food_contact") is not False)]
    if not fitting:
        what = f"the label on record for {product.code} gives no food-contact use ({_names(rows)})"
        expected = "a product that has one; or food_contact: yes in its label record, where the label says so"
        raise NotUnderstood(what, f"{expected}; or --use with the use meant" if not use and _open(rows) else expected)
    if porous:
        fitting = [row for row in fitting if row.get("porous") is True]
        if not fitting:
            raise NotUnderstood(f"the label on record for {product.code} does not cover porous items", "one that does")
    else:
        fitting = [row for row in fitting if row.get("porous") is not True] or fitting
    row = max(fitting, key=_strictness)
    doubt = (
        "" if _touches_food(row) else "The label record does not say that this use is for surfaces that food touches."
    )
    return row, doubt


def _touches_food(row: Row) -> bool:
    told = row.get("food_contact")
    return told if isinstance(told, bool) else _FOOD in f"{row.get('use', '')} {row.get('surface', '')}".casefold()


def _open(rows: Sequence[Row]) -> bool:
    return any(row.get("food_contact") is None for row in rows)


def _names(rows: Sequence[Row]) -> str:
    return "; ".join(sorted({str(row.get("use")) for row in rows}))


def _strictness(row: Row) -> Decimal:
    least = amount(row.get("min"))
    return least.value if least else Decimal(0)


def amount(value: object) -> Amount | None:
    """Return a field's value where it is an amount."""
    return value if isinstance(value, Amount) else None
