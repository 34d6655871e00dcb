"""`lotwalk dilute`: how much of a sanitiser goes into the tub, and what a mix came to."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from lotwalk.cli.desk import Desk, desk_of
from lotwalk.cli.output import format_option, print_view

if TYPE_CHECKING:
    from lotwalk.cli.views.danger_view import DangerView
    from lotwalk.cli.views.dilution_view import DilutionView


@click.command()
@click.argument("words", metavar="PRODUCT [STRENGTH] [VOLUME]", nargs=-1, required=True)
@click.option("--have", metavar="READING", help="The tub reads this now, such as 60 ppm: what mends it?")
@click.option("--put-in", "put_in", metavar="AMOUNT", help="So much product went in, such as 20 mL: what did it make?")
@click.option("--in", "unit", metavar="UNIT", help="Answer in this unit: mL, L, gal, fl oz, tbsp, tsp, cup, g, oz.")
@click.option("--rinse", is_flag=True, help="A rinse with drinking water follows, and the label allows that.")
@click.option("--use", metavar="TEXT", help="Which of the label's uses, where it has several.")
@click.option("--porous", is_flag=True, help="The items are porous: only a use that the label gives for them counts.")
@click.option("--ph", metavar="NUMBER", help="The mix's pH, for what part of its chlorine works.")
@click.option("--temperature", metavar="AMOUNT", help="The mix's temperature, for the same.")
@click.option("--strength", metavar="AMOUNT", help="The product's strength, where the book does not have it.")
@click.option("--basis", metavar="TEXT", help="What its percent counts: label, weight, available, trade, volume.")
@click.option("--gravity", metavar="NUMBER", help="Its specific gravity, from the safety data sheet, such as 1.1.")
@click.option("--powder", is_flag=True, help="The product is a powder, weighed in g.")
@click.option("--dose", metavar="TEXT", help="The label's own dose, such as '1 fl oz per 4 gal'.")
@click.option("--label-min", metavar="AMOUNT", help="The label's lowest strength, where the book does not have it.")
@click.option("--label-max", metavar="AMOUNT", help="The label's highest strength, where the book does not have it.")
@click.option("--tools", metavar="FILE", type=click.Path(path_type=Path), help="Your own measuring tools, as YAML.")
@click.option("--measures", metavar="us|metric", help="What a gallon and a spoon are. [default: the farm's, else us]")
@click.option("--rules", metavar="NAME-OR-FILE", help="The rule set. [default: the farm's, else general]")
@format_option
@click.pass_context
def dilute(context: click.Context, /, words: tuple[str, ...], form: str, unit: str | None, **given: Any) -> None:
    """Reckon a mix: PRODUCT is a code of the book, or a strength with its active ingredient.

    \b
      lotwalk dilute 5.25 % bleach, 100 ppm, 10 L       how much goes in
      lotwalk dilute BL-1 100 ppm 10 L                  the same by the book's label
      lotwalk dilute BL-1 10 L --put-in "20 mL"         what did that make?
      lotwalk dilute SOL-1 100 ppm --have "60 ppm"      what mends the tub?

    It refuses a strength above the label's, or above the rule set's highest without a rinse, and a product whose
    label gives no use on surfaces that food touches. Of a mix that gives off gas it gives no amount. A strength mixed
    to is no reading: dip a strip. The exit status is 1 when what comes out is dangerous, too weak, too strong, too cold
    or of the wrong pH, the product is out of date, or nothing says that it sanitises.
    """

    view = _answer(desk_of(context), words, given, unit)
    print_view(view, form)
    if view.bad:
        context.exit(1)


def _answer(desk: Desk, words: tuple[str, ...], given: dict[str, Any], unit: str | None) -> DilutionView | DangerView:
    from lotwalk.cli.commands.dilution import Options, farm_of, product_of
    from lotwalk.cli.views.danger_view import DangerView
    from lotwalk.cli.views.dilution_view import DilutionView
    from lotwalk.judge.calculator.advice import advise, danger
    from lotwalk.judge.dangers.never import never_with
    from lotwalk.mixing.tools import load_tools
    from lotwalk.mixing.words import read_words
    from lotwalk.values.units import Units

    farm = farm_of(desk, given["measures"], given["rules"])
    units = Units.load(farm.measures)
    options = Options.read(given, units)
    said = read_words(words, units)
    product = product_of(farm, said, options)
    asked = options.asked(said)
    if deadly := danger(product, asked, farm.rules):
        return DangerView(deadly, product, never_with(farm.rules.active(product.active)), farm.rules_name)
    advice = advise(product, asked, farm.rules, load_tools(farm.measures, given["tools"]), units, farm.today)
    return DilutionView(advice, units, farm.rules_name, unit)
