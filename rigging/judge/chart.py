"""The aircraft's own chart: temperature, low and high, per cable or circuit; and what it says today."""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from typing import Final

from rigging.errors import BadFile, Problem, Refusal, nearest
from rigging.judge.limits import Limits
from rigging.judge.temperatures import Condition
from rigging.measure.uncertainty import Component, rectangular
from rigging.physics import thermal
from rigging.source import acceptable
from rigging.tables import Table
from rigging.told import degF, degF_apart, told

COLUMNS: Final = {"for": ("text", "size"), "temperature": ("F",), "low": ("lbf",), "high": ("lbf",)}


def check_chart(table: Table) -> None:
    """Raises BadFile unless the table is a chart whose lines rise in temperature and hold low below high."""
    problems: list[Problem] = []
    if table.file.kind != "chart":
        problems.append(table.problem(("kind",), "'kind: chart' is needed for limits against temperature"))
    for name, units in COLUMNS.items():
        column = table.file.columns.get(name)
        if column is None or column.unit not in units:
            problems.append(table.problem(("columns",), f"a column '{name}' in {' or '.join(units)} is needed"))
    if problems:
        raise BadFile(problems)
    last: dict[str, float] = {}
    for row in table.rows:
        where = ("rows", row.index)
        name, temperature, low, high = (row.values[c] for c in COLUMNS)
        if None in (name, temperature, low, high):
            problems.append(table.problem(where, "a chart has no blank cells"))
            continue
        if not 0 < low < high:
            problems.append(table.problem(where, f"low {low:g} must lie above zero and below high {high:g}"))
        if name in last and temperature <= last[name]:
            problems.append(table.problem(where, f"temperatures of '{name}' must rise down the page"))
        last[name] = temperature
    problems += [
        table.problem(
            ("rows",),
            f"'{name}' has a single temperature: two are needed to draw a line, or write a plain band",
        )
        for name, times in Counter(row.values["for"] for row in table.rows).items()
        if times == 1 and name in last
    ]
    if problems:
        raise BadFile(problems)


def limits_from_chart(table: Table, name: str, condition: Condition, reference_degF: float) -> Limits:
    """Limits today by the chart's lines for ``name``, straight between its points.

    Raises Refusal: an unknown name, or a temperature outside the chart's own lines.
    """
    rows = [row for row in table.rows if row.values["for"] == name]
    if not rows:
        raise Refusal(f"{table.id}: no lines for '{name}'{nearest(name, {r.values['for'] for r in table.rows})}")
    points = [(float(r.values["temperature"]), float(r.values["low"]), float(r.values["high"])) for r in rows]
    low_lbf, high_lbf, slope = _at(points, condition.structure_degF, f"{table.id}, {name}")
    reference_low_lbf, reference_high_lbf, _ = _at(
        points, reference_degF, f"{table.id}, {name} at reference temperature"
    )
    middle_shift_lbf = (low_lbf + high_lbf - reference_low_lbf - reference_high_lbf) / 2
    source = rows[0].source("low")
    temperature_lbf = abs(slope) * rectangular(condition.half_width_degF)
    return Limits(
        temperature_degF=condition.structure_degF,
        low_lbf=low_lbf,
        target_lbf=(low_lbf + high_lbf) / 2,
        high_lbf=high_lbf,
        reference_degF=reference_degF,
        reference_low_lbf=reference_low_lbf,
        reference_high_lbf=reference_high_lbf,
        shift_lbf=middle_shift_lbf,
        slope_lbf_per_degF=slope,
        direction="nearly neutral" if abs(slope) < 0.01 else "warmer is tighter" if slope > 0 else "warmer is looser",
        components=(Component("temperature reading", temperature_lbf),),
        source=source,
        assumptions=(
            f"{table.id}, lines for {name}: {source}",
            told("temperature +-{}", degF_apart(condition.half_width_degF)),
        ),
        cautions=(),
        figures_acceptable=acceptable(row.source(c) for row in rows for c in ("temperature", "low", "high")),
    )


def _at(points: list[tuple[float, float, float]], temperature_degF: float, whose: str) -> tuple[float, float, float]:
    thermal.check_temperature(temperature_degF)
    xs = [p[0] for p in points]
    if not xs[0] <= temperature_degF <= xs[-1]:
        raise Refusal(
            told(
                "{} lies outside the chart ({}: {} to {})",
                degF(temperature_degF),
                whose,
                degF(xs[0], "g", unit=False),
                degF(xs[-1], "g"),
            )
        )
    i = min(bisect_right(xs, temperature_degF), len(xs) - 1) - 1
    (t0, low0, high0), (t1, low1, high1) = points[i], points[i + 1]
    share = (temperature_degF - t0) / (t1 - t0)
    low, high = low0 + share * (low1 - low0), high0 + share * (high1 - high0)
    return low, high, ((low1 + high1) - (low0 + high0)) / 2 / (t1 - t0)
