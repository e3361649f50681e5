"""Combining uncertainties by JCGM 100:2008 (GUM): root sum of squares, effective degrees of freedom, U = k u."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Literal

import msgspec

from rigging.measure.student_t import coverage_factor, whole


class Component(msgspec.Struct, frozen=True):
    """One contribution, already multiplied by its sensitivity.

    standard_uncertainty: k=1, in the unit of the result. why: what it stands for and where it comes from.
    part: ``instrument`` where it is the instrument's own error, the same every time it is read; ``card``
    where it is what its card may bend between its points.
    """

    why: str
    standard_uncertainty: float
    degrees_of_freedom: float = math.inf
    part: Literal["", "instrument", "card"] = ""


class Combined(msgspec.Struct, frozen=True):
    """Combined standard uncertainty with its effective degrees of freedom (Welch-Satterthwaite, GUM G.2b)."""

    components: tuple[Component, ...]

    @property
    def standard_uncertainty(self) -> float:
        """u, k=1."""
        return math.sqrt(sum(c.standard_uncertainty**2 for c in self.components))

    @property
    def degrees_of_freedom(self) -> float:
        """Effective degrees of freedom, not yet cut to a whole number."""
        u = self.standard_uncertainty
        # each share is at most 1, so nothing overflows however small u is
        below = sum((c.standard_uncertainty / u) ** 4 / c.degrees_of_freedom for c in self.components if u > 0)
        return 1 / below if below > 0 else math.inf

    def coverage_factor(self, probability: float = 0.95) -> float:
        """k for the probability, by Student's t with the effective degrees of freedom."""
        return coverage_factor(whole(self.degrees_of_freedom), probability)

    def expanded(self, probability: float = 0.95) -> float:
        """U = k u."""
        return self.coverage_factor(probability) * self.standard_uncertainty


def combine(components: Iterable[Component]) -> Combined:
    """Uncorrelated components as one; those that are zero are dropped."""
    return Combined(tuple(c for c in components if c.standard_uncertainty > 0))


def rectangular(half_width: float) -> float:
    """Standard uncertainty of anything equally likely within +-half_width (GUM 4.3.7)."""
    return half_width / math.sqrt(3)


def arcsine(amplitude: float) -> float:
    """Standard uncertainty of a cyclic swing of the given amplitude (GUM H.1.3.4)."""
    return amplitude / math.sqrt(2)


def mean_and_deviation(values: Sequence[float]) -> tuple[float, float]:
    """Mean and experimental standard deviation; the deviation of a single value is nan."""
    # equal values may round to a mean beside them, and a dial reading at the card's edge would fall off it
    mean = min(max(math.fsum(values) / len(values), min(values)), max(values))
    if len(values) < 2:
        return mean, math.nan
    return mean, math.sqrt(math.fsum((v - mean) ** 2 for v in values) / (len(values) - 1))
