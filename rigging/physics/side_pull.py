"""Side pull: a force across a free span and how far the cable gives way make its tension.

    F = (T + dT) (sin a + sin b)            at mid span  F = 2 (T + dT) sin a
    dT = K (path with the pull - span)      K: lbf of tension per inch of path, from the whole circuit

The path is that over straight flanks, times what bending makes of it (``bending.longer_way``). The cable's bending stiffness carries a part of the pull. For a tensioned beam under a central force

    d = F L / (4 T) (1 - tanh(k) / k),      k = (L / 2) sqrt(T / EI)      pinned ends

and with k / 2 in place of k for clamped ends; away from the middle the same beam is solved in closed form.
"""

from __future__ import annotations

import math
from typing import Final, Literal

from rigging.errors import Refusal
from rigging.physics.bending import longer_way
from rigging.physics.bounds import above_zero, finite, not_below_zero
from rigging.told import Amount, inches, lbf, lbf_per_in, told

Ends = Literal["pinned", "clamped"]
ENDS: Final[tuple[Ends, ...]] = ("pinned", "clamped")

# Beyond this slope small-deflection bending and the place of the hook leave errors of a per cent.
STEEPEST: Final = 0.15
_STEPS: Final = 60
_SLOPE_STEP: Final = 1e-6
_LOOSEST: Final = 0.2  # of L sqrt(T/EI)
# of the slope squared: in the force on a string, and how much more on a beam alone
_LEFT_OUT: Final = (0.15, 1.9)


def _lbf(force_lbf: float) -> Amount:
    """A pull is a pound or two: tenths are too coarse."""
    return lbf(force_lbf, "g")


def _sinh_ratio(above: float, below: float) -> float:
    """sinh(above) / sinh(below) for 0 <= above <= below, without overflow."""
    if below < 1e-6:
        return above / below
    return math.exp(above - below) * math.expm1(-2 * above) / math.expm1(-2 * below)


def string_share(tension_lbf: float, span_in: float, at_in: float, bending_lbf_in2: float, ends: Ends) -> float:
    """Deflection under a force over that of a cable without bending stiffness: 1 for a string, less for a beam.

    ``1 - tanh(k) / k`` pinned and ``1 - tanh(k/2) / (k/2)`` clamped at mid span, ``k = (L/2) sqrt(T/EI)``.

    tension_lbf [lbf] >= 0. span_in [in]. at_in: place of the force from one end [in], inside the span. bending_lbf_in2: EI
    [lbf in2] >= 0. Returns the share [1], 0 for a beam without tension. Raises Refusal outside.
    Validity: small slopes, shear of the cable left out.

    >>> round(string_share(35.0, 60.0, 30.0, 348.0, "pinned"), 3)
    0.895

    Reference: statics of the tensioned Euler-Bernoulli beam (T w'' - EI w'''' = -q), exact for that model.
    """
    # one look at all of them: this is asked for thousands of times
    if not (0 <= tension_lbf < math.inf and 0 < at_in < span_in < math.inf and 0 <= bending_lbf_in2 < math.inf):
        not_below_zero("a tension", tension_lbf, lbf)
        _check_place(span_in, at_in)
        not_below_zero("a bending stiffness [lbf in2]", bending_lbf_in2)
    if ends not in ENDS:
        raise Refusal(f"the ends of a span are pinned or clamped, not {ends}")
    if bending_lbf_in2 == 0:
        return 1.0
    if tension_lbf == 0:
        return 0.0
    q = math.sqrt(tension_lbf / bending_lbf_in2)
    whole, left, right = q * span_in, q * at_in, q * (span_in - at_in)
    # everything in units of the length 1/q; string deflection left * right / whole
    string = left * right / whole
    if whole < 1e-2:
        # below, differences of hyperbolic functions lose their digits; the plain beam is exact enough there
        beam = (left * right) ** 2 / (3 * whole)
        return (beam if ends == "pinned" else beam * left * right / whole**2) / string
    near, far = _sinh_ratio(left, whole), _sinh_ratio(right, whole)
    # sinh(left) sinh(right) / sinh(whole), without overflow
    pinned = string - math.expm1(-2 * left) * math.expm1(-2 * right) / (-2 * math.expm1(-2 * whole))
    if ends == "pinned":
        return pinned / string
    # moments at the ends that keep them from turning, by superposition
    turn_near, turn_far = right / whole - far, left / whole - near
    own = 1 / math.tanh(whole) - 1 / whole
    other = 1 / whole - 1 / math.sinh(whole) if whole < 700 else 1 / whole
    below = own * own - other * other
    moment_near = (turn_near * own - turn_far * other) / below
    moment_far = (turn_far * own - turn_near * other) / below
    return (pinned - moment_near * turn_near - moment_far * turn_far) / string


def path_growth_in(span_in: float, at_in: float, deflection_in: float) -> float:
    """How much longer the way over the deflected point is [in]; ``2 d^2 / L`` at mid span for small d.

    All in [in]; at_in inside the span. Raises Refusal outside, and for what is no number.

    >>> round(path_growth_in(60.0, 30.0, 0.6), 4)
    0.012
    """
    _check_place(span_in, at_in)
    finite("a deflection", deflection_in, inches)
    d, a, b = deflection_in, at_in, span_in - at_in
    # not hypot(a, d) - a, which loses its digits
    return d * d / (math.hypot(a, d) + a) + d * d / (math.hypot(b, d) + b)


def _slopes(deflection_in: float, span_in: float, at_in: float, bending_lbf_in2: float, ends: Ends) -> float:
    """What both flanks take of the tension at the supports: sines, since a pinned cable leaves its support along its
    flank; tangents for a stiff one between clamps, where it leaves along the span."""
    d, a, b = deflection_in, at_in, span_in - at_in
    return d / a + d / b if ends == "clamped" and bending_lbf_in2 > 0 else d / math.hypot(a, d) + d / math.hypot(b, d)


def pulled_way_in(
    deflection_in: float, span_in: float, at_in: float, tension_lbf: float, bending_lbf_in2: float = 0.0,
    ends: Ends = "pinned",
) -> float:  # fmt: skip
    """How much longer the way of a pulled cable is [in]: over straight flanks, times what bending makes of it.

    tension_lbf [lbf] >= 0: while the pull acts. Others and Refusal as ``pulled_tension_lbf``.
    A beam alone, pulled at the middle between pins, takes 6/5 of the way over straight flanks.

    >>> round(pulled_way_in(0.6, 60.0, 30.0, 1.0, 1e5) / pulled_way_in(0.6, 60.0, 30.0, 1.0), 2)
    1.2
    """
    check_pull(1.0, deflection_in, span_in, at_in)
    not_below_zero("a tension", tension_lbf, lbf)
    not_below_zero("a bending stiffness [lbf in2]", bending_lbf_in2)
    if bending_lbf_in2 == 0:
        return path_growth_in(span_in, at_in, deflection_in)

    def share_at(tension_lbf: float) -> float:
        return string_share(tension_lbf, span_in, at_in, bending_lbf_in2, ends)

    # a looser span is the beam alone within a thousandth, and the difference of two like figures loses its digits there
    least_lbf = bending_lbf_in2 * (_LOOSEST / span_in) ** 2
    return path_growth_in(span_in, at_in, deflection_in) * longer_way(share_at, max(tension_lbf, least_lbf))


def _check_place(span_in: float, at_in: float) -> None:
    above_zero("a span", span_in, inches)
    if not 0 < at_in < span_in:
        raise Refusal(told("a place {} from one end of a span of {}: it lies outside", inches(at_in), inches(span_in)))


def check_pull(force_lbf: float, deflection_in: float, span_in: float, at_in: float) -> None:
    """Raises Refusal for a pull that no figure can be made of."""
    above_zero("a pull", force_lbf, _lbf)
    above_zero("a deflection", deflection_in, inches)
    above_zero("a span", span_in, inches)
    if not 0.2 * span_in <= at_in <= 0.8 * span_in:
        raise Refusal(
            told(
                "pulled {} from one end of a span of {}: pull in its middle three fifths, best at the middle",
                inches(at_in),
                inches(span_in),
            )
        )
    steepest = deflection_in / min(at_in, span_in - at_in)
    if steepest > STEEPEST:
        raise Refusal(
            told(
                "a deflection of {} on a span of {} is too steep ({}, at most {}): pull less, or check the span's unit",
                inches(deflection_in),
                inches(span_in),
                f"{steepest:.2f}",
                STEEPEST,
            )
        )


def left_out_share(deflection_in: float, span_in: float, at_in: float, share: float) -> float:
    """How far the force on a cable may lie from these sums because slopes are not small [1], either way.

    ``slope^2 (0.15 + 1.9 (1 - share))``, the slope of the steeper flank; share: of a string, 0 to 1 (``string_share``).

    >>> round(left_out_share(0.6, 60.0, 30.0, 0.9), 5)
    0.00014

    Reference: bound around 400 elasticas, slopes to 0.15, shares of 0.05 and more, all places (tests/independent).
    """
    check_pull(1.0, deflection_in, span_in, at_in)
    if not 0 <= share <= 1:
        raise Refusal(f"a share of {share:g} of a string's deflection lies outside 0 to 1")
    slope = deflection_in / min(at_in, span_in - at_in)
    string, beam = _LEFT_OUT
    return slope**2 * (string + beam * (1 - share))


def pulled_tension_lbf(
    force_lbf: float, deflection_in: float, span_in: float, at_in: float, bending_lbf_in2: float = 0.0, ends: Ends = "pinned"
) -> float:  # fmt: skip
    """Tension while the pull acts [lbf], the rise by the cable's own stretch still in it; 0 where bending carries it all.

    ``T + dT = F share(T) / (sin a + sin b)``, at mid span of a string ``F L / (4 d)`` for small d; with clamped ends and
    bending stiffness tan for sin.

    force_lbf [lbf] and deflection_in [in] > 0. span_in [in]. at_in: place of the pull [in]. bending_lbf_in2 [lbf in2].
    Raises Refusal outside 0.2 to 0.8 of the span or beyond a slope of 0.15.

    >>> round(pulled_tension_lbf(1.4, 0.6, 60.0, 30.0), 1)
    35.0

    Reference: statics; 70 kg hung in a span of 460 m that dips by 1.5 m makes 5.26e4 N.
    """
    check_pull(force_lbf, deflection_in, span_in, at_in)
    slopes = _slopes(deflection_in, span_in, at_in, bending_lbf_in2, ends)
    string_lbf = tension_lbf = force_lbf / slopes

    def short_lbf(tension_lbf: float) -> float:
        return string_lbf * string_share(tension_lbf, span_in, at_in, bending_lbf_in2, ends) - tension_lbf

    # concave, and below zero at the string's tension: Newton comes down onto the one root and never passes it
    for _ in range(_STEPS):
        short = short_lbf(tension_lbf)
        step = _SLOPE_STEP * tension_lbf
        slope = (short - short_lbf(tension_lbf - step)) / step
        change_lbf = short / slope if slope < 0 else 0.5 * tension_lbf
        tension_lbf -= min(change_lbf, 0.9 * tension_lbf)
        if tension_lbf < 1e-6 * string_lbf:
            return 0.0
        if abs(change_lbf) <= 1e-12 * tension_lbf:
            break
    return tension_lbf


def pull_force_lbf(
    tension_lbf: float, deflection_in: float, span_in: float, at_in: float, stiffness_lbf_per_in: float,
    bending_lbf_in2: float = 0.0, ends: Ends = "pinned",
) -> float:  # fmt: skip
    """The pull [lbf] that a tension [lbf] at rest answers to a deflection [in] with: the sum the other way round.

    tension_lbf [lbf] >= 0. stiffness_lbf_per_in: K, tension per inch of path [lbf/in] >= 0. Raises Refusal as
    ``pulled_tension_lbf``, and for a cable that is not pulled tight by either.

    >>> round(pull_force_lbf(35.0, 0.6, 60.0, 30.0, 0.0), 3)
    1.4
    """
    check_pull(1.0, deflection_in, span_in, at_in)
    not_below_zero("a tension", tension_lbf, lbf)
    not_below_zero("a stiffness", stiffness_lbf_per_in, lbf_per_in)
    if tension_lbf == 0 == stiffness_lbf_per_in:
        raise Refusal("a cable without tension on a circuit that gives freely: it hangs slack and answers no pull")
    pulled_lbf = tension_lbf + stiffness_lbf_per_in * path_growth_in(span_in, at_in, deflection_in)
    # the way hangs weakly on the tension that it makes, and less the tighter the cable is
    for _ in range(_STEPS):
        before_lbf = pulled_lbf
        way_in = pulled_way_in(deflection_in, span_in, at_in, pulled_lbf, bending_lbf_in2, ends)
        pulled_lbf = tension_lbf + stiffness_lbf_per_in * way_in
        if abs(pulled_lbf - before_lbf) <= 1e-12 * pulled_lbf:
            break
    slopes = _slopes(deflection_in, span_in, at_in, bending_lbf_in2, ends)
    return pulled_lbf * slopes / string_share(pulled_lbf, span_in, at_in, bending_lbf_in2, ends)
