"""What the modes of a span tell of its bending stiffness, and what that leaves open of its tension."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, NamedTuple

from rigging.physics.bending import BendingRange
from rigging.physics.pluck import PLUCK_ENDS, Mode, PluckEnds, fitted_tension

_SLICES: Final = 31
_NARROWINGS: Final = 20
_FAR: Final = 20.0  # chi-square beyond the best at which an EI counts for nothing


class Try(NamedTuple):
    """One bending stiffness tried [lbf in2]: the tension nearest to the modes [lbf], its u from them [lbf], and how far off."""

    bending_lbf_in2: float
    tension_lbf: float
    standard_uncertainty_lbf: float
    chi_square: float


class Told(NamedTuple):
    """What one kind of ends makes of the modes, over every EI that brings them near."""

    tension_lbf: float
    bending_lbf: float  # standard uncertainty from EI
    readings_lbf: float  # and from the frequencies
    bending_low_lbf_in2: float
    bending_high_lbf_in2: float


def tried_over(modes: Sequence[Mode], span_in: float, mass: float, bending: BendingRange, ends: PluckEnds) -> list[Try]:
    """Fits over equal slices of the root of EI, narrowed to where the modes come near, until the slices are fine enough."""
    within, tried = bending, list[Try]()
    for _ in range(_NARROWINGS):
        eis = within.slices(_SLICES)
        tried = [Try(ei, *fitted_tension(modes, span_in, mass, ei, ends)) for ei in eis]
        far = min(t.chi_square for t in tried) + _FAR
        near = [i for i, t in enumerate(tried) if t.chi_square <= far]
        if len(near) > _SLICES / 3:
            return tried
        # one slice more on either side, where the best may lie between two
        first, last = max(0, near[0] - 1), min(_SLICES - 1, near[-1] + 1)
        step = math.sqrt(eis[1]) - math.sqrt(eis[0])
        within = BendingRange((math.sqrt(eis[first]) - step / 2) ** 2, (math.sqrt(eis[last]) + step / 2) ** 2)
    return tried


def over_all(modes: Sequence[Mode], span_in: float, mass: float, bending: BendingRange) -> float:
    """Spread of the tension [lbf, k=1] over every EI and all ends, each as likely as the next."""
    found = [
        fitted_tension(modes, span_in, mass, ei, ends).tension_lbf for ends in PLUCK_ENDS for ei in bending.slices()
    ]
    mean = math.fsum(found) / len(found)
    return math.sqrt(math.fsum((t - mean) ** 2 for t in found) / len(found))


def told_by(tried: Sequence[Try], wider: float) -> Told:
    """Every EI weighed by how near it brings the modes; wider: by how much these scatter more than was said of them."""
    least = min(t.chi_square for t in tried)
    weights = [math.exp(-(t.chi_square - least) / 2 / wider) for t in tried]
    total = math.fsum(weights)
    mean = math.fsum(w * t.tension_lbf for w, t in zip(weights, tried, strict=True)) / total
    variance = math.fsum(w * (t.tension_lbf - mean) ** 2 for w, t in zip(weights, tried, strict=True)) / total
    readings = math.fsum(w * t.standard_uncertainty_lbf**2 for w, t in zip(weights, tried, strict=True)) / total
    low, high = (_quantile(tried, weights, p) for p in (0.025, 0.975))
    return Told(mean, math.sqrt(variance), math.sqrt(readings), low, high)


def _quantile(tried: Sequence[Try], weights: Sequence[float], probability: float) -> float:
    """EI [lbf in2] below which that share of the weights lies, straight on its root inside a slice."""
    goal, below = probability * math.fsum(weights), 0.0
    step = math.sqrt(tried[1].bending_lbf_in2) - math.sqrt(tried[0].bending_lbf_in2)
    for t, w in zip(tried, weights, strict=True):
        if below + w >= goal and w > 0:
            return (math.sqrt(t.bending_lbf_in2) + step * ((goal - below) / w - 0.5)) ** 2
        below += w
    return tried[-1].bending_lbf_in2
