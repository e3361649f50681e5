"""What a gauge does to the tension it reads: it deflects the cable, and the longer way pulls it tighter.

    raise = K way,     way = ( 2 sqrt((s/2)^2 + d^2) - s ) (share - T share') / share^2

d: deflection, s: distance between the gauge's outer anvils, K: tension per inch of path, from the whole circuit. Without
bending stiffness the way is that over straight flanks, ``2 d^2 / s``; a cable with EI rounds riser and anvils, pushes on
into the runs beyond them over ``sqrt(EI/T)``, and takes a longer one. share is what it gives way by over a string:

    share = 1 - ( tanh k + 2 h (1 - sech k) ) / ( k (1 + h tanh k) ),     k = (s/2) sqrt(T/EI)

h: how the run beyond an anvil keeps the cable there from turning, over ``sqrt(EI T)``: 1 for a long run, tanh or coth of
its length over ``sqrt(EI/T)`` where that ends in a pin or a clamp.
"""

from __future__ import annotations

import math
from typing import Final, NamedTuple

from rigging.errors import Refusal
from rigging.physics.bending import BendingRange, longer_way
from rigging.physics.bounds import above_zero, not_below_zero
from rigging.physics.side_pull import ENDS, Ends, path_growth_in
from rigging.told import inches, lbf, lbf_per_in, told

STEEPEST_CLAMP: Final = 0.25  # deflection over half the distance between the anvils
NEAREST_IN: Final = 6.0  # from an anvil to the next fitting, pulley or fairlead (TO 1-1A-8, second-hand)
_LONGEST: Final = 1000.0  # of sqrt(EI/T) over half the distance between the anvils: a cable that hangs loose
_PLACES: Final = 5
_SPAN_STEP: Final = 1e-4


class Rise(NamedTuple):
    """What a gauge adds [lbf]: as if the cable had no bending stiffness, at the least and at the most."""

    string_lbf: float
    least_raise_lbf: float
    most_raise_lbf: float


class Clamped(NamedTuple):
    """What clamping does, and what leaves it open.

    raise_lbf [lbf]: in the middle between least and most. path_in [in]: by how much longer the way is then. rise: the
    bounds. contributions_lbf [lbf, k=1]: of deflection, anvils, stiffness and bending.
    """

    raise_lbf: float
    path_in: float
    rise: Rise
    contributions_lbf: dict[str, float]


def gauge_share(tension_lbf: float, span_in: float, beyond_in: float, bending_lbf_in2: float, ends: Ends) -> float:
    """What a cable gives way by to a gauge over what a string would: 1 for a string, less for a beam.

    tension_lbf [lbf] > 0, with the gauge on. span_in [in] > 0: between the outer anvils. beyond_in [in] > 0, may be
    infinite: run from each anvil to the next support, whose ends are pinned or clamped. bending_lbf_in2: EI [lbf in2]
    >= 0. Raises Refusal outside.
    The anvils are points that let the cable turn, and the gauge hangs free: its three forces balance each other, so
    that the runs beyond carry a moment and no force across, and their slope goes on over the anvil.
    Validity: small slopes, shear of the cable left out.

    A long run beyond, and anvils many sqrt(EI/T) apart: 3/4 of such a length goes at either side of the riser.

    >>> round(gauge_share(100.0, 30.0, math.inf, 1.0, "pinned"), 3), round(1 - 1.5 / 150, 3)
    (0.99, 0.99)

    Reference: statics of the tensioned Euler-Bernoulli beam (T w'' - EI w'''' = 0 between the forces), exact for it.
    """
    above_zero("a tension", tension_lbf, lbf)
    above_zero("a distance between the anvils", span_in, inches)
    if not beyond_in > 0:
        raise Refusal(told("a run of {} beyond the anvils: it must be above zero", inches(beyond_in)))
    not_below_zero("a bending stiffness [lbf in2]", bending_lbf_in2)
    if ends not in ENDS:
        raise Refusal(f"ends of a run are pinned or clamped, not {ends}")
    if bending_lbf_in2 == 0:
        return 1.0
    q = math.sqrt(tension_lbf / bending_lbf_in2)
    k, held = q * span_in / 2, math.tanh(q * beyond_in)
    if k * _LONGEST < 1:
        raise Refusal(
            told("a tension of {} does not straighten so stiff a cable: it hangs loose", lbf(tension_lbf, "g"))
        )
    held = held if ends == "pinned" else 1 / held
    sech = 1 / math.cosh(k) if k < 700 else 0.0
    return 1 - (math.tanh(k) + 2 * held * (1 - sech)) / (k * (1 + held * math.tanh(k)))


def gauge_way_in(
    deflection_in: float, span_in: float, tension_lbf: float, beyond_in: float, bending_lbf_in2: float = 0.0,
    ends: Ends = "pinned",
) -> float:  # fmt: skip
    """How much longer the way of a cable through a gauge is than without it [in]; ``2 d^2 / s`` for a string and small d.

    deflection_in [in] > 0: of the riser out of the line of the anvils, at most s/8. Others and Refusal as ``gauge_share``.

    >>> round(gauge_way_in(0.06, 3.0, 20.0, 30.0), 4), round(gauge_way_in(0.06, 3.0, 20.0, 30.0, 348.0), 4)
    (0.0024, 0.0091)
    """
    _check(deflection_in, span_in)
    string_in = path_growth_in(span_in, span_in / 2, deflection_in)
    return string_in * longer_way(
        lambda tension: gauge_share(tension, span_in, beyond_in, bending_lbf_in2, ends), tension_lbf
    )


def gauge_rise(
    deflection_in: float, span_in: float, stiffness_lbf_per_in: float, tension_lbf: float, bending: BendingRange,
    beyond_in: float,
) -> Rise:  # fmt: skip
    """Least and most tension that a gauge adds: over every EI from loose wires to a solid rod and all runs beyond it.

    stiffness_lbf_per_in: K [lbf/in] >= 0. tension_lbf [lbf] > 0: with the gauge on. beyond_in [in]: the runs beyond the
    anvils are anything from 6 in to this, their ends pinned or clamped. Refusal where it is less, and as ``gauge_way_in``.
    """
    if not 0 <= stiffness_lbf_per_in < math.inf:
        raise Refusal(told("a stiffness of {}: it cannot be negative", lbf_per_in(stiffness_lbf_per_in)))
    _check(deflection_in, span_in)
    if not NEAREST_IN <= beyond_in < math.inf:
        raise Refusal(
            told(
                "a run of {} beyond the anvils: read at least {} from fittings, pulleys and fairleads",
                inches(beyond_in),
                inches(NEAREST_IN),
            )
        )
    string_in = path_growth_in(span_in, span_in / 2, deflection_in)
    eis = sorted({bending.loose_lbf_in2, *bending.slices(), bending.solid_lbf_in2})
    runs_in = {NEAREST_IN * (beyond_in / NEAREST_IN) ** (i / (_PLACES - 1)) for i in range(_PLACES)}
    ways = [
        gauge_way_in(deflection_in, span_in, tension_lbf, run_in, ei, ends)
        for ei in eis
        for run_in in runs_in
        for ends in ENDS
    ]
    k = stiffness_lbf_per_in
    return Rise(k * string_in, k * min(ways), k * max(ways))


def clamped(
    deflection_in: float, span_in: float, stiffness_lbf_per_in: float, tension_lbf: float, bending: BendingRange,
    beyond_in: float, deflection_uncertainty_in: float = 0.0, span_uncertainty_in: float = 0.0,
    stiffness_uncertainty_lbf_per_in: float = 0.0,
) -> Clamped:  # fmt: skip
    """Tension that a gauge adds by deflecting the cable by d over a span s between its outer anvils.

    The middle between the least and the most, and rectangular between them (JCGM 100, 4.3.7): nothing tells where EI lies,
    and the effect grows nearly with its square root. No gauge adds more than is read with it on: a cable cannot push.

    deflection_in, span_in [in] > 0, d at most s/8. stiffness_lbf_per_in: K [lbf/in] >= 0, 1 / compliance of the whole
    circuit. tension_lbf [lbf] > 0: read with the gauge on. beyond_in [in] >= 6: the longest run beyond an anvil. The last
    three are standard uncertainties. Raises Refusal outside, and where even the least rise is more than was read.

    >>> from rigging.physics.bending import bending_range
    >>> found = clamped(0.06, 3.0, 104123 / 168, 40.0, bending_range(0.125, "7x19"), 82.5)
    >>> round(found.rise.string_lbf, 1), round(found.raise_lbf, 1), round(found.contributions_lbf["bending"], 1)
    (1.5, 3.1, 0.9)

    Reference: geometry and statics; seen in practice: 15 lbf became 20 on a short fixed cable.
    """
    not_below_zero("an uncertainty of the deflection", deflection_uncertainty_in, inches)
    not_below_zero("an uncertainty of the distance between the anvils", span_uncertainty_in, inches)
    not_below_zero("an uncertainty of the stiffness", stiffness_uncertainty_lbf_per_in, lbf_per_in)

    def middle(span_in: float) -> tuple[Rise, float]:
        rise = gauge_rise(deflection_in, span_in, stiffness_lbf_per_in, tension_lbf, bending, beyond_in)
        return rise, (rise.least_raise_lbf + min(rise.most_raise_lbf, tension_lbf)) / 2

    rise, raise_lbf = middle(span_in)
    if not rise.least_raise_lbf < tension_lbf:
        raise Refusal(
            told(
                "the gauge alone would make {} on this cable, and {} were read: without it the cable hangs slack, or its length or the gauge's deflection is wrong",
                lbf(rise.least_raise_lbf),
                lbf(tension_lbf, "g"),
            )
        )
    rise = rise._replace(most_raise_lbf=min(rise.most_raise_lbf, tension_lbf))
    string_in = path_growth_in(span_in, span_in / 2, deflection_in)
    # of the way over straight flanks, by its deflection; what bending makes of it does not depend on that
    by_deflection = 2 * deflection_in / math.hypot(span_in / 2, deflection_in) / string_in
    _, wider_lbf = middle(span_in * (1 + _SPAN_STEP))
    way_in = raise_lbf / stiffness_lbf_per_in if stiffness_lbf_per_in > 0 else string_in
    return Clamped(
        raise_lbf,
        way_in,
        rise,
        {
            "deflection": raise_lbf * by_deflection * deflection_uncertainty_in,
            "anvils": abs(wider_lbf - raise_lbf) / (_SPAN_STEP * span_in) * span_uncertainty_in,
            "stiffness": way_in * stiffness_uncertainty_lbf_per_in,
            "bending": (rise.most_raise_lbf - rise.least_raise_lbf) / math.sqrt(12),
        },
    )


def _check(deflection_in: float, span_in: float) -> None:
    above_zero("a deflection", deflection_in, inches)
    above_zero("a distance between the anvils", span_in, inches)
    if deflection_in > STEEPEST_CLAMP * span_in / 2:
        raise Refusal(
            told(
                "a deflection of {} over {} between the anvils is no tensiometer's: check both",
                inches(deflection_in),
                inches(span_in),
            )
        )
