"""A plucked span: the frequencies at which it swings make its tension.

    f_n = n / (2 L) sqrt(T / m) h_n(xi, ends),     xi = L sqrt(T / EI)

h is 1 for a string. With bending stiffness and pinned ends ``h^2 = 1 + n^2 pi^2 / xi^2``, so that

    (f_n / n)^2 = a + b n^2,     T = 4 m L^2 a,     EI = 4 m L^4 b / pi^2

Clamped ends raise every mode; to first order ``h = 1 + 2/xi + (4 + n^2 pi^2 / 2) / xi^2``. Here the equation of the
tensioned beam is solved itself, since a short span of a stiff cable lies where the first order is off.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, Literal, NamedTuple

from rigging.errors import Refusal
from rigging.physics.bounds import above_zero, not_below_zero
from rigging.told import inches, lb_per_100ft, lbf, lbf_per_in

PluckEnds = Literal["pinned", "one clamped", "clamped"]
PLUCK_ENDS: Final[tuple[PluckEnds, ...]] = ("pinned", "one clamped", "clamped")
GRAVITY_IN_PER_S2: Final = 9.80665 / 0.0254
_STEPS: Final = 60
_XI_STEP: Final = 1e-3  # of ln xi, for a difference: good to a millionth, and far above rounding


class Mode(NamedTuple):
    """A frequency of the span: its number from 1, the frequency [Hz] > 0, its standard uncertainty [Hz, k=1] > 0."""

    number: int
    frequency_Hz: float
    standard_uncertainty_Hz: float


def mass_lbf_s2_per_in2(weight_lb_per_100ft: float) -> float:
    """Mass of an inch of cable in the unit that goes with lbf, in and s, from its weight in lb per 100 ft.

    Raises Refusal for a weight that is not above zero.

    >>> f"{mass_lbf_s2_per_in2(2.9):.3e}"
    '6.259e-06'
    """
    above_zero("a weight", weight_lb_per_100ft, lb_per_100ft)
    return weight_lb_per_100ft / 1200 / GRAVITY_IN_PER_S2


def stiff_factor(mode: int, xi: float, ends: PluckEnds) -> float:
    """h: frequency of a mode over that of a string with the same tension, mass and length.

    With ``p, q`` the roots of the tensioned beam, ``q^2 - p^2 = xi^2`` and ``h = p q / (n pi xi)``: pinned ``p = n pi``;
    clamped ``p = n pi + 2 t`` with ``tan t = (p/q) tanh(q/2)`` for even modes and ``(p/q) / tanh(q/2)`` for odd ones;
    one end clamped is half of a clamped span twice as long.

    mode: n >= 1. xi: ``L sqrt(T/EI)`` > 0, infinite for a string. Returns h >= 1.
    Raises Refusal for a mode below 1 or xi not above zero. Validity: Euler-Bernoulli beam, both ends at rest.

    >>> round(stiff_factor(1, 100.0, "clamped"), 4)
    1.0209

    Reference: first order ``1 + 2/xi + (4 + n^2 pi^2/2)/xi^2`` (Morse, Vibration and Sound, 2nd ed.; from memory); the
    tests hold this to eigenvalues found by another method.
    """
    if not 1 <= mode < math.inf or not xi > 0:
        raise Refusal(f"mode {mode} with xi {xi:g}: modes count from 1 and xi lies above zero")
    if math.isinf(xi):
        return 1.0
    if ends == "one clamped":
        # twice as long: twice the mode, twice xi; h keeps its meaning
        return _clamped(2 * mode, 2 * xi)
    if ends == "clamped":
        return _clamped(mode, xi)
    return math.sqrt(1 + (mode * math.pi / xi) ** 2)


def tension_share(mode: int, xi: float, ends: PluckEnds) -> float:
    """How much of a change of tension a mode feels: ``d ln f / d ln sqrt(T)``, 1 for a string and none for a loose beam.

    ``1 + d ln h / d ln xi``, for pinned ends ``1 / h^2``. Parameters and refusals as ``stiff_factor``.

    >>> round(tension_share(3, 10.0, "pinned"), 4) == round(1 / stiff_factor(3, 10.0, "pinned") ** 2, 4)
    True
    """
    if xi == math.inf and 1 <= mode < math.inf:
        return 1.0
    above, below = (math.log(stiff_factor(mode, xi * math.exp(s), ends)) for s in (_XI_STEP, -_XI_STEP))
    return 1.0 + (above - below) / (2 * _XI_STEP)


def _clamped(mode: int, xi: float) -> float:
    p = mode * math.pi
    for _ in range(_STEPS):
        before = p
        q = math.hypot(p, xi)
        hold = math.tanh(q / 2)
        p = mode * math.pi + 2 * math.atan(p / q * (hold if mode % 2 == 0 else 1 / hold))
        if abs(p - before) < 1e-13 * p:
            break
    return p * math.hypot(p, xi) / (mode * math.pi * xi)


def mode_frequency_Hz(
    mode: int, tension_lbf: float, span_in: float, mass: float, bending_lbf_in2: float = 0.0, ends: PluckEnds = "pinned"
) -> float:
    """Frequency of a mode [Hz]: ``n / (2 L) sqrt(T/m) h``.

    mass: of an inch [lbf s2/in2] > 0. tension_lbf [lbf], span_in [in] > 0. bending_lbf_in2: EI [lbf in2] >= 0.
    Raises Refusal outside, and as ``stiff_factor``.

    >>> round(mode_frequency_Hz(1, 35.0, 72.0, mass_lbf_s2_per_in2(2.9)), 2)
    16.42
    """
    above_zero("a tension", tension_lbf, lbf)
    _check_span(span_in, mass)
    not_below_zero("a bending stiffness [lbf in2]", bending_lbf_in2)
    xi = math.inf if bending_lbf_in2 == 0 else span_in * math.sqrt(tension_lbf / bending_lbf_in2)
    return mode / (2 * span_in) * math.sqrt(tension_lbf / mass) * stiff_factor(mode, xi, ends)


def string_tension_lbf(mode: int, frequency_Hz: float, span_in: float, mass: float) -> float:
    """Tension [lbf] from one mode where bending counts for nothing: ``4 m L^2 (f/n)^2``. Raises Refusal as ``fitted_tension``.

    Reference: a string of 1.25e-4 kg and 0.33 m that sounds 640 Hz carries 68 N (university string exercise).
    """
    _check_span(span_in, mass)
    above_zero("a frequency [Hz]", frequency_Hz)
    if not 1 <= mode < math.inf:
        raise Refusal(f"mode {mode}: modes count from 1")
    return 4 * mass * span_in**2 * (frequency_Hz / mode) ** 2


class Line(NamedTuple):
    """The straight line through the modes as if the ends were pinned: tension [lbf] and EI [lbf in2]."""

    tension_lbf: float
    bending_lbf_in2: float


def pinned_line(modes: Sequence[Mode], span_in: float, mass: float) -> Line:
    """Tension and EI from ``(f_n/n)^2 = a + b n^2`` by weighted least squares; exact for a beam with pinned ends.

    modes: two or more different ones. EI comes out below zero where scatter outweighs it. Raises Refusal for fewer, and
    as ``fitted_tension``.
    """
    _check_span(span_in, mass)
    _check_modes(modes)
    if len({mode.number for mode in modes}) < 2:
        raise Refusal("the straight line through the modes needs two different ones")
    xs = [float(m.number**2) for m in modes]
    ys = [(m.frequency_Hz / m.number) ** 2 for m in modes]
    ws = [(m.number**2 / (2 * m.frequency_Hz * m.standard_uncertainty_Hz)) ** 2 for m in modes]
    total = math.fsum(ws)
    x = math.fsum(w * x for w, x in zip(ws, xs, strict=True)) / total
    y = math.fsum(w * y for w, y in zip(ws, ys, strict=True)) / total
    slope = math.fsum(w * (xi - x) * (yi - y) for w, xi, yi in zip(ws, xs, ys, strict=True)) / math.fsum(
        w * (xi - x) ** 2 for w, xi in zip(ws, xs, strict=True)
    )
    return Line(4 * mass * span_in**2 * (y - slope * x), 4 * mass * span_in**4 * slope / math.pi**2)


class Fitted(NamedTuple):
    """The tension that one bending stiffness and one kind of ends make of the modes.

    tension_lbf [lbf]. standard_uncertainty_lbf [lbf, k=1]: from the frequencies alone, where bending rules far more than
    that of a string, since such modes hardly feel the tension. chi_square: of what is left over.
    """

    tension_lbf: float
    standard_uncertainty_lbf: float
    chi_square: float


def fitted_tension(
    modes: Sequence[Mode], span_in: float, mass: float, bending_lbf_in2: float, ends: PluckEnds
) -> Fitted:
    """The tension at which the modes lie nearest to those of a beam with a given EI [lbf in2] and given ends.

    modes: one or more, weighted by their uncertainty. span_in [in] > 0. mass: of an inch [lbf s2/in2].
    Tension comes out as the square of a straight-line fit, repeated with the new xi until it stands.
    Raises Refusal without a mode, and for a mode, frequency, uncertainty, span, mass or EI that is none.
    """
    _check_span(span_in, mass)
    not_below_zero("a bending stiffness [lbf in2]", bending_lbf_in2)
    _check_modes(modes)
    if not modes:
        raise Refusal("a tension needs at least one mode")
    tension_lbf = min(string_tension_lbf(m.number, m.frequency_Hz, span_in, mass) for m in modes)
    root, below, xi = math.sqrt(tension_lbf), 1.0, math.inf
    per_root: list[float] = []

    def again(root: float) -> float:
        """The root of the tension once more, with the xi of the last one."""
        nonlocal per_root, below, xi
        # rounding down to nothing would stop the search; a slack span is told by its tension
        xi = max(span_in * root / math.sqrt(bending_lbf_in2), 1e-3) if bending_lbf_in2 > 0 else math.inf
        per_root = [m.number / (2 * span_in * math.sqrt(mass)) * stiff_factor(m.number, xi, ends) for m in modes]
        below = math.fsum((c / m.standard_uncertainty_Hz) ** 2 for c, m in zip(per_root, modes, strict=True))
        above = math.fsum(
            c * m.frequency_Hz / m.standard_uncertainty_Hz**2 for c, m in zip(per_root, modes, strict=True)
        )
        return above / below

    for _ in range(_STEPS):
        first = again(root)
        second = again(first)
        # where bending rules each step gains little; Aitken's rule goes on to where they lead
        bend = second - 2 * first + root
        far = root - (first - root) ** 2 / bend if abs(bend) > 1e-14 * root else second
        done = abs(second - first) < 1e-12 * second
        root = far if 0 < far < 2 * max(root, second) and not done else second
        if done:
            break
    left = math.fsum(
        ((m.frequency_Hz - c * root) / m.standard_uncertainty_Hz) ** 2 for c, m in zip(per_root, modes, strict=True)
    )
    # the fit stands where sum c (f - c root) / u^2 = 0, and f goes with the root by c times the share that it feels
    felt = math.fsum(
        (c / m.standard_uncertainty_Hz) ** 2 * tension_share(m.number, xi, ends)
        for c, m in zip(per_root, modes, strict=True)
    )
    return Fitted(root**2, 2 * root * math.sqrt(below) / felt, left)


def sag_share(tension_lbf: float, span_in: float, weight_lbf_per_in: float, stiffness_lbf_per_in: float) -> float:
    """By how much sag makes the first mode look tighter [1], where the cable swings up and down: ``8 lambda^2 / pi^4``.

    ``lambda^2 = (w L / T)^2 K L / T``; K: tension per inch of path [lbf/in], EA / L where both ends are fixed.
    weight_lbf_per_in [lbf/in]. Swinging sideways sag counts for nothing, as it does for even modes.
    Raises Refusal for a tension or span that is not above zero, a weight or stiffness below. Validity: lambda^2 below about 1.

    >>> round(sag_share(35.0, 72.0, 2.9 / 1200, 104123 / 72), 4)
    0.006

    Reference: Irvine, Cable Structures (1981), first order of the symmetric in-plane modes; from memory.
    """
    above_zero("a tension", tension_lbf, lbf)
    above_zero("a span", span_in, inches)
    not_below_zero("a weight [lbf/in]", weight_lbf_per_in)
    not_below_zero("a stiffness", stiffness_lbf_per_in, lbf_per_in)
    squared = (weight_lbf_per_in * span_in / tension_lbf) ** 2 * stiffness_lbf_per_in * span_in / tension_lbf
    return 8 * squared / math.pi**4


def _check_span(span_in: float, mass: float) -> None:
    above_zero("a span", span_in, inches)
    above_zero("a mass of an inch [lbf s2/in2]", mass)


def _check_modes(modes: Sequence[Mode]) -> None:
    for mode in modes:
        if not 1 <= mode.number < math.inf:
            raise Refusal(f"mode {mode.number}: modes count from 1")
        above_zero("a frequency [Hz]", mode.frequency_Hz)
        above_zero("an uncertainty of a frequency [Hz]", mode.standard_uncertainty_Hz)
