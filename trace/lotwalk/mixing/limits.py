"""The strengths between which a mix must stay, and the refusal of one above them."""

from dataclasses import dataclass
from decimal import Decimal

from lotwalk.errors import NotUnderstood
from lotwalk.values.unit_table import plain_decimal
from lotwalk.values.units import Amount

_PER_PERCENT = 10_000
_FOREVER = Decimal("Infinity")
_ABOVE, _BELOW = Decimal("1.25"), Decimal("0.75")


@dataclass(frozen=True, slots=True)
class Limits:
    """What a label and a rule set allow.

    `least` and `most` are the label's. `steps` are the strengths (ppm) from which on a rule set asks for less of the
    mix, the lowest first. `unrinsed` is the rule set's highest strength without a rinse, published in
    `source`. `rinse`: somebody said, or the label asks, that drinking water follows; `asked`: the label asks for it.
    """

    least: Amount | None = None
    most: Amount | None = None
    unrinsed: Amount | None = None
    source: str = ""
    rinse: bool = False
    asked: bool = False
    steps: tuple[Decimal, ...] = ()

    def floor(self, target: Decimal) -> Decimal:
        """Return the ppm below which a mix for a target must not come out: the label's lowest, or the step reached."""
        return max((end for end in (self.lowest, *self.steps) if end <= target), default=Decimal(0))

    @property
    def lowest(self) -> Decimal:
        """The lowest ppm that counts."""
        return ppm(self.least) if self.least else Decimal(0)

    @property
    def highest(self) -> Decimal:
        """The highest ppm allowed."""
        ends = [self.most, None if self.rinse else self.unrinsed]
        return min((ppm(end) for end in ends if end), default=_FOREVER)

    @property
    def top(self) -> Amount | None:
        """The highest strength allowed, as an amount; None where there is none."""
        ends = [end for end in (self.most, None if self.rinse else self.unrinsed) if end]
        return min(ends, key=ppm, default=None)

    def aim(self, target: Amount | None = None) -> Decimal:
        """Return the ppm that a mix is brought to: its target where that is allowed, else one well inside the limits.

        A mix on the limit itself is past it after the next load, so the limits themselves are not aimed at. Without a
        highest it is a quarter above the lowest, without a lowest a quarter below the highest: common practice, no
        source.
        """
        low, high = self.lowest, self.highest
        if target and (low < ppm(target) < high or low == ppm(target) == high):
            return ppm(target)
        inside = low * _ABOVE if not high.is_finite() else (low + high) / 2 if low else high * _BELOW
        # Two figures are enough to read on a strip, where they do not leave the limits.
        rounded = plain_decimal(round(inside, 1 - inside.adjusted())) if inside else inside
        return rounded if low <= rounded <= high else inside


def ppm(amount: Amount) -> Decimal:
    """Return a strength in ppm (mg/L); in a dilute solution one percent is 10,000 of it."""
    return amount.value * _PER_PERCENT if amount.unit == "percent" else amount.value


def check_target(target: Amount, limits: Limits) -> None:
    """Raise NotUnderstood for a strength above the label's highest, or the rule set's highest without a rinse."""
    what = excess(ppm(target), target.written, limits)
    if what:
        raise NotUnderstood(*what)


def excess(strength: Decimal, written: str, limits: Limits) -> tuple[str, str] | None:
    """Return what is wrong with a strength that is too high, and what was expected; None where it is not."""
    if limits.most and strength > ppm(limits.most):
        text = f"{written} is above the label's highest, {limits.most.written}"
        return text, f"{limits.most.written} or less: the label decides, and stronger is not cleaner"
    if limits.unrinsed and not limits.rinse and strength > ppm(limits.unrinsed):
        text = f"{written} is above {limits.unrinsed.written}, the highest without a rinse ({limits.source})"
        return (
            text,
            f"{limits.unrinsed.written} or less; or --rinse, where the label allows more with a rinse",
        )
    return None
