"""Readings and turns of one run as a settling fit sees them: through their cards, at their temperature, as take-up."""

from __future__ import annotations

import datetime as dt
import math
from bisect import bisect_right
from collections.abc import Sequence
from typing import Literal

import msgspec

from rigging.errors import Refusal
from rigging.hardware import turnbuckle
from rigging.measure.reading import read_tension
from rigging.measure.uncertainty import rectangular
from rigging.physics.thermal import hold_above_zero
from rigging.sheet.circuit import CircuitModel
from rigging.sheet.history import Event
from rigging.sheet.rig import Rig, Run

By = Literal["hours", "cycles"]


class Point(msgspec.Struct, frozen=True):
    """One moment of the story: when, what was read, brought to reference, and the take-up given by then.

    elapsed: hours or cycles since the first reading. tension_lbf, at_reference_lbf [lbf]: the second zero where the
    cable hangs slack at reference. scatter_lbf [lbf, k=1]: of the reading with its thermometer; the standard uncertainty also holds how far the cable may be off the structure.
    """

    time: dt.datetime
    elapsed: float
    tension_lbf: float
    at_reference_lbf: float
    scatter_lbf: float
    standard_uncertainty_lbf: float
    structure_degF: float
    instrument: str
    riser: int | None
    line: int | None


class Turn(msgspec.Struct, frozen=True):
    """Turns given: when, on which cable, how many half turns, and what that takes up on the run of the story [in]."""

    time: dt.datetime
    elapsed: float
    cable: str
    half_turns: int
    takeup_in: float


def points_of(
    rig: Rig,
    run: Run,
    own: Sequence[Event],
    by: By,
    reference_degF: float,
    slope: float,
    thermometer_lbf: float,
    lag_lbf_per_degF: float,
) -> tuple[list[Point], tuple[str, ...]]:
    """One point for each time, tensiometer and riser at which the run was read, and what keeps them from sign-off.

    own: the readings, in order of time. slope [lbf/degF]: of the run in its circuit. thermometer_lbf [lbf, k=1]: what the
    thermometer leaves open. lag_lbf_per_degF: what a degree between cable and structure makes. Raises Refusal: a
    reading that its card refuses.
    """
    points: list[Point] = []
    gaps: list[str] = []
    moments: dict[tuple[dt.datetime, str, int | None], list[Event]] = {}
    for event in own:
        moments.setdefault((event.time, event.tensiometer, event.riser), []).append(event)
    first = own[0]
    for (time, serial, riser), here in moments.items():
        structure = [e.structure_degF for e in here if e.structure_degF is not None]
        structure_degF = math.fsum(structure) / len(structure)
        dials = [e.dial for e in here if e.dial is not None]
        if dials and riser is not None:
            try:
                read = read_tension(rig.cards[serial], riser, run.cable.size, dials, time.date(), run.cable)
            except Refusal as error:
                raise Refusal(f"{run.label}, line {here[0].line}: {error}") from None
            if not read.card_in_date:
                gaps.append(f"card {serial} was out of date on a day of reading")
            if not read.card.source.acceptable:
                gaps.append(f"card {serial} is from {read.card.source.basis.value}")
            tension_lbf = read.tension_lbf
            # the instrument's own error is the same every time: the fit carries it apart
            own_lbf = read.scatter.standard_uncertainty
        else:
            gaps.append("a tension is given as a figure: no card stands behind it")
            tension_lbf = math.fsum(e.tension_lbf or 0.0 for e in here) / len(here)
            own_lbf = max(e.uncertainty_lbf or 0.0 for e in here) / 1.96
        points.append(
            Point(
                time=time,
                elapsed=elapsed_of(here[0], first, by),
                tension_lbf=tension_lbf,
                at_reference_lbf=hold_above_zero(tension_lbf - slope * (structure_degF - reference_degF))[0],
                scatter_lbf=math.hypot(own_lbf, thermometer_lbf),
                standard_uncertainty_lbf=math.hypot(
                    own_lbf, thermometer_lbf, lag_lbf_per_degF * rectangular(_lag_degF(here, structure_degF))
                ),
                structure_degF=structure_degF,
                instrument=serial or "as noted",
                riser=riser,
                line=here[0].line,
            )
        )
    return points, tuple(dict.fromkeys(gaps))


def _lag_degF(here: Sequence[Event], structure_degF: float) -> float:
    """How far the cable may be off the structure [degF]: it lies somewhere between structure and air."""
    return max((abs(e.air_degF - structure_degF) for e in here if e.air_degF is not None), default=0.0)


def elapsed_of(event: Event, first: Event, by: By) -> float:
    """Hours or control cycles from one event to another; by cycles both must have their count, else it is taken as none."""
    if by == "cycles":
        return float((event.cycles or 0.0) - (first.cycles or 0.0))
    return (event.time - first.time).total_seconds() / 3600


def turns_of(
    model: CircuitModel, share: Sequence[float], events: Sequence[Event], own: Sequence[Event], by: By
) -> list[Turn]:
    """Turns given on any cable of the circuit, in order of time; those on others count as far as they tighten this run.

    share: take-up of this run for one on each cable. events: of the circuit, from the first reading of ``own`` on.
    """
    names = [r.name for r in model.runs]
    read = [e.time for e in own]
    found = []
    for event in events:
        place = names.index(event.run)
        entry = model.runs[place].entry.turnbuckle
        if event.half_turns and entry is not None:
            takeup_in = event.half_turns * turnbuckle.pitch(entry.thread).value * float(share[place])
            # between two readings the moment decides; cycles need not be noted with turns, nor be the same count on another run
            when = event if by == "hours" else own[bisect_right(read, event.time) - 1]
            found.append(Turn(event.time, elapsed_of(when, own[0], by), event.run, event.half_turns, takeup_in))
    return sorted(found, key=lambda turn: turn.time)
