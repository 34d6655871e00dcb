"""The checks and looks ahead, subject by subject, in the order in which a farm's day asks for them."""

from lotwalk.checks.findings import Check, Look
from lotwalk.checks.subjects import (
    allergens,
    assurance,
    cleaning,
    dangers,
    equipment,
    expiry,
    followup,
    instruments,
    people,
    record_keeping,
    reviews,
    seed,
    stock,
    storage,
    suppliers,
)
from lotwalk.checks.subjects.water import plan as water_plan
from lotwalk.checks.subjects.water import tests as water_tests

CHECKS: tuple[Check, ...] = (
    dangers.findings,
    allergens.findings,
    cleaning.findings,
    equipment.findings,
    water_tests.findings,
    water_plan.findings,
    seed.findings,
    suppliers.findings,
    assurance.findings,
    storage.findings,
    stock.findings,
    followup.findings,
    people.findings,
    instruments.findings,
    record_keeping.findings,
    reviews.findings,
)

LOOKS: tuple[Look, ...] = (
    equipment.dues,
    water_plan.dues,
    expiry.dues,
    assurance.dues,
    storage.dues,
    stock.dues,
    followup.dues,
    people.dues,
    instruments.dues,
    reviews.dues,
)
