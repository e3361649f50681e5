"""The circuit on one day: at rest, and under the limit force both ways, all its surfaces held and each of them alone."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final, Literal

import msgspec

from rigging.errors import Refusal
from rigging.sheet.circuit import CircuitModel, circuit_model
from rigging.sheet.circuit_entry import PilotEntry
from rigging.sheet.rig import Rig

if TYPE_CHECKING:
    from rigging.physics.circuit import Array

STIFFNESS_COVERAGE: Final = 2.0  # the range of the stretch is given at k=2
HALVINGS: Final = 60

Way = Literal["+", "-"]
WAYS: Final[tuple[Way, Way]] = ("+", "-")


class Pull(msgspec.Struct, frozen=True):
    """The limit force one way on one day.

    way: + turns the pilot's sector so that the cables on its + side tighten. held: the surfaces that hold against it:
    all of them, or one alone. tension_lbf [lbf]: by cable; empty where nothing carries the load. slack: cables that hang slack under it. first_slack: those that go slack
    first, at a force at the hand of slack_force_lbf [lbf], below or above the limit; None where none does.
    movement_deg [deg]: how far the pilot's sector turns from rest, None but with all surfaces held; movement_most_deg
    and movement_least_deg: with the cables softer and stiffer by their uncertainty at k=2.
    """

    way: Way
    held: tuple[str, ...]
    tension_lbf: dict[str, float]
    slack: tuple[str, ...]
    first_slack: tuple[str, ...]
    slack_force_lbf: float | None
    movement_deg: float | None
    movement_least_deg: float | None
    movement_most_deg: float | None


class LoadDay(msgspec.Struct, frozen=True):
    """One temperature [degF]: tension at rest by cable [lbf], which cables hang slack, and the pulls.

    pulls: both ways with all surfaces held, then both ways with each alone where there are several.
    """

    day: str
    temperature_degF: float
    rest_lbf: dict[str, float]
    slack_at_rest: tuple[str, ...]
    pulls: tuple[Pull, ...]


def on_side(model: CircuitModel, sector: str, way: Way) -> list[str]:
    """Cables and springs on one side of a sector, by name."""
    side = 1 if way == "+" else -1
    return [
        link.name
        for link in model.circuit.links
        for joint in (link.start, link.end)
        if joint is not None and joint.sector == sector and joint.side == side
    ]


class Solver:
    """The circuit at rest as the sheet holds it, then with surfaces held where they rest and the pilot pulling.

    helpless: surfaces that alone hold nothing against the pilot.
    """

    def __init__(
        self, rig: Rig, model: CircuitModel, pilot: PilotEntry, rigged: Sequence[float], reference: Sequence[float],
        force_lbf: float,
    ) -> None:  # fmt: skip
        import numpy as np

        self.model, self.pilot, self.force_lbf, self.rigged = model, pilot, force_lbf, rigged
        springs = len(model.circuit.links) - model.cable_count
        self.reference = np.array([*reference, *[rig.file.reference_degF] * springs])
        share = STIFFNESS_COVERAGE * model.stiffness_relative_uncertainty
        self.held = circuit_model(rig, model.name, pilot.surfaces)
        self.alone: dict[str, CircuitModel] = {}
        self.helpless: list[str] = []
        surfaces = list(dict.fromkeys(pilot.surfaces))
        for name in surfaces if len(surfaces) > 1 else ():
            try:
                self.alone[name] = circuit_model(rig, model.name, [name])
            except Refusal:  # it is joined to the others by nothing
                self.helpless.append(name)
        self.softer = circuit_model(rig, model.name, pilot.surfaces, 1 - share)
        self.stiffer = circuit_model(rig, model.name, pilot.surfaces, 1 + share)
        self.hand = model.sector(pilot.sector)

    def _stretch_in(self, model: CircuitModel, temperature_degF: float) -> Array:
        stretch: Array = model.stretch_in(self.rigged) + model.stretch_in_per_degF * (temperature_degF - self.reference)
        return stretch

    def day(self, name: str, temperature_degF: float) -> LoadDay:
        """One temperature [degF]: at rest and pulled both ways."""
        # the surfaces come to rest with the rig pins in: only there may they be held without a load of their own
        angle = self.model.circuit.solve(self._stretch_in(self.model, temperature_degF)).angle_rad
        rest, _ = self._under(self.held, temperature_degF, 0.0, angle)
        cables = self._by_cable(rest)
        pulls = [self._pull(way, temperature_degF, angle) for way in WAYS]
        pulls += [self._pull_alone(way, temperature_degF, angle, one) for one in self.alone for way in WAYS]
        slack = tuple(c for c, t in cables.items() if t <= 0)
        return LoadDay(name, temperature_degF, cables, slack, tuple(pulls))

    def _pull(self, way: Way, temperature_degF: float, angle: Array) -> Pull:
        found = self._pulled(self.held, tuple(self.pilot.surfaces), way, temperature_degF, angle)
        if not found.tension_lbf:
            return found
        force_lbf = self.force_lbf if way == "+" else -self.force_lbf
        moved, softer, stiffer = (
            self._under(model, temperature_degF, force_lbf, angle)[1]
            for model in (self.held, self.softer, self.stiffer)
        )
        return msgspec.structs.replace(found, movement_deg=moved, movement_least_deg=stiffer, movement_most_deg=softer)

    def _pull_alone(self, way: Way, temperature_degF: float, angle: Array, surface: str) -> Pull:
        try:
            return self._pulled(self.alone[surface], (surface,), way, temperature_degF, angle)
        except Refusal:  # once a cable is slack, it holds nothing back that way
            return Pull(way, (surface,), {}, (), (), None, None, None, None)

    def _pulled(
        self, model: CircuitModel, held: tuple[str, ...], way: Way, temperature_degF: float, angle: Array
    ) -> Pull:
        if not on_side(self.model, self.pilot.sector, way):
            # a cable cannot push: one that pulls alone carries the load one way only
            return Pull(way, held, {}, (), (), None, None, None, None)
        sign = 1 if way == "+" else -1
        tension, _ = self._under(model, temperature_degF, sign * self.force_lbf, angle)
        cables = self._by_cable(tension)
        first, slack_force_lbf = self._first_slack(model, sign, temperature_degF, angle)
        slack = tuple(c for c, t in cables.items() if t <= 0)
        return Pull(way, held, cables, slack, first, slack_force_lbf, None, None, None)

    def _under(
        self, model: CircuitModel, temperature_degF: float, force_lbf: float, angle: Array
    ) -> tuple[Array, float]:
        """Tensions [lbf] of all links under a force at the hand [lbf], and how far that moves it [deg]."""
        import numpy as np

        stretch = self._stretch_in(model, temperature_degF)
        moment = np.zeros(len(model.circuit.sectors))
        rest = model.circuit.solve(stretch, moment, angle)
        if force_lbf == 0:
            return rest.tension_lbf, 0.0
        moment[self.hand] = force_lbf * self.pilot.lever_in
        loaded = model.circuit.solve(stretch, moment, angle)
        moved = np.degrees(abs(loaded.angle_rad[self.hand] - rest.angle_rad[self.hand]))
        return loaded.tension_lbf, float(moved)

    def _first_slack(
        self, model: CircuitModel, sign: int, temperature_degF: float, angle: Array
    ) -> tuple[tuple[str, ...], float | None]:
        """Which cables go slack first and at what force at the hand [lbf], exactly.

        While the same links are tight, tensions are straight lines of the force; and the forces for which they
        all are form one stretch. So one force inside it gives the slope of every tension, and its zero.
        """
        rest, _ = self._under(model, temperature_degF, 0.0, angle)
        n = self.model.cable_count
        hanging = tuple(c for c, t in self._by_cable(rest).items() if t <= 0)
        if hanging:
            return hanging, 0.0
        probe_lbf = self.force_lbf
        for _ in range(HALVINGS):
            loaded, _ = self._under(model, temperature_degF, sign * probe_lbf, angle)
            if ((loaded > 0) == (rest > 0)).all():
                break
            probe_lbf /= 2
        else:
            return (), None
        at_lbf = {
            run.name: float(probe_lbf * rest[i] / (rest[i] - loaded[i]))
            for i, run in enumerate(self.model.runs[:n])
            # what falls by less than rounding never gets there
            if rest[i] - loaded[i] > 1e-9 * rest[i]
        }
        if not at_lbf:
            return (), None
        first_lbf = min(at_lbf.values())
        return tuple(c for c, f in at_lbf.items() if f <= first_lbf * (1 + 1e-9)), first_lbf

    def _by_cable(self, tension: Array) -> dict[str, float]:
        return {run.name: float(t) for run, t in zip(self.model.runs, tension, strict=False)}
