"""What every run, pulley and fairlead of a circuit bears at its highest, and what each may bear."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import msgspec

from rigging.errors import Refusal
from rigging.hardware import pulley
from rigging.jobs.load_days import LoadDay, Pull
from rigging.physics import friction
from rigging.physics.loads import pulley_load_lbf, strength_margin
from rigging.sheet.cable_entry import PulleyEntry
from rigging.sheet.circuit import CircuitModel
from rigging.sheet.circuit_entry import PilotEntry
from rigging.sheet.rig import Run
from rigging.source import Figure, Source
from rigging.told import temperature, told

ALIKE_TO: Final = 6  # decimals of a pound or degree, far finer than any of them is known


class CableLoad(msgspec.Struct, frozen=True):
    """One run: its highest tension over all days, both ways and whatever holds [lbf], and the margin on its strength.

    where: when it is the highest, in words. strengths: breaking strength of its parts that is known. not_counted: parts of
    which none is, with the reason where there is one. friction_ratio [1]: highest over lowest tension along the run by the
    friction of all its bends. spread_lbf [lbf]: how far readings at its two ends may differ for that, at rest at reference.
    """

    run: Run
    most_lbf: float
    where: str
    strengths: dict[str, Figure]
    not_counted: dict[str, str]
    friction_ratio: float
    spread_lbf: float

    @property
    def weakest(self) -> str | None:
        """The part that breaks first, None where no strength is known."""
        return min(self.strengths, key=lambda part: self.strengths[part].value, default=None)

    @property
    def margin(self) -> float | None:
        """The margin of the weakest part [1], None where no strength is known."""
        if self.weakest is None:
            return None
        return strength_margin(self.strengths[self.weakest].value, self.most_lbf)


class Bend(msgspec.Struct, frozen=True):
    """A pulley or fairlead of a cable: what it turns [deg], its highest load [lbf] and what it may carry.

    load_lbf [lbf]: None for a fairlead. rating: None where not known; missing then says why. fits: whether
    the part is made for the cable's size; None where not known.
    """

    cable: str
    kind: str
    name: str
    angle_deg: float
    load_lbf: float | None
    rating: Figure | None
    missing: str
    fits: bool | None


def cable_loads(model: CircuitModel, pilot: PilotEntry, days: Sequence[LoadDay]) -> Iterator[CableLoad]:
    """Every cable at its highest tension, at rest or pulled."""
    reference = next(day for day in days if day.day == "reference")
    for run in model.runs:
        every = [(day.rest_lbf[run.name], told("at rest at {}", when(day))) for day in days]
        every += [
            (pull.tension_lbf[run.name], when_pulled(pilot, pull, day))
            for day in days
            for pull in day.pulls
            if pull.tension_lbf
        ]
        # what is alike to rounding is named by the plainest case
        most_lbf, where = max(every, key=lambda one: round(one[0], ALIKE_TO))
        strengths, not_counted = _strengths(run)
        bends = _friction_bends(run)
        yield CableLoad(
            run=run,
            most_lbf=most_lbf,
            where=where,
            strengths=strengths,
            not_counted=not_counted,
            friction_ratio=friction.tension_ratio(bends),
            spread_lbf=friction.spread_lbf(reference.rest_lbf[run.name], bends),
        )


def _strengths(run: Run) -> tuple[dict[str, Figure], dict[str, str]]:
    """Strength of the parts of a run that is known; and the parts of which none is, with the reason."""
    known: dict[str, Figure] = {}
    missing: dict[str, str] = {}
    if run.cable.breaking_strength is not None:
        known["cable"] = run.cable.breaking_strength
    else:
        missing["cable"] = run.cable.missing["breaking_strength_lbf"]
    stated = run.entry.strengths
    for part, entry in (("terminals", stated.terminals), ("turnbuckle", stated.turnbuckle)):
        if entry is not None:
            known[part] = Figure(entry.strength_lbf, "lbf", Source(entry.basis, entry.source))
        elif part == "terminals" or run.entry.turnbuckle is not None:
            missing[part] = f"the sheet states none under 'strengths' of {run.name}"
    return known, missing


def _friction_bends(run: Run) -> list[friction.Bend]:
    bends = [friction.Bend(pulley.pulley_friction(p.bearing).value, p.wrap_deg) for p in run.entry.pulleys]
    return bends + [friction.Bend(pulley.fairlead_friction().value, f.bend_deg) for f in run.entry.fairleads]


def bends_of(model: CircuitModel, cables: Sequence[CableLoad]) -> Iterator[Bend]:
    """Every pulley and fairlead under the highest tension of its cable."""
    for run, cable in zip(model.runs, cables, strict=True):
        for i, entry in enumerate(run.entry.pulleys, 1):
            load_lbf = pulley_load_lbf(cable.most_lbf, entry.wrap_deg)
            name = entry.name or f"pulley {i}"
            rating, missing = _rating(entry)
            fits = pulley.fits_cable(entry.part, run.cable.size) if pulley.known_part(entry.part) else None
            yield Bend(run.name, "pulley", name, entry.wrap_deg, load_lbf, rating, missing, fits)
        for i, lead in enumerate(run.entry.fairleads, 1):
            yield Bend(run.name, "fairlead", lead.name or f"fairlead {i}", lead.bend_deg, None, None, "", None)


def _rating(entry: PulleyEntry) -> tuple[Figure | None, str]:
    if not entry.part:
        return None, "rating not known: the sheet names no part"
    try:
        return pulley.pulley_rating(entry.part), ""
    except Refusal as reason:
        return None, f"rating not known: {reason}"


def when_pulled(pilot: PilotEntry, pull: Pull, day: LoadDay) -> str:
    """Which way, when, and which surface held where it was one alone."""
    alone = "" if set(pull.held) == set(pilot.surfaces) else f", {listed(pull.held)} alone held"
    return told("{} {} at {}{}", pilot.sector, pull.way, when(day), alone)


def when(day: LoadDay) -> str:
    """The temperature, and which day that is."""
    return told("{} ({})", temperature(day.temperature_degF), day.day)


def listed(names: Sequence[str]) -> str:
    """Names in a sentence."""
    return " and ".join(names)
