"""Student's t for whole degrees of freedom, in closed form.

GUM G.4.1 cuts effective degrees of freedom to the next lower whole number, and for whole numbers the
distribution is a finite sum (Abramowitz and Stegun, 26.7.3 and 26.7.4). That keeps scipy, whose import
takes longer than everything else in a one-shot sum, out of the way; the tests hold it to scipy's values.
"""

from __future__ import annotations

import math
from statistics import NormalDist
from typing import Final

# Beyond this many the normal distribution differs by less than 3e-6 in the coverage factor.
NORMAL_FROM_DOF: Final = 1_000_000
_LONGEST_SUM: Final = 2_000


def whole(degrees_of_freedom: float) -> float:
    """Effective degrees of freedom cut to a whole number of at least 1; infinity stays."""
    return degrees_of_freedom if math.isinf(degrees_of_freedom) else max(1.0, math.floor(degrees_of_freedom))


def cdf(t: float, degrees_of_freedom: float) -> float:
    """Probability that a t variable lies below ``t``; degrees of freedom are cut to a whole number."""
    dof = whole(degrees_of_freedom)
    if dof > _LONGEST_SUM:
        # Abramowitz and Stegun 26.7.8; its error falls with 1/dof^2
        if dof < NORMAL_FROM_DOF:
            t = t * (1 - 1 / (4 * dof)) / math.sqrt(1 + t * t / (2 * dof))
        return NormalDist().cdf(t)
    n = int(dof)
    theta = math.atan2(t, math.sqrt(n))
    sine, cosine = math.sin(theta), math.cos(theta)
    if n % 2:
        term, total = cosine, cosine if n > 1 else 0.0
        for j in range(3, n - 1, 2):
            term *= cosine * cosine * (j - 1) / j
            total += term
        inside = 2 / math.pi * (theta + sine * total)
    else:
        term = total = 1.0
        for j in range(2, n - 1, 2):
            term *= cosine * cosine * (j - 1) / j
            total += term
        inside = sine * total
    return 0.5 + 0.5 * inside


def coverage_factor(degrees_of_freedom: float, probability: float = 0.95) -> float:
    """The k for which +-k holds the given probability, 0 < probability < 1."""
    goal = (1 + probability) / 2
    if whole(degrees_of_freedom) >= NORMAL_FROM_DOF:
        return NormalDist().inv_cdf(goal)
    low, high = 0.0, 1.0
    while cdf(high, degrees_of_freedom) < goal:
        low, high = high, 2 * high
    for _ in range(80):
        middle = (low + high) / 2
        low, high = (middle, high) if cdf(middle, degrees_of_freedom) < goal else (low, middle)
    return (low + high) / 2
