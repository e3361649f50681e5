"""Readings against each other: what the whole circuit makes of them, and drag that friction does not explain."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, Final, NamedTuple, Protocol

import msgspec

from rigging.errors import Refusal
from rigging.hardware import pulley
from rigging.judge.consistency import nearest_balance
from rigging.judge.limits import Limits
from rigging.measure.reading import Tension
from rigging.physics.circuit import Joint
from rigging.physics.friction import Bend, spread_lbf
from rigging.sheet.circuit import CircuitModel, Circuits
from rigging.sheet.rig import Rig, Run
from rigging.source import Source
from rigging.told import force, inches, told

if TYPE_CHECKING:
    from rigging.physics.circuit import Array


class Measured(Protocol):
    """What is compared: a run's reading at a station."""

    @property
    def run(self) -> Run:
        """The cable."""

    @property
    def station(self) -> str:
        """Where on it."""

    @property
    def tension(self) -> Tension | None:
        """What was read; None where nothing was, or it was refused."""

    @property
    def limits(self) -> Limits | None:
        """Limits at the temperature of the reading; None where they were refused."""


class Drag(msgspec.Struct, frozen=True):
    """Two readings that differ by more than friction and their uncertainty explain.

    difference_lbf [lbf]: between what the second should read and what it reads. friction_lbf [lbf]: what
    the bends between may hold back. uncertainty_lbf [lbf]: U of the difference.
    """

    circuit: str
    first: str
    second: str
    difference_lbf: float
    friction_lbf: float
    uncertainty_lbf: float
    words: str


class Comparison(msgspec.Struct, frozen=True):
    """What the circuits say of the readings: the tension each place should show, and drag."""

    in_balance_lbf: dict[tuple[str, str], float]
    drag: tuple[Drag, ...]


def compare(circuits: Circuits, results: Sequence[Measured]) -> Comparison:
    """Compare all readings of each circuit that has at least two of them."""
    rig = circuits.rig
    balanced: dict[tuple[str, str], float] = {}
    drag: list[Drag] = []
    for name in rig.file.circuits:
        own = [r for r in results if r.run.circuit == name and r.tension is not None]
        if len(own) < 2 or not at_one_temperature(rig, own):
            continue
        try:
            model = circuits.model(name)
        except Refusal:
            continue  # a cable of unknown stiffness: the readings stand for themselves
        drag += _along_runs(name, own)
        drag += _across_sectors(model, own)
        balanced |= {(name, run): value for run, value in _in_balance(model, own).items()}
    return Comparison(balanced, tuple(drag))


def at_one_temperature(rig: Rig, results: Sequence[Measured]) -> bool:
    """Whether readings belong together: their structure temperatures differ by no more than two thermometer readings may."""
    known = [r.limits.temperature_degF for r in results if r.tension is not None and r.limits is not None]
    return not known or max(known) - min(known) <= 2 * rig.file.thermometer_half_width_degF


def _tension(result: Measured) -> Tension:
    assert result.tension is not None
    return result.tension


SPRING_SHARE: Final = 0.05  # how far a spring's pull may be off (practice)


def measured_links(model: CircuitModel, results: Sequence[Measured]) -> tuple[Array, Array]:
    """Tension [lbf] of every link as read, and U at 95 % [lbf], shape (links,) each; nan where a cable was not read.

    Several stations of a run count as their mean; springs as what the sheet says of them.
    """
    import numpy as np

    n = len(model.circuit.links)
    reading, uncertainty = np.full(n, np.nan), np.zeros(n)
    for i, run in enumerate(model.runs):
        here = [r.tension for r in results if r.run.name == run.name and r.tension is not None]
        if here:
            reading[i] = math.fsum(t.tension_lbf for t in here) / len(here)
            uncertainty[i] = max(t.uncertainty_lbf for t in here)
    springs = slice(model.cable_count, n)
    reading[springs] = model.circuit.stiffness_lbf_per_in[springs] * model.spring_stretch_in[springs]
    uncertainty[springs] = SPRING_SHARE * reading[springs]
    return reading, uncertainty


def _in_balance(model: CircuitModel, own: Sequence[Measured]) -> dict[str, float]:
    balanced = nearest_balance(model.circuit, *measured_links(model, own))
    return {} if balanced is None else {run.name: float(balanced[i]) for i, run in enumerate(model.runs)}


def _along_runs(circuit: str, own: Sequence[Measured]) -> list[Drag]:
    """Neighbouring stations of one run."""
    found = []
    for run in dict.fromkeys(r.run.name for r in own):
        here = sorted((r for r in own if r.run.name == run), key=lambda r: _place_in(r.run, r.station) or 0.0)
        for first, second in pairwise(here):
            bends = _bends(first.run, _place_in(first.run, first.station), _place_in(second.run, second.station))
            found += _judged(circuit, first, second, 1.0, bends, "")
    return found


def _across_sectors(model: CircuitModel, own: Sequence[Measured]) -> list[Drag]:
    """The two cables of every free sector that has just two: T1 r1 = T2 r2."""
    found = []
    for sector in model.circuit.sectors:
        if sector in model.circuit.held:
            continue
        joined = [
            (i, joint)
            for i, link in enumerate(model.circuit.links)
            for joint in (link.start, link.end)
            if joint is not None and joint.sector == sector
        ]
        if len(joined) != 2 or joined[0][1].side == joined[1][1].side or max(i for i, _ in joined) >= model.cable_count:
            continue
        (i, first_joint), (j, second_joint) = joined
        first = _nearest(model, i, first_joint, own)
        second = _nearest(model, j, second_joint, own)
        if first is None or second is None:
            continue
        bends = [
            *_bends(first.run, _place_in(first.run, first.station), _end_in(model, i, first_joint)),
            *_bends(second.run, _place_in(second.run, second.station), _end_in(model, j, second_joint)),
        ]
        ratio = first_joint.arm_in / second_joint.arm_in
        arms = (
            "arms are equal"
            if math.isclose(ratio, 1)
            else told("arms {} and {}", inches(first_joint.arm_in, unit=False), inches(second_joint.arm_in))
        )
        found += _judged(model.name, first, second, ratio, bends, told("at {} {}, ", sector, arms))
    return found


def _nearest(model: CircuitModel, link: int, joint: Joint, own: Sequence[Measured]) -> Measured | None:
    run = model.runs[link]
    here = [r for r in own if r.run.name == run.name]
    end_in = _end_in(model, link, joint)
    return min(here, key=lambda r: abs((_place_in(run, r.station) or 0.0) - end_in), default=None)


def _end_in(model: CircuitModel, link: int, joint: Joint) -> float:
    return 0.0 if model.circuit.links[link].start == joint else model.runs[link].entry.length_in


def _place_in(run: Run, station: str) -> float | None:
    stations = run.entry.stations
    return stations.get(station) if isinstance(stations, dict) else None


class Place(NamedTuple):
    """A bend between two readings, by its name, and where its friction comes from."""

    name: str
    bend: Bend
    source: Source


def _bends(run: Run, start_in: float | None, end_in: float | None) -> list[Place]:
    """Bends between two places of a run; those whose place, or the station's, is not known count as between."""
    found: list[Place] = []
    known = start_in is not None and end_in is not None
    low, high = sorted((start_in or 0.0, end_in or 0.0))
    for i, p in enumerate(run.entry.pulleys, 1):
        if not known or p.at_in is None or low <= p.at_in <= high:
            mu = pulley.pulley_friction(p.bearing)
            found.append(Place(f"{p.name or f'pulley {i}'} of {run.name}", Bend(mu.value, p.wrap_deg), mu.source))
    for i, f in enumerate(run.entry.fairleads, 1):
        if not known or f.at_in is None or low <= f.at_in <= high:
            # the slipperiest and roughest fairleads differ by three: allow for the rough one
            rough, source = Bend(pulley.FAIRLEAD_HIGH, f.bend_deg), pulley.fairlead_friction().source
            found.append(Place(f"{f.name or f'fairlead {i}'} of {run.name}", rough, source))
    return found


def _judged(circuit: str, first: Measured, second: Measured, ratio: float, bends: list[Place], arms: str) -> list[Drag]:
    """A Drag where the second differs from ``ratio`` times the first by more than friction and uncertainty explain."""
    one, other = _tension(first), _tension(second)
    should_lbf = one.tension_lbf * ratio
    difference_lbf = other.tension_lbf - should_lbf
    least_lbf = min(should_lbf, other.tension_lbf)
    friction_lbf = spread_lbf(least_lbf, [place.bend for place in bends])
    uncertainty_lbf = math.hypot(one.uncertainty_lbf * ratio, other.uncertainty_lbf)
    known_lbf = spread_lbf(least_lbf, [place.bend for place in bends if place.source.acceptable])
    if abs(difference_lbf) <= known_lbf + uncertainty_lbf:
        return []
    names = [f"{r.run.name} {r.station}".strip() for r in (first, second)]
    look = (
        f"look at {', '.join(place.name for place in bends)}"
        if bends
        else "look for rubbing and for a pulley the sheet does not list"
    )
    if abs(difference_lbf) <= friction_lbf + uncertainty_lbf:
        recalled = ", ".join(place.name for place in bends if not place.source.acceptable)
        look = f"only with what {recalled} may hold back, a figure from memory: look there"
    read = told(
        "{}: {} {}, {} {}",
        circuit,
        names[0],
        force(one.tension_lbf, unit=False),
        names[1],
        force(other.tension_lbf, unit=False),
    )
    words = told(
        "{}: {}friction explains {}, uncertainty {}: {}; cycle the controls and read again",
        read,
        arms,
        force(friction_lbf),
        force(uncertainty_lbf, unit=False),
        look,
    )
    return [Drag(circuit, names[0], names[1], difference_lbf, friction_lbf, uncertainty_lbf, words)]
