"""What a settling answer says, in sentences with both systems of units."""

from __future__ import annotations

from collections.abc import Iterator

from rigging.jobs.settle import LOOK_FOR, Settled
from rigging.report.html.figures import in_units


def headline(result: Settled) -> str:
    """The answer in a line."""
    if result.anomalous:
        size = _force(abs(result.anomaly.size_lbf))
        return f"not settling: {size} {result.anomaly.kind} that settling does not explain"
    if result.settled:
        return f"settled, {100 * result.probability_settled:.0f} % sure"
    low, high = result.remaining_interval_lbf
    return f"still settling: {_force(result.remaining_lbf)} to go, between {_force(low, high)} at 95 %"


def sentences(result: Settled) -> Iterator[str]:
    """Where it ends, what to set, when to look again, and what keeps it from sign-off."""
    told = result.story
    if result.anomalous:
        yield f"{LOOK_FOR[result.anomaly.kind]}; until it is found, no forecast of this run may be used"
    else:
        low, high = result.final_interval_lbf
        at = f"at {_both(told.reference_degF, 'temperature')}"
        ends = f"ends at {_force(result.final_lbf)}" if result.final_lbf > 0 else "ends slack"
        yield f"{ends}, between {_force(low, high)} at 95 %, {at}"
        if result.limits_lbf is None:
            yield "without limits nobody can say whether that is right"
        else:
            where = "inside" if result.ends_inside else "not surely inside"
            odds = f"{100 * (result.probability_in_limits or 0.0):.0f} % sure"
            yield f"{where} its limits {_force(result.limits_lbf[0], result.limits_lbf[2])} ({odds})"
        if result.set_now is not None:
            yield f"to end on target it would be set to {_force(result.set_now.tension_lbf)} now, {at}"
        if result.next_check is None:
            yield "no further look is worth making for settling"
        else:
            yield f"worth another look about {float(f'{result.next_check:.2g}'):g} h after the last reading"
    if result.gaps:
        yield f"figures shown, not for sign-off: {'; '.join(result.gaps)}"
    if len(told.points) < 3:
        yield "fewer than three readings: the answer is mostly what is expected of such a cable"
    if result.laws.disagree:
        yield f"the laws of settling disagree about the end: the more cautious one, {result.laws.cautious}, sets what is said"
    yield f"rests on: {told.history_words}, {told.prior_source}"


def _force(value_lbf: float, to_lbf: float | None = None) -> str:
    return _both(value_lbf, "force", to_lbf)


def _both(value: float, kind: str, to: float | None = None) -> str:
    return f"{in_units(value, kind, to)} ({in_units(value, kind, to, si=True)})"
