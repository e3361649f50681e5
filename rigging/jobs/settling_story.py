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
from rigging.source import Basis, Source, acceptable

if TYPE_CHECKING:
    from rigging.physics.settling import History, Prior

By = Literal["hours", "cycles"]

HORIZON: Final = {"hours": 8760.0, "cycles": 20_000.0}  # from the last reading to the next annual inspection (practice)
CYCLES: Final = (5.0, 5000.0)  # stop to stop, in which a cable beds in, 95 % (practice)
LEAST_SHARE: Final = 2e-6  # of length, that any cable may still bed in (practice)
JOINED: Final = 1e-6  # share of its own effect from which on a cable counts as in series
LEAST_BIAS: Final = 1e-4
BIAS_WITHOUT_CARD: Final = (
    0.02  # half-width of a sound tensiometer, for a tension that no card stands behind (practice)
)


class Point(msgspec.Struct, frozen=True):
    """One moment of the story: when, what was read, brought to reference, and the take-up given by then.

    elapsed: hours or cycles since the first reading. tension_lbf, at_reference_lbf [lbf]. scatter_lbf [lbf, k=1]: of
    the reading with its thermometer; the standard uncertainty also holds how far the cable may be off the structure.
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
    lag_lbf_per_degF = abs(float(effect[place] @ _cable_stretch(model)))
    points, gaps = _points(rig, run, own, by, reference_degF, slope, thermometer_lbf, lag_lbf_per_degF)
    stiffness = float(effect[place, place])
    turns = _turns(model, effect[place] / stiffness, [e for e in circuit_events if e.time >= own[0].time], own, by)
    instruments = list(dict.fromkeys(p.instrument for p in points))
    # every cable of the loop beds in on its own, and all of them take from this run
    joined = [(r, float(effect[place, i]) * r.entry.length_in) for i, r in enumerate(model.runs)]
    joined = [(r, share_lbf) for r, share_lbf in joined if share_lbf > JOINED * stiffness * r.entry.length_in]
    expected = [_expected(r) for r, _ in joined]
    low_lbf = math.fsum(e[0] * share_lbf for e, (_, share_lbf) in zip(expected, joined, strict=True))
    high_lbf = math.fsum(e[1] * share_lbf for e, (_, share_lbf) in zip(expected, joined, strict=True))
    # the least acceptable status stands for all
    source = next((e[2] for e in expected if not e[2].acceptable), _expected(run)[2])
    hours = [(g.fastest_h, g.slowest_h) if (g := r.entry.bedding_in) else (1.0, 500.0) for r, _ in joined]
    fastest, slowest = (min(h[0] for h in hours), max(h[1] for h in hours)) if by == "hours" else CYCLES
    accuracies = [rig.cards[s].accuracy if s in rig.cards else BIAS_WITHOUT_CARD for s in instruments]
    bias = max(LEAST_BIAS, rectangular(max(accuracies)))
    relative = run.cable.need_stiffness()
    figures = [
        f for r, _ in joined for f in (r.cable.need_stiffness(), r.cable.expansion, *(a.expansion for _, a in r.parts))
    ]
    # the take-up of a turn is that of its thread
    threads = {e.run: r.entry.turnbuckle for e in circuit_events if e.half_turns for r in model.runs if r.name == e.run}
    figures += [turnbuckle.pitch(entry.thread) for entry in threads.values() if entry is not None]
    if not acceptable([source, *(f.source for f in figures)]):
        gaps = (*gaps, "a figure of cable, airframe, bedding-in or thread is from memory")
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
            low_lbf, high_lbf, fastest, slowest, horizon or points[-1].elapsed + HORIZON[by], stiffness,
            relative.standard_uncertainty / relative.value, slope, slope_uncertainty, bias,
        ),
        prior_source=source,
        history_words=_history_words([r for r, _ in joined]),
        gaps=gaps,
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
    rig: Rig,
    run: Run,
    own: Sequence[Event],
    by: By,
    reference_degF: float,
    slope: float,
    thermometer_lbf: float,
    lag_lbf_per_degF: float,
) -> tuple[list[Point], tuple[str, ...]]:
    points: list[Point] = []
    gaps: list[str] = []
    moments = list(dict.fromkeys((e.time, e.tensiometer, e.riser) for e in own))
    first = own[0]
    for time, serial, riser in moments:
        here = [e for e in own if (e.time, e.tensiometer, e.riser) == (time, serial, riser)]
        structure = [e.structure_degF for e in here if e.structure_degF is not None]
        structure_degF = math.fsum(structure) / len(structure)
        dials = [e.dial for e in here if e.dial is not None]
        if dials and riser is not None:
            try:
                read = read_tension(rig.cards[serial], riser, run.cable.size, dials, time.date())
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
                elapsed=_elapsed(here[0], first, by),
                tension_lbf=tension_lbf,
                at_reference_lbf=tension_lbf - slope * (structure_degF - reference_degF),
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


def _cable_stretch(model: CircuitModel) -> Sequence[float]:
    """What one degree on the cables alone takes off the stretch of every link [in/degF]."""
    own = [-sum(p.length_in * p.cable_expansion_per_degF for p in pieces) for pieces in model.pieces]
    return own + [0.0] * (len(model.circuit.links) - len(own))


def _elapsed(event: Event, first: Event, by: By) -> float:
    if by == "cycles":
        return float((event.cycles or 0.0) - (first.cycles or 0.0))
    return (event.time - first.time).total_seconds() / 3600


def _turns(
    model: CircuitModel, share: Sequence[float], events: Sequence[Event], own: Sequence[Event], by: By
) -> list[Turn]:
    """Turns given on any cable of the circuit; those on others count as far as they tighten this run."""
    names = [r.name for r in model.runs]
    found = []
    for event in events:
        place = names.index(event.run)
        entry = model.runs[place].entry.turnbuckle
        if event.half_turns and entry is not None:
            takeup_in = event.half_turns * turnbuckle.pitch(entry.thread).value * float(share[place])
            # between two readings the moment decides; cycles need not be noted with turns, nor be the same count on another run
            when = event if by == "hours" else max((e for e in own if e.time <= event.time), key=lambda e: e.time)
            found.append(Turn(event.time, _elapsed(when, own[0], by), event.run, event.half_turns, takeup_in))
    return sorted(found, key=lambda turn: turn.time)


def _expected(run: Run) -> tuple[float, float, Source]:
    """Bedding-in to be expected as a share of length, low and high, with its status."""
    given = run.entry.bedding_in
    if given is not None:
        return given.low, given.high, Source(Basis.AIRCRAFT, given.source)
    known = bedding_in(run.entry.history)
    high = max(known.high_share, 10 * LEAST_SHARE)
    return max(known.low_share, high / 10), high, known.source


def _history_words(runs: Sequence[Run]) -> str:
    """``new cable`` where all are alike, else ``up in-service, down new``."""
    kinds = {r.name: "as the sheet expects" if r.entry.bedding_in else r.entry.history for r in runs}
    if len(set(kinds.values())) == 1:
        return f"{next(iter(kinds.values()))} cable"
    return ", ".join(f"{name} {kind}" for name, kind in kinds.items())
