"""What a fitted history of a bedding-in cable decides: settled or not, a fault, when to look again, what to set now.

A drop or a rise is told from settling by the odds between two models of the same readings: the fit as it is,
and the fit with one step of unknown size and moment added. Nothing is thrown away before the sum, so a first
gap in which a slip cannot be told from fast bedding-in, an instrument that changed or a turnbuckle turned in
between all lower the odds by themselves.
"""

from __future__ import annotations

import math
from typing import Final, Literal, NamedTuple

from rigging.errors import Refusal
from rigging.physics.settling import LATER_SHARE, Fit
from rigging.physics.settling_shapes import LAWS, Law
from rigging.physics.settling_slip import least_slip_lbf

PLAUSIBLE: Final = 0.1  # a law less probable than this has no say in the more cautious answer
STEP_LBF: Final = 6.0  # how large a step may well be (k=1)
LARGE_STEP_LBF: Final = 36.0  # the same of one that is far larger: where an alarm is given, which it was
ALARM_ODDS: Final = 6.0  # of one step somewhere against none, from the study in tests/study/settling.py


class Anomaly(NamedTuple):
    """What settling does not explain: kind, the reading at which it is first seen, its size [lbf], the odds for it.

    size_lbf [lbf]: the change of tension, negative for a drop; 0 where there is none. odds: of one step at the
    likeliest moment or anywhere against none.
    """

    kind: Literal["none", "drop", "rise"]
    reading: int | None
    size_lbf: float
    odds: float


class SetNow(NamedTuple):
    """Tension [lbf] to set now at the reference temperature, whether the high limit held it down, the drop [lbf] to come."""

    tension_lbf: float
    capped: bool
    drop_lbf: float


class LawView(NamedTuple):
    """Where each plausible law ends [lbf], whether they lie further apart than can be seen, and the more cautious one."""

    finals_lbf: dict[Law, float]
    disagree: bool
    cautious: Law


def settled_probability(fit: Fit, visible_lbf: float) -> float:
    """Probability that less than ``visible_lbf`` [lbf] is still to be lost between the last reading and the horizon.

    The drop to come is uncertain by LATER_SHARE beyond every law, here taken at three points of a normal distribution.
    Raises Refusal: visible_lbf below zero or not finite.
    """
    _check_visible(visible_lbf)
    to_come = fit.drop_between(float(fit.history.elapsed[-1]), fit.prior.horizon)
    step = math.sqrt(3) * LATER_SHARE
    return sum(
        weight * to_come.below(visible_lbf / share)
        for weight, share in ((1 / 6, 1 - step), (2 / 3, 1.0), (1 / 6, 1 + step))
    )


def laws(fit: Fit, visible_lbf: float) -> LawView:
    """Where the laws end; the cautious one is the lowest of those that the readings leave plausible.

    visible_lbf [lbf]: from where on they disagree. Raises Refusal: visible_lbf below zero or not finite.
    """
    _check_visible(visible_lbf)
    probability = fit.law_probability()
    finals: dict[Law, float] = {
        law: fit.forecast(fit.prior.horizon, law=law).mean_lbf for law in LAWS if probability[law] >= PLAUSIBLE
    }
    cautious = min(finals, key=lambda law: finals[law])
    return LawView(finals, max(finals.values()) - min(finals.values()) > visible_lbf, cautious)


def next_check(fit: Fit, visible_lbf: float) -> float | None:
    """The time at which the drop since the last reading is expected to pass ``visible_lbf`` [lbf], by the cautious law.

    In the unit of the history, counted from its first reading. None where that is not before the horizon. Raises Refusal:
    visible_lbf below zero or not finite.
    """
    law = laws(fit, visible_lbf).cautious
    start, low, high = float(fit.history.elapsed[-1]), float(fit.history.elapsed[-1]), fit.prior.horizon
    if fit.drop_between(start, high, law).mean_lbf <= visible_lbf:
        return None
    while high - low > 1e-3 * (high - start):
        middle = (low + high) / 2
        low, high = (low, middle) if fit.drop_between(start, middle, law).mean_lbf > visible_lbf else (middle, high)
    return high


def set_now(fit: Fit, target_lbf: float, high_lbf: float, guard_lbf: float) -> SetNow:
    """What to set now at the reference temperature so that it ends on target and does not pass the high limit less the guard.

    target_lbf, high_lbf, guard_lbf [lbf]. The drop to come is the mean of the more cautious law. Raises Refusal: a
    target, limit or guard that is not a finite number.
    """
    for name, value_lbf in (("target", target_lbf), ("high limit", high_lbf), ("guard", guard_lbf)):
        if not math.isfinite(value_lbf):
            raise Refusal(f"a {name} of {value_lbf:g} lbf is no finite number: nothing can be set by it")
    law = laws(fit, 0.0).cautious
    drop = fit.drop_between(float(fit.history.elapsed[-1]), fit.prior.horizon, law).mean_lbf
    wanted, most = target_lbf + drop, high_lbf - guard_lbf
    return SetNow(min(wanted, most), wanted > most, drop)


def anomaly(fit: Fit) -> Anomaly:
    """A step that settling, temperature, turns and the instruments' own errors do not explain.

    A loss that grows from reading to reading shows as a step too. A drop is found in 95 % of all cases
    where it is as large as ``least_step_lbf`` says for the readings at hand; in a run that still beds in
    fast, in the first gap and across a change of tensiometer that may be far above 4 lbf. False alarms in fewer than
    2 % of histories of either law or a mixture. A cable that beds in anew after every turn of its
    turnbuckle looks like one that slips, and alarms more often (the tables of tests/study/settling.py).
    """
    found = fit.step_evidence(STEP_LBF)
    if not found:
        return Anomaly("none", None, 0.0, 0.0)
    odds = sum(math.exp(min(step.log_gain, 500.0)) for step in found) / len(found)
    if odds < ALARM_ODDS:
        return Anomaly("none", None, 0.0, odds)
    # a step of tens of pounds goes against steps of a few so far that two smaller ones elsewhere, even rises, would seem likelier
    likeliest = max((*found, *fit.step_evidence(LARGE_STEP_LBF)), key=lambda step: step.log_gain)
    return Anomaly("drop" if likeliest.size_lbf < 0 else "rise", likeliest.reading, likeliest.size_lbf, odds)


def least_step_lbf(fit: Fit, reading: int) -> float | None:
    """The size of a slip [lbf] just before a reading that ``anomaly`` finds in 95 % of cases; smaller ones are found less often.

    reading: 1 to the last. None where not even one that leaves the cable all but slack would be found so often: then the
    readings say nothing of a slip there. Raises Refusal: no such reading.
    """
    gaps = max(1, len(fit.history.elapsed) - 1)
    return least_slip_lbf(fit, reading, STEP_LBF, math.log(ALARM_ODDS * gaps))


def _check_visible(visible_lbf: float) -> None:
    if not 0 <= visible_lbf < math.inf:
        raise Refusal(f"what can be seen, {visible_lbf:g} lbf, must be a finite tension from zero on")
