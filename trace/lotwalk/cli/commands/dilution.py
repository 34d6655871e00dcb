"""What the options of `dilute` say, and the product and the rules that they are about."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal
from typing import Any, TypeVar

from lotwalk.book import DEFAULT_RULES, Book
from lotwalk.cli.desk import Desk
from lotwalk.errors import LedgerError, NotUnderstood, Refused
from lotwalk.judge.calculator.advice import Asked
from lotwalk.judge.calculator.on_record import OnRecord, is_chlorine, steps_of, unrinsed
from lotwalk.judge.dangers.chemicals import never_mix
from lotwalk.judge.dangers.never import never_together
from lotwalk.judge.ruleset.limits import read_number
from lotwalk.judge.ruleset.rules import RuleSet
from lotwalk.mixing.concentrate import read_stock
from lotwalk.mixing.limits import Limits, ppm
from lotwalk.mixing.words import STRENGTH, Words, read_dose
from lotwalk.values.units import Amount, Units

_Read = TypeVar("_Read")
_PRODUCT = ("volume", "mass", "count")


@dataclass(frozen=True, slots=True)
class Farm:
    """Whose measures and rules count, and which day it is there.

    `book` is None where no record book could be opened, and `why` says so.
    """

    book: Book | None
    measures: str
    rules: RuleSet
    rules_name: str
    today: str = ""
    why: str = ""


def farm_of(desk: Desk, measures: str | None, rules: str | None) -> Farm:
    """Return the farm of the record book, or one with the usual settings where there is no book here."""
    try:
        book = desk.book()
    except LedgerError as error:
        name = rules or DEFAULT_RULES
        return Farm(None, measures or "us", RuleSet.load(name), name, why=str(error))
    settings, in_force = book.rules()
    today = datetime.fromtimestamp(book.ledger.clock(), settings.zone).date().isoformat()
    chosen = RuleSet.load(rules) if rules else in_force
    return Farm(book, measures or settings.measures, chosen, rules or settings.rules, today)


@dataclass(frozen=True, slots=True)
class Options:
    """What the options say, each read in the farm's measures."""

    have: Amount | None
    put_in: Amount | None
    temperature: Amount | None
    strength: Amount | None
    label_min: Amount | None
    label_max: Amount | None
    dose: tuple[Amount, Amount] | None
    ph: Decimal | None
    gravity: Decimal | None
    basis: str
    use: str
    rinse: bool
    porous: bool
    powder: bool

    @classmethod
    def read(cls, given: Mapping[str, Any], units: Units) -> Options:
        """Return the options. Raises Refused with every one that cannot be read."""
        problems = []

        def read(name: str, how: Callable[[str], _Read]) -> _Read | None:
            try:
                return how(given[name]) if given[name] is not None else None
            except NotUnderstood as why:
                problems.append(why.problem(f"--{name.replace('_', '-')}"))
                return None

        def amount(name: str, dimensions: tuple[str, ...]) -> Amount | None:
            return read(name, lambda text: units.read(text, dimensions))

        found = cls(
            have=amount("have", STRENGTH),
            put_in=amount("put_in", _PRODUCT),
            temperature=_water(amount("temperature", ("temperature",))),
            strength=amount("strength", STRENGTH),
            label_min=amount("label_min", STRENGTH),
            label_max=amount("label_max", STRENGTH),
            dose=read("dose", lambda text: read_dose(text, units)),
            ph=read("ph", _ph),
            gravity=read("gravity", read_number),
            basis=given["basis"] or "",
            use=given["use"] or "",
            rinse=given["rinse"],
            porous=given["porous"],
            powder=given["powder"],
        )
        if found.have and found.put_in:
            problems.append(NotUnderstood("--have and --put-in are two questions", "one of them").problem())
        if problems:
            raise Refused(problems)
        return found

    def asked(self, said: Words) -> Asked:
        """Return what is asked."""
        return Asked(said.target, said.volume, self.have, self.put_in, self.ph, self.temperature)


def product_of(farm: Farm, said: Words, options: Options) -> OnRecord:
    """Return the product that is to be mixed. What the book has of it goes before what the options say.

    Of one that must not be mixed at all nothing but its danger is told. Raises NotUnderstood where there is no such
    product, or none that may be mixed so.
    """
    if said.code:
        if farm.book is None:
            raise NotUnderstood(
                f"no record book says what {said.code} is ({farm.why})", "a strength such as 5.25 % bleach"
            )
        product = farm.book.on_record(said.code, farm.rules, options.use, porous=options.porous, rinse=options.rinse)
    else:
        if not said.active:
            written = said.strength.written if said.strength else ""
            what = f"{written} of what, is not said"
            raise NotUnderstood(what, f"the active ingredient too, such as {written} bleach")
        doubt = "What the label allows on surfaces that food touches is not known here: read it first."
        highest, source = unrinsed(farm.rules, said.active)
        never = never_together(farm.rules, said.active)
        danger = never_mix(f"what `{said.active}` names", never) if never else ""
        limits = Limits(unrinsed=highest, source=source, rinse=options.rinse, steps=steps_of(farm.rules, said.active))
        product = OnRecord("", "", said.active, None, limits, doubt=doubt, danger=danger)
    if product.danger:
        return product
    strength = said.strength or options.strength
    known = product.stock
    if strength and known is None:
        known = read_stock(
            strength,
            basis=options.basis,
            gravity=options.gravity,
            chlorine=is_chlorine(farm.rules, product.active),
            powder=options.powder,
        )
    least, most = product.limits.least or options.label_min, product.limits.most or options.label_max
    if least and most and ppm(least) > ppm(most):
        raise NotUnderstood(
            f"the label's lowest strength, {least.written}, is above its highest, {most.written}",
            "the lower one as --label-min and the higher one as --label-max",
        )
    limits = replace(product.limits, least=least, most=most)
    return replace(product, stock=known, limits=limits, dose=product.dose or options.dose)


def _water(temperature: Amount | None) -> Amount | None:
    if temperature and not 0 <= temperature.value <= 100:
        raise NotUnderstood(f"no mix has {temperature.written}", "a temperature of water, from 0 to 100 degC")
    return temperature


def _ph(text: str) -> Decimal:
    number = read_number(text)
    if number > 14:
        raise NotUnderstood(f"there is no pH of {text}", "a number from 0 to 14")
    return number
