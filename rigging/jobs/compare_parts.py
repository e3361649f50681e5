"""What is compared in a circuit: readings by place, the bends between them, and a difference that nothing explains."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple, Protocol

import msgspec

from rigging.hardware import pulley
from rigging.judge.limits import Limits
from rigging.measure.reading import Tension
from rigging.physics.circuit import Joint
from rigging.physics.friction import Bend
from rigging.sheet.circuit import CircuitModel
from rigging.sheet.rig import Run
from rigging.source import Source


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
    the bends between may hold back. uncertainty_lbf [lbf]: U of the difference. spring: whether the second is a spring,
    which by the sheet does not pull what the readings leave to it.
    """

    circuit: str
    first: str
    second: str
    difference_lbf: float
    friction_lbf: float
    uncertainty_lbf: float
    words: str
    spring: bool = False


def tension_of(result: Measured) -> Tension:
    """What was read, of a result that was."""
    assert result.tension is not None
    return result.tension


def free_sectors(model: CircuitModel) -> Iterator[tuple[str, list[tuple[int, Joint]]]]:
    """Every sector that is not held, and what pulls at it: the place of a link, and how it is joined there."""
    for sector in model.circuit.sectors:
        if sector not in model.circuit.held:
            yield (
                sector,
                [
                    (i, joint)
                    for i, link in enumerate(model.circuit.links)
                    for joint in (link.start, link.end)
                    if joint is not None and joint.sector == sector
                ],
            )


def nearest_reading(model: CircuitModel, link: int, joint: Joint, own: Sequence[Measured]) -> Measured | None:
    """The reading of a run that lies nearest to where it is joined to a sector; None where it was not read."""
    run = model.runs[link]
    here = [r for r in own if r.run.name == run.name]
    there_in = end_in(model, link, joint)
    return min(here, key=lambda r: abs((place_in(run, r.station) or 0.0) - there_in), default=None)


def end_in(model: CircuitModel, link: int, joint: Joint) -> float:
    """Where on its run a joint lies [in]."""
    return 0.0 if model.circuit.links[link].start == joint else model.runs[link].entry.length_in


def place_in(run: Run, station: str) -> float | None:
    """Where on its run a station lies [in], None where the sheet does not say."""
    stations = run.entry.stations
    return stations.get(station) if isinstance(stations, dict) else None


class Place(NamedTuple):
    """A bend between two readings, by its name, and where its friction comes from."""

    name: str
    bend: Bend
    source: Source


def bends_between(run: Run, start_in: float | None, end_in: float | None) -> list[Place]:
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
