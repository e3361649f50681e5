"""Every cable's tension from the coldest to the hottest day, its limits beside it, and where it hangs slack or leaves them."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import partial
from itertools import pairwise
from typing import Final

from rigging.errors import BadFile, Refusal
from rigging.jobs.drift import components, tensions_at, tight_at
from rigging.jobs.envelope_parts import Asked, CircuitEnvelope, EnvelopeResult, OutOfLimits, RunEnvelope
from rigging.jobs.limit_line import LimitLine, chart_degF, limit_line, lines_rest_on
from rigging.jobs.rigged import SHOWN_LBF, balance_notes, drift_notes, rigging_tensions
from rigging.jobs.window import window
from rigging.judge.limits import direction
from rigging.measure.uncertainty import Combined, Component
from rigging.physics.spans import Span, below_zero, last_alike
from rigging.sheet.circuit import CircuitModel, Circuits
from rigging.sheet.rig import Rig, Run
from rigging.told import lbf, told

STEP_DEGF: Final = 5
BESIDE_DEGF: Final = 1e-6  # just beyond a corner
SMALL_DEGF: Final = 0.05  # either side of the reference, for the slope there
SLACK_LBF: Final = 1e-6  # below this a cable hangs slack; far below what any instrument reads


def envelope(rig: Rig, circuit: str | None = None, asked: Asked | None = None) -> EnvelopeResult:
    """The circuits of a sheet, or one of them, from its coldest to its hottest day.

    Raises BadFile where the sheet gives no range of temperatures; Refusal for an unknown circuit, a tension, force or limit asked for that is no number, or where the only circuit asked for has no
    honest figure.
    """
    asked = asked or Asked()
    for what, value in (("the tension to set", asked.set_lbf), *asked.tensions_lbf.items()):
        if value is not None and not math.isfinite(value):
            raise Refusal(f"{what}: {value} is no tension")
    days = rig.file.temperatures
    if days is None:
        raise BadFile.one(
            rig.path,
            "no coldest and hottest day is given: add 'temperatures: {coldest: -20F, hottest: 110F}' with your own figures",
            path="temperatures",
        )
    names = list(rig.file.circuits) if circuit is None else [circuit]
    circuits = Circuits(rig)
    shown: list[CircuitEnvelope] = []
    refused: dict[str, str] = {}
    for name in names:
        try:
            shown.append(_circuit(circuits, name, asked, days.coldest_degF, days.hottest_degF))
        except Refusal as error:
            if len(names) == 1:
                raise
            refused[name] = str(error)
    return EnvelopeResult(rig, tuple(shown), refused)


def _circuit(circuits: Circuits, name: str, asked: Asked, coldest_degF: float, hottest_degF: float) -> CircuitEnvelope:
    rig, model = circuits.rig, circuits.model(name)
    reference_degF = rig.file.reference_degF
    rigged, why = rigging_tensions(circuits, model, asked)
    known = all(run.name in rigged for run in model.runs)
    rigged_lbf = [rigged.get(run.name, 0.0) for run in model.runs]
    temperatures = _grid(rig, model, min(coldest_degF, reference_degF), max(hottest_degF, reference_degF))
    if known:
        temperatures = _with_slack_corners(model, rigged_lbf, temperatures, reference_degF)
    corners = {t for run in model.runs for t in limit_line(circuits, run, temperatures).corners_degF}
    temperatures = sorted({*temperatures, *corners})
    lines = [limit_line(circuits, run, temperatures) for run in model.runs]
    if known:
        runs = _drawn(rig, model, rigged_lbf, temperatures, lines, why)
        notes = [*balance_notes(rigged, runs), *drift_notes(runs)]
    else:
        runs = [_undrawn(run, line, why) for run, line in zip(model.runs, lines, strict=True)]
        notes = []
    shown = None
    if asked.pilot_force_lbf is not None or asked.limit_lbf is not None or not all(line.given for line in lines):
        shown = window(rig, model, temperatures, asked.pilot_force_lbf, asked.limit_lbf)
    airframes = [airframe for run in model.runs for _, airframe in run.parts]
    return CircuitEnvelope(
        name=name,
        reference_degF=reference_degF,
        coldest_degF=coldest_degF,
        hottest_degF=hottest_degF,
        temperatures_degF=tuple(temperatures),
        runs=tuple(runs),
        window=shown,
        notes=tuple(notes),
        assumptions=tuple(lines_rest_on(rig, model.runs)),
        cautions=tuple(dict.fromkeys(a.caution for a in airframes if a.caution)),
    )


def _grid(rig: Rig, model: CircuitModel, first_degF: float, last_degF: float) -> list[float]:
    """Steps of five degrees, both ends, the reference, and the corners of the charts."""
    steps = range(math.ceil(first_degF / STEP_DEGF) * STEP_DEGF, math.floor(last_degF) + 1, STEP_DEGF)
    charts = [t for run in model.runs for t in chart_degF(rig, run)]
    every = {first_degF, last_degF, rig.file.reference_degF, *map(float, steps), *charts}
    return sorted(t for t in every if first_degF <= t <= last_degF)


def _drawn(
    rig: Rig,
    model: CircuitModel,
    rigged_lbf: Sequence[float],
    temperatures_degF: Sequence[float],
    lines: Sequence[LimitLine],
    why: dict[str, str],
) -> list[RunEnvelope]:
    change = [t - rig.file.reference_degF for t in temperatures_degF]
    tensions = tensions_at(model, rigged_lbf, change)
    tight = tight_at(model, rigged_lbf, change)
    parts = components(model, rigged_lbf, change, rig.file.thermometer_half_width_degF)
    slopes = tensions_at(model, rigged_lbf, [-SMALL_DEGF, SMALL_DEGF])
    runs = []
    for i, run in enumerate(model.runs):
        own = tuple(float(t) for t in tensions[:, i])
        at_reference, origin = own[change.index(0.0)], why[run.name]
        if abs(at_reference - rigged_lbf[i]) > SHOWN_LBF:
            origin = told("{} {}, moved by the balance of the circuit", origin, lbf(rigged_lbf[i]))
        held = tuple(float(t) for t in tight[:, i])
        slope = float(slopes[1, i] - slopes[0, i]) / (2 * SMALL_DEGF)
        made = tuple(tuple(Component(w, float(u[j, i])) for w, u in parts.items()) for j in range(len(change)))
        spread = [Combined(m).expanded() for m in made]
        slack = tuple(below_zero(temperatures_degF, [t - SLACK_LBF for t in own]))
        runs.append(
            RunEnvelope(
                run=run,
                rigged_lbf=at_reference,
                rigged_by=origin,
                tensions_lbf=own,
                tight_lbf=held,
                components=made,
                limits=lines[i],
                slack=slack,
                slack_uncertainty_degF=_slack_uncertainty(slack, temperatures_degF, made, slope),
                perhaps_slack=tuple(below_zero(temperatures_degF, [t - u for t, u in zip(held, spread, strict=True)])),
                out=tuple(_out(run.name, temperatures_degF, own, lines[i])),
                slope_lbf_per_degF=slope,
                direction=direction(model.pieces[i], run.entry.give_in_per_lbf or 0.0, slope),
            )
        )
    return runs


def _undrawn(run: Run, line: LimitLine, why: dict[str, str]) -> RunEnvelope:
    reason = why.get(run.name, "no tension is known")
    return RunEnvelope(run, None, reason, (), (), (), line, (), None, (), (), None, "not known")


def _with_slack_corners(
    model: CircuitModel, rigged_lbf: Sequence[float], temperatures_degF: Sequence[float], reference_degF: float
) -> list[float]:
    """The temperatures with those added at which a link becomes slack or tight."""

    def tight(temperature_degF: float) -> tuple[bool, ...]:
        tension = tensions_at(model, rigged_lbf, temperature_degF - reference_degF)
        return tuple(bool(t > SLACK_LBF) for t in tension)

    every = tensions_at(model, rigged_lbf, [t - reference_degF for t in temperatures_degF]) > SLACK_LBF
    added: set[float] = set()
    for i, (low, far) in enumerate(pairwise(temperatures_degF)):
        state, near = tuple(every[i].tolist()), low
        # several links may change in one step, each at its own corner
        for _ in model.circuit.links:
            if tuple(every[i + 1].tolist()) == state:
                break
            near = last_alike(near, far, partial(_same, tight, state))
            added.add(near)
            state = tight(near + BESIDE_DEGF)
    return sorted({*temperatures_degF, *added})


def _same(tight: Callable[[float], tuple[bool, ...]], state: tuple[bool, ...], temperature_degF: float) -> bool:
    return tight(temperature_degF) == state


def _slack_uncertainty(
    slack: Sequence[Span], temperatures_degF: Sequence[float], parts: Sequence[tuple[Component, ...]], slope: float
) -> float | None:
    """U of the temperature at which a cable becomes slack [degF]: that of the tension there over its slope."""
    if not slack or slope == 0.0:
        return None
    corner = slack[0].to_degF if slack[0].from_degF == temperatures_degF[0] else slack[0].from_degF
    nearest_ = min(range(len(parts)), key=lambda j: abs(temperatures_degF[j] - corner))
    return Combined(parts[nearest_]).expanded() / abs(slope)


def _out(
    run: str, temperatures_degF: Sequence[float], tensions_lbf: Sequence[float], line: LimitLine
) -> list[OutOfLimits]:
    found: list[OutOfLimits] = []
    for side, edges, sign in (("low", line.low_lbf, 1.0), ("high", line.high_lbf, -1.0)):
        margins = [
            None if edge is None else sign * (t - edge) + SLACK_LBF for t, edge in zip(tensions_lbf, edges, strict=True)
        ]
        for span in below_zero(temperatures_degF, margins):
            inside = [
                (m, t)
                for m, t in zip(margins, temperatures_degF, strict=True)
                if m is not None and span.from_degF <= t <= span.to_degF
            ]
            worst, at = min(inside)
            found.append(OutOfLimits(run, side, span.from_degF, span.to_degF, SLACK_LBF - worst, at))
    return found
