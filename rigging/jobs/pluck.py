"""Frequencies of a plucked span become its tension with its uncertainty, and what they tell of bending stiffness."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import msgspec

from rigging.bands import Band
from rigging.errors import Refusal
from rigging.hardware.cable import Cable
from rigging.jobs.no_gauge import NoGauge
from rigging.jobs.pluck_bending import over_all, told_by, tried_over
from rigging.jobs.pluck_modes import SHORT_SPAN_IN, check_modes, notes_on, with_sag
from rigging.judge.verdict import Word
from rigging.measure.chi_square import survival
from rigging.measure.uncertainty import Combined, Component, combine, rectangular
from rigging.physics.bending import BendingRange, bending_range
from rigging.physics.pluck import PLUCK_ENDS, Line, Mode, mass_lbf_s2_per_in2, pinned_line, string_tension_lbf
from rigging.source import Figure

ODD_FROM: Final = 0.001


class Pluck(NoGauge, msgspec.Struct, frozen=True):
    """A tension from the modes of a span.

    tension_lbf [lbf]. string_lbf [lbf]: what each mode makes without bending. line: the straight line through two or
    more modes, as if the ends were pinned. bending_low_lbf_in2, bending_high_lbf_in2 [lbf in2]: where EI lies with
    95 %. probability: of modes lying so far off by chance.
    """

    span_in: float
    span_within_in: float
    modes: tuple[Mode, ...]
    cable: Cable
    weight: Figure
    bending: BendingRange
    tension_lbf: float
    combined: Combined
    string_lbf: tuple[float, ...]
    line: Line | None
    bending_low_lbf_in2: float
    bending_high_lbf_in2: float
    probability: float
    notes: tuple[str, ...]
    band: Band | None = None

    @property
    def usable(self) -> bool:
        """Whether an accepted verdict may rest on it: not on a weight that was only recalled."""
        return self.weight.source.acceptable and not self.too_loose

    @property
    def good(self) -> bool:
        """Whether the figure can be used, and lies in the band where one is given."""
        return not self.too_loose and (self.verdict is None or self.verdict.word is Word.IN)


def pluck(
    modes: Sequence[Mode], span_in: float, cable: Cable, weight: Figure, span_within_in: float = 0.5,
    band: Band | None = None,
) -> Pluck:  # fmt: skip
    """A tension from the frequencies of one free span.

    modes: numbered from 1, each once. span_in [in]: between the two things the cable rests on. span_within_in [in]: how
    far that may be off. weight: lb per 100 ft.
    EI from loose wires to a solid rod is tried, and each counts by how near it brings the modes; ends from pinned to
    clamped all weigh alike. What that leaves open is carried as uncertainty.
    Raises UsageError without a mode or for one named twice; Refusal for one mode on a short span, a span below 2 ft, a
    span that sags too much, modes that do not hang together, or a tension or limit above the proof load.
    """
    check_modes(modes, span_in)
    if band is not None:
        cable.check_rigging_load(band.high_lbf, "a high limit")
    bending = bending_range(cable.diameter_in, cable.construction)
    mass = mass_lbf_s2_per_in2(weight.value)
    modes = with_sag(sorted(modes), span_in, cable, weight)
    tried = {ends: tried_over(modes, span_in, mass, bending, ends) for ends in PLUCK_ENDS}
    least = min(t.chi_square for each in tried.values() for t in each)
    spare = max(1, len(modes) - 2)
    probability = survival(least, spare)
    if probability < ODD_FROM:
        raise Refusal(
            f"modes {', '.join(f'{m.number} at {m.frequency_Hz:.4g} Hz' for m in modes)} do not belong to one span: check "
            "their numbers, and that no other cable or tube rang"
        )
    # modes that scatter more than was said of them say less
    wider = max(1.0, least / spare)
    told = [told_by(each, wider) for each in tried.values()]
    # the ends weigh alike: between pinned and clamped lie many that would sound like either, with another EI
    tension_lbf = math.fsum(t.tension_lbf for t in told) / len(told)
    cable.check_rigging_load(tension_lbf, "a tension by pluck")
    within = math.sqrt(math.fsum(t.bending_lbf**2 for t in told) / len(told))
    between = math.sqrt(math.fsum((t.tension_lbf - tension_lbf) ** 2 for t in told) / len(told))
    # below 5 ft ends, terminals and slipping wires count so much that one EI for all modes is no longer believed
    short = over_all(modes, span_in, mass, bending) if span_in < SHORT_SPAN_IN else 0.0
    readings = math.sqrt(math.fsum(t.readings_lbf**2 for t in told) / len(told) * wider)
    combined = combine(
        [
            Component("frequencies, and what sag may do to them", readings),
            Component("bending stiffness, loose wires to solid rod", within),
            Component("ends of the span, pinned to clamped", between),
            Component("short span: bending stiffness as if the modes told nothing of it", short),
            Component(
                f"weight of the cable, {weight.source.basis.value}",
                tension_lbf * weight.standard_uncertainty / weight.value,
            ),
            Component("length of the span", 2 * tension_lbf * rectangular(span_within_in) / span_in),
        ]
    )
    line = pinned_line(modes, span_in, mass) if len(modes) > 1 else None
    return Pluck(
        span_in=span_in,
        span_within_in=span_within_in,
        modes=modes,
        cable=cable,
        weight=weight,
        bending=bending,
        tension_lbf=tension_lbf,
        combined=combined,
        string_lbf=tuple(string_tension_lbf(m.number, m.frequency_Hz, span_in, mass) for m in modes),
        line=line,
        bending_low_lbf_in2=min(t.bending_low_lbf_in2 for t in told),
        bending_high_lbf_in2=max(t.bending_high_lbf_in2 for t in told),
        probability=probability,
        notes=tuple(notes_on(modes, span_in, weight)),
        band=band,
    )
