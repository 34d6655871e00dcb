"""A product as it comes out of its can: what its strength counts, and how much of that is in each mL, g or tablet."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from lotwalk.errors import NotUnderstood
from lotwalk.mixing import data
from lotwalk.science import strength as by
from lotwalk.values.units import Amount

CHLORINE = "chlorine"
"""The name under which rule sets keep what is known of chlorine products."""

LABEL = "label"
"""The basis that is taken where none is on record: the label's percent as it stands."""

_HEAVIEST, _LIGHTEST = Decimal(3), Decimal("0.5")
_WHOLE = Decimal(100)


@dataclass(frozen=True, slots=True)
class Basis:
    """One thing that a percent may count. `reach` is chlorine or all; `gravity`: the specific gravity is needed."""

    name: str
    reach: str
    names: tuple[str, ...]
    says: str
    gravity: bool

    def fits(self, chlorine: bool) -> bool:
        """Return whether such a product can be labelled so."""
        return chlorine or self.reach != CHLORINE


@dataclass(frozen=True, slots=True)
class Stock:
    """A product's strength.

    `holds` is in mg for each `unit` of it: mL of a liquid, g of a powder, one tablet (count). `basis` is None where
    the strength leaves nothing to be assumed: it is in g/L or mg/L, or a powder's. `assumed`: nobody said which basis.
    `meant` is the basis that was said, where it could not be reckoned by for want of the specific gravity. `percent` is
    the number on the label, `written` what was said.
    """

    written: str
    holds: Decimal
    unit: str = "mL"
    basis: Basis | None = None
    gravity: Decimal | None = None
    assumed: bool = False
    meant: Basis | None = None
    percent: Decimal | None = None

    @property
    def liquid(self) -> bool:
        """Whether it adds its own volume to a mix."""
        return self.unit == "mL"

    @property
    def most(self) -> Decimal:
        """The ppm of the product itself, which no mix can be above."""
        return self.holds * 1000 if self.liquid else Decimal("Infinity")


@dataclass(frozen=True, slots=True)
class Otherwise:
    """The same product by another basis: the `percent` that it would be called, and `holds` if its label meant that.

    Either is None where the specific gravity is needed and not known.
    """

    basis: Basis
    percent: Decimal | None
    holds: Decimal | None


@cache
def bases() -> Mapping[str, Basis]:
    """Return what percents may count, by name, from schemas/mixing/bases.yaml."""
    found = data.read(data.SHIPPED / "bases.yaml", "bases")
    return {
        name: Basis(name, one["for"], tuple(one["names"]), one["says"], one.get("gravity") == "yes")
        for name, one in found.items()
    }


def read_basis(text: str, chlorine: bool) -> Basis:
    """Return the basis that a text means, such as `weight percent`. Raises NotUnderstood."""
    folded = text.casefold()
    fitting = [basis for basis in bases().values() if basis.fits(chlorine)]
    for basis in fitting:
        if any(name in folded for name in basis.names):
            return basis
    expected = ", ".join(f"{basis.name} ({basis.says})" for basis in fitting)
    raise NotUnderstood(f"`{text}` does not say what the percent counts", expected)


def read_stock(
    strength: Amount, *, basis: str = "", gravity: Decimal | None = None, chlorine: bool, powder: bool = False
) -> Stock:
    """Return the strength of a product: a percent on some basis, or g/L or mg/L of what the strip reads.

    A powder's percent is of its weight. Where the basis needs the specific gravity and nobody gave it, the percent is
    taken as it stands, and `meant` says so. Raises NotUnderstood for a strength that no product has.
    """
    if gravity is not None and not _LIGHTEST <= gravity <= _HEAVIEST:
        raise NotUnderstood(f"a specific gravity of {gravity:f} is that of no product", "a number such as 1.1")
    if strength.value <= 0:
        raise NotUnderstood(f"there is no product of {strength.written}", "the strength on its label, such as 5.25 %")
    if strength.unit != "percent":
        if powder:
            raise NotUnderstood(f"there is no powder of {strength.written}", "its percent by weight, such as 65 %")
        return Stock(strength.written, strength.value / 1000, gravity=gravity)
    if strength.value > _WHOLE:
        raise NotUnderstood(f"{strength.written} is more than the whole", "the percent on its label")
    if powder:
        return Stock(strength.written, strength.value * 10, "g", percent=strength.value)
    said = read_basis(basis or LABEL, chlorine)
    known = gravity is not None or not said.gravity
    taken = said if known else bases()[LABEL]
    return Stock(
        strength.written,
        _formula(taken, chlorine)(strength.value, gravity or Decimal(1)),
        basis=taken,
        gravity=gravity,
        assumed=not basis,
        meant=None if known else said,
        percent=strength.value,
    )


def others(stock: Stock, *, chlorine: bool) -> list[Otherwise]:
    """Return what the product would be on each other basis that its percent could count; none for other strengths."""
    out = []
    for basis in bases().values():
        if stock.basis is None or stock.percent is None or basis is stock.basis or not basis.fits(chlorine):
            continue
        if basis.gravity and stock.gravity is None:
            out.append(Otherwise(basis, None, None))
            continue
        one = _formula(basis, chlorine)(Decimal(1), stock.gravity or Decimal(1))
        out.append(Otherwise(basis, stock.holds / one, one * stock.percent))
    return out


def _formula(basis: Basis, chlorine: bool) -> Callable[[Decimal, Decimal], Decimal]:
    """Return what turns a percent and the specific gravity into mg/mL."""
    return {
        LABEL: lambda percent, _: by.by_label(percent),
        "trade": lambda percent, _: by.by_trade_percent(percent),
        "volume": lambda percent, _: by.hypochlorite_over_volume(percent) if chlorine else by.over_volume(percent),
        "weight": by.by_weight_of_hypochlorite if chlorine else by.by_weight,
        "available": by.by_weight,
    }[basis.name]
