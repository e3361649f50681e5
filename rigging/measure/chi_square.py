"""Chi-square for whole degrees of freedom, in closed form, so that one-shot sums do without scipy."""

from __future__ import annotations

import math


def survival(chi_square: float, degrees_of_freedom: int) -> float:
    """Probability that chi-square with that many degrees of freedom (1 and up) comes out larger.

    A finite sum (Abramowitz and Stegun, 26.4.4 and 26.4.5).

    >>> round(survival(3.841459, 1), 6), round(survival(5.991465, 2), 6)
    (0.05, 0.05)
    """
    if chi_square <= 0:
        return 1.0
    half = chi_square / 2
    if degrees_of_freedom % 2:
        total, term = math.erfc(math.sqrt(half)), math.sqrt(half / math.pi) * 2 * math.exp(-half)
        for k in range(1, degrees_of_freedom, 2):
            total += term
            term *= chi_square / (k + 2)
    else:
        total, term = 0.0, math.exp(-half)
        for k in range(2, degrees_of_freedom + 1, 2):
            total += term
            term *= chi_square / k
    return min(1.0, total)
