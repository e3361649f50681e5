"""Side pulls on a free span become one tension with its uncertainty, and the pull that would do better."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, NamedTuple

import msgspec

from rigging.bands import Band
from rigging.errors import Refusal, UsageError
from rigging.jobs.no_gauge import NoGauge
from rigging.jobs.stretch import Stretch
from rigging.judge.verdict import Word
from rigging.measure.chi_square import survival
from rigging.measure.uncertainty import Combined, Component, combine, rectangular
from rigging.physics.bending import BendingRange, bending_range
from rigging.physics.side_pull import (
    ENDS,
    Ends,
    check_pull,
    left_out_share,
    pulled_tension_lbf,
    pulled_way_in,
    string_share,
)
from rigging.told import inches, told

_NORMAL_95: Final = 1.959964
ODD_FROM: Final = 0.01  # chance would scatter pairs as widely in one case of a hundred


class Pull(NamedTuple):
    """One side pull: force [lbf] and how far the cable gave way [in], both from rest."""

    force_lbf: float
    deflection_in: float


class Tools(msgspec.Struct, frozen=True):
    """How far spring scale and rulers may be off, each equally likely within +-.

    scale_share: of its reading, the same for every pull. scale_step_lbf [lbf]: one division. ruler_in [in]: a
    deflection. span_within_in [in]: the span. Where left out, usual ones (practice).
    """

    scale_share: float = 0.02
    scale_step_lbf: float = 0.2
    ruler_in: float = 1 / 32
    span_within_in: float = 0.5

    def __post_init__(self) -> None:
        for value in (self.scale_share, self.scale_step_lbf, self.ruler_in, self.span_within_in):
            if not 0 <= value < math.inf:
                raise UsageError("how far an instrument may be off cannot be below zero")

    def deviations(self, pull: Pull) -> tuple[float, float]:
        """Standard uncertainty of one reading: of the force [lbf] and of the deflection [in]."""
        return rectangular(self.scale_step_lbf / 2), rectangular(self.ruler_in)


class SidePull(NoGauge, msgspec.Struct, frozen=True):
    """A tension from side pulls.

    tension_lbf [lbf]: at rest, without the pull. each_lbf [lbf]: what every pair makes by itself. rises_lbf [lbf]: what
    the pull added to the tension. string_lbf [lbf]: the plain F L / 4 d of each pair. probability: of so wide a scatter
    by chance, 1 with a single pair.
    """

    span_in: float
    at_in: float
    pulls: tuple[Pull, ...]
    stretch: Stretch
    tools: Tools
    bending: BendingRange
    tension_lbf: float
    combined: Combined
    each_lbf: tuple[float, ...]
    rises_lbf: tuple[float, ...]
    string_lbf: tuple[float, ...]
    probability: float
    band: Band | None = None

    @property
    def odd(self) -> bool:
        """Whether the pairs scatter more than scale and ruler explain."""
        return self.probability < ODD_FROM

    @property
    def good(self) -> bool:
        """Whether the figure can be used, and lies in the band where one is given."""
        return not self.too_loose and not self.odd and (self.verdict is None or self.verdict.word is Word.IN)


class _Fit(NamedTuple):
    tension_lbf: float
    readings_lbf: float  # standard uncertainty from scale division and ruler
    stiffness_lbf: float  # and from the stretch
    chi_square: float
    ways_in: tuple[float, ...]  # by how much each pull lengthens the cable
    left_out: float  # of the force on the steepest pull


def _fit(
    pulls: Sequence[Pull], span_in: float, at_in: float, stretch: Stretch, tools: Tools, bending_lbf_in2: float, ends: Ends
) -> _Fit:  # fmt: skip
    """T and K of ``pulled_i = T + K growth_i`` by weighted least squares, K held to what is known of it beforehand."""
    known_k, u_k = stretch.stiffness_lbf_per_in, stretch.stiffness_uncertainty_lbf_per_in
    ws, ys, es, left_out = [], [], [], []
    for pull in pulls:
        pulled_lbf = pulled_tension_lbf(*pull, span_in, at_in, bending_lbf_in2, ends)
        growth_in = pulled_way_in(pull.deflection_in, span_in, at_in, pulled_lbf, bending_lbf_in2, ends)
        share = string_share(pulled_lbf, span_in, at_in, bending_lbf_in2, ends)
        left_out.append(left_out_share(pull.deflection_in, span_in, at_in, share))
        u_force_lbf, u_deflection_in = tools.deviations(pull)
        string_lbf = pull.force_lbf * at_in * (span_in - at_in) / span_in / pull.deflection_in
        by_force = string_lbf / pull.force_lbf * u_force_lbf
        by_deflection = (string_lbf + 2 * known_k * growth_in) / pull.deflection_in * u_deflection_in
        ws.append(1 / max(by_force**2 + by_deflection**2, 1e-12))
        ys.append(pulled_lbf - known_k * growth_in)
        es.append(growth_in)
    w, we = math.fsum(ws), math.fsum(a * e for a, e in zip(ws, es, strict=True))
    wee = math.fsum(a * e * e for a, e in zip(ws, es, strict=True))
    wy = math.fsum(a * y for a, y in zip(ws, ys, strict=True))
    wey = math.fsum(a * e * y for a, e, y in zip(ws, es, ys, strict=True))
    # correction of K, with its own weight; scaled so that an exactly known K stays where it is
    off = u_k**2 * (wey - we * wy / w) / (1 + u_k**2 * (wee - we * we / w))
    tension_lbf = (wy - off * we) / w
    u_off = u_k / math.sqrt(1 + u_k**2 * (wee - we * we / w))
    left = math.fsum(a * (y - tension_lbf - off * e) ** 2 for a, e, y in zip(ws, es, ys, strict=True))
    left += (off / u_k) ** 2 if u_k > 0 else 0.0
    return _Fit(tension_lbf, 1 / math.sqrt(w), we / w * u_off, left, tuple(es), max(left_out))


def side_pull(
    pulls: Sequence[Pull], span_in: float, stretch: Stretch, tools: Tools | None = None, at_in: float | None = None,
    band: Band | None = None,
) -> SidePull:  # fmt: skip
    """A tension at rest from one or more side pulls at one place of a span.

    pulls: the same place, different strengths tell the stretch from the tension. span_in [in]: between the two things
    the cable rests on. at_in [in]: where it was pulled, the middle where None.
    Bending stiffness runs from loose wires to a solid rod and the ends from pinned to clamped; the figure is the mean
    over all of it and its spread is carried. Raises UsageError without a pull; Refusal outside the model, where the
    stretch explains the whole pull, or for a tension or limit above the proof load.
    """
    if not pulls:
        raise UsageError("give at least one pull with its deflection")
    tools = tools or Tools()
    at_in = span_in / 2 if at_in is None else at_in
    for pull in pulls:
        check_pull(*pull, span_in, at_in)
    if stretch.length_in is not None and stretch.length_in < span_in * (1 - 1e-9):
        raise Refusal(
            told(
                "a span of {} on a cable of {}: the cable is longer than its span",
                inches(span_in),
                inches(stretch.length_in),
            )
        )
    if band is not None:
        stretch.cable.check_rigging_load(band.high_lbf, "a high limit")
    bending = bending_range(stretch.cable.diameter_in, stretch.cable.construction)

    def mean(pulls: Sequence[Pull], span_in: float, at_in: float) -> tuple[list[list[_Fit]], float]:
        # all that is known of EI and ends weighs alike
        by_ends = [[_fit(pulls, span_in, at_in, stretch, tools, ei, ends) for ei in bending.slices()] for ends in ENDS]
        return by_ends, _average([f.tension_lbf for one in by_ends for f in one])

    fits, tension_lbf = mean(pulls, span_in, at_in)
    every = [f for one in fits for f in one]
    if tension_lbf <= 0:
        raise Refusal(
            "the cable's own stretch explains the whole pull: it hangs slack, or its length, the deflection or the pull is wrong"
        )
    stretch.cable.check_rigging_load(tension_lbf, "a tension by side pull")
    share = 1e-3
    _, heavier = mean([Pull(p.force_lbf * (1 + share), p.deflection_in) for p in pulls], span_in, at_in)
    _, longer = mean(pulls, span_in * (1 + share), at_in * (1 + share))
    ends_means = [_average([f.tension_lbf for f in one]) for one in fits]
    within, between = _average([_deviation([f.tension_lbf for f in one]) for one in fits]), _deviation(ends_means)
    wider = _wider([f.tension_lbf for f in every], math.hypot(within, between))
    scatter = max(1.0, math.sqrt(_average([f.chi_square for f in every]) / max(1, len(pulls) - 1)))
    combined = combine(
        [
            Component("reading of scale and ruler", _average([f.readings_lbf for f in every]) * scatter),
            Component(
                f"spring scale, {tools.scale_share:.2g} of reading",
                rectangular(tools.scale_share) * abs(heavier - tension_lbf) / share,
            ),
            Component("length of the span", rectangular(tools.span_within_in) / span_in * abs(longer - tension_lbf) / share),
            Component("stretch of the cable in its circuit", _average([f.stiffness_lbf for f in every])),
            Component("bending stiffness, loose wires to solid rod", within * wider),
            Component("ends of the span, pinned to clamped", between * wider),
            # the force may be off by as much as a scale may, and moves the tension likewise
            Component(
                "slopes that are not small",
                rectangular(max(f.left_out for f in every)) * abs(heavier - tension_lbf) / share,
            ),
        ]
    )  # fmt: skip
    chi_square = min(f.chi_square for f in every)
    ways_in = [_average(ways) for ways in zip(*(f.ways_in for f in every), strict=True)]
    return SidePull(
        span_in=span_in,
        at_in=at_in,
        pulls=tuple(pulls),
        stretch=stretch,
        tools=tools,
        bending=bending,
        tension_lbf=tension_lbf,
        combined=combined,
        each_lbf=tuple(mean([p], span_in, at_in)[1] for p in pulls),
        rises_lbf=tuple(stretch.stiffness_lbf_per_in * g for g in ways_in),
        string_lbf=tuple(p.force_lbf * at_in * (span_in - at_in) / span_in / p.deflection_in for p in pulls),
        probability=survival(chi_square, len(pulls) - 1) if len(pulls) > 1 else 1.0,
        band=band,
    )


def _average(values: Sequence[float]) -> float:
    return math.fsum(values) / len(values)


def _wider(values: Sequence[float], deviation: float) -> float:
    """By how much a deviation must grow for 95 % of equally likely values to lie within 1.96 of it, at least 1.

    A stiff cable between clamps lies far on one side, and both together are no normal distribution.
    """
    mean = _average(values)
    far = sorted(abs(v - mean) for v in values)
    # each value stands in the middle of a slice: up to the end of that slice
    last = math.ceil(0.95 * len(values)) - 1
    reach = (far[last] + far[min(last + 1, len(far) - 1)]) / 2
    return max(1.0, reach / _NORMAL_95 / deviation) if deviation > 0 else 1.0


def _deviation(values: Sequence[float]) -> float:
    """Spread of equally likely values around their mean."""
    mean = _average(values)
    return math.sqrt(_average([(v - mean) ** 2 for v in values]))
