"""The limits of one run along a range of temperatures, without a result where no honest limit exists."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import msgspec

from rigging.errors import Refusal
from rigging.judge.chart import limits_from_chart
from rigging.judge.limits import Limits, limits_today, rests_on
from rigging.judge.temperatures import Condition
from rigging.physics.spans import Span, last_alike
from rigging.sheet.circuit import Circuits, rigid
from rigging.sheet.rig import Rig, Run
from rigging.told import degF, told

AT_REFERENCE_DEGF: Final = 0.05  # what a thermometer's reading is rounded to


class OpenLimits(msgspec.Struct, frozen=True):
    """A span without limits and the reason, as refused at its far end."""

    span: Span
    reason: str


class LimitLine(msgspec.Struct, frozen=True):
    """Low and high limit [lbf] at each temperature, None where none is given or can be.

    given: whether the sheet gives this run limits at all. corners_degF [degF]: where limits end between
    two temperatures. slope_lbf_per_degF: at the reference temperature, None where there is no limit.
    """

    given: bool
    low_lbf: tuple[float | None, ...]
    high_lbf: tuple[float | None, ...]
    open: tuple[OpenLimits, ...]
    corners_degF: tuple[float, ...]
    slope_lbf_per_degF: float | None
    usable_for_sign_off: bool


def limits_under(circuits: Circuits, run: Run, condition: Condition) -> Limits | None:
    """Limits of a run under the conditions of a reading, None where the sheet gives it none.

    A chart of the aircraft's own stands as it is; a band is moved by what temperature does to the run in its circuit.
    Raises Refusal where no honest limit exists: a low limit of zero or less, a temperature off the chart, a band to
    be moved in a circuit that cannot be worked out. At its reference temperature a band holds whatever the circuit.
    """
    rig, band = circuits.rig, run.band
    if run.entry.chart is not None and rig.chart is not None:
        return limits_from_chart(rig.chart, run.entry.chart, condition, rig.file.reference_degF)
    if band is None:
        return None
    give = run.entry.give_in_per_lbf
    try:
        around = circuits.around(run)
    except Refusal as error:
        # what is wrong with the run itself comes first
        printed = limits_today(band, run.limits_source, run.cable, run.parts, condition, give)
        if _away_degF(condition, printed.reference_degF) > AT_REFERENCE_DEGF:
            raise Refusal(
                told(
                    "temperature moves this cable through its circuit, and that cannot be worked out ({}): read it at {}, or use the aircraft's own chart",
                    str(error),
                    degF(printed.reference_degF),
                )
            ) from None
        return printed
    return limits_today(band, run.limits_source, run.cable, run.parts, condition, give, around)


def _away_degF(condition: Condition, reference_degF: float) -> float:
    """How far structure or cable, whichever is farther, is from the reference [degF]."""
    known = [t for t in (condition.structure_degF, condition.cable_degF) if t is not None]
    return max(abs(t - reference_degF) for t in known)


def limits_at(circuits: Circuits, run: Run, temperature_degF: float) -> Limits | None:
    """``limits_under`` with everything at one temperature [degF]."""
    return limits_under(circuits, run, Condition(temperature_degF, circuits.rig.file.thermometer_half_width_degF))


def chart_degF(rig: Rig, run: Run) -> list[float]:
    """Temperatures [degF] of the run's chart, where its lines have corners."""
    if run.entry.chart is None or rig.chart is None:
        return []
    return [float(r.values["temperature"]) for r in rig.chart.rows if r.values["for"] == run.entry.chart]


def limit_line(circuits: Circuits, run: Run, temperatures_degF: Sequence[float]) -> LimitLine:
    """The limits of a run at rising temperatures [degF]."""
    if run.band is None and run.entry.chart is None:
        none = (None,) * len(temperatures_degF)
        return LimitLine(False, none, none, (), (), None, False)

    def at(temperature_degF: float) -> Limits | str:
        try:
            return limits_at(circuits, run, temperature_degF) or ""
        except Refusal as error:
            return str(error)

    found = [at(t) for t in temperatures_degF]
    corners: list[float] = []
    spans: list[OpenLimits] = []
    for i, limits in enumerate(found):
        here = temperatures_degF[i]
        if i and isinstance(limits, str) != isinstance(found[i - 1], str):
            near, far = (
                (here, temperatures_degF[i - 1]) if isinstance(found[i - 1], str) else (temperatures_degF[i - 1], here)
            )
            corners.append(last_alike(near, far, lambda t: not isinstance(at(t), str)))
        if isinstance(limits, str):
            start = corners[-1] if i and not isinstance(found[i - 1], str) else here
            if spans and i and isinstance(found[i - 1], str):
                # towards the cold the first reason is the farthest, towards the heat the last
                cold = spans[-1].span.from_degF == temperatures_degF[0]
                spans[-1] = OpenLimits(Span(spans[-1].span.from_degF, here), spans[-1].reason if cold else limits)
            else:
                spans.append(OpenLimits(Span(start, here), limits))
        elif i and isinstance(found[i - 1], str):
            spans[-1] = OpenLimits(Span(spans[-1].span.from_degF, corners[-1]), spans[-1].reason)
    reference = at(circuits.rig.file.reference_degF)
    return LimitLine(
        given=True,
        low_lbf=tuple(None if isinstance(x, str) else x.low_lbf for x in found),
        high_lbf=tuple(None if isinstance(x, str) else x.high_lbf for x in found),
        open=tuple(spans),
        corners_degF=tuple(corners),
        slope_lbf_per_degF=None if isinstance(reference, str) else reference.slope_lbf_per_degF,
        usable_for_sign_off=not isinstance(reference, str) and reference.usable_for_sign_off,
    )


def lines_rest_on(rig: Rig, runs: Sequence[Run]) -> list[str]:
    """What the lines of these runs rest on, each figure once with its source."""
    limits: dict[str, list[str]] = {}
    for run in runs:
        if run.entry.chart is not None and rig.chart is not None:
            limits.setdefault(f"chart {rig.chart.id}, {rig.chart.file.source}", []).append(run.name)
        elif run.band is not None:
            limits.setdefault(str(run.limits_source), []).append(run.name)
    airframes = [airframe for run in runs for _, airframe in run.parts]
    return [
        *(f"limits of {', '.join(names)}: {source}" for source, names in limits.items()),
        *rests_on([run.cable for run in runs], airframes, rigid(runs)),
    ]
