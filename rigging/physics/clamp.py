"""What a gauge does to the tension it reads: it deflects the cable, and the longer way pulls it tighter.

    raise = K ( 2 sqrt((s/2)^2 + d^2) - s ),     about 2 K d^2 / s

d: deflection, s: distance between the gauge's outer anvils, K: tension per inch of path, from the whole circuit.
"""

from __future__ import annotations

import math
from typing import Final, NamedTuple

from rigging.errors import Refusal
from rigging.physics.side_pull import path_growth_in
from rigging.told import inches, lbf_per_in, told

STEEPEST_CLAMP: Final = 0.5


class Clamped(NamedTuple):
    """What clamping does: the tension it adds [lbf], and what u (k=1) of deflection, span and stiffness make of it."""

    raise_lbf: float
    path_in: float
    contributions_lbf: dict[str, float]


def clamped(
    deflection_in: float, span_in: float, stiffness_lbf_per_in: float, deflection_uncertainty_in: float = 0.0,
    span_uncertainty_in: float = 0.0, stiffness_uncertainty_lbf_per_in: float = 0.0,
) -> Clamped:  # fmt: skip
    """Tension that a gauge adds by deflecting the cable by d over a span s between its outer anvils.

    ``raise = K (2 sqrt((s/2)^2 + d^2) - s)``

    deflection_in, span_in [in] > 0, d at most s/4. stiffness_lbf_per_in: K [lbf/in] >= 0, 1 / compliance of the whole
    circuit. The other three are standard uncertainties. Raises Refusal outside. A lower bound: straight lines are the
    shortest way over anvils and riser, and a cable with bending stiffness takes a longer one: for 1/8 7x19 with 0.06 in
    over 3 in 3 to 11 % longer as loose wires, 1.8 to 3.6 times as long as a solid rod (tests/independent/test_clamp.py).

    >>> round(clamped(0.06, 3.0, 99673 / 48).raise_lbf, 1)
    5.0

    Reference: geometry; seen in practice: 15 lbf became 20 on a short fixed cable.
    """
    for what, value in (("deflection", deflection_in), ("distance between the anvils", span_in)):
        if not 0 < value < math.inf:
            raise Refusal(told("a {} of {}: it must be above zero", what, inches(value)))
    if not 0 <= stiffness_lbf_per_in < math.inf:
        raise Refusal(told("a stiffness of {}: it cannot be negative", lbf_per_in(stiffness_lbf_per_in)))
    if deflection_in > STEEPEST_CLAMP * span_in / 2:
        raise Refusal(
            told(
                "a deflection of {} over {} between the anvils is no tensiometer's: check both",
                inches(deflection_in),
                inches(span_in),
            )
        )
    path_in = path_growth_in(span_in, span_in / 2, deflection_in)
    raise_lbf = stiffness_lbf_per_in * path_in
    slope = 2 * deflection_in / math.hypot(span_in / 2, deflection_in)
    by_span = (span_in / 2) / math.hypot(span_in / 2, deflection_in) - 1
    return Clamped(
        raise_lbf,
        path_in,
        {
            "deflection": stiffness_lbf_per_in * slope * deflection_uncertainty_in,
            "anvils": abs(stiffness_lbf_per_in * by_span * span_uncertainty_in),
            "stiffness": path_in * stiffness_uncertainty_lbf_per_in,
        },
    )
