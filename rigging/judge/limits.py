"""Limits at today's temperature, from a band at its reference temperature or from the aircraft's own chart."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import msgspec

from rigging.bands import Band
from rigging.errors import Refusal
from rigging.hardware.airframe import Airframe
from rigging.hardware.cable import Cable
from rigging.judge.temperatures import Condition
from rigging.measure.uncertainty import Combined, Component, rectangular
from rigging.physics import thermal
from rigging.source import Figure, Source, acceptable
from rigging.told import degF, degF_apart, force, lbf, temperature, temperature_difference, told

# Below this difference of expansion a warm day cannot be felt on the tensiometer.
NEARLY_NEUTRAL_PER_DEGF: Final = 1e-6 / 1.8

UNCHANGED_LBF: Final = 0.05  # a smaller shift is not shown

# From this difference on it is said that the circuit moved the limits otherwise than fixed ends would.
NOTICEABLE_LBF: Final = 0.25

# said wherever temperature moves a tension and no cable's give is known
RIGID: Final = "the structure is taken as rigid: the temperature shift is an upper bound; state `give`, or use the aircraft's own chart"

# whose error EA carries: that of 7x7 comes from another table
STIFFNESS: Final = "cable stiffness"
STIFFNESS_7X7: Final = "7x7 cable stiffness"

Parts = Sequence[tuple[float, Airframe]]


class InCircuit(msgspec.Struct, frozen=True):
    """A run in its circuit, all of it at one temperature.

    run: its name in words. response: how its tension answers temperature there. others: the cables and airframes
    of all other runs that have a part in it. rigid: whether the structure's give is left unstated along some of them.
    """

    run: str
    response: thermal.Response
    others: tuple[tuple[Cable, tuple[tuple[float, Airframe], ...]], ...] = ()
    rigid: bool = True


class Limits(msgspec.Struct, frozen=True):
    """Limits today and at reference, and what they rest on.

    shift_lbf [lbf]: what temperature adds to a tension between reference and today; take it off a
    reading to bring it to reference. components: uncertainty of that shift [lbf]. figures_acceptable: whether
    an accepted verdict may rest on the figures behind them.
    """

    temperature_degF: float
    low_lbf: float
    target_lbf: float
    high_lbf: float
    reference_degF: float
    reference_low_lbf: float
    reference_high_lbf: float
    shift_lbf: float
    slope_lbf_per_degF: float
    direction: str
    components: tuple[Component, ...]
    source: Source
    assumptions: tuple[str, ...]
    cautions: tuple[str, ...]
    figures_acceptable: bool

    def at_reference_lbf(self, tension_lbf: float) -> float | None:
        """A tension read today [lbf], brought to the reference temperature: zero where the cable hangs slack there.

        None for a cable that hangs slack today and would be tighter at the reference: by how much no reading tells.
        """
        if tension_lbf <= 0 and self.shift_lbf < 0:
            return None
        return thermal.hold_above_zero(tension_lbf - self.shift_lbf)[0]

    @property
    def shift_uncertainty_lbf(self) -> float:
        """U of the shift at 95 % [lbf]."""
        return Combined(self.components).expanded()

    @property
    def may_hang_slack(self) -> bool:
        """Whether the low limit is no more than the uncertainty of its shift."""
        return self.low_lbf <= self.shift_uncertainty_lbf

    @property
    def sign_off_gaps(self) -> tuple[str, ...]:
        """What keeps a verdict by these limits from being accepted; empty where nothing does."""
        gaps = []
        if not self.figures_acceptable:
            gaps.append("the limits rest on a figure from memory or on the typical chart")
        if self.may_hang_slack:
            gaps.append(
                told(
                    "at the low limit {} the cable may hang slack, its shift is uncertain by {}: work nearer to {}, or use the aircraft's own chart",
                    force(self.low_lbf),
                    force(self.shift_uncertainty_lbf),
                    temperature(self.reference_degF),
                )
            )
        return tuple(gaps)

    @property
    def usable_for_sign_off(self) -> bool:
        """Whether a verdict by these limits may be accepted."""
        return not self.sign_off_gaps

    @property
    def in_words(self) -> str:
        """``16 F below reference: limits 6.4 +-2.7 lbf higher``."""
        away = self.temperature_degF - self.reference_degF
        if abs(away) < 0.05 and abs(self.shift_lbf) < UNCHANGED_LBF:
            return "at reference temperature: limits as printed"
        where = told("{} {} reference", temperature_difference(abs(away)), "above" if away > 0 else "below")
        if abs(away) < 0.05:
            where = "at reference temperature, but the cable is not"
        if abs(self.shift_lbf) < UNCHANGED_LBF:
            return told("{}: limits unchanged", where)
        way = "higher" if self.shift_lbf > 0 else "lower"
        spread = force(self.shift_uncertainty_lbf)
        return told("{}: limits {} +-{} {}", where, force(abs(self.shift_lbf), unit=False), spread, way)


def run_pieces(cable: Cable, parts: Parts) -> list[thermal.Piece]:
    """The pieces of a run: a cable along lengths [in] of structure. Raises Refusal where EA is unknown."""
    stiffness = cable.need_stiffness()
    return [
        thermal.Piece(
            length_in=length_in,
            stiffness_lbf=stiffness.value,
            structure_expansion_per_degF=airframe.expansion.value,
            cable_expansion_per_degF=cable.expansion.value,
            structure=airframe.name,
            cable=f"{cable.material} cable",
            stiffness=STIFFNESS_7X7 if cable.construction == "7x7" else STIFFNESS,
            stiffness_relative_uncertainty=stiffness.standard_uncertainty / stiffness.value,
            structure_expansion_uncertainty_per_degF=airframe.expansion.standard_uncertainty,
            cable_expansion_uncertainty_per_degF=cable.expansion.standard_uncertainty,
        )
        for length_in, airframe in parts
    ]


def direction(
    pieces: Sequence[thermal.Piece], give_in_per_lbf: float = 0.0, slope_lbf_per_degF: float | None = None
) -> str:
    """``warmer is tighter``, ``warmer is looser`` or ``nearly neutral``: the sign in words.

    slope_lbf_per_degF: where the run does not hang between fixed ends.
    """
    slope = thermal.slope_lbf_per_degF(pieces, give_in_per_lbf) if slope_lbf_per_degF is None else slope_lbf_per_degF
    length_in = sum(p.length_in for p in pieces)
    difference = slope * thermal.compliance_in_per_lbf(pieces, give_in_per_lbf) / length_in
    if abs(difference) < NEARLY_NEUTRAL_PER_DEGF:
        return "nearly neutral"
    return "warmer is tighter" if difference > 0 else "warmer is looser"


def limits_today(
    band: Band,
    source: Source,
    cable: Cable,
    parts: Parts,
    condition: Condition,
    give_in_per_lbf: float | None = None,
    circuit: InCircuit | None = None,
) -> Limits:
    """A band at its reference temperature, moved to today's by what temperature does to the tension of this run.

    source: of the band. parts: lengths [in] of the run with the airframe along each. give_in_per_lbf: None where it is
    not stated, and then taken as none. circuit: what the run hangs in; fixed ends where None.
    Raises Refusal: no reference temperature, a temperature outside -65..160 F, a low limit of zero or
    less, or a high one above the proof load.
    """
    if band.reference_degF is None:
        raise Refusal(f"'{band.text}' names no temperature: write the one it holds at, like {band.text} @ 70F")
    reference_degF = band.reference_degF
    thermal.check_temperature(reference_degF, "reference temperature")
    condition.check()
    pieces = run_pieces(cable, parts)
    rigid = give_in_per_lbf is None if circuit is None else circuit.rigid
    give_in_per_lbf = give_in_per_lbf or 0.0
    response = thermal.fixed_ends(pieces, give_in_per_lbf) if circuit is None else circuit.response
    change_degF = condition.structure_degF - reference_degF
    lag_degF, lag_uncertainty_degF = condition.cable_lag
    moved = thermal.shift(
        response,
        change_degF,
        change_degF + lag_degF,
        rectangular(condition.half_width_degF),
        lag_uncertainty_degF,
        cable_read_apart=condition.cable_degF is not None,
    )
    low_lbf, high_lbf = band.low_lbf + moved.change_lbf, band.high_lbf + moved.change_lbf
    target_lbf = band.target_lbf + moved.change_lbf
    if low_lbf <= 0:
        raise Refusal(
            told(
                "the low limit {}, moved by {} to {}, is a slack cable: no limit is given; work nearer to {}, or use the aircraft's own chart",
                lbf(band.low_lbf),
                lbf(moved.change_lbf, "+.1f"),
                degF(condition.structure_degF),
                degF(reference_degF),
            )
        )
    cable.check_rigging_load(band.high_lbf, "a high limit")
    cable.check_rigging_load(high_lbf, told("a high limit moved to {}", degF(condition.structure_degF)))
    every = [(cable, parts), *(circuit.others if circuit else ())]
    airframes = [airframe for _, own in every for _, airframe in own]
    figures = [source]
    for wire, _ in every:
        figures += [wire.need_stiffness().source, wire.expansion.source]
    notes = [told("temperature +-{}", degF_apart(condition.half_width_degF))]
    if circuit is not None:
        apart_lbf = thermal.tension_change_lbf(pieces, change_degF, change_degF + lag_degF, give_in_per_lbf)
        if abs(moved.change_lbf - apart_lbf) > NOTICEABLE_LBF:
            notes.append(
                told(
                    "limits of {} moved through the circuit (springs, unequal arms, branches or other materials in it) by {}; between fixed ends it would be {}",
                    circuit.run,
                    lbf(moved.change_lbf, "+.1f"),
                    lbf(apart_lbf, "+.1f"),
                )
            )
    return Limits(
        temperature_degF=condition.structure_degF,
        low_lbf=low_lbf,
        target_lbf=target_lbf,
        high_lbf=high_lbf,
        reference_degF=reference_degF,
        reference_low_lbf=band.low_lbf,
        reference_high_lbf=band.high_lbf,
        shift_lbf=moved.change_lbf,
        slope_lbf_per_degF=response.slope_lbf_per_degF,
        direction=direction(pieces, give_in_per_lbf, response.slope_lbf_per_degF),
        components=tuple(Component(why, u) for why, u in moved.contributions_lbf.items()),
        source=source,
        assumptions=(
            *rests_on([wire for wire, _ in every], airframes, rigid and abs(moved.change_lbf) >= UNCHANGED_LBF),
            *notes,
        ),
        cautions=tuple(dict.fromkeys(a.caution for a in airframes if a.caution)) + condition.cautions,
        figures_acceptable=acceptable([*figures, *(a.expansion.source for a in airframes)]),
    )


def rests_on(cables: Sequence[Cable], airframes: Sequence[Airframe], rigid: bool) -> list[str]:
    """What a change of tension rests on, each figure once with its source. Raises Refusal where EA is unknown.

    rigid: whether the give of the structure is left unstated.
    """
    lines: list[str] = [RIGID] if rigid else []
    for cable in cables:
        stiffness = cable.need_stiffness()
        lines += [
            told(
                "cable {} {} {}: EA {} +-{} % (k=1), {}",
                cable.size,
                cable.construction,
                cable.material,
                lbf(stiffness.value, ".0f"),
                f"{100 * stiffness.standard_uncertainty / stiffness.value:.1f}",
                stiffness.source,
            ),
            f"cable expansion {expansion_words(cable.expansion)}, {cable.expansion.source}",
        ]
    lines += [f"airframe {a.name}: {expansion_words(a.expansion)}, {a.expansion.source}" for a in airframes]
    return list(dict.fromkeys(lines))


def expansion_words(expansion: Figure) -> str:
    """``11.7e-6/C +-0.78e-6 (k=1)``."""
    return f"{expansion.value * 1.8e6:.3g}e-6/C +-{expansion.standard_uncertainty * 1.8e6:.2g}e-6 (k=1)"
