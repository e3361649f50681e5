"""What a gauge adds to the tension it reads on this circuit, and what the cable carries without it."""

from __future__ import annotations

from typing import Final

import msgspec

from rigging.errors import Refusal, UsageError
from rigging.jobs.stretch import Stretch
from rigging.measure.uncertainty import Combined, Component, combine, rectangular
from rigging.physics.clamp import Clamped, clamped
from rigging.told import lbf, told

# a sound tensiometer, 2 % of reading (FAA handbook, second-hand)
USUAL_ACCURACY: Final = 0.02
DEFLECTION_WITHIN_IN: Final = 1 / 64
ANVILS_WITHIN_IN: Final = 1 / 16


class ClampEffect(msgspec.Struct, frozen=True):
    """A gauge on a cable.

    deflection_in [in], anvils_in [in]: of the gauge. combined: uncertainty of the rise [lbf]. reading_lbf [lbf]: with
    the gauge on, None where nothing was read. accuracy: of the gauge, a share of its reading.
    """

    deflection_in: float
    anvils_in: float
    stretch: Stretch
    clamped: Clamped
    combined: Combined
    accuracy: float
    reading_lbf: float | None = None

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
        gauge = Component(
            f"accuracy of the gauge, {self.accuracy:.2g} of reading", rectangular(self.accuracy * self.reading_lbf)
        )
        return combine([*self.combined.components, gauge])

    @property
    def counts_below_lbf(self) -> float:
        """Readings below this [lbf] are raised by more than the gauge's accuracy."""
        return self.raise_lbf / self.accuracy

    @property
    def counts(self) -> bool:
        """Whether the rise is more than the gauge's accuracy at this reading; without a reading nothing is said."""
        return self.reading_lbf is not None and self.reading_lbf < self.counts_below_lbf


def clamp_effect(
    deflection_in: float, anvils_in: float, stretch: Stretch, reading_lbf: float | None = None,
    accuracy: float = USUAL_ACCURACY, deflection_within_in: float = DEFLECTION_WITHIN_IN,
    anvils_within_in: float = ANVILS_WITHIN_IN,
) -> ClampEffect:  # fmt: skip
    """What a gauge that deflects the cable by d [in] over a span s [in] between its anvils does on this stretch.

    deflection_within_in, anvils_within_in [in]: how far those may be off. Raises UsageError for an accuracy that is none;
    Refusal outside the model, or where the gauge alone would make as much as it reads.
    """
    if not 0 < accuracy <= 0.5:
        raise UsageError(f"an accuracy of {100 * accuracy:g} %: between 0 and 50 %")
    if deflection_within_in < 0 or anvils_within_in < 0:
        raise UsageError("how far a length may be off cannot be below zero")
    found = clamped(
        deflection_in,
        anvils_in,
        stretch.stiffness_lbf_per_in,
        rectangular(deflection_within_in),
        rectangular(anvils_within_in),
        stretch.stiffness_uncertainty_lbf_per_in,
    )
    if reading_lbf is not None and not reading_lbf > found.raise_lbf:
        raise Refusal(
            told(
                "the gauge alone would make {} on this cable, and {} were read: without it the cable hangs slack, or its length or the gauge's deflection is wrong",
                lbf(found.raise_lbf),
                lbf(reading_lbf, "g"),
            )
        )
    why = {
        "deflection": "deflection of the cable in the gauge",
        "anvils": "distance between the anvils",
        "stiffness": "stretch of the cable in its circuit",
    }
    combined = combine(Component(why[key], u) for key, u in found.contributions_lbf.items())
    return ClampEffect(deflection_in, anvils_in, stretch, found, combined, accuracy, reading_lbf)
