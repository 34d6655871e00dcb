"""The checks and looks ahead, subject by subject, in the order in which a farm's day asks for them."""

from lotwalk.checks import cleaning, equipment, instruments, people, reviews, writing
from lotwalk.checks.findings import Check, Look

CHECKS: tuple[Check, ...] = (
    cleaning.findings,
    equipment.findings,
    people.findings,
    instruments.findings,
    writing.findings,
    reviews.findings,
)

LOOKS: tuple[Look, ...] = (
    equipment.dues,
    people.dues,
    instruments.dues,
    reviews.dues,
)
