"""Has a new cable stopped bedding in, where will it end, what to set now, when to look again; or is it failing?"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Final

import msgspec

from rigging.errors import Refusal, nearest
from rigging.jobs.limit_line import limits_at
from rigging.jobs.settling_points import By
from rigging.jobs.settling_story import Story, story
from rigging.measure.card import lbf_to_dial
from rigging.physics.thermal import hold_above_zero
from rigging.sheet.circuit import Circuits
from rigging.sheet.history import Event
from rigging.sheet.rig import Rig, Run

if TYPE_CHECKING:
    from rigging.physics.settling import Fit
    from rigging.physics.settling_state import Anomaly, LawView, SetNow

SURE: Final = 0.95
LOOK_FOR: Final = {
    "drop": "not settling: look for a slipped terminal or sleeve, broken wires, a cracked bracket, a turn that was not noted",
    "rise": "not settling: a rise that temperature does not explain; look for wood moisture, another aircraft state, another "
    "instrument or riser, drag, a turn that was not noted, or a cable that the sheet's 'history' takes for newer than it is",
}


class Settled(msgspec.Struct, frozen=True):
    """The answer for one run; tensions [lbf] at the reference temperature.

    Where something happened that settling does not explain, nothing is called settled and nothing is to be set.
    An end of zero is a cable that hangs slack, and so is a set_today_lbf of zero.

    visible_lbf [lbf]: U of a single reading, what the instrument can see. limits_lbf: low, target, high, or
    None where the sheet gives none. next_check: hours or cycles after the last reading, None where no
    further look is worth making for settling, zero where something is to be found first. dial: what to aim for at the last reading's temperature.
    least_step_lbf [lbf]: a slip of that size before the last reading would be found in 95 % of cases; None where no size
    short of a slack cable would, or there is one reading alone.
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
    gaps: tuple[str, ...]
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
        return not (self.settled and self.ends_inside and self.usable_for_sign_off)

    @property
    def usable_for_sign_off(self) -> bool:
        """Whether nothing keeps it from being accepted."""
        return not self.gaps


class Refused(msgspec.Struct, frozen=True):
    """A run that has no honest answer, and why."""

    run: Run
    reason: str


def settle(
    rig: Rig,
    events: Sequence[Event],
    run: str | None = None,
    station: str | None = None,
    state: str | None = None,
    by: By = "hours",
    horizon: float | None = None,
) -> Iterator[Settled | Refused]:
    """The answer for one run, ``aileron / left``, or for every run that was read, one after the other.

    What one run is refused for does not stop the others. Raises Refusal: an unknown run, or a single one
    that ``story`` refuses, or whose readings span too short a time to say anything (``check_span``) and show no fault.
    """
    chosen = chosen_runs(rig, events, run)
    for one in chosen:
        try:
            yield _answer(rig, story(rig, one, events, station, state, by, horizon))
        except Refusal as error:
            if len(chosen) == 1:
                raise
            yield Refused(one, str(error))


def chosen_runs(rig: Rig, events: Sequence[Event], run: str | None) -> list[Run]:
    """The runs to answer for, in the sheet's order."""
    read = {(e.circuit, e.run) for e in events if e.is_reading}
    if run is None:
        return [r for r in rig.runs if (r.circuit, r.name) in read]
    wanted = [part.strip() for part in run.split("/")]
    found = [r for r in rig.runs if [r.circuit, r.name] == wanted]
    if not found:
        known = [f"{r.circuit}/{r.name}" for r in rig.runs]
        raise Refusal(f"no run '{run}' in the sheet{nearest(run, known)}")
    return found


def _answer(rig: Rig, told: Story) -> Settled:
    from rigging.physics.settling import Fit
    from rigging.physics.settling_state import anomaly, laws, least_step_lbf, next_check, set_now, settled_probability

    fit = Fit(told.history, told.prior)
    found = anomaly(fit)
    strange = found.kind != "none"
    if not strange:
        check_span(told)
    last = told.points[-1]
    # a poor last reading must not make a run settled: what the instruments at hand can see at their best
    visible_lbf = 1.96 * min(p.scatter_lbf for p in told.points)
    probability = settled_probability(fit, visible_lbf)
    final = fit.forecast(told.prior.horizon, told.takeup_in())
    ends = final.interval()
    to_come = fit.drop_between(last.elapsed, told.prior.horizon)
    limits, gaps = _limits(rig, told)
    wanted = None if limits is None or strange else set_now(fit, limits[1], limits[2], visible_lbf)
    if wanted is not None and wanted.tension_lbf <= 0:
        wanted = None  # no instrument at hand could tell it from the high limit
    away_lbf = told.prior.slope_lbf_per_degF * (last.structure_degF - told.reference_degF)
    today_lbf = None if wanted is None else hold_above_zero(wanted.tension_lbf + away_lbf)[0]
    again = next_check(fit, visible_lbf)
    inside = None if limits is None else final.below(limits[2]) - final.below(limits[0])
    return Settled(
        story=told,
        settled=probability >= SURE and not strange,
        probability_settled=probability,
        final_lbf=max(0.0, final.mean_lbf),
        final_interval_lbf=(max(0.0, ends[0]), max(0.0, ends[1])),
        remaining_lbf=to_come.mean_lbf,
        remaining_interval_lbf=to_come.interval(),
        visible_lbf=visible_lbf,
        limits_lbf=limits,
        gaps=(*told.gaps, *gaps),
        probability_in_limits=inside,
        set_now=wanted,
        set_today_lbf=today_lbf,
        dial=_dial(rig, told, today_lbf),
        next_check=0.0 if strange else None if again is None else again - last.elapsed,
        anomaly=found,
        least_step_lbf=least_step_lbf(fit, len(told.points) - 1) if len(told.points) > 1 else None,
        laws=laws(fit, visible_lbf),
        fit=fit,
    )


def check_span(told: Story) -> None:
    """Raise Refusal where readings span less than the shortest time in which such a cable beds in: nothing can show.

    What was forecast from them would be what was expected before the first reading, dressed up as a finding. A single
    reading pretends to no history: its answer says that it is what is expected of such a cable.
    """
    span, shortest, count = told.points[-1].elapsed, told.prior.elapsed_low, len(told.points)
    if count == 1 or span >= shortest:
        return
    hours = told.by == "hours"
    unit = "h" if hours else "control cycles"
    raise Refusal(
        f"{told.run.label}: too soon to tell: its {count} readings span {_span(span, hours)} and say nothing yet of "
        f"bedding-in, which takes from {shortest:g} to {told.prior.elapsed_high:g} {unit}; read again {shortest:g} {unit} "
        "or more after the first of them"
    )


def _span(elapsed: float, hours: bool) -> str:
    """``10 minutes`` or ``3 control cycles``."""
    if not hours:
        return f"{elapsed:g} control cycle{'' if elapsed == 1 else 's'}"
    minutes = round(60 * elapsed)
    if minutes < 1:
        return "less than a minute"
    return f"{minutes} minute{'' if minutes == 1 else 's'}" if minutes < 120 else f"{elapsed:.3g} h"


def _limits(rig: Rig, told: Story) -> tuple[tuple[float, float, float] | None, tuple[str, ...]]:
    """Low, target and high at the reference temperature, None where there are none; and what keeps them from sign-off."""
    try:
        found = limits_at(Circuits(rig), told.run, told.reference_degF)
    except Refusal as error:
        return None, (str(error),)
    if found is None:
        return None, ("the sheet gives no limits for this run: ask the designer",)
    return (found.low_lbf, found.target_lbf, found.high_lbf), found.sign_off_gaps


def _dial(rig: Rig, told: Story, tension_lbf: float | None) -> float | None:
    """What the dial must show for it with the last reading's instrument and riser; None where its card does not reach."""
    last = told.points[-1]
    card = rig.cards.get(last.instrument)
    if card is None or last.riser is None or not tension_lbf:
        return None
    try:
        return lbf_to_dial(card.column(last.riser, told.run.cable.size), tension_lbf)
    except Refusal:
        return None
