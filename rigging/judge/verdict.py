"""In, out, or re-measure: a reading with its uncertainty against limits (ILAC-G8:09/2019, guard band w = U).

The rule is the same for pounds and degrees, and for a limit with no low edge; ``decide`` knows neither.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from enum import StrEnum
from typing import Literal, NamedTuple

import msgspec

from rigging.measure.student_t import cdf, whole
from rigging.units import force_unit, show_force


class Word(StrEnum):
    """The verdict's word, as scripts read it."""

    IN = "in"
    OUT = "out"
    RE_MEASURE = "re-measure"
    NOT_MEASURED = "not measured"


Side = Literal["low", "high"]


class Verdict(msgspec.Struct, frozen=True):
    """A verdict with what it rests on.

    plain: the comparison without uncertainty, that many data sheets assume. side: which limit it is
    about, None inside. guard [unit]: the guard band, U of reading and limits together. unit: lbf or deg.
    can_decide: whether any reading of this uncertainty could be accepted in this band.
    """

    word: Word
    side: Side | None
    plain: Literal["in", "out"]
    probability_in_limits: float
    guard: float
    unit: Literal["lbf", "deg"]
    can_decide: bool
    reason: str

    @property
    def guard_lbf(self) -> float:
        """The guard band of a force [lbf]. Raises ValueError for another quantity."""
        return self._guard("lbf")

    @property
    def guard_deg(self) -> float:
        """The guard band of an angle [deg]. Raises ValueError for another quantity."""
        return self._guard("deg")

    def _guard(self, unit: str) -> float:
        if self.unit != unit:
            raise ValueError(f"this verdict is in {self.unit}, not in {unit}")
        return self.guard


class Shown(NamedTuple):
    """How a reason writes a quantity.

    kept: the unit of the figures themselves. unit: the one written. figure: a figure without its unit.
    with_unit: whether the value at the head of the reason has its unit too.
    """

    kept: Literal["lbf", "deg"]
    unit: str
    figure: Callable[[float], str]
    with_unit: bool = False

    def value(self, value: float) -> str:
        """The value a reason begins with."""
        return f"{self.figure(value)} {self.unit}" if self.with_unit else self.figure(value)


def judge(
    tension_lbf: float,
    low_lbf: float,
    high_lbf: float,
    standard_uncertainty_lbf: float,
    degrees_of_freedom: float = math.inf,
    coverage_factor: float = 1.96,
    si: bool = False,
) -> Verdict:
    """Verdict on a tension [lbf] against limits [lbf].

    in: low + U <= T <= high - U. out: T < low - U or T > high + U. Else re-measure.
    standard_uncertainty_lbf [lbf, k=1]: of the difference between reading and limit. si: the reason in N.
    Raises ValueError unless low < high and the uncertainty is not negative.

    >>> judge(35.0, 30.0, 40.0, 1.0).word.value
    'in'
    >>> judge(31.0, 30.0, 40.0, 1.0).word.value
    're-measure'
    """
    guard_lbf = coverage_factor * standard_uncertainty_lbf
    return decide(
        tension_lbf, low_lbf, high_lbf, guard_lbf, standard_uncertainty_lbf, force_shown(si), degrees_of_freedom
    )


def force_shown(si: bool = False) -> Shown:
    """Forces in a reason: tenths of a pound, or whole newtons."""
    return Shown("lbf", force_unit(si), lambda force_lbf: show_force(force_lbf, si, unit=False))


def decide(
    value: float,
    low: float,
    high: float,
    guard: float,
    standard_uncertainty: float,
    shown: Shown,
    degrees_of_freedom: float = math.inf,
    least: float = -math.inf,
) -> Verdict:
    """Verdict on any quantity; value, limits, guard band (U) and standard uncertainty (k=1) in one unit, ``shown.kept``.

    low: -inf where there is only a high limit. least: the smallest value there is (a friction is never below zero).
    Raises ValueError unless low < high and the uncertainty is not negative.
    """
    if not low < high or standard_uncertainty < 0:
        raise ValueError("low must lie below high, and an uncertainty cannot be negative")
    can_decide = max(low + guard, least) <= high - guard
    plain: Literal["in", "out"] = "in" if low <= value <= high else "out"
    probability = probability_in_limits(value, low, high, standard_uncertainty, degrees_of_freedom)
    one_sided = math.isinf(low)
    nearer: Side = "low" if not one_sided and value < (low + high) / 2 else "high"
    limit = low if nearer == "low" else high
    seen, low_text, high_text = shown.value(value), shown.figure(low), shown.figure(high)
    limit_text, guard_text = shown.figure(limit), shown.figure(guard)
    odds = f"in limits with {100 * probability:.0f} % probability"
    if low + guard <= value <= high - guard:
        word, side = Word.IN, None
        where = f"below {high_text}" if one_sided else f"inside {low_text}..{high_text}"
        reason = f"{seen} lies {where} by more than its uncertainty {guard_text} {shown.unit}"
    elif value < low - guard or value > high + guard:
        word, side = Word.OUT, nearer
        way = "below" if nearer == "low" else "above"
        apart = f"{shown.figure(abs(value - limit))} {shown.unit}"
        reason = f"{seen} lies {apart} {way} {limit_text}, more than its uncertainty {guard_text}"
    else:
        word, side = Word.RE_MEASURE, nearer
        reason = f"{seen} is nearer to {limit_text} than its uncertainty {guard_text} {shown.unit}: {odds}"
        if not can_decide:
            band = f"{high_text} itself" if one_sided else f"half of {low_text}..{high_text}"
            reason = (
                f"this instrument cannot decide this {'limit' if one_sided else 'band'}: its uncertainty {guard_text} "
                f"{shown.unit} is more than {band}; {odds}"
            )
    return Verdict(word, side, plain, probability, guard, shown.kept, can_decide, reason)


def probability_in_limits(
    value: float,
    low: float,
    high: float,
    standard_uncertainty: float,
    degrees_of_freedom: float = math.inf,
) -> float:
    """Probability that the true value lies in the limits, by Student's t around the reading; all in one unit."""
    if standard_uncertainty == 0:
        return 1.0 if low <= value <= high else 0.0
    dof = whole(degrees_of_freedom)
    below_high = cdf((high - value) / standard_uncertainty, dof)
    below_low = 0.0 if math.isinf(low) else cdf((low - value) / standard_uncertainty, dof)
    return min(1.0, max(0.0, below_high - below_low))  # far out the difference is all rounding
