"""Has a new cable stopped bedding in, where will it end, what to set now, when to look again; or is it failing?"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Final

import msgspec

from rigging.errors import Refusal
from rigging.jobs.settling_story import By, Story, story
from rigging.judge.chart import limits_from_chart
from rigging.judge.limits import Condition
from rigging.measure.card import lbf_to_dial
from rigging.sheet.history import Event
from rigging.sheet.rig import Rig, Run

if TYPE_CHECKING:
    from rigging.physics.settling import Fit
    from rigging.physics.settling_state import Anomaly, LawView, SetNow

SURE: Final = 0.95
LOOK_FOR: Final = {
    "drop": "not settling: look for a slipped terminal or sleeve, broken wires, a cracked bracket, a turn that was not noted",
    "rise": "not settling: a rise that temperature does not explain; look for wood moisture, another aircraft state, another "
    "instrument or riser, drag, a turn that was not noted",
}


class Settled(msgspec.Struct, frozen=True):
    """The answer for one run; tensions [lbf] at the reference temperature.

    visible_lbf [lbf]: U of a single reading, what the instrument can see. limits_lbf: low, target, high, or
    None where the sheet gives none. next_check: hours or cycles after the last reading, None where no
    further look is worth making for settling. dial: what to aim for at the last reading's temperature.
    least_step_lbf [lbf]: the smallest slip before the last reading that these readings would tell from settling.
    """

    story: Story
    settled: bool
    probability_settled: float
    final_lbf: float
    final_interval_lbf: tuple[float, float]
    remaining_lbf: float
    remaining_interval_lbf: tuple[float, float]
    visible_lbf: float
    limits_lbf: tuple[float, float, float] | None
    probability_in_limits: float | None
    set_now: SetNow | None
    set_today_lbf: float | None
    dial: float | None
    next_check: float | None
    anomaly: Anomaly
    least_step_lbf: float | None
    laws: LawView
    fit: Fit

    @property
    def anomalous(self) -> bool:
        """Whether something happened that settling does not explain."""
        return self.anomaly.kind != "none"

    @property
    def ends_inside(self) -> bool | None:
        """Whether the whole interval of the end lies inside the limits; None without limits."""
        if self.limits_lbf is None:
            return None
        low, _, high = self.limits_lbf
        return low <= self.final_interval_lbf[0] and self.final_interval_lbf[1] <= high

    @property
    def finding(self) -> bool:
        """Whether something is left to do or to wait for."""
        return self.anomalous or not self.settled or self.ends_inside is False or not self.story.usable_for_sign_off


def settle(
    rig: Rig,
    events: Sequence[Event],
    run: str | None = None,
    station: str | None = None,
    state: str | None = None,
    by: By = "hours",
    horizon: float | None = None,
) -> Iterator[Settled]:
    """The answer for one run, ``aileron / left``, or for every run that was read, one after the other.

    Raises Refusal: an unknown run, nothing read, or what ``story`` refuses.
    """
    for one in chosen_runs(rig, events, run):
        yield _answer(rig, story(rig, one, events, station, state, by, horizon))


def chosen_runs(rig: Rig, events: Sequence[Event], run: str | None) -> list[Run]:
    """The runs to answer for, in the sheet's order."""
    read = {(e.circuit, e.run) for e in events if e.is_reading}
    if run is None:
        return [r for r in rig.runs if (r.circuit, r.name) in read]
    wanted = [part.strip() for part in run.split("/")]
    found = [r for r in rig.runs if [r.circuit, r.name] == wanted]
    if not found:
        raise Refusal(f"no run '{run}' in the sheet: write it like {rig.runs[0].circuit}/{rig.runs[0].name}")
    return found


def _answer(rig: Rig, told: Story) -> Settled:
    from rigging.physics.settling import Fit
    from rigging.physics.settling_state import anomaly, laws, least_step_lbf, next_check, set_now, settled_probability

    fit = Fit(told.history, told.prior)
    last = told.points[-1]
    visible_lbf = 1.96 * last.standard_uncertainty_lbf
    probability = settled_probability(fit, visible_lbf)
    final = fit.forecast(told.prior.horizon, told.takeup_in())
    to_come = fit.drop_between(last.elapsed, told.prior.horizon)
    limits = _limits(rig, told)
    wanted = None if limits is None else set_now(fit, limits[1], limits[2], visible_lbf)
    away_lbf = told.prior.slope_lbf_per_degF * (last.structure_degF - told.reference_degF)
    today_lbf = None if wanted is None else wanted.tension_lbf + away_lbf
    again = next_check(fit, visible_lbf)
    inside = None if limits is None else final.below(limits[2]) - final.below(limits[0])
    return Settled(
        story=told,
        settled=probability >= SURE,
        probability_settled=probability,
        final_lbf=final.mean_lbf,
        final_interval_lbf=final.interval(),
        remaining_lbf=to_come.mean_lbf,
        remaining_interval_lbf=to_come.interval(),
        visible_lbf=visible_lbf,
        limits_lbf=limits,
        probability_in_limits=inside,
        set_now=wanted,
        set_today_lbf=today_lbf,
        dial=_dial(rig, told, today_lbf),
        next_check=None if again is None else again - last.elapsed,
        anomaly=anomaly(fit),
        least_step_lbf=least_step_lbf(fit, len(told.points) - 1) if len(told.points) > 1 else None,
        laws=laws(fit, visible_lbf),
        fit=fit,
    )


def _limits(rig: Rig, told: Story) -> tuple[float, float, float] | None:
    run = told.run
    if run.band is not None:
        return run.band.low_lbf, run.band.target_lbf, run.band.high_lbf
    if run.entry.chart is not None and rig.chart is not None:
        found = limits_from_chart(rig.chart, run.entry.chart, Condition(told.reference_degF), told.reference_degF)
        return found.low_lbf, found.target_lbf, found.high_lbf
    return None


def _dial(rig: Rig, told: Story, tension_lbf: float | None) -> float | None:
    """What the dial must show for it with the last reading's instrument; None where its card does not reach."""
    card = rig.cards.get(told.points[-1].instrument)
    if card is None or tension_lbf is None:
        return None
    for riser in card.risers(told.run.cable.size):
        try:
            return lbf_to_dial(card.column(riser, told.run.cable.size), tension_lbf)
        except Refusal:
            continue
    return None
