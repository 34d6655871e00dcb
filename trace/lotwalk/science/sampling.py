"""What testing a number of samples can show: how likely a lot with a share of bad units passes, or is found out.

Each sample is taken as a draw at random from a lot far larger than the samples, and each test as one that never errs
(Food Microbiology, equations 11.5 and 11.6; FAO 444, table 3.2). Bacteria sit in clumps, so
real chances of finding them are smaller. That nothing was found never shows that nothing is there.
"""

import math


def acceptance(share: float, samples: int) -> float:
    """Return the chance, 0 to 1, that a lot with this share of bad units passes when none may be found (c = 0).

    It is (1 - p)^n. Raises ValueError for a share outside 0 to 1, or fewer samples than none.
    """
    _check(share, samples)
    return float((1 - share) ** samples)


def detection(share: float, samples: int) -> float:
    """Return the chance, 0 to 1, that at least one of the samples is bad: 1 - (1 - p)^n. Raises as `acceptance`."""
    _check(share, samples)
    if share == 1 or not samples:
        return float(samples > 0)
    # The same, kept exact for shares so small that 1 - p rounds to 1.
    return -math.expm1(samples * math.log1p(-share))


def samples_needed(share: float, confidence: float) -> int:
    """Return the least number of samples of which one is bad with at least this chance (0 to 1).

    299 find a share of 1 % with 95 %, 459 with 99 %; a text in FAO 444 that asks for 3,000 to 5,000 is out by ten.
    Raises ValueError where share or confidence is not above 0, or a confidence of 1 or more is asked for.
    """
    if not 0 < share <= 1 or not 0 < confidence < 1:
        raise ValueError("share and confidence lie between 0 and 1")
    if share == 1:
        return 1
    needed = max(1, math.ceil(math.log1p(-confidence) / math.log1p(-share)))
    # The quotient of two logarithms may round across a whole number.
    while needed > 1 and detection(share, needed - 1) >= confidence:
        needed -= 1
    while detection(share, needed) < confidence:
        needed += 1
    return needed


def _check(share: float, samples: int) -> None:
    if not 0 <= share <= 1 or samples < 0:
        raise ValueError("a share lies between 0 and 1, and a number of samples is at least 0")
