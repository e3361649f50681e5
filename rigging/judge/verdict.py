"""In, out, or re-measure: a reading with its uncertainty against limits (ILAC-G8:09/2019, guard band w = U)."""

from __future__ import annotations

import math
from enum import StrEnum
from typing import Literal

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
    if not low_lbf < high_lbf or standard_uncertainty_lbf < 0:
        raise ValueError("low must lie below high, and an uncertainty cannot be negative")
    guard_lbf = coverage_factor * standard_uncertainty_lbf
    can_decide = low_lbf + guard_lbf <= high_lbf - guard_lbf
    plain: Literal["in", "out"] = "in" if low_lbf <= tension_lbf <= high_lbf else "out"
    probability = probability_in_limits(tension_lbf, low_lbf, high_lbf, standard_uncertainty_lbf, degrees_of_freedom)
    nearer: Side = "low" if tension_lbf < (low_lbf + high_lbf) / 2 else "high"
    limit_lbf = low_lbf if nearer == "low" else high_lbf
    tension, low, high, limit, guard = (
        show_force(x, si, unit=False) for x in (tension_lbf, low_lbf, high_lbf, limit_lbf, guard_lbf)
    )
    unit, odds = force_unit(si), f"in limits with {100 * probability:.0f} % probability"
    if low_lbf + guard_lbf <= tension_lbf <= high_lbf - guard_lbf:
        word, side = Word.IN, None
        reason = f"{tension} lies inside {low}..{high} by more than its uncertainty {guard} {unit}"
    elif tension_lbf < low_lbf - guard_lbf or tension_lbf > high_lbf + guard_lbf:
        word, side = Word.OUT, nearer
        way = "below" if nearer == "low" else "above"
        apart = show_force(abs(tension_lbf - limit_lbf), si)
        reason = f"{tension} lies {apart} {way} {limit}, more than its uncertainty {guard}"
    else:
        word, side = Word.RE_MEASURE, nearer
        reason = f"{tension} is nearer to {limit} than its uncertainty {guard} {unit}: {odds}"
        if not can_decide:
            reason = (
                f"this instrument cannot decide this band: its uncertainty {guard} {unit} is more than half of "
                f"{low}..{high}; {odds}"
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
