"""What temperature does to the tensions of a whole circuit rigged at its reference temperature, and how sure that is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from rigging.measure.uncertainty import rectangular
from rigging.physics.circuit import Circuit
from rigging.sheet.circuit import CircuitModel

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from rigging.physics.circuit import Array

DECIDED = 1e-9  # what rounding leaves of a tension that the known ones decide


def balanced_lbf(model: CircuitModel, known_lbf: Mapping[str, float]) -> dict[str, float]:
    """Tensions [lbf] of all cables: the known ones as they are, the others as they must be to balance them.

    With equal arms a loop has one tension, otherwise T1 r1 = T2 r2; springs pull as at neutral.
    A cable that the known ones do not decide is left out.
    """
    import numpy as np

    basis = model.circuit.pretension()
    names = [link.name for link in model.circuit.links]
    spring_lbf = model.circuit.stiffness_lbf_per_in * model.spring_stretch_in
    rows = [i for i, name in enumerate(names) if i >= model.cable_count or name in known_lbf]
    values = [known_lbf[names[i]] if i < model.cable_count else float(spring_lbf[i]) for i in rows]
    inverse = np.linalg.pinv(basis[rows])
    found = basis @ (inverse @ np.array(values))
    decided = np.abs(basis @ (inverse @ basis[rows]) - basis).max(axis=1, initial=0.0) < DECIDED
    return {
        name: known_lbf.get(name, float(found[i]))
        for i, name in enumerate(names[: model.cable_count])
        if name in known_lbf or decided[i]
    }


def tensions_at(model: CircuitModel, rigged_lbf: Sequence[float], change_degF: ArrayLike) -> Array:
    """Tensions [lbf] of all links, shape (changes, links), for changes from the reference temperature [degF].

    rigged_lbf [lbf]: of the cables at reference; where they are in no balance the free sectors turn.
    """
    import numpy as np

    stretch = model.stretch_in(rigged_lbf) + np.multiply.outer(
        np.asarray(change_degF, dtype=float), model.stretch_in_per_degF
    )
    return model.circuit.solve(stretch).tension_lbf


def components(
    model: CircuitModel, rigged_lbf: Sequence[float], change_degF: ArrayLike, half_width_degF: float
) -> dict[str, Array]:
    """Contributions [lbf, k=1] to the uncertainty of every cable's tension by name, shape (changes, cables).

    The same that ``thermal.shift`` gives for one run, for a circuit that stays tight: below zero the
    figure is that of the tension the cable would need to hang just slack. half_width_degF [degF]: of the
    thermometer when the cables were set.
    """
    import numpy as np

    change = np.atleast_1d(np.asarray(change_degF, dtype=float))
    n = model.cable_count
    effect, _ = model.circuit.takeup_effect()

    def moved(stretch_in: Array) -> Array:
        return np.abs(np.outer(change, effect @ stretch_in)[:, :n])

    found: dict[str, Array] = {}
    tight = tight_at(model, rigged_lbf, change)
    for name, stiffer in _stiffer(model):
        found[name] = np.abs(tight_at(model, rigged_lbf, change, stiffer) - tight)
    for kind in ("structure", "cable"):
        for name in sorted({str(getattr(p, kind)) for own in model.pieces for p in own}):
            stretch = np.zeros(len(model.circuit.links))
            for i, own in enumerate(model.pieces):
                mine = [p for p in own if getattr(p, kind) == name]
                stretch[i] = sum(p.length_in * getattr(p, f"{kind}_expansion_uncertainty_per_degF") for p in mine)
            found[f"expansion of {name}"] = moved(stretch)
    slope = np.abs(effect @ model.stretch_in_per_degF)[:n]
    found["temperature reading"] = np.tile(slope * rectangular(half_width_degF), (len(change), 1))
    return {name: u for name, u in found.items() if u.max(initial=0.0) > 0}


def tight_at(
    model: CircuitModel, rigged_lbf: Sequence[float], change_degF: ArrayLike, circuit: Circuit | None = None
) -> Array:
    """Tensions [lbf] of the cables were every link held tight, below zero where it would be slack, shape (changes, cables).

    circuit: of the same geometry with other stiffnesses; the model's own where None.
    """
    import numpy as np

    own = circuit or model.circuit
    stretch = model.spring_stretch_in.copy()
    stretch[: model.cable_count] = np.asarray(rigged_lbf) / own.stiffness_lbf_per_in[: model.cable_count]
    effect, _ = own.takeup_effect()
    tight: Array = (
        stretch + np.multiply.outer(np.asarray(change_degF, dtype=float), model.stretch_in_per_degF)
    ) @ effect.T
    return tight[..., : model.cable_count]


def _stiffer(model: CircuitModel) -> list[tuple[str, Circuit]]:
    """The circuit with EA larger by its standard uncertainty: cables of one table together, measured ones singly."""
    return [(name, _scaled(model, name)) for name in sorted({own[0].stiffness for own in model.pieces})]


def _scaled(model: CircuitModel, name: str) -> Circuit:
    links = list(model.circuit.links)
    for i, run in enumerate(model.runs):
        piece = model.pieces[i][0]
        if piece.stiffness == name:
            give = run.entry.give_in_per_lbf or 0.0
            share = 1.0 + piece.stiffness_relative_uncertainty
            compliance = (1.0 / links[i].stiffness_lbf_per_in - give) / share + give
            links[i] = links[i]._replace(stiffness_lbf_per_in=1.0 / compliance)
    return Circuit(model.circuit.sectors, links, model.circuit.held)
