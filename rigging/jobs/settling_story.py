"""A run's story as the fit sees it: its readings and turns at one station, and what is known before the first of them."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Sequence
from itertools import accumulate
from typing import TYPE_CHECKING, Final

import msgspec

from rigging.errors import Refusal
from rigging.jobs.drift import components
from rigging.jobs.settling_expected import expected
from rigging.jobs.settling_points import By, Point, Turn, points_of, turns_of
from rigging.judge.limits import RIGID, UNCHANGED_LBF
from rigging.measure.uncertainty import rectangular
from rigging.sheet.circuit import CircuitModel, circuit_model, rigid
from rigging.sheet.history import Event
from rigging.sheet.rig import Rig, Run
from rigging.source import Source

if TYPE_CHECKING:
    from rigging.physics.settling_history import History, Prior

HORIZON: Final = {"hours": 8760.0, "cycles": 20_000.0}  # from the last reading to the next annual inspection (practice)


class Story(msgspec.Struct, frozen=True):
    """Everything the fit needs of one run, and what it rests on.

    history_words: what is expected to bed in, ``new cable``, by cable where they differ. gaps: what keeps the
    answer from sign-off, empty where nothing does.
    """

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
    history_words: str
    gaps: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def usable_for_sign_off(self) -> bool:
        """Whether nothing keeps it from being accepted."""
        return not self.gaps

    def takeup_in(self, elapsed: float = math.inf) -> float:
        """Take-up [in] given before a time, from the first reading on; a reading comes before the turns of its moment."""
        return math.fsum(turn.takeup_in for turn in self.turns if turn.elapsed < elapsed)


def story(
    rig: Rig, run: Run, events: Sequence[Event], station: str | None, state: str | None, by: By, horizon: float | None
) -> Story:
    """The story of one run.

    horizon: hours or cycles from the first reading; HORIZON after the last one where None.
    Raises Refusal: nothing read, several stations or aircraft states of which none was chosen, cycles
    missing where they are asked for, two readings of a time that differ in how they were taken.
    """
    import numpy as np

    from rigging.physics.settling_history import History

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
    lag_lbf_per_degF = abs(float(effect[place] @ _cable_stretch(model)))
    points, gaps = points_of(rig, run, own, by, reference_degF, slope, thermometer_lbf, lag_lbf_per_degF)
    turns = turns_of(
        model, effect[place] / effect[place, place], [e for e in circuit_events if e.time >= own[0].time], own, by
    )
    instruments = {serial: number for number, serial in enumerate(dict.fromkeys(p.instrument for p in points))}
    end = horizon or points[-1].elapsed + HORIZON[by]
    before = expected(
        rig, run, model, effect[place], (slope, slope_uncertainty), list(instruments), circuit_events, by, end
    )
    # a reading comes before the turns of its moment
    given_in = [0.0, *accumulate(turn.takeup_in for turn in turns)]
    turned = [turn.time for turn in turns]
    notes = (
        [f"{len(instruments)} tensiometers ({', '.join(instruments)}): each with an error of its own"]
        if len(instruments) > 1
        else []
    )
    if rigid(model.runs) and any(abs(slope * (p.structure_degF - reference_degF)) >= UNCHANGED_LBF for p in points):
        notes.append(RIGID)
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
            np.array([given_in[bisect_left(turned, p.time)] for p in points]),
            np.array([instruments[p.instrument] for p in points]),
        ),
        prior=before.prior,
        prior_source=before.source,
        history_words=before.words,
        gaps=(*gaps, *before.gaps),
        notes=tuple(notes),
    )


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


def _cable_stretch(model: CircuitModel) -> Sequence[float]:
    """What one degree on the cables alone takes off the stretch of every link [in/degF]."""
    own = [-sum(p.length_in * p.cable_expansion_per_degF for p in pieces) for pieces in model.pieces]
    return own + [0.0] * (len(model.circuit.links) - len(own))
