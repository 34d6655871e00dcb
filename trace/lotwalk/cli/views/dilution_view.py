"""The calculator's answer, for people and as JSON."""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import Any

from lotwalk.cli.output import print_pairs, print_table, say
from lotwalk.cli.views.danger_view import CAUTIONS, DECIDES
from lotwalk.judge.calculator.advice import Advice
from lotwalk.mixing.concentrate import Otherwise
from lotwalk.mixing.plan import Choice, Plan
from lotwalk.pages.cautions import caution
from lotwalk.values.unit_table import plain_decimal
from lotwalk.values.units import Amount, Units

_ANSWERED = ("mixed", "dose")
"""What was put in is known, and the strength is the answer."""
_WATER_ONLY = ("weaken", "enough")
"""The product's own strength plays no part."""


class DilutionView:
    """An answer in a farm's measures, or in the unit that was asked for."""

    def __init__(self, advice: Advice, units: Units, rules: str, unit: str | None = None) -> None:
        self.advice = advice
        self.units = units
        self.rules = rules
        self.unit = unit
        if unit:
            # A unit of something else is told before anything is printed.
            self._show(advice.plan.product, "mL" if advice.plan.water else advice.plan.unit, unit)

    @property
    def bad(self) -> Sequence[str]:
        """The sentences of bad news."""
        return self.advice.bad

    def table(self) -> None:
        """Print what to do, with what to measure it, and all that goes with it."""
        advice, plan = self.advice, self.advice.plan
        say(f"{self._product()}. {self._do()}")
        for sentence in advice.bad:
            say(sentence)
        say()
        if plan.choices:
            rows = [(one.measured.tool.name, one.measured.words, self._ppm(one.ppm)) for one in plan.choices]
            print_table(("Measure with", "Amount", "Which gives"), rows)
        elif plan.product and plan.mode != "mixed":
            say("None of the measuring tools comes near this inside the limits: mix more at once, or use a finer one.")
        if advice.working is not None:
            part = f"{100 * advice.working:.0f} %"
            told = f"At that pH and temperature {part} of the free chlorine is hypochlorous acid"
            say(f"{told}, the part that works best.")
        self._print_bases()
        for sentence in advice.notes:
            say(f"- {sentence}")
        say()
        pairs = [(one.subject, one.says) for one in map(caution, CAUTIONS)]
        print_pairs([*pairs, ("", advice.never_with)] if advice.never_with else pairs)
        say(f"Rule set: {self.rules}. {DECIDES}")

    def _product(self) -> str:
        product = self.advice.product
        strength = product.stock.written if product.stock else ""
        words = [product.code, product.name] if product.code else [strength, product.active]
        told = " ".join(word for word in words if word)
        more = [strength if product.code else "", product.use and f"for {product.use}"]
        inside = ", ".join(one for one in more if one)
        return f"{told} ({inside})" if inside else told

    def _do(self) -> str:
        plan, target = self.advice.plan, self.advice.asked.target or self.advice.product.target
        given = self.advice.asked.volume or self.advice.product.volume
        same = given is not None and given.value == plan.volume
        volume = given.written if given and same else self._like(plan.volume, given)
        amount = self._amount(plan.product)
        aim = target.written if target else ""
        if plan.mode == "mix":
            return f"For {aim} put {amount} into the tub, and water to {volume} in all."
        if plan.mode == "dose":
            gives = f", which gives {self._ppm(plan.ppm)}" if plan.ppm is not None else ""
            return f"The label's own dose for {volume} is {amount}{gives}."
        if plan.mode == "mixed":
            put_in = self.advice.asked.product
            amount = put_in.written if put_in else amount
            return f"{amount} in {volume} in all made {self._ppm(plan.ppm)}, by the product's strength."
        if plan.mode == "strengthen":
            return f"For {aim} add {amount}, stir, wait, and read again."
        if plan.mode == "weaken":
            water, instead = (self._like(part, given) for part in (plan.water, plan.instead))
            return (
                f"For {aim} add {water} of water, which makes {volume}; or, where the tub is full, take {instead} out "
                "and make it up with water. Stir, wait, and read again."
            )
        return f"It reads {aim} already: nothing to add."

    def _like(self, value: Decimal, tub: Amount | None) -> str:
        """Return so many mL in the unit asked for, else in that in which the tub was given, with three figures."""
        if tub is None or self.unit:
            return self._show(value, "mL", self.unit)
        return self.units.show_like(value, tub)

    def _print_bases(self) -> None:
        stock = self.advice.product.stock
        if stock is None or stock.basis is None or stock.percent is None or self.advice.plan.mode in _WATER_ONLY:
            return
        say(self._assumption())
        rows = [
            (
                one.basis.says,
                "(needs --gravity)" if one.percent is None else f"{_figures(one.percent)} %",
                "" if one.holds is None else f"{_figures(one.holds)} g/L",
                "" if plan is None else self._result(plan),
            )
            for one, plan in self.advice.otherwise
        ]
        if rows:
            answer = "Strength" if self.advice.plan.mode in _ANSWERED else "Amount"
            print_table(("A percent can count", "This would be", "If the label means it", answer), rows)

    def _assumption(self) -> str:
        stock = self.advice.product.stock
        assert stock is not None and stock.basis is not None
        held = f"{_figures(stock.holds)} g"
        if stock.assumed:
            below = " (below)" if self.advice.otherwise else ""
            return f"{stock.written} was read as {held} in a litre; the label may mean it otherwise{below}."
        told = f"{stock.written} was taken {'as it stands, ' if stock.basis.name == 'label' else 'as '}"
        told += stock.basis.says.removeprefix("as it stands, ")
        if stock.meant:
            told += (
                f"; the label counts {stock.meant.says}, which needs the specific gravity to be reckoned (--gravity)"
            )
        return f"{told}: {held}/L."

    def _result(self, plan: Plan) -> str:
        return self._ppm(plan.ppm) if plan.mode in _ANSWERED else self._amount(plan.product)

    def _amount(self, value: Decimal) -> str:
        return self._show(value, self.advice.plan.unit, self.unit)

    def _show(self, value: Decimal, unit: str, wanted: str | None = None) -> str:
        if unit == "count":
            return f"{_figures(value)} {'tablet' if value == 1 else 'tablets'}"
        if wanted:
            return self.units.show_in(value, unit, wanted)
        own = self.units.show(value, unit)
        if unit != "g":
            return own
        # A scale for a powder reads in grams, whatever else the farm weighs in.
        grams = Units.load("metric").show(value, unit)
        return grams if grams == own else f"{grams} ({own})"

    def _ppm(self, value: Decimal | None) -> str:
        return "" if value is None else self.units.show(value, "mg/L")

    def json(self) -> dict[str, Any]:
        """Return the answer as JSON: amounts as numbers in the unit named, strengths in ppm (mg/L)."""
        advice, plan, product = self.advice, self.advice.plan, self.advice.product
        stock, limits = product.stock, product.limits
        return {
            "mode": plan.mode,
            "product": {
                "code": product.code or None,
                "name": product.name or None,
                "active": product.active or None,
                "use": product.use or None,
                "strength": stock.written if stock else None,
                "basis": stock.basis.name if stock and stock.basis else None,
                "basis_assumed": stock.assumed or stock.meant is not None if stock else None,
                "holds_g_per_litre": _number(stock.holds) if stock and stock.liquid else None,
                "expires": product.expires or None,
            },
            "limits": {
                "label_min_ppm": _ppm(limits.least),
                "label_max_ppm": _ppm(limits.most),
                "unrinsed_max_ppm": _ppm(limits.unrinsed),
                "rinse": limits.rinse,
                "rules": self.rules,
            },
            "target_ppm": _ppm(advice.asked.target or product.target),
            "read_ppm": _ppm(advice.asked.have),
            "volume_mL": _number(plan.volume),
            "ppm": _number(plan.ppm),
            "amount": {"value": _number(plan.product), "unit": plan.unit, "shown": self._amount(plan.product)},
            "water_mL": _number(plan.water),
            "take_out_mL": _number(plan.instead),
            "measure": [_choice(one) for one in plan.choices],
            "hypochlorous_fraction": advice.working,
            "other_bases": [_basis(one, other) for one, other in advice.otherwise],
            "dangers": [],
            "bad": list(advice.bad),
            "notes": list(advice.notes),
            "cautions": [
                *(caution(name).says for name in CAUTIONS),
                *filter(None, [advice.never_with]),
                DECIDES,
            ],
        }

    def csv(self) -> tuple[Sequence[str], Sequence[Sequence[object]]]:
        """Return a row for each way to measure the amount; the first row is the exact amount."""
        plan = self.advice.plan
        rows = [("exact", self._amount(plan.product), _number(plan.product), plan.unit, _number(plan.ppm))]
        return ("measure_with", "amount", "value", "unit", "ppm"), [*rows, *self._csv_choices()]

    def _csv_choices(self) -> Iterator[tuple[str, str, float | None, str, float | None]]:
        for one in self.advice.plan.choices:
            tool = one.measured.tool
            yield tool.name, one.measured.words, _number(one.measured.amount), tool.unit, _number(one.ppm)


def _choice(one: Choice) -> dict[str, Any]:
    measured = one.measured
    return {
        "with": measured.tool.name,
        "words": measured.words,
        "amount": _number(measured.amount),
        "unit": measured.tool.unit,
        "ppm": _number(one.ppm),
    }


def _basis(one: Otherwise, plan: Plan | None) -> dict[str, Any]:
    return {
        "basis": one.basis.name,
        "says": one.basis.says,
        "percent": _number(one.percent),
        "holds_g_per_litre": _number(one.holds),
        "amount": _number(plan.product) if plan else None,
        "ppm": _number(plan.ppm) if plan else None,
    }


def _ppm(amount: Amount | None) -> float | None:
    from lotwalk.mixing.limits import ppm

    return _number(ppm(amount)) if amount else None


def _number(value: Decimal | None) -> float | None:
    return None if value is None else round(float(value), 6)


def _figures(value: Decimal) -> str:
    """Return a number with three figures, or all those before the point."""
    places = max(0, 2 - value.adjusted()) if value else 0
    return f"{plain_decimal(round(value, places)):f}"
