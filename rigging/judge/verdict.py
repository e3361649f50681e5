"""In, out, or re-measure: a reading with its uncertainty against limits (ILAC-G8:09/2019, guard band w = U)."""

from __future__ import annotations

import math
from enum import StrEnum
from typing import Literal

import msgspec

from rigging.measure.student_t import cdf, whole


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
    about, None inside. guard_lbf [lbf]: the guard band, U of reading and limits together.
    can_decide: whether any reading of this uncertainty could be accepted in this band.
    """

    word: Word
    side: Side | None
    plain: Literal["in", "out"]
    probability_in_limits: float
    guard_lbf: float
    can_decide: bool
    reason: str


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
    if not low_lbf < high_lbf or standard_uncertainty_lbf < 0:
        raise ValueError("low must lie below high, and an uncertainty cannot be negative")
    guard_lbf = coverage_factor * standard_uncertainty_lbf
    can_decide = low_lbf + guard_lbf <= high_lbf - guard_lbf
    plain: Literal["in", "out"] = "in" if low_lbf <= tension_lbf <= high_lbf else "out"
    probability = probability_in_limits(tension_lbf, low_lbf, high_lbf, standard_uncertainty_lbf, degrees_of_freedom)
    nearer: Side = "low" if tension_lbf < (low_lbf + high_lbf) / 2 else "high"
    limit_lbf = low_lbf if nearer == "low" else high_lbf
    if low_lbf + guard_lbf <= tension_lbf <= high_lbf - guard_lbf:
        word, side = Word.IN, None
        reason = f"{tension_lbf:.1f} lies inside {low_lbf:.1f}..{high_lbf:.1f} by more than its uncertainty {guard_lbf:.1f} lbf"
    elif tension_lbf < low_lbf - guard_lbf or tension_lbf > high_lbf + guard_lbf:
        word, side = Word.OUT, nearer
        way = "below" if nearer == "low" else "above"
        reason = f"{tension_lbf:.1f} lies {abs(tension_lbf - limit_lbf):.1f} lbf {way} {limit_lbf:.1f}, more than its uncertainty {guard_lbf:.1f}"
    else:
        word, side = Word.RE_MEASURE, nearer
        if can_decide:
            reason = (
                f"{tension_lbf:.1f} is nearer to {limit_lbf:.1f} than its uncertainty {guard_lbf:.1f} lbf: "
                f"in limits with {100 * probability:.0f} % probability"
            )
        else:
            reason = (
                f"this instrument cannot decide this band: its uncertainty {guard_lbf:.1f} lbf is more than half of "
                f"{low_lbf:.1f}..{high_lbf:.1f}; in limits with {100 * probability:.0f} % probability"
            )
    return Verdict(word, side, plain, probability, guard_lbf, can_decide, reason)


def probability_in_limits(
    tension_lbf: float,
    low_lbf: float,
    high_lbf: float,
    standard_uncertainty_lbf: float,
    degrees_of_freedom: float = math.inf,
) -> float:
    """Probability that the true tension lies in the limits, by Student's t around the reading."""
    if standard_uncertainty_lbf == 0:
        return 1.0 if low_lbf <= tension_lbf <= high_lbf else 0.0
    dof = whole(degrees_of_freedom)
    below_high = cdf((high_lbf - tension_lbf) / standard_uncertainty_lbf, dof)
    below_low = cdf((low_lbf - tension_lbf) / standard_uncertainty_lbf, dof)
    return min(1.0, max(0.0, below_high - below_low))  # far out the difference is all rounding
