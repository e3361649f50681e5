"""A whole sheet as objects: the runs of an aircraft, its tensiometers' cards, its chart."""

from __future__ import annotations

import msgspec

from rigging.bands import Band
from rigging.hardware.airframe import Airframe
from rigging.hardware.cable import Cable
from rigging.measure.card import Card
from rigging.sheet.cable_entry import CableEntry
from rigging.sheet.schema import SheetFile
from rigging.source import Source
from rigging.tables import Table


class Run(msgspec.Struct, frozen=True):
    """One cable in its aircraft: the entry as written, and what tables and airframe make of it.

    parts: length [in] and airframe of each piece. band: limits with their reference temperature; None
    where the sheet gives none or names a chart.
    """

    circuit: str
    name: str
    entry: CableEntry
    cable: Cable
    parts: tuple[tuple[float, Airframe], ...]
    band: Band | None
    limits_source: Source

    @property
    def label(self) -> str:
        """``aileron / left``."""
        return f"{self.circuit} / {self.name}"


class Rig(msgspec.Struct, frozen=True):
    """A whole sheet, checked: its runs, the cards of its tensiometers, its chart."""

    file: SheetFile
    path: str
    sha256: str
    runs: tuple[Run, ...]
    cards: dict[str, Card]
    chart: Table | None

    @property
    def aircraft(self) -> str:
        """The aircraft as the log names it: its name, and its registration where it has one."""
        about = self.file.aircraft
        return about.name if about.registration in ("", "none") else f"{about.name}, {about.registration}"

    @property
    def names(self) -> tuple[str, ...]:
        """Every name under which the log holds it, today's first."""
        return (self.aircraft, *self.file.aircraft.formerly)

    def run(self, circuit: str, name: str) -> Run | None:
        """A run by its names, None where the sheet has no such run."""
        return next((r for r in self.runs if r.circuit == circuit and r.name == name), None)

    @property
    def unsourced(self) -> list[str]:
        """Surfaces, friction limits and bridles whose figures name no source, as a message calls them."""
        found = []
        for name, circuit in self.file.circuits.items():
            found += [f"surface {surface}" for surface, entry in circuit.surfaces.items() if not entry.source.strip()]
            if circuit.friction_limit_lbf is not None and not circuit.friction_source.strip():
                found.append(f"friction_limit of {name}")
            if circuit.bridle is not None and not circuit.bridle.source.strip():
                found.append(f"bridle of {name}")
        return found
