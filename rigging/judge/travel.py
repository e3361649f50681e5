"""Travel, neutral and friction against the sheet: the same guard band as for tension."""

from __future__ import annotations

import math
from typing import Final

import msgspec

from rigging.errors import Refusal
from rigging.judge.verdict import FORCE, Verdict, Written, decide
from rigging.told import force, lbf, told
from rigging.units import show_angle

# What is taken where nobody says how good the instrument is (practice); an uncertainty of nothing is never taken.
PROTRACTOR_U_DEG: Final = 0.5  # half a degree, as protractors on surfaces are read
SPRING_SCALE_U_LBF: Final = 0.5  # two pulls read on a pound scale by a moving hand

COVERAGE: Final = 1.96  # U is stated at 95 %

_ANGLE: Final = Written("deg", lambda angle_deg: show_angle(angle_deg, unit=False), show_angle, show_angle)


def judge_angle(value_deg: float, low_deg: float, high_deg: float, uncertainty_deg: float | None = None) -> Verdict:
    """Verdict on a travel or a neutral [deg] against limits [deg].

    in: low + U <= value <= high - U. out: value < low - U or value > high + U. Else re-measure.
    uncertainty_deg [deg]: U at 95 %; None takes PROTRACTOR_U_DEG, and the reason says so. Raises Refusal: a value that
    is no number, an uncertainty that is not above zero. Raises ValueError unless low < high.

    >>> judge_angle(20.0, 18.0, 22.0, 0.5).reason
    '20 deg lies inside 18..22 by more than its uncertainty 0.5 deg'
    """
    if not math.isfinite(value_deg):
        raise Refusal("an angle is needed that was measured")
    guard_deg = _uncertainty(uncertainty_deg, PROTRACTOR_U_DEG)
    verdict = decide(value_deg, low_deg, high_deg, guard_deg, guard_deg / COVERAGE, _ANGLE)
    if uncertainty_deg is None:
        return _assumed(verdict, show_angle(guard_deg), "a protractor")
    return verdict


def judge_friction(friction_lbf: float, limit_lbf: float, uncertainty_lbf: float | None = None) -> Verdict:
    """Verdict on the friction of a circuit [lbf] against the most it may have [lbf].

    in: friction <= limit - U. out: friction > limit + U. Else re-measure.
    uncertainty_lbf [lbf]: U at 95 % of the friction; None takes SPRING_SCALE_U_LBF, and the reason says so.
    Raises Refusal: friction below zero, a limit or an uncertainty that is not above zero.

    >>> judge_friction(1.5, 4.0, 0.5).reason
    '1.5 lies below 4.0 by more than its uncertainty 0.5 lbf'
    """
    if not (math.isfinite(friction_lbf) and friction_lbf >= 0):
        raise Refusal(told("friction of {}: friction holds back and is never below zero", lbf(friction_lbf, "g")))
    if not (math.isfinite(limit_lbf) and limit_lbf > 0):
        raise Refusal(told("a friction limit of {}: it must be above zero", lbf(limit_lbf, "g")))
    guard_lbf = _uncertainty(uncertainty_lbf, SPRING_SCALE_U_LBF)
    verdict = decide(friction_lbf, -math.inf, limit_lbf, guard_lbf, guard_lbf / COVERAGE, FORCE, least=0.0)
    if uncertainty_lbf is None:
        return _assumed(verdict, force(guard_lbf), "a spring scale")
    return verdict


def _uncertainty(given: float | None, usual: float) -> float:
    if given is None:
        return usual
    if not (math.isfinite(given) and given > 0):
        raise Refusal(
            f"an uncertainty of {given:g}: what has none was not measured; leave it out and {usual:g} is taken"
        )
    return given


def _assumed(verdict: Verdict, guard: object, instrument: str) -> Verdict:
    words = "{}; uncertainty not given, taken as {}, that of {} (practice)"
    return msgspec.structs.replace(verdict, reason=told(words, verdict.reason, guard, instrument))
