"""Which turnbuckle to turn, how far and in what order, from today's readings and the neutrals' offsets."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Final

import msgspec

from rigging.errors import Refusal, UsageError
from rigging.hardware import turnbuckle
from rigging.jobs.check import RunResult, check, sign_off_gaps
from rigging.jobs.compare import at_one_temperature, measured_links
from rigging.judge.consistency import nearest_balance
from rigging.judge.half_turns import Choice, Effect, Goal, Turnbuckle, choose, effect
from rigging.judge.turn_order import order
from rigging.measure.uncertainty import rectangular
from rigging.sheet.circuit import CircuitModel, circuit_model
from rigging.sheet.readings import Reading
from rigging.sheet.rig import Rig
from rigging.told import lbf, told

if TYPE_CHECKING:
    from rigging.physics.circuit import Array

READING_HALF_WIDTH_LBF: Final = 1.0  # of each of the two readings behind a learned stiffness (practice)
SOFTEST, STIFFEST = 0.2, 5.0  # beyond this a learned stiffness contradicts the sheet
CONTRADICTION: Final = 0.1  # share of tension that friction between stations may hide (practice)
UNWINDOWED: Final = 40  # half turns either way where the sheet does not say how many threads show


class Turned(msgspec.Struct, frozen=True):
    """What turns given once did: half turns on a cable's turnbuckle and the tension gained there [lbf]."""

    cable: str
    half_turns: int
    gained_lbf: float


class Step(msgspec.Struct, frozen=True):
    """One step and what is predicted after it; threads showing at each end, None where unknown."""

    turnbuckle: str
    half_turns: int
    tensions_lbf: dict[str, float]
    neutral_deg: dict[str, float]
    threads_showing: tuple[float, float] | None

    @property
    def direction(self) -> str:
        """``tighten`` or ``loosen``."""
        return "tighten" if self.half_turns > 0 else "loosen"


class PlanResult(msgspec.Struct, frozen=True):
    """A plan for one circuit.

    measured: the check of its runs. start_lbf, start_deg: tensions [lbf] and neutrals [deg] the plan
    starts from. uncertainty_lbf [lbf]: U of the predicted end by cable. limits_lbf: low and high today.
    stopped_by: what keeps the goal from being met, empty where it is met. findings: drag, and figures that
    are not for sign-off: a plan may be made on them, but what they say comes first.
    """

    model: CircuitModel
    measured: tuple[RunResult, ...]
    start_lbf: dict[str, float]
    start_deg: dict[str, float]
    limits_lbf: dict[str, tuple[float, float]]
    steps: tuple[Step, ...]
    uncertainty_lbf: dict[str, float]
    thread_window: dict[str, tuple[int, int] | None]
    stiffness_scale: float
    stiffness_uncertainty: float
    stopped_by: tuple[str, ...]
    findings: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def end_lbf(self) -> dict[str, float]:
        """Predicted tensions [lbf] by cable after the last step."""
        return self.steps[-1].tensions_lbf if self.steps else self.start_lbf

    @property
    def end_deg(self) -> dict[str, float]:
        """Predicted neutrals [deg] by free sector after the last step."""
        return self.steps[-1].neutral_deg if self.steps else self.start_deg

    @property
    def met(self) -> bool:
        """Whether the plan ends with every tension in its band and every neutral on its mark."""
        return not self.stopped_by


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

    neutral_deg [deg]: how far each free sector rests from its mark; those left out are taken to be on it.
    turned: turns given before, from which the stiffness is learned.
    Raises Refusal: unknown circuit or sector, a cable that hangs slack, readings that contradict each
    other, too few of them, or no turnbuckle.
    """
    model, scale, scale_uncertainty = _learned(rig, circuit, turned)
    read = [r.structure_degF for r in readings if r.circuit == circuit and r.structure_degF is not None]
    if at_degF is None and read:
        at_degF = math.fsum(read) / len(read)  # for cables that were not read and follow from the others
    checked = check(rig, readings, today, at_degF)
    measured = tuple(r for r in checked.runs if r.run.circuit == circuit)
    notes: list[str] = []
    findings = [drag.words for drag in checked.comparison.drag if drag.circuit == circuit]
    for r in measured:
        if r.tension is not None and r.limits is not None:
            findings += [f"{r.run.name}: not for sign-off: {gap}" for gap in sign_off_gaps(r.tension, r.limits)]
    if not at_one_temperature(rig, measured):
        raise Refusal(
            f"{circuit}: its cables were read at different temperatures: wait until it is steady and read all again"
        )
    tension, guard = _tensions_now(model, measured, notes)
    angle = _angles_now(model, neutral_deg or {}, notes)
    turnbuckles = _turnbuckles(model, notes)
    for name, cable in model.entry.cables.items():
        source = turnbuckle.pitch(cable.turnbuckle.thread).source if cable.turnbuckle else None
        if source is not None and not source.acceptable:
            findings.append(f"{name}: not for sign-off: the pitch of its thread is from {source.basis.value}")
    goal = _goal(model, measured)
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


def _learned(rig: Rig, circuit: str, turned: Sequence[Turned]) -> tuple[CircuitModel, float, float]:
    """The circuit with the stiffness that turns given before show; else the table's with its 7.5 % (k=1)."""
    model = circuit_model(rig, circuit)
    if not turned:
        stiffness = model.runs[0].cable.need_stiffness()
        return model, 1.0, stiffness.standard_uncertainty / stiffness.value
    scales, weights = [], []
    for turn in turned:
        scale = _scale_for(rig, model, turn)
        relative = math.sqrt(2) * rectangular(READING_HALF_WIDTH_LBF) / abs(turn.gained_lbf)
        scales.append(scale)
        weights.append((scale * relative) ** -2)
    mean = sum(s * w for s, w in zip(scales, weights, strict=True)) / sum(weights)
    return circuit_model(rig, circuit, stiffness_scale=mean), mean, 1 / math.sqrt(sum(weights)) / mean


def _scale_for(rig: Rig, model: CircuitModel, turn: Turned) -> float:
    place = _place(model, turn.cable)
    entry = model.runs[place].entry.turnbuckle
    if entry is None:
        raise Refusal(f"{turn.cable} has no turnbuckle in the sheet, yet turns are given for it")
    if turn.half_turns == 0 or turn.gained_lbf / turn.half_turns <= 0:
        raise UsageError(
            told(
                "{}: {} half turns with {} teach nothing: tightening must gain",
                turn.cable,
                f"{turn.half_turns:+d}",
                lbf(turn.gained_lbf, "+.1f"),
            )
        )
    takeup_in = turn.half_turns * turnbuckle.pitch(entry.thread).value

    def gain(scale: float) -> float:
        tension, _ = circuit_model(rig, model.name, stiffness_scale=scale).circuit.takeup_effect()
        return float(tension[place, place]) * takeup_in

    low, high = SOFTEST, STIFFEST
    if not abs(gain(low)) <= abs(turn.gained_lbf) <= abs(gain(high)):
        raise Refusal(
            told(
                "{}: {} half turns should gain about {} by the table, {} is beyond belief: check the thread, the length and which turnbuckle was turned",
                turn.cable,
                f"{turn.half_turns:+d}",
                lbf(gain(1.0), "+.1f"),
                lbf(turn.gained_lbf, "+.1f", unit=False),
            )
        )
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if abs(gain(middle)) < abs(turn.gained_lbf) else (low, middle)
    return (low + high) / 2


def _place(model: CircuitModel, cable: str) -> int:
    names = [run.name for run in model.runs]
    if cable not in names:
        raise Refusal(f"no cable '{cable}' in circuit {model.name} (known: {', '.join(names)})")
    return names.index(cable)


def _tensions_now(model: CircuitModel, measured: Sequence[RunResult], notes: list[str]) -> tuple[Array, Array]:
    """Tensions that balance, nearest to the readings; and U of a reading for each link."""
    import numpy as np

    links = model.circuit.links
    reading, uncertainty = measured_links(model, measured)
    read = ~np.isnan(reading)
    model.need_standing()
    balanced = nearest_balance(model.circuit, reading, uncertainty)
    if balanced is None:
        missing = [link.name for link, is_read in zip(links, read, strict=True) if not is_read]
        raise Refusal(
            f"{model.name}: read {' and '.join(missing)} first: the tensions of this circuit do not follow from the others"
        )
    for i in np.flatnonzero(read).tolist():
        off = reading[i] - balanced[i]
        if abs(off) > 3 * uncertainty[i] + CONTRADICTION * abs(balanced[i]):
            raise Refusal(
                told(
                    "the readings contradict each other: {} reads {}, the others and the arms make it {}: cycle the controls, look for drag or a wrong arm, and read again",
                    links[i].name,
                    lbf(reading[i]),
                    lbf(balanced[i], unit=False),
                )
            )
    inferred = [links[i].name for i in np.flatnonzero(~read).tolist()]
    if inferred:
        notes.append(f"not read, follows from the others: {', '.join(inferred)}")
    uncertainty[~read] = uncertainty[read].max()
    return balanced, uncertainty


def _angles_now(model: CircuitModel, neutral_deg: Mapping[str, float], notes: list[str]) -> Array:
    import numpy as np

    angle = np.zeros(len(model.circuit.sectors))
    for name, off_deg in neutral_deg.items():
        if model.circuit.sectors[model.sector(name)] in model.circuit.held:
            raise Refusal(f"{name} is held by its rig pin: its neutral is the pin's, not the cables'")
        angle[model.sector(name)] = math.radians(off_deg)
    silent = [s for s in model.circuit.sectors if s not in model.circuit.held and s not in neutral_deg]
    if silent:
        notes.append(f"taken to rest on its mark, none was given: {', '.join(silent)}")
    return angle


def _turnbuckles(model: CircuitModel, notes: list[str]) -> list[Turnbuckle]:
    found = []
    for i, run in enumerate(model.runs):
        entry = run.entry.turnbuckle
        if entry is None:
            continue
        least, most = -UNWINDOWED, UNWINDOWED
        if entry.threads_showing is None:
            notes.append(
                f"{run.name}: the sheet does not say how many threads show, so the thread window is not watched"
            )
        else:
            showing = entry.threads_showing
            if turnbuckle.too_many_threads(showing):
                raise Refusal(
                    f"{run.label}: {showing[0]:g} and {showing[1]:g} threads show, at most {turnbuckle.MOST_THREADS_SHOWING} "
                    f"may ({turnbuckle.MOST_THREADS_SHOWING_SOURCE}): {turnbuckle.REMAKE}"
                )
            # half a turn moves each end by half a thread
            least = -math.floor(2 * (turnbuckle.MOST_THREADS_SHOWING - max(showing)))
            most = math.floor(2 * (min(showing) + entry.most_inside))
            if abs(showing[0] - showing[1]) >= 1:
                notes.append(f"{run.name}: {showing[0]:g} and {showing[1]:g} threads show: make both ends equal")
        found.append(Turnbuckle(run.name, i, turnbuckle.pitch(entry.thread).value, least, most))
    if not found:
        raise Refusal(
            f"no cable of circuit {model.name} has a turnbuckle in the sheet: add 'turnbuckle: {{thread: ...}}'"
        )
    return found


def _goal(model: CircuitModel, measured: Sequence[RunResult]) -> Goal:
    import numpy as np

    n = len(model.circuit.links)
    low, high, target = np.full(n, -np.inf), np.full(n, np.inf), np.zeros(n)
    for i, run in enumerate(model.runs):
        found = [r for r in measured if r.run.name == run.name]
        limits = next((r.limits for r in found if r.limits is not None), None)
        if limits is None:
            raise Refusal(f"{run.label}: {found[0].refusal}" if found else f"{run.label}: no limits")
        low[i], high[i], target[i] = limits.low_lbf, limits.high_lbf, limits.target_lbf
    held = set(model.circuit.held)
    tolerance = [
        math.inf if name in held else math.radians(model.entry.sectors[name].neutral_tolerance_deg)
        for name in model.circuit.sectors
    ]
    return Goal(low, high, target, np.array(tolerance))


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
