"""Readings against each other and against springs: what the whole circuit makes of them, what friction does not explain."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, Final

import msgspec

from rigging.errors import Refusal
from rigging.jobs.compare_parts import (
    Drag,
    Measured,
    Place,
    bends_between,
    end_in,
    free_sectors,
    nearest_reading,
    place_in,
    tension_of,
)
from rigging.judge.consistency import nearest_balance
from rigging.physics.circuit import Joint
from rigging.physics.friction import spread_lbf
from rigging.sheet.circuit import CircuitModel, Circuits
from rigging.sheet.rig import Rig
from rigging.told import force, inches, join, told

if TYPE_CHECKING:
    from rigging.physics.circuit import Array


class Comparison(msgspec.Struct, frozen=True):
    """What the circuits say of the readings: the tension each place should show, and drag."""

    in_balance_lbf: dict[tuple[str, str], float]
    drag: tuple[Drag, ...]

    def springs_against(self, circuit: str) -> list[Drag]:
        """Springs of a circuit that the readings contradict: nothing is worked out from both together."""
        return [drag for drag in self.drag if drag.circuit == circuit and drag.spring]


def compare(circuits: Circuits, results: Sequence[Measured]) -> Comparison:
    """Compare all readings of each circuit that has at least two of them, or one and springs."""
    rig = circuits.rig
    balanced: dict[tuple[str, str], float] = {}
    drag: list[Drag] = []
    for name in rig.file.circuits:
        own = [r for r in results if r.run.circuit == name and r.tension is not None]
        springs = rig.file.circuits[name].springs
        if len(own) < (1 if springs else 2) or not at_one_temperature(rig, own):
            continue
        try:
            model = circuits.model(name)
        except Refusal:
            continue  # a cable of unknown stiffness: the readings stand for themselves
        drag += _along_runs(name, own)
        drag += _across_sectors(model, own)
        against = against_springs(model, own)
        drag += against
        if len(own) > 1 and not against:
            balanced |= {(name, run): value for run, value in _in_balance(model, own).items()}
    return Comparison(balanced, tuple(drag))


def at_one_temperature(rig: Rig, results: Sequence[Measured]) -> bool:
    """Whether readings belong together: their structure temperatures differ by no more than two thermometer readings may."""
    known = [r.limits.temperature_degF for r in results if r.tension is not None and r.limits is not None]
    return not known or max(known) - min(known) <= 2 * rig.file.thermometer_half_width_degF


SPRING_SHARE: Final = 0.05  # how far a spring's pull may be off (practice)


def measured_links(
    model: CircuitModel, results: Sequence[Measured], angle_rad: Array | None = None
) -> tuple[Array, Array]:
    """Tension [lbf] of every link as read, and U at 95 % [lbf], shape (links,) each; nan where a cable was not read.

    Several stations of a run count as their mean; springs as what the sheet says of them. angle_rad: as in ``against_springs``.
    """
    import numpy as np

    n = len(model.circuit.links)
    reading, uncertainty = np.full(n, np.nan), np.zeros(n)
    for i, run in enumerate(model.runs):
        here = [r.tension for r in results if r.run.name == run.name and r.tension is not None]
        if here:
            reading[i] = math.fsum(t.tension_lbf for t in here) / len(here)
            uncertainty[i] = max(t.uncertainty_lbf for t in here)
    for i, pull_lbf in _spring_pulls_lbf(model, angle_rad).items():
        at_neutral_lbf = float(model.circuit.stiffness_lbf_per_in[i] * model.spring_stretch_in[i])
        reading[i], uncertainty[i] = pull_lbf, SPRING_SHARE * max(pull_lbf, at_neutral_lbf)
    return reading, uncertainty


def _in_balance(model: CircuitModel, own: Sequence[Measured]) -> dict[str, float]:
    balanced = nearest_balance(model.circuit, *measured_links(model, own))
    return {} if balanced is None else {run.name: float(balanced[i]) for i, run in enumerate(model.runs)}


def _along_runs(circuit: str, own: Sequence[Measured]) -> list[Drag]:
    """Neighbouring stations of one run."""
    found = []
    for run in dict.fromkeys(r.run.name for r in own):
        here = sorted((r for r in own if r.run.name == run), key=lambda r: place_in(r.run, r.station) or 0.0)
        for first, second in pairwise(here):
            bends = bends_between(first.run, place_in(first.run, first.station), place_in(second.run, second.station))
            found += _judged(circuit, first, second, 1.0, bends, "")
    return found


def _across_sectors(model: CircuitModel, own: Sequence[Measured]) -> list[Drag]:
    """The two cables of every free sector that has just two: T1 r1 = T2 r2."""
    found = []
    for sector, joined in free_sectors(model):
        if len(joined) != 2 or joined[0][1].side == joined[1][1].side or max(i for i, _ in joined) >= model.cable_count:
            continue
        (i, first_joint), (j, second_joint) = joined
        first = nearest_reading(model, i, first_joint, own)
        second = nearest_reading(model, j, second_joint, own)
        if first is None or second is None:
            continue
        bends = [
            *bends_between(first.run, place_in(first.run, first.station), end_in(model, i, first_joint)),
            *bends_between(second.run, place_in(second.run, second.station), end_in(model, j, second_joint)),
        ]
        ratio = first_joint.arm_in / second_joint.arm_in
        arms = (
            "arms are equal"
            if math.isclose(ratio, 1)
            else told("arms {} and {}", inches(first_joint.arm_in, unit=False), inches(second_joint.arm_in))
        )
        found += _judged(model.name, first, second, ratio, bends, told("at {} {}, ", sector, arms))
    return found


def against_springs(model: CircuitModel, own: Sequence[Measured], angle_rad: Array | None = None) -> list[Drag]:
    """Free sectors on which springs pull: what the readings there leave to them, against what the sheet says of them.

    angle_rad [rad], shape (sectors,): how far sectors stand from their marks; all on them where None.
    """
    pull_lbf = _spring_pulls_lbf(model, angle_rad)
    found = []
    for sector, joined in free_sectors(model):
        cables = [(i, joint, nearest_reading(model, i, joint, own)) for i, joint in joined if i < model.cable_count]
        read = [(i, joint, r) for i, joint, r in cables if r is not None]
        springs = [(i, joint) for i, joint in joined if i >= model.cable_count]
        if springs and cables and len(read) == len(cables):
            found += _judged_spring(model, sector, read, springs, pull_lbf)
    return found


def _spring_pulls_lbf(model: CircuitModel, angle_rad: Array | None) -> dict[int, float]:
    """What every spring pulls [lbf], by its place: as the sheet has it at neutral, more or less where its sectors are off."""
    found = {}
    for i, link in enumerate(model.circuit.links[model.cable_count :], model.cable_count):
        stretch_in = float(model.spring_stretch_in[i])
        for joint in (link.start, link.end):
            if joint is not None and angle_rad is not None:
                stretch_in += joint.side * joint.arm_in * float(angle_rad[model.sector(joint.sector)])
        found[i] = link.stiffness_lbf_per_in * max(0.0, stretch_in)
    return found


def _judged_spring(
    model: CircuitModel,
    sector: str,
    read: Sequence[tuple[int, Joint, Measured]],
    springs: Sequence[tuple[int, Joint]],
    pull_lbf: Mapping[int, float],
) -> list[Drag]:
    """A Drag where readings and springs do not balance on a sector, told as what its strongest spring would have to pull."""
    spring, at = max(springs, key=lambda one: pull_lbf[one[0]] * one[1].arm_in)
    name, rate = model.circuit.links[spring].name, model.circuit.stiffness_lbf_per_in
    tension_lbf = {**{i: tension_of(r).tension_lbf for i, _, r in read}, **pull_lbf}
    others = [(i, j) for i, j, _ in read] + [one for one in springs if one[0] != spring]
    should_lbf = -math.fsum(j.side * j.arm_in * tension_lbf[i] for i, j in others) / (at.side * at.arm_in)
    # a spring pulls what the sheet says where its sector is at its mark, as near as that is kept
    off_rad = math.radians(model.entry.sectors[sector].neutral_tolerance_deg)
    uncertainty_lbf = math.hypot(
        math.fsum(float(rate[i]) * j.arm_in**2 for i, j in springs) * off_rad / at.arm_in,
        *(tension_of(r).uncertainty_lbf * j.arm_in / at.arm_in for _, j, r in read),
        *(SPRING_SHARE * pull_lbf[i] * j.arm_in / at.arm_in for i, j in springs),
    )
    friction_lbf = 0.0
    for i, j, r in read:
        between = bends_between(r.run, place_in(r.run, r.station), end_in(model, i, j))
        known = [place.bend for place in between if place.source.acceptable]
        friction_lbf += spread_lbf(tension_lbf[i], known) * j.arm_in / at.arm_in
    difference_lbf = pull_lbf[spring] - should_lbf
    if abs(difference_lbf) <= friction_lbf + uncertainty_lbf:
        return []
    names = {i: f"{r.run.name} {r.station}".strip() for i, _, r in read}
    off_deg = math.degrees(-difference_lbf / (float(rate[spring]) * at.side * at.arm_in))
    words = told(
        "{}: spring {} and the readings disagree: at {} {}, so it would have to {} {}; by the sheet it pulls {} there; "
        "friction explains {}, uncertainty {}: turn nothing until they agree; measure the spring, look for binding, and see "
        "that {} stands at neutral ({} more would explain it: plan counts with it by --neutral)",
        model.name,
        name,
        sector,
        join(", ", [told("{} reads {}", own, force(tension_lbf[i], unit=False)) for i, own in names.items()]),
        "pull" if should_lbf >= 0 else "push",
        force(abs(should_lbf)),
        force(pull_lbf[spring]),
        force(friction_lbf),
        force(uncertainty_lbf, unit=False),
        sector,
        f"{off_deg:+.1f} deg",
    )
    first = " and ".join(names.values())
    return [Drag(model.name, first, name, difference_lbf, friction_lbf, uncertainty_lbf, words, spring=True)]


def _judged(circuit: str, first: Measured, second: Measured, ratio: float, bends: list[Place], arms: str) -> list[Drag]:
    """A Drag where the second differs from ``ratio`` times the first by more than friction and uncertainty explain."""
    one, other = tension_of(first), tension_of(second)
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
