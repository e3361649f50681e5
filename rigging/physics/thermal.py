"""What a change of temperature does to the tension of a cable held between points of the structure.

    dT = sum L_i (a_s,i dtheta_s,i - a_c,i dtheta_c,i) / ( sum L_i / EA_i + c )

The structure grows and pulls the cable longer; the cable grows and gives way; the difference is
stretch. With one material and a rigid structure the length falls out: dT/dtheta = EA (a_s - a_c).

A cable that hangs in a circuit answers to the stretch of every cable there; one between fixed ends is
the circuit of one link. ``responses`` makes the sums for both.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from typing import NamedTuple

from rigging.errors import Refusal
from rigging.physics.bounds import above_zero, all_finite, finite, not_below_zero
from rigging.told import degF, degF_apart, lbf, told

LOWEST_DEGF = -65.0
HIGHEST_DEGF = 160.0


class Piece(NamedTuple):
    """A length of cable along one structure.

    length_in [in] > 0; stiffness_lbf: EA [lbf] > 0; structure_expansion_per_degF and
    cable_expansion_per_degF [1/degF]; structure and cable name the material, so that the error of one
    expansion is counted as one error wherever that material is met. The next three fields are standard
    uncertainties (k=1) in the unit of their figure; the one of EA is relative. stiffness: whose figure EA
    is, so that the error of one table is counted as one error too.
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
    stiffness: str = "cable stiffness"


class Response(NamedTuple):
    """How the tension of one run answers temperature, every link tight: all of it straight lines.

    structure_lbf_per_degF, cable_lbf_per_degF [lbf/degF]: gained per degree on the structure alone, and on
    the cables alone. stiffness: by whose figure, what the standard uncertainty of EA makes of these two
    [lbf/degF]. structures, cables: by material, what the standard uncertainty of its expansion makes of a
    degree [lbf/degF]. The signs of these are those of one error wherever it is met.
    """

    structure_lbf_per_degF: float
    cable_lbf_per_degF: float
    stiffness: tuple[tuple[str, float, float], ...]
    structures: tuple[tuple[str, float], ...]
    cables: tuple[tuple[str, float], ...]

    @property
    def slope_lbf_per_degF(self) -> float:
        """Tension gained per degree when structure and cables warm together [lbf/degF]."""
        return self.structure_lbf_per_degF + self.cable_lbf_per_degF


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
            told(
                "{} {} lies outside {} to {}, where no figure is given: check it and its unit",
                what,
                degF(temperature_degF),
                degF(LOWEST_DEGF, "g", unit=False),
                degF(HIGHEST_DEGF, "g"),
            )
        )


def compliance_in_per_lbf(pieces: Iterable[Piece], give_in_per_lbf: float = 0.0) -> float:
    """Stretch of the whole run per pound [in/lbf]: sum L/EA plus the structure's own give.

    Zero for no piece and no give. Raises Refusal for a length or stiffness that is not positive, or a negative give.

    >>> round(compliance_in_per_lbf([Piece(168.0, 104123.0, 0.0, 0.0)]), 6)
    0.001613
    """
    total = give_in_per_lbf
    if not 0 <= give_in_per_lbf < math.inf:
        raise Refusal("the give of the structure cannot be negative")
    for piece in pieces:
        if not (0 < piece.length_in < math.inf and 0 < piece.stiffness_lbf < math.inf):
            raise Refusal("every piece of a run needs a length and a stiffness above zero")
        total += piece.length_in / piece.stiffness_lbf
    return total


def slope_lbf_per_degF(pieces: Sequence[Piece], give_in_per_lbf: float = 0.0) -> float:
    """Tension gained per degree when structure and cable warm together [lbf/degF].

    Positive: warmer is tighter. For one material: EA (a_s - a_c).

    >>> spruce = Piece(168.0, 104123.0, 4.45e-6 / 1.8, 11.7e-6 / 1.8)
    >>> round(slope_lbf_per_degF([spruce]), 2)
    -0.42
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
    zero (see ``hold_above_zero``). A cable that cools before the structure gains first. Raises Refusal as
    ``compliance_in_per_lbf``, for nothing that stretches, and for what is no number.
    """
    structure = _each(structure_change_degF, pieces)
    cable = _each(cable_change_degF, pieces)
    growth_in = sum(
        p.length_in * (p.structure_expansion_per_degF * s - p.cable_expansion_per_degF * c)
        for p, s, c in zip(pieces, structure, cable, strict=True)
    )
    finite("what temperature adds to a run [in]", growth_in)
    return growth_in / _some_compliance_in_per_lbf(pieces, give_in_per_lbf)


def responses(cables: Sequence[Sequence[Piece]], effect_lbf_per_in: Sequence[Sequence[float]]) -> list[Response]:
    """How every link of a circuit answers temperature, all of them tight.

        dT_i = sum_j H_ij g_j          d(dT_i) = sum_j H_ij dT_j (L/EA)_j dEA_j/EA_j

    with g the stretch that warming gives each link at rest, and H the tension per stretch of the circuit. The
    tensions at reference are given, whatever EA is. H = K - K A (A'KA)^-1 A'K with K the stiffnesses and A the
    arms; differentiated, dH = (H K^-1) dK (K^-1 H): a stiffer cable acts as one that was taken up by as much as
    it then stretches less. Without springs and give these add up to dT itself for an error common to all.

    Raises Refusal for what is no number, and an effect of another shape.

    cables: pieces of every link, none for a spring. effect_lbf_per_in: H [lbf/in], shape (links, links), as
    ``Circuit.takeup_effect`` gives it; for one cable between fixed ends, one over its compliance.

    >>> spruce = Piece(168.0, 104123.0, 4.45e-6 / 1.8, 11.7e-6 / 1.8)
    >>> round(responses([[spruce]], [[104123.0 / 168.0]])[0].slope_lbf_per_degF, 2)
    -0.42

    Reference: the law of propagation of uncertainty, JCGM 100, 5.1.2 and 5.2.2 for errors met more than once.
    """
    if any(len(row) != len(cables) for row in effect_lbf_per_in) or len(effect_lbf_per_in) != len(cables):
        raise Refusal(f"a circuit of {len(cables)} cables needs the effect of each on each")
    for own in cables:
        all_finite("a figure of a piece of cable", (x for p in own for x in p if isinstance(x, int | float)))
        for piece in own:
            above_zero("the stiffness of a piece of cable", piece.stiffness_lbf, lbf)
    for row in effect_lbf_per_in:
        all_finite("an effect of stretch on tension [lbf/in]", row)
    structure_in = [math.fsum(p.length_in * p.structure_expansion_per_degF for p in own) for own in cables]
    cable_in = [-math.fsum(p.length_in * p.cable_expansion_per_degF for p in own) for own in cables]
    by_structure = [_product(row, structure_in) for row in effect_lbf_per_in]
    by_cable = [_product(row, cable_in) for row in effect_lbf_per_in]
    # what one standard uncertainty adds to the stretch of each link, by whose error it is
    softer = _by_name(
        cables, lambda p: p.stiffness, lambda p: p.length_in / p.stiffness_lbf * p.stiffness_relative_uncertainty
    )
    structures = _by_name(
        cables, lambda p: p.structure, lambda p: p.length_in * p.structure_expansion_uncertainty_per_degF
    )
    expansions = _by_name(cables, lambda p: p.cable, lambda p: p.length_in * p.cable_expansion_uncertainty_per_degF)
    return [
        Response(
            by_structure[i],
            by_cable[i],
            tuple(
                (
                    name,
                    math.fsum(row[j] * by_structure[j] * u for j, u in parts.items()),
                    math.fsum(row[j] * by_cable[j] * u for j, u in parts.items()),
                )
                for name, parts in softer.items()
            ),
            tuple((name, math.fsum(row[j] * u for j, u in parts.items())) for name, parts in structures.items()),
            tuple((name, -math.fsum(row[j] * u for j, u in parts.items())) for name, parts in expansions.items()),
        )
        for i, row in enumerate(effect_lbf_per_in)
    ]


def fixed_ends(pieces: Sequence[Piece], give_in_per_lbf: float = 0.0) -> Response:
    """``responses`` of a single run between two points of the structure. Raises Refusal as ``tension_change_lbf``."""
    return responses([pieces], [[1.0 / _some_compliance_in_per_lbf(pieces, give_in_per_lbf)]])[0]


def shift(
    response: Response,
    structure_change_degF: float,
    cable_change_degF: float,
    structure_uncertainty_degF: float,
    cable_lag_uncertainty_degF: float = 0.0,
    cable_read_apart: bool = False,
) -> Shift:
    """Change of tension with its uncertainty, by the first-order law of propagation (JCGM 100, 5.1.2).

    structure_uncertainty_degF [degF, k=1]: of the temperature reading, which moves structure and cable
    together. cable_lag_uncertainty_degF [degF, k=1]: of the cables' temperature against the structure's.
    cable_read_apart: the cable's temperature was read for itself, with an error of its own of the same size.
    Raises Refusal for what is no number, or an uncertainty below zero.
    """
    all_finite("a change of temperature", (structure_change_degF, cable_change_degF), degF_apart)
    not_below_zero("an uncertainty of a temperature", structure_uncertainty_degF, degF_apart)
    not_below_zero("an uncertainty of the cable's temperature", cable_lag_uncertainty_degF, degF_apart)
    slopes = [x for one in (response.stiffness, response.structures, response.cables) for _, *xs in one for x in xs]
    all_finite(
        "a slope of tension on temperature [lbf/F]",
        (response.structure_lbf_per_degF, response.cable_lbf_per_degF, *slopes),
    )
    by_structure, by_cable = response.structure_lbf_per_degF, response.cable_lbf_per_degF
    contributions: dict[str, float] = {}
    for name, structure, cable in response.stiffness:
        contributions[name] = abs(structure * structure_change_degF + cable * cable_change_degF)
    for name, moved in response.structures:
        contributions[f"expansion of {name}"] = abs(moved * structure_change_degF)
    for name, moved in response.cables:
        contributions[f"expansion of {name}"] = abs(moved * cable_change_degF)
    if cable_read_apart:
        contributions["structure temperature reading"] = abs(by_structure) * structure_uncertainty_degF
        contributions["cable temperature reading"] = abs(by_cable) * structure_uncertainty_degF
    else:
        contributions["temperature reading"] = abs(by_structure + by_cable) * structure_uncertainty_degF
    contributions["cable not at structure temperature"] = abs(by_cable) * cable_lag_uncertainty_degF
    change_lbf = by_structure * structure_change_degF + by_cable * cable_change_degF
    return Shift(change_lbf, {name: u for name, u in contributions.items() if u > 0})


def hold_above_zero(tension_lbf: float) -> tuple[float, bool]:
    """Tension [lbf] of a cable that cannot push, and whether it hangs slack. Raises Refusal for what is no number."""
    finite("a tension", tension_lbf, lbf)
    return max(0.0, tension_lbf), tension_lbf <= 0.0


def _each(change: float | Sequence[float], pieces: Sequence[Piece]) -> Sequence[float]:
    if isinstance(change, int | float):
        return [float(change)] * len(pieces)
    if len(change) != len(pieces):
        raise Refusal(f"{len(change)} temperatures are given for {len(pieces)} pieces")
    return change


def _some_compliance_in_per_lbf(pieces: Iterable[Piece], give_in_per_lbf: float) -> float:
    compliance = compliance_in_per_lbf(pieces, give_in_per_lbf)
    if not compliance > 0:
        raise Refusal("a run without a piece of cable, between ends that do not give, has no tension to change")
    return compliance


def _product(row: Sequence[float], column: Sequence[float]) -> float:
    return math.fsum(a * b for a, b in zip(row, column, strict=True))


def _by_name(
    cables: Sequence[Sequence[Piece]], name: Callable[[Piece], str], amount: Callable[[Piece], float]
) -> dict[str, dict[int, float]]:
    """Sums over the pieces of each link by name, names sorted."""
    found: dict[str, dict[int, float]] = {}
    for one in sorted({name(p) for own in cables for p in own}):
        found[one] = {
            j: math.fsum(amount(p) for p in own if name(p) == one)
            for j, own in enumerate(cables)
            if any(name(p) == one for p in own)
        }
    return found
