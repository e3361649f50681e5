"""A run's story as the fit sees it: readings through their cards, turns as take-up, temperature, and what is known before."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Final, Literal

import msgspec

from rigging.errors import Refusal
from rigging.hardware import turnbuckle
from rigging.hardware.bedding_in import bedding_in
from rigging.jobs.drift import components
from rigging.measure.reading import read_tension
from rigging.measure.uncertainty import rectangular
from rigging.sheet.circuit import CircuitModel, circuit_model
from rigging.sheet.history import Event
from rigging.sheet.rig import Rig, Run
from rigging.source import Basis, Source

if TYPE_CHECKING:
    from rigging.physics.settling import History, Prior

By = Literal["hours", "cycles"]

HORIZON: Final = {"hours": 8760.0, "cycles": 20_000.0}  # the next annual inspection (practice)
CYCLES: Final = (5.0, 5000.0)  # stop to stop, in which a cable beds in, 95 % (practice)
LEAST_SHARE: Final = 2e-6  # of length, that any cable may still bed in (practice)
LEAST_BIAS: Final = 1e-4


class Point(msgspec.Struct, frozen=True):
    """One moment of the story: when, what was read, brought to reference, and the take-up given by then.

    elapsed: hours or cycles since the first reading. tension_lbf, at_reference_lbf [lbf].
    """

    time: dt.datetime
    elapsed: float
    tension_lbf: float
    at_reference_lbf: float
    standard_uncertainty_lbf: float
    structure_degF: float
    instrument: str
    line: int | None


class Turn(msgspec.Struct, frozen=True):
    """Turns given: when, on which cable, how many half turns, and what that takes up on the run of the story [in]."""

    time: dt.datetime
    elapsed: float
    cable: str
    half_turns: int
    takeup_in: float


class Story(msgspec.Struct, frozen=True):
    """Everything the fit needs of one run, and what it rests on."""

    run: Run
    station: str
    state: str
    by: By
    reference_degF: float
    points: tuple[Point, ...]
    turns: tuple[Turn, ...]
    history: History
    prior: Prior
    prior_source: Source
    usable_for_sign_off: bool
    notes: tuple[str, ...]

    def takeup_in(self, elapsed: float = math.inf) -> float:
        """Take-up [in] given before a time, from the first reading on; a reading comes before the turns of its moment."""
        return math.fsum(turn.takeup_in for turn in self.turns if turn.elapsed < elapsed)


def story(
    rig: Rig, run: Run, events: Sequence[Event], station: str | None, state: str | None, by: By, horizon: float | None
) -> Story:
    """The story of one run.

    Raises Refusal: nothing read, several stations or aircraft states of which none was chosen, cycles
    missing where they are asked for, two readings of a time that differ in how they were taken.
    """
    import numpy as np

    from rigging.physics.settling import History, Prior

    circuit_events = [e for e in events if e.circuit == run.circuit]
    own = [e for e in circuit_events if e.run == run.name and e.is_reading]
    if not own:
        raise Refusal(f"{run.label}: nothing was read on this run")
    own, chosen_station = _one_of("station", own, station, run)
    own, chosen_state = _one_of("state", own, state, run)
    if by == "cycles" and any(e.cycles is None for e in own):
        raise Refusal(f"{run.label}: not every reading has its cycles: fill the column, or go by hours")
    model = circuit_model(rig, run.circuit)
    place = [r.name for r in model.runs].index(run.name)
    effect, _ = model.circuit.takeup_effect()
    reference_degF = (
        run.band.reference_degF if run.band and run.band.reference_degF is not None else rig.file.reference_degF
    )
    slope = float(effect[place] @ model.stretch_in_per_degF)
    parts = components(model, [1.0] * model.cable_count, [1.0], 0.0)
    slope_uncertainty = math.sqrt(sum(float(u[0, place]) ** 2 for u in parts.values()))
    thermometer_lbf = abs(slope) * rectangular(rig.file.thermometer_half_width_degF)
    points, sound = _points(rig, run, own, by, reference_degF, slope, thermometer_lbf)
    stiffness = float(effect[place, place])
    turns = _turns(model, effect[place] / stiffness, [e for e in circuit_events if e.time >= own[0].time], own[0], by)
    instruments = list(dict.fromkeys(p.instrument for p in points))
    low, high, source = _expected(run)
    per_share = float(effect[place, : model.cable_count] @ [r.entry.length_in for r in model.runs])
    given = run.entry.bedding_in
    hours = (given.fastest_h, given.slowest_h) if given else (1.0, 500.0)
    fastest, slowest = hours if by == "hours" else CYCLES
    bias = max([rig.cards[s].accuracy / math.sqrt(3) for s in instruments if s in rig.cards], default=LEAST_BIAS)
    relative = run.cable.need_stiffness()
    notes = (
        [f"{len(instruments)} tensiometers ({', '.join(instruments)}): each with an error of its own"]
        if len(instruments) > 1
        else []
    )
    return Story(
        run=run,
        station=chosen_station,
        state=chosen_state,
        by=by,
        reference_degF=reference_degF,
        points=tuple(points),
        turns=tuple(turns),
        history=History(
            np.array([p.elapsed for p in points]),
            np.array([p.tension_lbf for p in points]),
            np.array([p.standard_uncertainty_lbf for p in points]),
            np.array([p.structure_degF - reference_degF for p in points]),
            np.array([math.fsum(t.takeup_in for t in turns if t.time < p.time) for p in points]),
            np.array([instruments.index(p.instrument) for p in points]),
        ),
        prior=Prior(
            low * per_share, high * per_share, fastest, slowest, horizon or HORIZON[by], stiffness,
            relative.standard_uncertainty / relative.value, slope, slope_uncertainty, bias,
        ),
        prior_source=source,
        usable_for_sign_off=sound,
        notes=tuple(notes),
    )  # fmt: skip


def _one_of(what: str, events: list[Event], chosen: str | None, run: Run) -> tuple[list[Event], str]:
    """Readings of one station or state; where there are several, one must be named."""
    known = list(dict.fromkeys(getattr(e, what) for e in events))
    if chosen is None and len(known) > 1:
        named = ", ".join(f"'{k}'" for k in known)
        raise Refusal(f"{run.label}: readings of several {what}s ({named}) are not mixed: choose one with --{what}")
    wanted = known[0] if chosen is None else chosen
    if wanted not in known:
        raise Refusal(f"{run.label}: no reading of {what} '{wanted}' (there are: {', '.join(known)})")
    return [e for e in events if getattr(e, what) == wanted], wanted


def _points(
    rig: Rig, run: Run, own: Sequence[Event], by: By, reference_degF: float, slope: float, thermometer_lbf: float
) -> tuple[list[Point], bool]:
    points: list[Point] = []
    sound = True
    moments = list(dict.fromkeys((e.time, e.tensiometer, e.riser) for e in own))
    first = own[0]
    for time, serial, riser in moments:
        here = [e for e in own if (e.time, e.tensiometer, e.riser) == (time, serial, riser)]
        structure = [e.structure_degF for e in here if e.structure_degF is not None]
        structure_degF = math.fsum(structure) / len(structure)
        dials = [e.dial for e in here if e.dial is not None]
        if dials and riser is not None:
            read = read_tension(rig.cards[serial], riser, run.cable.size, dials, time.date())
            sound = sound and read.card_in_date and read.card.source.acceptable
            tension_lbf = read.tension_lbf
            # the instrument's own error is the same every time: the fit carries it apart
            own_lbf = math.sqrt(sum(c.standard_uncertainty**2 for c in read.combined.components[1:]))
        else:
            tension_lbf = math.fsum(e.tension_lbf or 0.0 for e in here) / len(here)
            own_lbf = max(e.uncertainty_lbf or 0.0 for e in here) / 1.96
        points.append(
            Point(
                time=time,
                elapsed=_elapsed(here[0], first, by),
                tension_lbf=tension_lbf,
                at_reference_lbf=tension_lbf - slope * (structure_degF - reference_degF),
                standard_uncertainty_lbf=math.hypot(own_lbf, thermometer_lbf),
                structure_degF=structure_degF,
                instrument=serial or "as noted",
                line=here[0].line,
            )
        )
    return points, sound


def _elapsed(event: Event, first: Event, by: By) -> float:
    if by == "cycles":
        return float((event.cycles or 0.0) - (first.cycles or 0.0))
    return (event.time - first.time).total_seconds() / 3600


def _turns(model: CircuitModel, share: Sequence[float], events: Sequence[Event], first: Event, by: By) -> list[Turn]:
    """Turns given on any cable of the circuit; those on others count as far as they tighten this run."""
    names = [r.name for r in model.runs]
    found = []
    for event in events:
        place = names.index(event.run)
        entry = model.runs[place].entry.turnbuckle
        if event.half_turns and entry is not None:
            takeup_in = event.half_turns * turnbuckle.pitch(entry.thread).value * float(share[place])
            found.append(Turn(event.time, max(0.0, _elapsed(event, first, by)), event.run, event.half_turns, takeup_in))
    return found


def _expected(run: Run) -> tuple[float, float, Source]:
    """Bedding-in to be expected as a share of length, low and high, with its status."""
    given = run.entry.bedding_in
    if given is not None:
        return given.low, given.high, Source(Basis.AIRCRAFT, given.source)
    known = bedding_in(run.entry.history)
    high = max(known.high_share, 10 * LEAST_SHARE)
    return max(known.low_share, high / 10), high, known.source
