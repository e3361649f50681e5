"""Tension at the reference temperature against time: readings, fit with its interval, turns, limits."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from rigging.jobs.settle import Settled
from rigging.jobs.settling_points import Turn
from rigging.report.pictures.panel import Axis, Dots, Limit, Line, Mark, Panel
from rigging.units import NEWTON_PER_LBF, show_temperature

STEPS = 80


def panel(result: Settled, aircraft: str, si: bool = False) -> Panel:
    """The story and half as long again beyond its last reading; the end itself stands in words."""
    told = result.story
    factor = NEWTON_PER_LBF if si else 1.0
    # a single reading has no span of its own: a day, or a hundred cycles
    last = told.points[-1].elapsed or (24.0 if told.by == "hours" else 100.0)
    # just after a turn as well, so that it stands upright
    turned = {t.elapsed + beside for t in told.turns for beside in (0.0, 1e-6 * last)}
    times = sorted({1.5 * last * i / STEPS for i in range(STEPS + 1)} | turned)
    forecasts = [result.fit.forecast(t, told.takeup_in(t)) for t in times]
    bands = [f.interval() for f in forecasts]
    limits: tuple[Limit, ...] = ()
    if result.limits_lbf is not None:
        low, _, high = (factor * x for x in result.limits_lbf)
        limits = (Limit("limits", (times[0], times[-1]), (low, low), (high, high)),)
    time = ("time, h", "time, days", 1 / 24) if told.by == "hours" else ("control cycles", "", 1.0)
    return Panel(
        title=f"{aircraft}: {told.run.label} at {show_temperature(told.reference_degF, si)}",
        x=Axis(*time),
        y=Axis("tension, N") if si else Axis("tension, lbf", "tension, N", NEWTON_PER_LBF),
        lines=(
            Line(
                "fit and forecast", tuple(times), tuple(factor * f.mean_lbf for f in forecasts),
                tuple(factor * b[0] for b in bands), tuple(factor * b[1] for b in bands),
            ),
        ),
        limits=limits,
        marks=tuple(Mark(t.elapsed, turn_words(t)) for t in told.turns),
        dots=(Dots("readings", tuple(p.elapsed for p in told.points), tuple(factor * p.at_reference_lbf for p in told.points)),),
    )  # fmt: skip


def turn_words(turn: Turn) -> str:
    """``+1 half turn on up``."""
    return f"{turn.half_turns:+d} half turn{'' if abs(turn.half_turns) == 1 else 's'} on {turn.cable}"


def footer(results: Sequence[Settled]) -> str:
    """What the pictures rest on, in lines for their bottom."""
    expected = dict.fromkeys(f"{r.story.history_words}: {r.story.prior_source}" for r in results)
    return "\n".join(
        textwrap.wrap(f"95 % interval. Expected: {'; '.join(expected)}. A picture, not an acceptance.", 120)
    )
