"""Frequencies of a plucked span become its tension with its uncertainty, and what they tell of bending stiffness."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, NamedTuple

import msgspec

from rigging.bands import Band
from rigging.errors import Refusal, UsageError
from rigging.hardware.cable import Cable
from rigging.jobs.no_gauge import NoGauge
from rigging.judge.verdict import Word
from rigging.measure.chi_square import survival
from rigging.measure.uncertainty import Combined, Component, combine, rectangular
from rigging.physics.bending import BendingRange, bending_range
from rigging.physics.pluck import (
    PLUCK_ENDS,
    Line,
    Mode,
    PluckEnds,
    fitted_tension,
    mass_lbf_s2_per_in2,
    pinned_line,
    sag_share,
    string_tension_lbf,
)
from rigging.source import Basis, Figure, Source
from rigging.told import inches, lbf, told

SHORT_SPAN_IN: Final = 60.0  # below, bending and ends count as much as tension (practice)
SHORTEST_SPAN_IN: Final = 24.0
HIGHEST_MODE: Final = 40
MOST_SAG: Final = 0.08  # of the tension, lambda^2 about 1: beyond, the first order no longer holds
TABLE_WEIGHT_SHARE: Final = 0.06  # rectangular half-width, of a weight from the table (practice; diameter and grease)
OWN_WEIGHT_SHARE: Final = 0.02  # the same, of a weight the user found on a scale (practice)
ODD_FROM: Final = 0.001
_SLICES: Final = 31
_NARROWINGS: Final = 20
_FAR: Final = 20.0  # chi-square beyond the best at which an EI counts for nothing


class _Try(NamedTuple):
    bending_lbf_in2: float
    tension_lbf: float
    standard_uncertainty_lbf: float
    chi_square: float


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


def weight_of(cable: Cable, own_lb_per_100ft: float | None = None) -> Figure:
    """The cable's weight [lb per 100 ft] with its uncertainty: the user's own, else the table's. Raises Refusal."""
    if own_lb_per_100ft is not None:
        source = Source(Basis.MEASURED, "", "", "weight as typed")
        return Figure(own_lb_per_100ft, "lb/100ft", source, rectangular(OWN_WEIGHT_SHARE * own_lb_per_100ft))
    if cable.weight is None:
        raise Refusal(f"{cable.missing['weight_lb_per_100ft']}: weigh a piece and give --weight, like 2.9 lb/100ft")
    return msgspec.structs.replace(
        cable.weight, standard_uncertainty=rectangular(TABLE_WEIGHT_SHARE * cable.weight.value)
    )


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
    span that sags too much, or modes that do not hang together.
    """
    _check(modes, span_in)
    bending = bending_range(cable.diameter_in, cable.construction)
    mass = mass_lbf_s2_per_in2(weight.value)
    modes = with_sag(sorted(modes), span_in, cable, weight)
    tried = {ends: _tried(modes, span_in, mass, bending, ends) for ends in PLUCK_ENDS}
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
    told = [_told(each, wider) for each in tried.values()]
    # the ends weigh alike: between pinned and clamped lie many that would sound like either, with another EI
    tension_lbf = math.fsum(t.tension_lbf for t in told) / len(told)
    within = math.sqrt(math.fsum(t.bending_lbf**2 for t in told) / len(told))
    between = math.sqrt(math.fsum((t.tension_lbf - tension_lbf) ** 2 for t in told) / len(told))
    # below 5 ft ends, terminals and slipping wires count so much that one EI for all modes is no longer believed
    short = _over_all(modes, span_in, mass, bending) if span_in < SHORT_SPAN_IN else 0.0
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
        notes=tuple(_notes(modes, span_in, weight)),
        band=band,
    )


def _check(modes: Sequence[Mode], span_in: float) -> None:
    if not modes:
        raise UsageError("give the frequency of at least one mode, like --mode 1=21.3Hz")
    numbers = [m.number for m in modes]
    if twice := next((n for n in numbers if numbers.count(n) > 1), None):
        raise UsageError(f"mode {twice} stands there twice: give each mode once")
    for m in modes:
        if not 1 <= m.number <= HIGHEST_MODE:
            raise UsageError(f"mode {m.number}: modes count from 1 (half a wave in the span) to {HIGHEST_MODE}")
        if not 0 < m.frequency_Hz < math.inf or not 0 < m.standard_uncertainty_Hz < math.inf:
            raise UsageError(f"mode {m.number}: its frequency and how far it may be off must be above zero")
    if not SHORTEST_SPAN_IN <= span_in < math.inf:
        raise Refusal(
            told(
                "a span of {} is too short to pluck (at least {}): its bending stiffness, unknown by a factor of hundreds, sounds instead of its tension",
                inches(span_in),
                inches(SHORTEST_SPAN_IN),
            )
        )
    if len(modes) == 1 and span_in < SHORT_SPAN_IN:
        raise Refusal(
            told(
                "one mode on a span of {} tells nothing of the cable's bending stiffness: below {} give two modes or more, or take a longer span",
                inches(span_in),
                inches(SHORT_SPAN_IN),
            )
        )


def with_sag(modes: Sequence[Mode], span_in: float, cable: Cable, weight: Figure) -> tuple[Mode, ...]:
    """The modes, each less sure by what sag may add to it: nothing sideways, its whole effect up and down.

    Even modes do not feel it, and of the odd ones the first most. Raises Refusal where every mode feels too much.
    """
    if cable.stiffness is None:
        return tuple(modes)
    mass = mass_lbf_s2_per_in2(weight.value)
    # the highest mode is least touched; what bending adds to it makes this a little too tight and sag a little too small
    tension_lbf = min(string_tension_lbf(m.number, m.frequency_Hz, span_in, mass) for m in modes)
    first = sag_share(tension_lbf, span_in, weight.value / 1200, cable.stiffness.value / span_in)
    shares = [first / m.number**4 if m.number % 2 else 0.0 for m in modes]
    if min(shares) > MOST_SAG:
        raise Refusal(
            told(
                "a span of {} at about {} sags too much for mode {}: give mode 2 or higher, or take a shorter span",
                inches(span_in),
                lbf(tension_lbf, ".0f"),
                modes[0].number,
            )
        )
    return tuple(
        # half of it on the frequency, which goes with the root of the tension
        m._replace(
            standard_uncertainty_Hz=math.hypot(m.standard_uncertainty_Hz, rectangular(share / 2) * m.frequency_Hz)
        )
        for m, share in zip(modes, shares, strict=True)
    )


def _notes(modes: Sequence[Mode], span_in: float, weight: Figure) -> list[str]:
    notes = []
    if span_in < SHORT_SPAN_IN:
        notes.append(
            told(
                "span below {}: what the modes tell of bending stiffness is not believed there, so all of it is "
                "carried as uncertainty; take a longer span",
                inches(SHORT_SPAN_IN),
            )
        )
    if len(modes) == 1:
        notes.append("one mode only: a second one tells the bending stiffness and whether the mode was the right one")
    if not weight.source.acceptable:
        notes.append(
            f"weight of the cable is from {weight.source.basis.value}: figure shown, not for sign-off (--weight)"
        )
    return notes


class _Told(NamedTuple):
    """What one kind of ends makes of the modes, over every EI that brings them near."""

    tension_lbf: float
    bending_lbf: float  # standard uncertainty from EI
    readings_lbf: float  # and from the frequencies
    bending_low_lbf_in2: float
    bending_high_lbf_in2: float


def _tried(modes: Sequence[Mode], span_in: float, mass: float, bending: BendingRange, ends: PluckEnds) -> list[_Try]:
    """Fits over equal slices of the root of EI, narrowed to where the modes come near, until the slices are fine enough."""
    within, tried = bending, list[_Try]()
    for _ in range(_NARROWINGS):
        eis = within.slices(_SLICES)
        tried = [_Try(ei, *fitted_tension(modes, span_in, mass, ei, ends)) for ei in eis]
        far = min(t.chi_square for t in tried) + _FAR
        near = [i for i, t in enumerate(tried) if t.chi_square <= far]
        if len(near) > _SLICES / 3:
            return tried
        # one slice more on either side, where the best may lie between two
        first, last = max(0, near[0] - 1), min(_SLICES - 1, near[-1] + 1)
        step = math.sqrt(eis[1]) - math.sqrt(eis[0])
        within = BendingRange((math.sqrt(eis[first]) - step / 2) ** 2, (math.sqrt(eis[last]) + step / 2) ** 2)
    return tried


def _over_all(modes: Sequence[Mode], span_in: float, mass: float, bending: BendingRange) -> float:
    """Spread of the tension [lbf, k=1] over every EI and all ends, each as likely as the next."""
    found = [
        fitted_tension(modes, span_in, mass, ei, ends).tension_lbf for ends in PLUCK_ENDS for ei in bending.slices()
    ]
    mean = math.fsum(found) / len(found)
    return math.sqrt(math.fsum((t - mean) ** 2 for t in found) / len(found))


def _told(tried: Sequence[_Try], wider: float) -> _Told:
    least = min(t.chi_square for t in tried)
    weights = [math.exp(-(t.chi_square - least) / 2 / wider) for t in tried]
    total = math.fsum(weights)
    mean = math.fsum(w * t.tension_lbf for w, t in zip(weights, tried, strict=True)) / total
    variance = math.fsum(w * (t.tension_lbf - mean) ** 2 for w, t in zip(weights, tried, strict=True)) / total
    readings = math.fsum(w * t.standard_uncertainty_lbf**2 for w, t in zip(weights, tried, strict=True)) / total
    low, high = (_quantile(tried, weights, p) for p in (0.025, 0.975))
    return _Told(mean, math.sqrt(variance), math.sqrt(readings), low, high)


def _quantile(tried: Sequence[_Try], weights: Sequence[float], probability: float) -> float:
    """EI [lbf in2] below which that share of the weights lies, straight on its root inside a slice."""
    goal, below = probability * math.fsum(weights), 0.0
    step = math.sqrt(tried[1].bending_lbf_in2) - math.sqrt(tried[0].bending_lbf_in2)
    for t, w in zip(tried, weights, strict=True):
        if below + w >= goal and w > 0:
            return (math.sqrt(t.bending_lbf_in2) + step * ((goal - below) / w - 0.5)) ** 2
        below += w
    return tried[-1].bending_lbf_in2
