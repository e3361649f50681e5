"""What a fitted history of a bedding-in cable decides: settled or not, a fault, when to look again, what to set now.

A drop or a rise is told from settling by the odds between two models of the same readings: the fit as it is,
and the fit with one step of unknown size and moment added. Nothing is thrown away before the sum, so a first
gap in which a slip cannot be told from fast bedding-in, an instrument that changed or a turnbuckle turned in
between all lower the odds by themselves.
"""

from __future__ import annotations

import math
from typing import Final, Literal, NamedTuple

from rigging.physics.settling import LATER_SHARE, LAWS, Fit, Law

PLAUSIBLE: Final = 0.1  # a law less probable than this has no say in the more cautious answer
STEP_LBF: Final = 6.0  # how large a step may well be (k=1)
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
    """
    to_come = fit.drop_between(float(fit.history.elapsed[-1]), fit.prior.horizon)
    step = math.sqrt(3) * LATER_SHARE
    return sum(
        weight * to_come.below(visible_lbf / share)
        for weight, share in ((1 / 6, 1 - step), (2 / 3, 1.0), (1 / 6, 1 + step))
    )


def laws(fit: Fit, visible_lbf: float) -> LawView:
    """Where the laws end; the cautious one is the lowest of those that the readings leave plausible."""
    probability = fit.law_probability()
    finals: dict[Law, float] = {
        law: fit.forecast(fit.prior.horizon, law=law).mean_lbf for law in LAWS if probability[law] >= PLAUSIBLE
    }
    cautious = min(finals, key=lambda law: finals[law])
    return LawView(finals, max(finals.values()) - min(finals.values()) > visible_lbf, cautious)


def next_check(fit: Fit, visible_lbf: float) -> float | None:
    """The time at which the drop since the last reading is expected to pass ``visible_lbf`` [lbf], by the cautious law.

    In the unit of the history, counted from its first reading. None where that is not before the horizon.
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

    target_lbf, high_lbf, guard_lbf [lbf]. The drop to come is the mean of the more cautious law.
    """
    law = laws(fit, 0.0).cautious
    drop = fit.drop_between(float(fit.history.elapsed[-1]), fit.prior.horizon, law).mean_lbf
    wanted, most = target_lbf + drop, high_lbf - guard_lbf
    return SetNow(min(wanted, most), wanted > most, drop)


def anomaly(fit: Fit) -> Anomaly:
    """A step that settling, temperature, turns and the instruments' own errors do not explain.

    A loss that grows from reading to reading shows as a step too. A drop is found in 95 % of all cases
    where it is half as large again as ``least_step_lbf`` says for the readings at hand; in a run that still beds in
    fast, in the first gap and across a change of tensiometer that may be far above 4 lbf. False alarms in fewer than
    2 % of histories of either law or a mixture. A cable that beds in anew after every turn of its
    turnbuckle looks like one that slips, and alarms more often (the tables of tests/study/settling.py).
    """
    found = fit.step_evidence(STEP_LBF)
    if not found:
        return Anomaly("none", None, 0.0, 0.0)
    odds = sum(math.exp(min(step.log_gain, 500.0)) for step in found) / len(found)
    likeliest = max(found, key=lambda step: step.log_gain)
    if odds < ALARM_ODDS:
        return Anomaly("none", None, 0.0, odds)
    return Anomaly("drop" if likeliest.size_lbf < 0 else "rise", likeliest.reading, likeliest.size_lbf, odds)


def least_step_lbf(fit: Fit, reading: int) -> float:
    """The smallest slip [lbf] just before a reading that ``anomaly`` may be expected to find; half as large again, in 95 %.

    A step measured with the standard uncertainty u has odds of about (u / STEP) exp(z^2 / 2) / gaps; the sum asks
    for the z at which that reaches ALARM_ODDS, and 1.645 more. Were u the same for every shape, 95 % of such slips would
    be found; since other shapes gain by a slip too, it is half to two thirds (tests/independent/test_settling_state.py).
    """
    steps = fit.step_evidence(STEP_LBF)
    u = steps[reading - 1].standard_uncertainty_lbf
    return u * (math.sqrt(2 * math.log(max(1.0, ALARM_ODDS * len(steps) * STEP_LBF / u))) + 1.645)
