"""Student's t distribution, central and noncentral: the factors of a confidence interval from a handful of samples."""

import math

_POINTS = 1_200
_HALVINGS = 60


def quantile(p: float, freedom: int, shift: float = 0.0) -> float:
    """Return the value below which (Z + shift) / sqrt(V / freedom) lies with probability `p`.

    Z is a standard normal and V a chi-squared value with `freedom` degrees of freedom; with `shift` zero this is
    Student's t. Raises ValueError where `p` is not between 0 and 1, or `freedom` below 1.
    """
    if not 0 < p < 1 or freedom < 1:
        raise ValueError("a probability between 0 and 1, and one degree of freedom or more")
    low, high = shift - 1.0, shift + 1.0
    while _below(low, freedom, shift) > p:
        low -= high - low
    while _below(high, freedom, shift) < p:
        high += high - low
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        if _below(middle, freedom, shift) < p:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def _below(value: float, freedom: int, shift: float) -> float:
    """The probability of a lower value: the normal's, averaged over s = sqrt(V / freedom) by Simpson's rule.

    The steps are even in the cube root of s. Far out, with one degree of freedom, all of it lies close to s = 0.
    """
    scale = math.log(2) + freedom / 2 * math.log(freedom / 2) - math.lgamma(freedom / 2)
    # Beyond this, the density of s is below 1e-30.
    most = 1 + 12 / math.sqrt(freedom)
    total = 0.0
    for point in range(1, _POINTS + 1):
        root = point / _POINTS
        s = most * root**3
        density = math.exp(scale + (freedom - 1) * math.log(s) - freedom * s * s / 2) * 3 * most * root * root
        weight = 1 if point == _POINTS else 4 if point % 2 else 2
        total += weight * density * math.erfc(-(value * s - shift) / math.sqrt(2)) / 2
    return total / _POINTS / 3
