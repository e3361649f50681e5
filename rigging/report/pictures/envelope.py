"""A circuit through the seasons as a picture: tension against temperature, with limits and the slack days."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Sequence
from pathlib import Path

from rigging.jobs.envelope_parts import CircuitEnvelope, EnvelopeResult, RunEnvelope
from rigging.report.pictures.panel import Axis, Limit, Line, Mark, Panel, Shade
from rigging.units import NEWTON_PER_LBF, degF_to_degC, show_temperature

ALIKE_LBF = 0.05  # lines nearer than this are one line, with several names


def panel(circuit: CircuitEnvelope, aircraft: str, si: bool = False) -> Panel:
    """The picture of a circuit, in degree F and lbf with C and N beside them, or the other way round with ``si``."""
    temperatures = tuple(degF_to_degC(t) if si else t for t in circuit.temperatures_degF)
    factor = NEWTON_PER_LBF if si else 1.0
    drawn = [run for run in circuit.runs if run.tensions_lbf]
    lines = []
    curves = _alike(drawn, lambda run: run.tensions_lbf)
    for runs in curves:
        first = runs[0]
        spread = list(zip(first.tensions_lbf, first.tight_lbf, first.uncertainties_lbf, strict=True))
        lines.append(
            Line(
                label=", ".join(run.run.name for run in runs),
                x=temperatures,
                y=tuple(t * factor for t in first.tensions_lbf),
                low=tuple(max(0.0, min(t, tight - u)) * factor for t, tight, u in spread),
                high=tuple(max(t, tight + u) * factor for t, tight, u in spread),
            )
        )
    limits = []
    groups = _alike(
        [run for run in circuit.runs if run.limits.given], lambda run: (*run.limits.low_lbf, *run.limits.high_lbf)
    )
    for runs in groups:
        shared = len(runs) == len(circuit.runs)
        whose = "" if shared else f" of {', '.join(run.run.name for run in runs)}"
        low, high = runs[0].limits.low_lbf, runs[0].limits.high_lbf
        limits.append(
            Limit(
                label=f"limits{whose}",
                x=temperatures,
                low=tuple(None if v is None else v * factor for v in low),
                high=tuple(None if v is None else v * factor for v in high),
                line=None if shared else next((i for i, own in enumerate(curves) if runs[0] in own), None),
            )
        )
    return Panel(
        title=f"{aircraft}: {circuit.name}",
        x=_temperature_axis(si),
        y=_force_axis(si),
        lines=tuple(lines),
        limits=tuple(limits),
        marks=(
            Mark(
                degF_to_degC(circuit.reference_degF) if si else circuit.reference_degF,
                f"rigged at {show_temperature(circuit.reference_degF, si)}",
            ),
        ),
        shades=tuple(_shades(circuit, temperatures, si)),
    )


def _alike(
    runs: Sequence[RunEnvelope], values: Callable[[RunEnvelope], Sequence[float | None]]
) -> list[list[RunEnvelope]]:
    groups: list[list[RunEnvelope]] = []
    for run in runs:
        for group in groups:
            if all(
                a == b or (a is not None and b is not None and abs(a - b) < ALIKE_LBF)
                for a, b in zip(values(group[0]), values(run), strict=True)
            ):
                group.append(run)
                break
        else:
            groups.append([run])
    return groups


def _shades(circuit: CircuitEnvelope, temperatures: Sequence[float], si: bool) -> list[Shade]:
    shades = []
    below, above = circuit.slack_below_degF, circuit.slack_above_degF
    if below is not None:
        end = degF_to_degC(below) if si else below
        shades.append(Shade(temperatures[0], end, f"slack below {_whole(below, si)}"))
    if above is not None:
        start = degF_to_degC(above) if si else above
        shades.append(Shade(start, temperatures[-1], f"slack above {_whole(above, si)}"))
    return shades


def _whole(temperature_degF: float, si: bool) -> str:
    return f"{degF_to_degC(temperature_degF):.0f} C" if si else f"{temperature_degF:.0f} F"


def _temperature_axis(si: bool) -> Axis:
    if si:
        return Axis("structure temperature, °C", "°F", 1.8, 32.0)
    return Axis("structure temperature, °F", "°C", 1 / 1.8, -32.0 / 1.8)


def _force_axis(si: bool) -> Axis:
    if si:
        return Axis("tension, N", "lbf", 1 / NEWTON_PER_LBF)
    return Axis("tension, lbf", "N", NEWTON_PER_LBF)


def footer(result: EnvelopeResult) -> str:
    """What the picture rests on, in lines for its bottom."""
    runs = [r for c in result.circuits for r in c.runs]
    limits = dict.fromkeys(str(r.run.limits_source) for r in runs if r.run.band is not None)
    chart = [f"chart {result.rig.chart.id}"] if result.rig.chart and any(r.run.entry.chart for r in runs) else []
    stiffness = dict.fromkeys(str(r.run.cable.need_stiffness().source) for r in runs)
    parts = [f"Limits: {'; '.join([*limits, *chart]) or 'none given'}.", f"Stiffness: {'; '.join(stiffness)}."]
    parts.append(f"Sheet {Path(result.rig.path).name}, SHA-256 {result.rig.sha256[:16]}. A picture, not an acceptance.")
    return "\n".join(line for part in parts for line in textwrap.wrap(part, 120))
