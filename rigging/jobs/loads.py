"""A circuit under the pilot's limit force, both ways, from coldest to hottest day: tensions, slack, stretch, strength, pulleys."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import msgspec

from rigging import tables
from rigging.errors import Refusal
from rigging.jobs.load_days import LoadDay, Solver, Way, on_side
from rigging.jobs.load_parts import Bend, CableLoad, bends_of, cable_loads
from rigging.jobs.load_rules import Rule, rules
from rigging.judge.chart import limits_from_chart
from rigging.judge.limits import rests_on
from rigging.judge.temperatures import Condition
from rigging.physics.thermal import check_temperature
from rigging.sheet.circuit import CircuitModel, circuit_model, rigid
from rigging.sheet.circuit_entry import PILOT_FORCES, CircuitEntry, PilotEntry
from rigging.sheet.rig import Rig, Run
from rigging.source import Basis, Figure, Source, acceptable
from rigging.told import lbf, told

STILL_ALIKE_LBF: Final = 0.05  # what no instrument reads


class LoadsResult(msgspec.Struct, frozen=True):
    """A circuit under load.

    force: limit force at the hand [lbf]; moment_in_lbf [in lbf]: on the pilot's sector. rigged_lbf [lbf]: what
    each cable was set to, at its own reference temperature. usable: whether the tensions rest on figures that
    may be accepted.
    """

    rig: Rig
    model: CircuitModel
    pilot: PilotEntry
    force: Figure
    moment_in_lbf: float
    rigged_lbf: dict[str, float]
    rigged_source: tuple[str, ...]
    days: tuple[LoadDay, ...]
    cables: tuple[CableLoad, ...]
    bends: tuple[Bend, ...]
    notes: tuple[str, ...]
    usable: bool

    @property
    def finding(self) -> bool:
        """Whether a rule is broken, or rests on a figure that no accepted answer may rest on."""
        return not self.usable or any(rule.finding for rule in self.rules())

    def rules(self) -> tuple[Rule, ...]:
        """Every rule with its figures in words."""
        return tuple(
            rules(self.rig.file.aircraft.kind, self.pilot, self.force, self.days, self.cables, self.bends, self.usable)
        )

    @property
    def assumptions(self) -> tuple[str, ...]:
        """What the tensions rest on, with status and source."""
        note = f"; {self.force.source.note}" if self.force.source.note else ""
        lines = [
            told("limit force {}: {}{}", lbf(self.force.value, ".0f"), self.force.source, note),
            *self.rigged_source,
        ]
        runs = self.model.runs
        lines += rests_on([r.cable for r in runs], [airframe for r in runs for _, airframe in r.parts], rigid(runs))
        return tuple(dict.fromkeys(lines))

    def pulled(self, way: Way) -> list[str]:
        """Cables on that side of the pilot's sector."""
        return on_side(self.model, self.pilot.sector, way)


def loads(rig: Rig, circuit: str, at_degF: float | None = None, tension_lbf: float | None = None) -> LoadsResult:
    """A circuit of the sheet under its pilot's limit force, the surfaces held, all and each alone.

    at_degF [degF]: one more temperature to look at. tension_lbf [lbf]: rigging tension of every cable at the
    sheet's reference temperature, in place of the middle of its limits.
    Raises Refusal: unknown circuit, no ``pilot:`` block, a cable without limits or tension, a tension above its proof
    load, a temperature outside -65..160 F, or a load that nothing carries either way.
    """
    model = circuit_model(rig, circuit)
    pilot = _pilot(circuit, model.entry)
    force = _limit_force(pilot)
    rigged, reference, sources = _rigged(rig, model, tension_lbf)
    solver = Solver(rig, model, pilot, rigged, reference, force.value)
    days = tuple(solver.day(name, temperature_degF) for name, temperature_degF in _temperatures(rig, at_degF))
    if not any(pull.tension_lbf for day in days for pull in day.pulls):
        raise Refusal(
            f"nothing carries a load on '{pilot.sector}' to {' and '.join(pilot.surfaces)}: its cables do not reach them"
        )
    cables = tuple(cable_loads(model, pilot, days))
    bends = tuple(bends_of(model, cables))
    return LoadsResult(
        rig=rig,
        model=model,
        pilot=pilot,
        force=force,
        moment_in_lbf=force.value * pilot.lever_in,
        rigged_lbf=dict(zip((r.name for r in model.runs), rigged, strict=True)),
        rigged_source=sources,
        days=days,
        cables=cables,
        bends=bends,
        notes=tuple(_notes(rig, solver, pilot, rigged, days)),
        usable=acceptable(
            [force.source, *(source for run in model.runs for source in _figures(run, tension_lbf is None))]
        ),
    )


def _figures(run: Run, by_limits: bool) -> list[Source]:
    expansions = [run.cable.expansion.source, *(airframe.expansion.source for _, airframe in run.parts)]
    return [run.cable.need_stiffness().source, *expansions, *([run.limits_source] if by_limits else [])]


def _pilot(circuit: str, entry: CircuitEntry) -> PilotEntry:
    if entry.pilot is None:
        hand = next(iter(entry.hold), next(iter(entry.sectors), "stick"))
        surfaces = [name for name in entry.sectors if name not in entry.hold] or ["surface"]
        controls = [str(row.values["control"]) for row in tables.load(PILOT_FORCES).rows]
        control = next((c for c in controls if c.split()[0] in circuit), controls[0])
        raise Refusal(
            f"circuit {circuit} has no 'pilot:' block: add one beside its cables, like "
            f"pilot: {{sector: {hand}, lever: 16 in, surfaces: [{', '.join(surfaces)}], "
            f"control: {control}, travel_plus: 20 deg, travel_minus: 20 deg}}"
        )
    return entry.pilot


def _limit_force(pilot: PilotEntry) -> Figure:
    """The force at the hand [lbf]: the sheet's own, else that of 14 CFR 23.397(b), before amendment 64."""
    if pilot.force_lbf is not None:
        return Figure(pilot.force_lbf, "lbf", Source(Basis.AIRCRAFT, "rig sheet"))
    row = tables.load(PILOT_FORCES).find(control=pilot.control)
    if row.values["max_couple"] is None:
        return row.figure("max")
    # a couple of 50 D with D, the wheel's diameter, twice the lever: the force at the rim that makes it
    couple = row.figure("max_couple")
    note = f"couple of {couple.value:g} D in-lbf, D twice the lever, as one force at the rim"
    source = Source(couple.source.basis, couple.source.document, couple.source.place, note)
    return Figure(2 * couple.value, "lbf", source)


def _rigged(
    rig: Rig, model: CircuitModel, tension_lbf: float | None
) -> tuple[list[float], list[float], tuple[str, ...]]:
    """Rigging tension [lbf] of every cable, the temperature it holds at [degF], and where it comes from."""
    if tension_lbf is not None:
        if not tension_lbf > 0:
            raise Refusal(told("a rigging tension above zero is needed, not {}", lbf(tension_lbf, "g")))
        for run in model.runs:
            run.cable.check_rigging_load(tension_lbf, f"{run.label}: a tension")
        n = model.cable_count
        return (
            [tension_lbf] * n,
            [rig.file.reference_degF] * n,
            (told("rigging tension {} as asked", lbf(tension_lbf)),),
        )
    found = [_target(rig, run) for run in model.runs]
    sources = [f"rigging tension, middle of the limits: {source}" for _, _, source in found]
    return [t for t, _, _ in found], [r for _, r, _ in found], tuple(dict.fromkeys(sources))


def _target(rig: Rig, run: Run) -> tuple[float, float, str]:
    reference_degF = rig.file.reference_degF
    if run.entry.chart is not None and rig.chart is not None:
        found = limits_from_chart(rig.chart, run.entry.chart, Condition(reference_degF), reference_degF)
        return found.target_lbf, reference_degF, str(found.source)
    if run.band is None:
        raise Refusal(f"{run.label}: the sheet gives no limits: say what it is rigged to, like --tension 35lbf")
    own_degF = run.band.reference_degF
    return run.band.target_lbf, reference_degF if own_degF is None else own_degF, str(run.limits_source)


def _temperatures(rig: Rig, at_degF: float | None) -> list[tuple[str, float]]:
    named = [("reference", rig.file.reference_degF)]
    if rig.file.temperatures is not None:
        named = [
            ("coldest", rig.file.temperatures.coldest_degF),
            *named,
            ("hottest", rig.file.temperatures.hottest_degF),
        ]
    if at_degF is not None and at_degF not in [degF for _, degF in named]:
        check_temperature(at_degF)
        named.append(("today", at_degF))
    return sorted(named, key=lambda one: one[1])


def _notes(rig: Rig, solver: Solver, pilot: PilotEntry, rigged: Sequence[float], days: Sequence[LoadDay]) -> list[str]:
    alone = ", together and each alone" if solver.alone else ""
    notes = [
        f"the surfaces are held at {' and '.join(pilot.surfaces)}{alone}; friction carries nothing",
        "strength is that of the parts named: pins, brackets and levers are not counted",
    ]
    notes += [f"{name} alone holds nothing against {pilot.sector}: not tried" for name in solver.helpless]
    if rig.file.aircraft.kind == "sailplane" and pilot.force_lbf is None:
        notes.append("that limit force is of a rule for airplanes: give the 'force' of the sailplane's own rules")
    if rig.file.temperatures is None:
        notes.append("the sheet names no coldest and hottest day (temperatures): only the reference was looked at")
    at_reference = next(day for day in days if day.day == "reference")
    for run, set_lbf in zip(solver.model.runs, rigged, strict=True):
        rest_lbf = at_reference.rest_lbf[run.name]
        at_sheets_reference = run.band is None or run.band.reference_degF in (None, rig.file.reference_degF)
        if abs(rest_lbf - set_lbf) > STILL_ALIKE_LBF and at_sheets_reference:
            notes.append(
                told(
                    "{}: set to {} it rests at {} with the pins out: the tensions asked for do not balance each other",
                    run.name,
                    lbf(set_lbf),
                    lbf(rest_lbf),
                )
            )
    for way in ("+", "-"):
        if not any(pull.tension_lbf for day in days for pull in day.pulls if pull.way == way):
            notes.append(f"{pilot.sector} {way}: nothing carries a load that way, a cable cannot push")
    return notes
