"""What a gauge adds to the tension it reads on this circuit, and what the cable carries without it."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Final

import msgspec

from rigging.errors import Refusal, UsageError
from rigging.jobs.stretch import Stretch
from rigging.measure.uncertainty import Combined, Component, combine, rectangular
from rigging.physics.bending import BendingRange, bending_range
from rigging.physics.clamp import NEAREST_IN, Clamped, Rise, clamped, gauge_rise
from rigging.told import inches, told

# a sound tensiometer, 2 % of reading (FAA handbook, second-hand)
USUAL_ACCURACY: Final = 0.02
DEFLECTION_WITHIN_IN: Final = 1 / 64
ANVILS_WITHIN_IN: Final = 1 / 16
_HALVINGS: Final = 60
_SHARE: Final = 1e-3

_WHY: Final = {
    "deflection": "deflection of the cable in the gauge",
    "anvils": "distance between the anvils",
    "stiffness": "stretch of the cable in its circuit",
    "bending": "bending stiffness, loose wires to solid rod, and the runs beyond the gauge",
}


class ClampEffect(msgspec.Struct, frozen=True):
    """A gauge on a cable.

    deflection_in [in], anvils_in [in]: of the gauge. bending: between which EI lies. combined: uncertainty of the rise
    [lbf]. accuracy: of the gauge, a share of its reading. at_lbf [lbf]: the reading that the rise belongs to, since a
    slack cable bends over a longer way than a tight one. reading_lbf [lbf]: what was read, None where nothing was; the
    rise is then told where it may just come to the accuracy, or at the cable's proof load. counts_below_lbf [lbf]:
    readings below this may be raised by more than the gauge's accuracy. gauge_lbf [lbf, k=1]: what the gauge's accuracy
    makes of the tension without it.
    """

    deflection_in: float
    anvils_in: float
    stretch: Stretch
    bending: BendingRange
    clamped: Clamped
    combined: Combined
    accuracy: float
    at_lbf: float
    counts_below_lbf: float
    reading_lbf: float | None = None
    gauge_lbf: float = 0.0

    @property
    def raise_lbf(self) -> float:
        """What the gauge adds [lbf]."""
        return self.clamped.raise_lbf

    @property
    def free_lbf(self) -> float | None:
        """Tension without the gauge [lbf], None without a reading."""
        return None if self.reading_lbf is None else self.reading_lbf - self.raise_lbf

    @property
    def free(self) -> Combined | None:
        """Uncertainty of the tension without the gauge: of the rise and of the gauge itself; None without a reading."""
        if self.reading_lbf is None:
            return None
        gauge = Component(f"accuracy of the gauge, {self.accuracy:.2g} of reading", self.gauge_lbf)
        return combine([*self.combined.components, gauge])

    @property
    def counts(self) -> bool:
        """Whether the rise may be more than the gauge's accuracy at this reading; without a reading nothing is said."""
        return self.reading_lbf is not None and self.reading_lbf < self.counts_below_lbf

    @property
    def counts_at_any_tension(self) -> bool:
        """Whether the rise may be more than the gauge's accuracy up to the proof load of this cable, and beyond."""
        proof = self.stretch.cable.proof_load
        return proof is not None and self.counts_below_lbf > proof.value

    @property
    def maybe_slack(self) -> bool:
        """Whether the cable may hang slack without the gauge for all that is known."""
        return self.free_lbf is not None and self.free is not None and self.free_lbf <= self.free.expanded()


def clamp_effect(
    deflection_in: float, anvils_in: float, stretch: Stretch, reading_lbf: float | None = None,
    accuracy: float = USUAL_ACCURACY, deflection_within_in: float = DEFLECTION_WITHIN_IN,
    anvils_within_in: float = ANVILS_WITHIN_IN,
) -> ClampEffect:  # fmt: skip
    """What a gauge that deflects the cable by d [in] over a span s [in] between its anvils does on this stretch.

    deflection_within_in, anvils_within_in [in]: how far those may be off. The cable's bending stiffness runs from loose
    wires to a solid rod, by its diameter and construction, and the runs beyond the gauge from 6 in to all there is.
    Raises UsageError for an accuracy that is none; Refusal outside the model, on a cable too short to be read or of a
    construction whose wires are not known, where the gauge alone would make as much as it reads, or for a reading above
    the proof load.
    """
    if not 0 < accuracy <= 0.5:
        raise UsageError(f"an accuracy of {100 * accuracy:g} %: between 0 and 50 %")
    if not (0 <= deflection_within_in < math.inf and 0 <= anvils_within_in < math.inf):
        raise UsageError("how far a length may be off cannot be below zero")
    if stretch.length_in is None:
        raise Refusal("what a gauge adds needs the cable's length, like --length '14 ft', or a sheet and the run in it")
    if reading_lbf is not None:
        stretch.cable.check_rigging_load(reading_lbf, "a reading")
    beyond_in = stretch.length_in - anvils_in - NEAREST_IN
    if beyond_in < NEAREST_IN:
        raise Refusal(
            told(
                "a cable of {} is too short for {} between the anvils: {} or more must be left on either side",
                inches(stretch.length_in),
                inches(anvils_in),
                inches(NEAREST_IN),
            )
        )
    bending = bending_range(stretch.cable.diameter_in, stretch.cable.construction)
    stiffness = stretch.stiffness_lbf_per_in

    def rise_at(tension_lbf: float) -> Rise:
        return gauge_rise(deflection_in, anvils_in, stiffness, tension_lbf, bending, beyond_in)

    def found_at(tension_lbf: float) -> Clamped:
        return clamped(
            deflection_in,
            anvils_in,
            stiffness,
            tension_lbf,
            bending,
            beyond_in,
            rectangular(deflection_within_in),
            rectangular(anvils_within_in),
            stretch.stiffness_uncertainty_lbf_per_in,
        )

    counts_below_lbf = _counts_below_lbf(rise_at, accuracy)
    # where nothing is raised any tension will do
    at_lbf = reading_lbf if reading_lbf is not None else counts_below_lbf or 1.0
    proof = stretch.cable.proof_load
    if reading_lbf is None and proof is not None:
        # no cable is rigged beyond that
        at_lbf = min(at_lbf, proof.value)
    found = found_at(at_lbf)
    # a gauge that reads too high makes the rise too small as well
    higher = at_lbf * (1 + _SHARE)
    gain = (higher - found_at(higher).raise_lbf - (at_lbf - found.raise_lbf)) / (_SHARE * at_lbf)
    return ClampEffect(
        deflection_in,
        anvils_in,
        stretch,
        bending,
        found,
        combine(Component(_WHY[key], u) for key, u in found.contributions_lbf.items()),
        accuracy,
        at_lbf,
        counts_below_lbf,
        reading_lbf,
        abs(gain) * rectangular(accuracy * at_lbf),
    )


def _counts_below_lbf(rise_at: Callable[[float], Rise], accuracy: float) -> float:
    """The reading [lbf] at which the most that a gauge may add is just its accuracy; zero where it adds nothing."""
    low = rise_at(1.0).string_lbf / accuracy
    if low == 0:
        return 0.0
    # no cable makes less of it than a string, and the tighter it is the nearer it comes to one
    high = 2 * low
    while rise_at(high).most_raise_lbf > accuracy * high:
        high *= 2
    for _ in range(_HALVINGS):
        middle = math.sqrt(low * high)
        if rise_at(middle).most_raise_lbf > accuracy * middle:
            low = middle
        else:
            high = middle
    return high
