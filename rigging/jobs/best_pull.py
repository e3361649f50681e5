"""Which span to take and how far to pull it for a tension that is expected."""

from __future__ import annotations

from typing import Final

import msgspec

from rigging.errors import Refusal
from rigging.jobs.side_pull import Pull, SidePull, Tools, side_pull
from rigging.jobs.stretch import Stretch, of_span
from rigging.physics.bending import bending_range
from rigging.physics.side_pull import STEEPEST, path_growth_in, pull_force_lbf
from rigging.told import lbf, told

HIGHEST_RISE: Final = 0.5  # of the tension: a pull must not strain what it measures (practice)
SPANS_IN: Final = (24.0, 30.0, 36.0, 48.0, 60.0, 72.0, 84.0, 96.0, 120.0, 144.0)
PULLS: Final = 3  # as many are foreseen, all alike
_SLOPES: Final = tuple(0.005 * 1.2**i for i in range(19))  # deflection over half the span, to STEEPEST


class BestPull(msgspec.Struct, frozen=True):
    """span_in [in], force_lbf [lbf] and deflection_in [in] to aim for, and the relative U [1] to be had with three such pulls."""

    span_in: float
    force_lbf: float
    deflection_in: float
    relative: float
    reaches: bool


def best_pull(
    expected_lbf: float, stretch: Stretch, tools: Tools | None = None, span_in: float | None = None, target: float = 0.15
) -> BestPull:  # fmt: skip
    """The pull at mid span that makes the expected tension [lbf] least uncertain; the shortest span that reaches the target.

    span_in [in]: the only span there is, a choice of usual ones up to the cable's length where None. target: relative U.
    ``reaches`` is false where no span does; then the best of them is given. Raises Refusal for a tension not above zero, or
    above the proof load.
    """
    if not expected_lbf > 0:
        raise Refusal(told("an expected tension of {}: it must be above zero", lbf(expected_lbf, "g")))
    stretch.cable.check_rigging_load(expected_lbf, "an expected tension")
    if not target > 0:
        raise Refusal("the uncertainty to reach must be above zero")
    longest_in = stretch.length_in if stretch.length_in is not None else SPANS_IN[-1]
    spans = [span_in] if span_in is not None else [s for s in SPANS_IN if s <= longest_in] or [longest_in]
    best: BestPull | None = None
    for span in spans:
        found = _on_span(expected_lbf, stretch, tools or Tools(), span, target)
        if found is not None and (best is None or found.relative < best.relative):
            best = found
        if best is not None and best.reaches:
            break
    if best is None:
        raise Refusal(
            told(
                "no pull on this span leaves {} unstrained: the cable is too short and stiff; use a tensiometer",
                lbf(expected_lbf, "g"),
            )
        )
    return best


def _on_span(expected_lbf: float, stretch: Stretch, tools: Tools, span_in: float, target: float) -> BestPull | None:
    if not stretch.known:
        stretch = of_span(stretch.cable, span_in)
    middle_lbf_in2 = bending_range(stretch.cable.diameter_in, stretch.cable.construction).slices(1)[0]
    best: BestPull | None = None
    for slope in (*_SLOPES, STEEPEST * 0.99):
        deflection_in = slope * span_in / 2
        k = stretch.stiffness_lbf_per_in
        if k * path_growth_in(span_in, span_in / 2, deflection_in) > HIGHEST_RISE * expected_lbf:
            break
        force_lbf = pull_force_lbf(expected_lbf, deflection_in, span_in, span_in / 2, k, middle_lbf_in2)
        found: SidePull = side_pull([Pull(force_lbf, deflection_in)] * PULLS, span_in, stretch, tools)
        if best is None or found.relative < best.relative:
            best = BestPull(span_in, force_lbf, deflection_in, found.relative, found.relative <= target)
    return best
