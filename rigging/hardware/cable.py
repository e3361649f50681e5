"""One cable: strength, proof load, stiffness, expansion and weight, each with its source.

    EA = E f pi d^2 / 4          7x19, 1x19
    EA = 100 d^2 / G             7x7

with the modulus E and the metallic share of the area f of the construction (EN 1993-1-11:2006,
tables 3.1 and 2.2, second-hand), and the stretch constant G of a rope maker (second-hand): 7x7 is stiffer
than the first rule has it.
"""

from __future__ import annotations

import math
from typing import Final, Literal

import msgspec

from rigging import tables
from rigging.errors import Refusal
from rigging.source import Basis, Figure, Source, resting_on
from rigging.told import lbf, told
from rigging.units import parse_size, size_in

FLEXIBLE: Final = "cable-flexible-ac43131b-7-3"
STRAND: Final = "cable-1x19-memory"
MODULUS: Final = "cable-modulus-en1993-1-11"
STRETCH: Final = "cable-stretch-rope-maker"
WEIGHT: Final = "cable-weight-memory"
EXPANSION: Final = "expansion"

MATERIALS: Final = ("carbon", "stainless")
CONSTRUCTIONS: Final = ("7x19", "7x7", "1x19", "3x7")

PSI_PER_GPA: Final = 145037.73773  # 1e9 / (0.45359237 * 9.80665 / 0.0254^2)

# E +-10 % (rectangular, 5.8 %), f 0.56 to 0.61 (2.5 %), low-load modulus 0.9 of the high-load one (2.9 %)
# make 6.9 %; carried as 7.5 % (k=1), that is 15 % at k=2.
STIFFNESS_RELATIVE_UNCERTAINTY: Final = 0.075
# Of 7x7: how the rope maker's constant came about is not known, and E f pi / 4 lies 29 % below it; 30 % at k=2 reaches
# both.
STIFFNESS_RELATIVE_UNCERTAINTY_7X7: Final = 0.15

LEAST_7X19_IN: Final = 0.125  # where nobody says otherwise, smaller cable is 7x7 (practice)

# 200 GPa, as every handbook has it for steel: a cable cannot be stiffer than a bar of its diameter
STEEL_GPA: Final = 200.0
SOFTEST_SHARE: Final = 0.03  # of that bar: a tenth of a 7x19 cable

PROOF_SHARE: Final = 0.60
PROOF_SOURCE: Final = Source(
    Basis.PUBLISHED,
    "MIL-DTL-781J",
    "4.6.1",
    "60 % of breaking strength, up to 3/8 in; FAA AC 43.13-1B 7-146, second-hand, has it too",
)
ProofRule = Literal["AC 43.13-1B", "CAAIP 2-12"]
_UK_PROOF: Final = Source(Basis.SECOND_HAND, "CAAIP 2-12", "8.1", "50 % of breaking strength, the rule of the UK")
PROOF_RULES: Final[dict[ProofRule, tuple[float, Source]]] = {
    "AC 43.13-1B": (PROOF_SHARE, PROOF_SOURCE),
    "CAAIP 2-12": (0.50, _UK_PROOF),
}
PROOF_TIME_MIN: Final = 3.0
PROOF_TIME_SOURCE: Final = Source(Basis.PUBLISHED, "FAA AC 43.13-1B", "7-146, end")


class Cable(msgspec.Struct, frozen=True):
    """A cable as named by size, construction and material.

    A figure is None where no table has it; ``missing`` then says why.
    stiffness: EA in lbf. expansion: per degF. weight: lb per 100 ft.
    """

    size: str
    construction: str
    material: str
    breaking_strength: Figure | None
    proof_load: Figure | None
    stiffness: Figure | None
    expansion: Figure
    weight: Figure | None
    missing: dict[str, str]

    @property
    def diameter_in(self) -> float:
        """Nominal diameter [in]."""
        return size_in(self.size)

    def need_stiffness(self) -> Figure:
        """EA [lbf]. Raises Refusal where no table gives it."""
        if self.stiffness is None:
            raise Refusal(self.missing["stiffness_lbf"])
        return self.stiffness

    def check_rigging_load(self, tension_lbf: float, what: str) -> None:
        """Raises Refusal for a tension above the proof load, which no cable is rigged to; nothing where none is known.

        what: what is so tight, with its article: ``a reading``.
        """
        proof = self.proof_load
        if proof is not None and tension_lbf > proof.value:
            raise Refusal(
                told(
                    "{} of {} is above the proof load of this cable, {} ({} {} {}), and is no rigging tension: check the figure, its unit and the cable",
                    what,
                    lbf(tension_lbf, ".4g"),
                    lbf(proof.value, ".0f"),
                    self.size,
                    self.construction,
                    self.material,
                )
            )

    def with_stiffness(self, stiffness: Figure) -> Cable:
        """The same cable with a stiffness learned on the aircraft, which beats the table."""
        return msgspec.structs.replace(self, stiffness=stiffness)

    def with_proof_rule(self, rule: ProofRule) -> Cable:
        """The same cable, proof-loaded by a rule."""
        return msgspec.structs.replace(self, proof_load=_proof_load(self.breaking_strength, rule))


def cable(size: str, construction: str | None = None, material: str = "carbon") -> Cable:
    """A cable from the tables.

    size: a fraction of an inch, ``1/8``. construction: where None, 7x19 from 1/8 up and below it 7x7, or what the
    table has. material: ``carbon`` or ``stainless``.
    Raises UnitError for a text that is no size; Refusal for a size, construction or material that no table has.
    """
    size = parse_size(size)
    if material not in MATERIALS:
        raise Refusal(f"unknown cable material '{material}': carbon or stainless (corrosion-resistant)")
    construction = construction or _usual_construction(size)
    if construction not in CONSTRUCTIONS:
        raise Refusal(f"unknown cable construction '{construction}': one of {', '.join(CONSTRUCTIONS)}")
    missing: dict[str, str] = {}
    strength = _strength(size, construction, material, missing)
    return Cable(
        size=size,
        construction=construction,
        material=material,
        breaking_strength=strength,
        proof_load=_proof_load(strength),
        stiffness=_stiffness(size, construction, material, missing),
        expansion=_expansion(material),
        weight=_weight(size, construction, missing),
        missing=missing,
    )


def check_stiffness(of: Cable, stiffness_lbf: float) -> None:
    """Raises Refusal for a measured EA [lbf] that no cable of this diameter has: a digit or a unit has slipped."""
    bar_lbf = STEEL_GPA * PSI_PER_GPA * math.pi * of.diameter_in**2 / 4
    if not SOFTEST_SHARE * bar_lbf <= stiffness_lbf <= bar_lbf:
        raise Refusal(
            told(
                "no cable of {} has a stiffness of {}: give EA, the load that would stretch it to twice its length, {} to {}",
                of.size,
                lbf(stiffness_lbf, ",.0f"),
                lbf(SOFTEST_SHARE * bar_lbf, ",.0f", unit=False),
                lbf(bar_lbf, ",.0f"),
            )
        )


def strongest(size: str) -> Cable | None:
    """The flexible cable of a size that bears most, to which a card is held that names no construction; None for a size of no table."""
    constructions = [r.values["construction"] for r in tables.load(FLEXIBLE).rows if r.values["size"] == size]
    found = [cable(size, str(construction)) for construction in constructions]
    return max(found, key=lambda c: c.proof_load.value if c.proof_load else 0.0, default=None)


def _usual_construction(size: str) -> str:
    known = [row.values["construction"] for row in tables.load(FLEXIBLE).rows if row.values["size"] == size]
    usual = "7x7" if size_in(size) < LEAST_7X19_IN else "7x19"
    return usual if usual in known or not known else str(known[0])


def _strength(size: str, construction: str, material: str, missing: dict[str, str]) -> Figure | None:
    if construction == "1x19":
        return tables.load(STRAND).find(size=size).figure("breaking_strength")
    row = tables.load(FLEXIBLE).find(size=size, construction=construction)
    try:
        return row.figure(material)
    except Refusal as reason:
        missing["breaking_strength_lbf"] = missing["proof_load_lbf"] = str(reason)
        return None


def _proof_load(strength: Figure | None, rule: ProofRule = "AC 43.13-1B") -> Figure | None:
    if strength is None:
        return None
    share, source = PROOF_RULES[rule]
    return Figure(share * strength.value, "lbf", resting_on(source, strength.source))


def _stiffness(size: str, construction: str, material: str, missing: dict[str, str]) -> Figure | None:
    if construction == "3x7":
        missing["stiffness_lbf"] = (
            f"no table gives the modulus of {construction} cable: measure the stiffness on the aircraft"
        )
        return None
    row = tables.load(MODULUS).find(construction=construction, material=material)
    if construction == "7x7":
        return _stiffness_7x7(size, material, row.figure("modulus"))
    modulus, fill = row.figure("modulus"), row.figure("fill_factor")
    value_lbf = modulus.value * PSI_PER_GPA * fill.value * math.pi * size_in(size) ** 2 / 4
    note = f"E {modulus.value:g} GPa, metallic share {fill.value:g}, EA = E f pi d^2 / 4"
    source = Source(
        Basis.COMPUTED, f"{modulus.source.document} ({modulus.source.basis.value})", modulus.source.place, note
    )
    source = resting_on(source, modulus.source, fill.source)
    return Figure(value_lbf, "lbf", source, STIFFNESS_RELATIVE_UNCERTAINTY * value_lbf)


def _stiffness_7x7(size: str, material: str, modulus: Figure) -> Figure:
    constant = tables.load(STRETCH).find(construction="7x7", material="carbon").figure("stretch_constant")
    carbon = tables.load(MODULUS).find(construction="7x7", material="carbon").figure("modulus")
    value_lbf = 100 * size_in(size) ** 2 / (constant.value * 1e-5) * modulus.value / carbon.value
    note = f"stretch constant G {constant.value:g}e-5, EA = 100 d^2 / G"
    if material != "carbon":
        note += (
            f"; {material} {modulus.value / carbon.value:g} of galvanized by the moduli of {modulus.source.document}"
        )
    document = f"{constant.source.document} ({constant.source.basis.value})"
    source = resting_on(
        Source(Basis.COMPUTED, document, constant.source.place, note), constant.source, modulus.source, carbon.source
    )
    return Figure(value_lbf, "lbf", source, STIFFNESS_RELATIVE_UNCERTAINTY_7X7 * value_lbf)


def _expansion(material: str) -> Figure:
    return expansion_figure(tables.load(EXPANSION).find(material=f"{material} cable"))


def expansion_figure(row: tables.Row) -> Figure:
    """A row of the expansion table as a Figure per degF; the printed range is taken as rectangular (JCGM 100, 4.3.8)."""
    printed = row.figure("expansion")
    minus, plus = row.figure("minus"), row.figure("plus")
    per_degF = 1e-6 / 1.8
    source = resting_on(printed.source, minus.source, plus.source)
    return Figure(printed.value * per_degF, "/degF", source, (minus.value + plus.value) / math.sqrt(12) * per_degF)


def _weight(size: str, construction: str, missing: dict[str, str]) -> Figure | None:
    for row in tables.load(WEIGHT).rows:
        if row.values["size"] == size and row.values["construction"] in (construction, ""):
            return row.figure("weight")
    missing["weight_lb_per_100ft"] = f"no weight is known for {size} {construction}"
    return None
