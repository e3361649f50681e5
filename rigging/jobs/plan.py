"""Which turnbuckle to turn, how far and in what order, from today's readings and the neutrals' offsets."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from rigging.errors import Refusal
from rigging.hardware import turnbuckle
from rigging.jobs.check import check, sign_off_gaps
from rigging.jobs.compare import against_springs, at_one_temperature
from rigging.jobs.plan_learned import learned
from rigging.jobs.plan_parts import PlanResult, Step, Turned
from rigging.jobs.plan_start import UNWINDOWED, angles_now, goal_of, tensions_now, turnbuckles_of
from rigging.judge.half_turns import Choice, Effect, Goal, Turnbuckle, choose, effect
from rigging.judge.turn_order import order
from rigging.sheet.circuit import CircuitModel
from rigging.sheet.readings import Reading
from rigging.sheet.rig import Rig
from rigging.told import join, told

if TYPE_CHECKING:
    from rigging.physics.circuit import Array


def plan(
    rig: Rig,
    circuit: str,
    readings: Sequence[Reading],
    today: dt.date,
    at_degF: float | None = None,
    neutral_deg: Mapping[str, float] | None = None,
    turned: Sequence[Turned] = (),
) -> PlanResult:
    """A plan for a circuit of the sheet.

    at_degF [degF]: structure, -65 to 160 F, where a reading names none; where None, what the others read.
    neutral_deg [deg]: how far each free sector rests from its mark; those left out are taken to be on it.
    turned: turns given before, from which the stiffness is learned.
    Raises Refusal: unknown circuit or sector, a cable that hangs slack, readings that contradict each
    other or a spring, too few of them, taken at different temperatures, no turnbuckle, or a neutral that is no number. UsageError:
    turns given that teach nothing.
    """
    model, scale, scale_uncertainty = learned(rig, circuit, turned)
    read = [r.structure_degF for r in readings if r.circuit == circuit and r.structure_degF is not None]
    if at_degF is None and read:
        at_degF = math.fsum(read) / len(read)  # for cables that were not read and follow from the others
    checked = check(rig, readings, today, at_degF)
    measured = tuple(r for r in checked.runs if r.run.circuit == circuit)
    notes: list[str] = []
    findings = [drag.words for drag in checked.comparison.drag if drag.circuit == circuit and not drag.spring]
    for r in measured:
        if r.tension is not None and r.limits is not None:
            findings += [
                told("{}: not for sign-off: {}", r.run.name, gap) for gap in sign_off_gaps(r.tension, r.limits)
            ]
    if not at_one_temperature(rig, measured):
        raise Refusal(
            f"{circuit}: its cables were read at different temperatures: wait until it is steady and read all again"
        )
    angle = angles_now(model, neutral_deg or {}, notes)
    if against := against_springs(model, [r for r in measured if r.tension is not None], angle):
        raise Refusal(join("; ", [drag.words for drag in against]))
    tension, guard = tensions_now(model, measured, angle, notes)
    turnbuckles = turnbuckles_of(model, notes)
    for name, cable in model.entry.cables.items():
        source = turnbuckle.pitch(cable.turnbuckle.thread).source if cable.turnbuckle else None
        if source is not None and not source.acceptable:
            findings.append(f"{name}: not for sign-off: the pitch of its thread is from {source.basis.value}")
    goal = goal_of(model, measured)
    now = effect(model.circuit, turnbuckles, tension, angle)
    chosen = choose(now, goal, guard, turnbuckles, model.circuit)
    steps, stopped = _ordered(now, chosen, goal, turnbuckles, model)
    if chosen.met and chosen.margin < 1 and chosen.half_turns and any(chosen.half_turns):
        notes.append("the plan ends nearer to a limit than a reading can tell: half turns are coarse here")
    return PlanResult(
        model=model,
        measured=measured,
        start_lbf=_by_cable(model, tension),
        start_deg=_by_sector(model, angle),
        limits_lbf={r.run.name: (r.limits.low_lbf, r.limits.high_lbf) for r in measured if r.limits},
        steps=steps,
        uncertainty_lbf=_predicted_uncertainty(model, steps, tension, guard, scale_uncertainty),
        thread_window={t.name: None if t.most == UNWINDOWED else (t.least, t.most) for t in turnbuckles},
        stiffness_scale=scale,
        stiffness_uncertainty=scale_uncertainty,
        stopped_by=stopped,
        findings=tuple(findings),
        notes=tuple(notes),
    )


def _ordered(
    now: Effect, chosen: Choice, goal: Goal, turnbuckles: list[Turnbuckle], model: CircuitModel
) -> tuple[tuple[Step, ...], tuple[str, ...]]:
    import numpy as np

    ceiling = np.maximum(goal.high_lbf, now.tension_lbf) + 1e-9
    # a cable may be slacker on the way than its low limit, but never hang
    path = order(now, chosen.half_turns, ceiling, np.full(len(ceiling), 1e-6), turnbuckles)
    if path is None:
        return (), (
            *chosen.stopped_by,
            "every order of these turns passes a high limit or lets a cable hang slack on the way",
        )
    done = np.zeros(len(turnbuckles))
    steps = []
    for which, half_turns in path:
        done[which] += half_turns
        tension, angle = now.after(done)
        steps.append(
            Step(
                turnbuckle=turnbuckles[which].name,
                half_turns=half_turns,
                tensions_lbf=_by_cable(model, tension),
                neutral_deg=_by_sector(model, angle),
                threads_showing=_threads(model, turnbuckles[which], int(done[which])),
            )
        )
    return tuple(steps), chosen.stopped_by


def _threads(model: CircuitModel, which: Turnbuckle, half_turns: int) -> tuple[float, float] | None:
    entry = model.runs[which.link].entry.turnbuckle
    if entry is None or entry.threads_showing is None:
        return None
    first, second = entry.threads_showing
    return first - half_turns / 2, second - half_turns / 2


def _by_cable(model: CircuitModel, tension: Array) -> dict[str, float]:
    return {run.name: float(tension[i]) for i, run in enumerate(model.runs)}


def _by_sector(model: CircuitModel, angle: Array) -> dict[str, float]:
    held = set(model.circuit.held)
    return {s: math.degrees(a) for s, a in zip(model.circuit.sectors, angle.tolist(), strict=True) if s not in held}


def _predicted_uncertainty(
    model: CircuitModel, steps: Sequence[Step], start: Array, guard: Array, relative: float
) -> dict[str, float]:
    """U of the predicted end: that of the reading, and k=2 of the stiffness on what the turns change."""
    if not steps:
        return _by_cable(model, guard)
    end = steps[-1].tensions_lbf
    return {
        run.name: math.hypot(float(guard[i]), 2 * relative * (end[run.name] - float(start[i])))
        for i, run in enumerate(model.runs)
    }
