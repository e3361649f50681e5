"""From a rig sheet file to the objects a check works with; every problem of the sheet and its cards together."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import Final, TypeVar

from rigging import tables
from rigging.bands import Band
from rigging.errors import MOST_PROBLEMS, BadFile, Problem, RiggingError, add_problem, nearest
from rigging.hardware import turnbuckle
from rigging.hardware.airframe import Airframe, airframe, own_airframe
from rigging.hardware.cable import Cable, cable, check_stiffness
from rigging.hardware.pulley import need_part
from rigging.judge.chart import check_chart, limits_from_chart
from rigging.judge.temperatures import Condition
from rigging.measure.card import Card, load_card
from rigging.physics.thermal import check_temperature
from rigging.schema import read
from rigging.sheet.cable_entry import AirframeEntry, CableEntry
from rigging.sheet.circuit import AIRFRAME, parse_end
from rigging.sheet.circuit_entry import CircuitEntry, SpringEntry, pilot_problems
from rigging.sheet.raw_names import unknown_sectors
from rigging.sheet.rig import Rig, Run
from rigging.sheet.schema import SheetFile
from rigging.source import Basis, Figure, Source
from rigging.tables import Table
from rigging.yamlfile import Document, Path_
from rigging.yamlfile import load as load_yaml

T = TypeVar("T")

MOST_LINKS: Final = 500  # beyond it a circuit would need more memory and time than a bench computer has

PATH_TOLERANCE: Final = 0.01  # path pieces may differ from the length by a rounding, not by a forgotten piece


def load_rig(path: Path) -> Rig:
    """Read a sheet, its cards and its chart. Raises BadFile with every problem in any of them."""
    document = load_yaml(path)
    try:
        file = read(document, SheetFile)
    except BadFile as error:
        problems = list(error.problems)
        for at, message in unknown_sectors(document):
            add_problem(problems, document.problem(at, message))
        raise BadFile(problems) from None
    loading = _Loading(document, file)
    runs = tuple(loading.runs())
    loading.circuits()
    loading.surfaces()
    loading.programme()
    cards = loading.cards(path.parent)
    chart = loading.chart(path.parent)
    if chart is not None:
        loading.lines(chart, runs)
    if loading.problems:
        raise BadFile(loading.problems)
    return Rig(file, str(path), document.sha256, runs, cards, chart)


class _Loading:
    """The checks that go beyond one block; each adds Problems and goes on."""

    def __init__(self, document: Document, file: SheetFile) -> None:
        self.document = document
        self.file = file
        self.problems: list[Problem] = []
        self.temperature(("reference_temperature",), file.reference_degF, "reference temperature")
        if file.temperatures is not None:
            self.temperature(("temperatures", "coldest"), file.temperatures.coldest_degF, "coldest temperature")
            self.temperature(("temperatures", "hottest"), file.temperatures.hottest_degF, "hottest temperature")
        links = sum(len(c.cables) + len(c.springs) for c in file.circuits.values())
        if links > MOST_LINKS:
            message = f"{links} cables and springs are more than any aircraft has ({MOST_LINKS} at most)"
            raise BadFile([document.problem(("circuits",), message)])
        if not file.circuits:
            self.note(("circuits",), "a sheet needs at least one circuit")

    def note(self, path: Path_, message: str) -> None:
        add_problem(self.problems, self.document.problem(path, message))

    def note_on_error(self, path: Path_, act: Callable[[], T]) -> T | None:
        try:
            return act()
        except BadFile as error:
            self.problems += error.problems
            if len(self.problems) > MOST_PROBLEMS:
                raise BadFile(self.problems) from None
        except RiggingError as error:
            self.note(path, str(error))
        return None

    def temperature(self, at: Path_, temperature_degF: float, what: str) -> None:
        self.note_on_error(at, lambda: check_temperature(temperature_degF, what))

    def runs(self) -> Iterator[Run]:
        default = self.airframe(self.file.airframe, ("airframe",))
        for circuit_name, circuit in self.file.circuits.items():
            if not circuit.cables:
                self.note(("circuits", circuit_name, "cables"), "a circuit needs at least one cable")
            for name, entry in circuit.cables.items():
                at: Path_ = ("circuits", circuit_name, "cables", name)
                run = self.run(circuit_name, name, entry, at, default)
                if run is not None:
                    yield run

    def cable(self, entry: CableEntry) -> Cable:
        return cable(entry.size, entry.construction, entry.material).with_proof_rule(self.file.proof_rule)

    def run(self, circuit: str, name: str, entry: CableEntry, at: Path_, default: Airframe | None) -> Run | None:
        parts = self.parts(entry, at, default)
        made = self.note_on_error((*at, "size"), lambda: self.cable(entry))
        if entry.turnbuckle is not None:
            thread = entry.turnbuckle.thread
            self.note_on_error((*at, "turnbuckle", "thread"), lambda: turnbuckle.pitch(thread))
        for i, one in enumerate(entry.pulleys):
            self.note_on_error((*at, "pulleys", i, "part"), partial(need_part, one.part))
        if made is None or parts is None:
            return None
        if entry.stiffness_lbf is not None:
            self.note_on_error((*at, "stiffness"), partial(check_stiffness, made, entry.stiffness_lbf))
        if entry.stiffness_lbf is not None and entry.stiffness_uncertainty is not None:
            # the share is given as U at k=2, as a workshop states it
            u_lbf = entry.stiffness_uncertainty / 2 * entry.stiffness_lbf
            source = Source(Basis.MEASURED, "rig sheet", f"{circuit} / {name}", "EA measured on this aircraft")
            made = made.with_stiffness(Figure(entry.stiffness_lbf, "lbf", source, u_lbf))
        band = self.band(entry, at, made)
        source = Source(entry.limits_basis, entry.limits_source or f"rig sheet of {self.file.aircraft.name}")
        return Run(circuit, name, entry, made, parts, band, source)

    def parts(
        self, entry: CableEntry, at: Path_, default: Airframe | None
    ) -> tuple[tuple[float, Airframe], ...] | None:
        if not entry.path:
            return ((entry.length_in, default),) if default is not None else None
        parts = []
        for i, piece in enumerate(entry.path):
            material = self.airframe(piece.airframe, (*at, "path", i, "airframe"))
            if material is not None:
                parts.append((piece.length_in, material))
        total_in = sum(piece.length_in for piece in entry.path)
        if abs(total_in - entry.length_in) > PATH_TOLERANCE * entry.length_in:
            self.note((*at, "path"), f"the pieces add up to {total_in:.4g} in, the length is {entry.length_in:.4g} in")
        return tuple(parts) if len(parts) == len(entry.path) else None

    def airframe(self, entry: AirframeEntry | str, at: Path_) -> Airframe | None:
        if isinstance(entry, str):
            return self.note_on_error(at, lambda: airframe(entry))
        if entry.expansion_per_degF is None:
            return self.note_on_error((*at, "material"), lambda: airframe(entry.material))
        half_width = entry.half_width_per_degF or 0.0
        source = Source(entry.basis, entry.source)
        return own_airframe(entry.material.lower(), entry.expansion_per_degF, half_width, source)

    def band(self, entry: CableEntry, at: Path_, made: Cable) -> Band | None:
        if entry.chart is not None and self.file.chart is None:
            self.note((*at, "chart"), "the sheet names no chart file: add 'chart: FILE.yaml' at the top level")
        if entry.limits is None:
            return None
        at = (*at, "limits")
        self.note_on_error(at, partial(made.check_rigging_load, entry.limits.high_lbf, "a high limit"))
        if entry.limits.reference_degF is None:
            return entry.limits._replace(reference_degF=self.file.reference_degF)
        self.temperature(at, entry.limits.reference_degF, "reference temperature")
        return entry.limits

    def circuits(self) -> None:
        for name, circuit in self.file.circuits.items():
            at: Path_ = ("circuits", name)
            before = len(self.problems)
            for i, held in enumerate(circuit.hold):
                self.sector(circuit, (*at, "hold", i), held)
            for cable_name, entry in circuit.cables.items():
                for key, end in (("from", entry.from_end), ("to", entry.to_end)):
                    self.end(circuit, (*at, "cables", cable_name, key), end)
            for spring_name, spring in circuit.springs.items():
                if spring_name in circuit.cables:
                    self.note((*at, "springs", spring_name), "a cable has this name already")
                for key, end in (("from", spring.from_end), ("to", spring.to_end)):
                    self.end(circuit, (*at, "springs", spring_name, key), end)
            if circuit.pilot is not None:
                for path, message in pilot_problems(circuit.pilot, circuit.sectors):
                    self.note((*at, "pilot", *path), message)
            if len(self.problems) == before:
                self.restrained(circuit, at)

    def surfaces(self) -> None:
        """A surface is named once in the whole sheet, so that a record cannot mean another one."""
        seen: dict[str, tuple[str, str]] = {}
        for circuit_name, circuit in self.file.circuits.items():
            for name, surface in circuit.surfaces.items():
                at: Path_ = ("circuits", circuit_name, "surfaces", name)
                plain = " ".join(name.casefold().split())
                if plain in seen:
                    other, other_circuit = seen[plain]
                    self.note(
                        at,
                        f"circuit {other_circuit} has the surface '{other}' already: each name stands once in a sheet",
                    )
                seen.setdefault(plain, (name, circuit_name))
                if surface.sector:
                    self.sector(circuit, (*at, "sector"), surface.sector)

    def programme(self) -> None:
        for i, task in enumerate(self.file.programme):
            if task.circuit and task.circuit not in self.file.circuits:
                near = nearest(task.circuit, self.file.circuits)
                self.note(("programme", i, "circuit"), f"no circuit '{task.circuit}' in the sheet{near}")

    def sector(self, circuit: CircuitEntry, at: Path_, name: str) -> None:
        if name not in circuit.sectors:
            self.note(at, f"no sector '{name}' in this circuit{nearest(name, circuit.sectors)}")

    def end(self, circuit: CircuitEntry, at: Path_, end: str) -> None:
        if end == AIRFRAME:
            return
        found = parse_end(end)
        if found is None:
            self.note(
                at, f"'{end}' needs the side of the sector, + or -, like 'stick +'; or 'airframe' for a fixed point"
            )
        else:
            self.sector(circuit, at, found[0])

    def restrained(self, circuit: CircuitEntry, at: Path_) -> None:
        """Every sector must be joined, through cables or springs, to one that is held or to the airframe."""
        entries: list[CableEntry | SpringEntry] = [*circuit.cables.values(), *circuit.springs.values()]
        ends = [[(parse_end(e) or (AIRFRAME, 0))[0] for e in (entry.from_end, entry.to_end)] for entry in entries]
        beside: dict[str, set[str]] = {}
        for one, other in ends:
            beside.setdefault(one, set()).add(other)
            beside.setdefault(other, set()).add(one)
        reached = {*circuit.hold, AIRFRAME}
        waiting = list(reached)
        while waiting:
            new = beside.get(waiting.pop(), set()) - reached
            reached |= new
            waiting += new
        if not circuit.hold:
            joined = {parse_end(end) for entry in entries for end in (entry.from_end, entry.to_end)}
            # without a pin, what pulls at one side of a sector alone turns it as far as it goes
            loose = [n for n in circuit.sectors if n not in reached or not {(n, 1), (n, -1)} <= joined]
            if loose:
                self.note(
                    at,
                    f"nothing restrains {' and '.join(loose)}: name the sector with the rig pin under 'hold', like "
                    f"hold: [{next(iter(circuit.sectors))}], or the springs that keep this circuit under 'springs'",
                )
            return
        for name in circuit.sectors:
            if name not in reached:
                self.note((*at, "sectors", name), "nothing restrains this sector: join it with a cable, or hold it")

    def cards(self, folder: Path) -> dict[str, Card]:
        cards: dict[str, Card] = {}
        for i, name in enumerate(self.file.tensiometers):
            if name in self.file.tensiometers[:i]:
                self.note(("tensiometers", i), f"'{name}' is named twice: keep one")
                continue
            card = self.note_on_error(("tensiometers", i), lambda name=name: load_card(folder / name))  # type: ignore[misc]
            if card is None:
                continue
            if card.serial in cards:
                self.note(("tensiometers", i), f"two cards for tensiometer {card.serial}: keep the valid one")
            cards[card.serial] = card
        return cards

    def lines(self, chart: Table, runs: Sequence[Run]) -> None:
        """Every run that names lines of the chart must find them, at the reference temperature, and bear them."""
        today = Condition(self.file.reference_degF)
        for circuit_name, circuit in self.file.circuits.items():
            for name, entry in circuit.cables.items():
                if entry.chart is not None:
                    at: Path_ = ("circuits", circuit_name, "cables", name, "chart")
                    self.note_on_error(at, partial(limits_from_chart, chart, entry.chart, today, today.structure_degF))
        for run in runs:
            at = ("circuits", run.circuit, "cables", run.name, "chart")
            for row in chart.rows if run.entry.chart is not None else ():
                if row.values["for"] == run.entry.chart:
                    self.note_on_error(at, partial(run.cable.check_rigging_load, row.values["high"], "a high limit"))

    def chart(self, folder: Path) -> Table | None:
        name = self.file.chart
        if name is None:
            return None

        def act() -> Table:
            table = tables.load_file(folder / name)
            check_chart(table)
            return table

        return self.note_on_error(("chart",), act)
