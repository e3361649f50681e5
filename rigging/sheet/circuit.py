"""A circuit of the sheet as the physics sees it: links with stiffness, and what temperature does to each."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

import msgspec

from rigging.errors import Refusal, nearest
from rigging.judge.limits import InCircuit, run_pieces
from rigging.physics.circuit import Circuit, Joint, Link
from rigging.physics.thermal import Piece, compliance_in_per_lbf, responses
from rigging.sheet.circuit_entry import CircuitEntry

if TYPE_CHECKING:
    from rigging.physics.circuit import Array
    from rigging.sheet.rig import Rig, Run

AIRFRAME: Final = "airframe"
PUSHES: Final = 1e-9  # product of shares of two cables, of which one would have to push
FELT: Final = 1e-9  # share of a run's tension below which rounding alone ties it to another cable
_END: Final = re.compile(r"^(?P<sector>.+?)\s*(?P<side>[+-])$")


class CircuitModel(msgspec.Struct, frozen=True):
    """A circuit ready to be solved: cables in the sheet's order, then its springs.

    stretch_in_per_degF [in/degF]: what one degree on structure and cable adds to the stretch of each
    link. spring_stretch_in [in]: what the springs' pull at neutral is in stretch; zero for cables.
    """

    name: str
    entry: CircuitEntry
    runs: tuple[Run, ...]
    circuit: Circuit
    pieces: tuple[tuple[Piece, ...], ...]
    stretch_in_per_degF: Array
    spring_stretch_in: Array

    @property
    def cable_count(self) -> int:
        """How many of the links are cables; they come first."""
        return len(self.runs)

    @property
    def stiffness_relative_uncertainty(self) -> float:
        """How far the stiffness of these cables may be off, as a share (k=1): that of the least known one."""
        return max(p.stiffness_relative_uncertainty for own in self.pieces for p in own)

    def stretch_in(self, tensions_lbf: Sequence[float]) -> Array:
        """Stretch [in] of every link at neutral for the given cable tensions [lbf]; springs keep their own pull."""
        import numpy as np

        stretch = self.spring_stretch_in.copy()
        stretch[: self.cable_count] = np.asarray(tensions_lbf) / self.circuit.stiffness_lbf_per_in[: self.cable_count]
        return stretch

    def sector(self, name: str) -> int:
        """The place of a sector in the physics' order. Raises Refusal for an unknown name."""
        if name not in self.circuit.sectors:
            raise Refusal(f"no sector '{name}' in circuit {self.name}{nearest(name, self.circuit.sectors)}")
        return self.circuit.sectors.index(name)

    def need_standing(self) -> Array:
        """How tensions may stand together, as ``Circuit.pretension``; Raises Refusal where some cable would have to push."""
        basis = self.circuit.pretension()
        # a single way to stand in balance that asks some cable to push is none
        if basis.shape[1] == 0 or (basis.shape[1] == 1 and basis.min() * basis.max() < -PUSHES):
            raise Refusal(
                f"{self.name}: no tension can stand in this circuit: a free sector is pulled one way only; check the sides, "
                "+ and -, in the sheet"
            )
        return basis

    def in_circuit(self) -> dict[str, InCircuit]:
        """How temperature moves every run through this circuit, by name; runs in which no tension can stand are left out.

        Raises Refusal where none can stand at all.
        """
        import numpy as np

        basis = self.need_standing()
        effect, _ = self.circuit.takeup_effect()
        springs = [()] * (len(self.circuit.links) - self.cable_count)
        # cables that arms tie to one tension answer alike to the last digit, so that their limits are one line
        answers = responses([*self.pieces, *springs], [[float(f"{x:.12g}") for x in row] for row in effect.tolist()])
        found: dict[str, InCircuit] = {}
        for i, run in enumerate(self.runs):
            if np.abs(basis[i]).max() < FELT:
                continue
            tied = np.abs(effect[i] / effect[i, i]) > FELT
            others = tuple((r.cable, r.parts) for j, r in enumerate(self.runs) if j != i and tied[j])
            found[run.name] = InCircuit(run.label, answers[i], others, rigid(self.runs))
        return found


class Circuits:
    """The circuits of a sheet, each made once, however many ask for it."""

    def __init__(self, rig: Rig) -> None:
        self.rig = rig
        self._models: dict[str, CircuitModel | str] = {}
        self._runs: dict[str, dict[str, InCircuit] | str] = {}

    def model(self, name: str) -> CircuitModel:
        """A circuit as the sheet holds it. Raises Refusal as ``circuit_model``."""
        found = self._models.get(name)
        if found is None:
            try:
                found = circuit_model(self.rig, name)
            except Refusal as error:
                found = str(error)
            self._models[name] = found
        if isinstance(found, str):
            raise Refusal(found)
        return found

    def around(self, run: Run) -> InCircuit:
        """How temperature moves a run through its circuit. Raises Refusal where that cannot be worked out."""
        found = self._runs.get(run.circuit)
        if found is None:
            try:
                found = self.model(run.circuit).in_circuit()
            except Refusal as error:
                found = str(error)
            self._runs[run.circuit] = found
        if isinstance(found, str):
            raise Refusal(found)
        if run.name not in found:
            raise Refusal(f"no tension can stand in {run.label}: a sector there is pulled one way only")
        return found[run.name]


def rigid(runs: Sequence[Run]) -> bool:
    """Whether the sheet leaves the give of the structure unstated for some of these runs."""
    return any(run.entry.give_in_per_lbf is None for run in runs)


def parse_end(text: str) -> tuple[str, int] | None:
    """``stick +`` as (``stick``, 1); None where the side is missing."""
    found = _END.match(text)
    return None if found is None else (found["sector"], 1 if found["side"] == "+" else -1)


def circuit_model(rig: Rig, name: str, held: Sequence[str] | None = None, stiffness_scale: float = 1.0) -> CircuitModel:
    """A circuit of a sheet.

    held: sectors kept in place, the sheet's own where None. stiffness_scale: by how much the cables are
    stiffer than the table says, as learned from turns given.
    Raises Refusal: an unknown circuit, or one that nothing restrains.
    """
    import numpy as np

    entry = rig.file.circuits.get(name)
    if entry is None:
        raise Refusal(f"no circuit '{name}' in the sheet{nearest(name, rig.file.circuits)}")
    runs = tuple(run for run in rig.runs if run.circuit == name)
    links: list[Link] = []
    pieces: list[tuple[Piece, ...]] = []
    thermal_in: list[float] = []
    for run in runs:
        own = _pieces(run, stiffness_scale)
        stiffness = 1.0 / compliance_in_per_lbf(own, run.entry.give_in_per_lbf or 0.0)
        links.append(_link(entry, run.name, stiffness, run.entry.from_end, run.entry.to_end))
        pieces.append(own)
        difference = sum(p.length_in * (p.structure_expansion_per_degF - p.cable_expansion_per_degF) for p in own)
        thermal_in.append(difference)
    for spring_name, spring in entry.springs.items():
        links.append(_link(entry, spring_name, spring.rate_lbf_per_in, spring.from_end, spring.to_end))
        thermal_in.append(0.0)
    springs_in = [0.0] * len(runs) + [s.pull_lbf / s.rate_lbf_per_in for s in entry.springs.values()]
    return CircuitModel(
        name=name,
        entry=entry,
        runs=runs,
        circuit=Circuit(list(entry.sectors), links, entry.hold if held is None else held),
        pieces=tuple(pieces),
        stretch_in_per_degF=np.array(thermal_in),
        spring_stretch_in=np.array(springs_in),
    )


def _pieces(run: Run, stiffness_scale: float) -> tuple[Piece, ...]:
    try:
        own = run_pieces(run.cable, run.parts)
    except Refusal as error:
        raise Refusal(f"{run.label}: {error}") from None
    # a stiffness measured on this cable has an error of its own
    if run.entry.stiffness_lbf is not None:
        own = [p._replace(stiffness=f"stiffness of {run.name}") for p in own]
    return tuple(p._replace(stiffness_lbf=p.stiffness_lbf * stiffness_scale) for p in own)


def _link(entry: CircuitEntry, name: str, stiffness_lbf_per_in: float, start: str, end: str) -> Link:
    return Link(name, stiffness_lbf_per_in, _joint(entry, start), _joint(entry, end))


def _joint(entry: CircuitEntry, text: str) -> Joint | None:
    if text == AIRFRAME:
        return None
    found = parse_end(text)
    if found is None or found[0] not in entry.sectors:
        raise Refusal(f"'{text}' is no end of this circuit: write a sector and its side, like 'stick +'")
    sector, side = found
    return Joint(sector, side, entry.sectors[sector].arm(side))
