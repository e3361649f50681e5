"""In, out, or re-measure: a reading with its uncertainty against limits (ILAC-G8:09/2019, guard band w = U).

The rule is the same for pounds and degrees, and for a limit with no low edge; ``decide`` knows neither.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from enum import StrEnum
from typing import Final, Literal, NamedTuple

import msgspec

from rigging.measure.student_t import cdf, whole
from rigging.told import Amount, force, told


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


class Written(NamedTuple):
    """How a reason writes a quantity, in US units and SI.

    unit: of the figures. figure: one without its unit. amount: one with it. first: the value at the head of the reason.
    """

    unit: Literal["lbf", "deg"]
    figure: Callable[[float], object]
    amount: Callable[[float], object]
    first: Callable[[float], object]


def _bare(force_lbf: float) -> Amount:
    return force(force_lbf, unit=False)


FORCE: Final = Written("lbf", _bare, force, _bare)


def judge(
    tension_lbf: float,
    low_lbf: float,
    high_lbf: float,
    standard_uncertainty_lbf: float,
    degrees_of_freedom: float = math.inf,
    coverage_factor: float = 1.96,
) -> Verdict:
    """Verdict on a tension [lbf] against limits [lbf].

    in: low + U <= T <= high - U. out: T < low - U or T > high + U. Else re-measure.
    standard_uncertainty_lbf [lbf, k=1]: of the difference between reading and limit.
    Raises ValueError unless low < high and the uncertainty is not negative.

    >>> judge(35.0, 30.0, 40.0, 1.0).word.value
    'in'
    >>> judge(31.0, 30.0, 40.0, 1.0).word.value
    're-measure'
    """
    guard_lbf = coverage_factor * standard_uncertainty_lbf
    return decide(tension_lbf, low_lbf, high_lbf, guard_lbf, standard_uncertainty_lbf, FORCE, degrees_of_freedom)


def decide(
    value: float,
    low: float,
    high: float,
    guard: float,
    standard_uncertainty: float,
    written: Written,
    degrees_of_freedom: float = math.inf,
    least: float = -math.inf,
) -> Verdict:
    """Verdict on any quantity; value, limits, guard band (U) and standard uncertainty (k=1) in one unit, ``written.unit``.

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
    figure, amount = written.figure, written.amount
    seen, odds = written.first(value), f"in limits with {100 * probability:.0f} % probability"
    if low + guard <= value <= high - guard:
        word, side = Word.IN, None
        where = told("below {}", figure(high)) if one_sided else told("inside {}..{}", figure(low), figure(high))
        reason = told("{} lies {} by more than its uncertainty {}", seen, where, amount(guard))
    elif value < low - guard or value > high + guard:
        word, side = Word.OUT, nearer
        way = "below" if nearer == "low" else "above"
        apart = told("{} lies {} {} {}", seen, amount(abs(value - limit)), way, figure(limit))
        reason = told("{}, more than its uncertainty {}", apart, figure(guard))
    else:
        word, side = Word.RE_MEASURE, nearer
        reason = told("{} is nearer to {} than its uncertainty {}: {}", seen, figure(limit), amount(guard), odds)
        if not can_decide:
            what = "limit" if one_sided else "band"
            half = told("half of {}..{}", figure(low), figure(high))
            most = told("{} itself", figure(high)) if one_sided else half
            reason = told(
                "this instrument cannot decide this {}: its uncertainty {} is more than {}; {}",
                what,
                amount(guard),
                most,
                odds,
            )
    return Verdict(word, side, plain, probability, guard, written.unit, can_decide, reason)


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
