"""What a change of temperature does to the tension of a cable held between points of the structure.

    dT = sum L_i (a_s,i dtheta_s,i - a_c,i dtheta_c,i) / ( sum L_i / EA_i + c )

The structure grows and pulls the cable longer; the cable grows and gives way; the difference is
stretch. With one material and a rigid structure the length falls out: dT/dtheta = EA (a_s - a_c).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from rigging.errors import Refusal

LOWEST_DEGF = -65.0
HIGHEST_DEGF = 160.0


class Piece(NamedTuple):
    """A length of cable along one structure.

    length_in [in] > 0; stiffness_lbf: EA [lbf] > 0; structure_expansion_per_degF and
    cable_expansion_per_degF [1/degF]; structure and cable name the material, so that the error of one
    expansion is counted as one error wherever that material is met. The last three fields are standard
    uncertainties (k=1) in the unit of their figure; the one of EA is relative.
    """

    length_in: float
    stiffness_lbf: float
    structure_expansion_per_degF: float
    cable_expansion_per_degF: float
    structure: str = "structure"
    cable: str = "cable"
    stiffness_relative_uncertainty: float = 0.0
    structure_expansion_uncertainty_per_degF: float = 0.0
    cable_expansion_uncertainty_per_degF: float = 0.0


class Shift(NamedTuple):
    """A change of tension [lbf] with its contributions to uncertainty [lbf, k=1] by name."""

    change_lbf: float
    contributions_lbf: dict[str, float]

    @property
    def standard_uncertainty_lbf(self) -> float:
        """u [lbf], k=1."""
        return math.sqrt(sum(u * u for u in self.contributions_lbf.values()))


def check_temperature(temperature_degF: float, what: str = "temperature") -> None:
    """Raises Refusal outside -65..160 degF, the range of the chart and of bare cable in service."""
    if not LOWEST_DEGF <= temperature_degF <= HIGHEST_DEGF:
        raise Refusal(
            f"{what} {temperature_degF:.4g} F lies outside {LOWEST_DEGF:g} to {HIGHEST_DEGF:g} F: no figure is given there"
        )


def compliance_in_per_lbf(pieces: Iterable[Piece], give_in_per_lbf: float = 0.0) -> float:
    """Stretch of the whole run per pound [in/lbf]: sum L/EA plus the structure's own give.

    Raises Refusal for a length or stiffness that is not positive, or a negative give.

    >>> round(compliance_in_per_lbf([Piece(168.0, 99673.0, 0.0, 0.0)]), 6)
    0.001686
    """
    total = give_in_per_lbf
    if give_in_per_lbf < 0:
        raise Refusal("the give of the structure cannot be negative")
    for piece in pieces:
        if piece.length_in <= 0 or piece.stiffness_lbf <= 0:
            raise Refusal("every piece of a run needs a length and a stiffness above zero")
        total += piece.length_in / piece.stiffness_lbf
    return total


def slope_lbf_per_degF(pieces: Sequence[Piece], give_in_per_lbf: float = 0.0) -> float:
    """Tension gained per degree when structure and cable warm together [lbf/degF].

    Positive: warmer is tighter. For one material: EA (a_s - a_c).

    >>> spruce = Piece(168.0, 99673.0, 4.45e-6 / 1.8, 11.7e-6 / 1.8)
    >>> round(slope_lbf_per_degF([spruce]), 2)
    -0.4
    """
    return tension_change_lbf(pieces, 1.0, 1.0, give_in_per_lbf)


def tension_change_lbf(
    pieces: Sequence[Piece],
    structure_change_degF: float | Sequence[float],
    cable_change_degF: float | Sequence[float],
    give_in_per_lbf: float = 0.0,
) -> float:
    """Change of tension [lbf] for changes of temperature [degF], one for all pieces or one for each.

    It is the change of a cable that stays tight: the caller adds it to a tension and holds that above
    zero (see ``hold_above_zero``). A cable that cools before the structure gains first.
    """
    structure = _each(structure_change_degF, pieces)
    cable = _each(cable_change_degF, pieces)
    growth_in = sum(
        p.length_in * (p.structure_expansion_per_degF * s - p.cable_expansion_per_degF * c)
        for p, s, c in zip(pieces, structure, cable, strict=True)
    )
    return growth_in / compliance_in_per_lbf(pieces, give_in_per_lbf)


def shift(
    pieces: Sequence[Piece],
    structure_change_degF: float,
    cable_change_degF: float,
    structure_uncertainty_degF: float,
    cable_lag_uncertainty_degF: float = 0.0,
    give_in_per_lbf: float = 0.0,
    cable_read_apart: bool = False,
) -> Shift:
    """``tension_change_lbf`` with its uncertainty, by the first-order law of propagation (JCGM 100, 5.1.2).

    structure_uncertainty_degF [degF, k=1]: of the temperature reading, which moves structure and cable
    together. cable_lag_uncertainty_degF [degF, k=1]: of the cable's temperature against the structure's.
    cable_read_apart: the cable's temperature was read for itself, with an error of its own of the same size.
    """
    compliance = compliance_in_per_lbf(pieces, give_in_per_lbf)
    change_lbf = tension_change_lbf(pieces, structure_change_degF, cable_change_degF, give_in_per_lbf)
    contributions: dict[str, float] = {}
    # EA of all pieces comes from one table: their errors go together
    share = sum(p.length_in / p.stiffness_lbf * p.stiffness_relative_uncertainty for p in pieces) / compliance
    contributions["cable stiffness"] = abs(change_lbf) * share
    for name in sorted({p.structure for p in pieces}):
        moved = sum(p.length_in * p.structure_expansion_uncertainty_per_degF for p in pieces if p.structure == name)
        contributions[f"expansion of {name}"] = abs(structure_change_degF) * moved / compliance
    for name in sorted({p.cable for p in pieces}):
        moved = sum(p.length_in * p.cable_expansion_uncertainty_per_degF for p in pieces if p.cable == name)
        contributions[f"expansion of {name}"] = abs(cable_change_degF) * moved / compliance
    by_structure = tension_change_lbf(pieces, 1.0, 0.0, give_in_per_lbf)
    by_cable = tension_change_lbf(pieces, 0.0, 1.0, give_in_per_lbf)
    if cable_read_apart:
        contributions["structure temperature reading"] = abs(by_structure) * structure_uncertainty_degF
        contributions["cable temperature reading"] = abs(by_cable) * structure_uncertainty_degF
    else:
        contributions["temperature reading"] = abs(by_structure + by_cable) * structure_uncertainty_degF
    contributions["cable not at structure temperature"] = abs(by_cable) * cable_lag_uncertainty_degF
    return Shift(change_lbf, {name: u for name, u in contributions.items() if u > 0})


def hold_above_zero(tension_lbf: float) -> tuple[float, bool]:
    """Tension [lbf] of a cable that cannot push, and whether it hangs slack."""
    return max(0.0, tension_lbf), tension_lbf <= 0.0


def _each(change: float | Sequence[float], pieces: Sequence[Piece]) -> Sequence[float]:
    if isinstance(change, int | float):
        return [float(change)] * len(pieces)
    if len(change) != len(pieces):
        raise Refusal(f"{len(change)} temperatures are given for {len(pieces)} pieces")
    return change
