"""What the sum of a circuit through the seasons is made of: what the user asks, and each cable and circuit with its lines."""

from __future__ import annotations

from typing import Final

import msgspec

from rigging.jobs.limit_line import LimitLine
from rigging.jobs.window import Window
from rigging.measure.uncertainty import Combined, Component
from rigging.physics.spans import Span
from rigging.sheet.rig import Rig, Run
from rigging.told import lbf, told

DESIGNER: Final = told(
    "ask the designer: tensions on light aircraft run from {} to {}, so a default by cable size alone is unsafe; "
    "constraints are shown here, no tension is accepted",
    lbf(5, "g", unit=False),
    lbf(190, "g"),
)


class Asked(msgspec.Struct, frozen=True):
    """What the user sets: one tension for all cables, or for single ones by ``circuit / run``; load and limit [lbf]."""

    set_lbf: float | None = None
    tensions_lbf: dict[str, float] = {}
    pilot_force_lbf: float | None = None
    limit_lbf: float | None = None


class OutOfLimits(msgspec.Struct, frozen=True):
    """Where a tension leaves its limits: the span, the side, and by how much at worst [lbf] and where [degF]."""

    run: str
    side: str
    from_degF: float
    to_degF: float
    worst_lbf: float
    worst_at_degF: float


class RunEnvelope(msgspec.Struct, frozen=True):
    """One cable through the range of temperatures; tuples are in step with the temperatures of its circuit.

    rigged_lbf [lbf]: at reference, None where no figure is known, and then nothing is drawn. rigged_by:
    where that comes from. uncertainties_lbf [lbf]: U at 95 % of the change since rigging; the tension set
    is taken as exact. tight_lbf [lbf]: as if the cable could push. perhaps_slack: where U reaches down to
    slack. slack_uncertainty_degF [degF]: U of where it becomes slack. slope_lbf_per_degF: in its
    circuit, at reference.
    """

    run: Run
    rigged_lbf: float | None
    rigged_by: str
    tensions_lbf: tuple[float, ...]
    tight_lbf: tuple[float, ...]
    components: tuple[tuple[Component, ...], ...]
    limits: LimitLine
    slack: tuple[Span, ...]
    slack_uncertainty_degF: float | None
    perhaps_slack: tuple[Span, ...]
    out: tuple[OutOfLimits, ...]
    slope_lbf_per_degF: float | None
    direction: str

    @property
    def uncertainties_lbf(self) -> tuple[float, ...]:
        """U at 95 % [lbf] for each temperature."""
        return tuple(Combined(own).expanded() for own in self.components)


class CircuitEnvelope(msgspec.Struct, frozen=True):
    """One circuit: rising temperatures [degF] that hold every corner of its lines, and each cable at them."""

    name: str
    reference_degF: float
    coldest_degF: float
    hottest_degF: float
    temperatures_degF: tuple[float, ...]
    runs: tuple[RunEnvelope, ...]
    window: Window | None
    notes: tuple[str, ...]
    assumptions: tuple[str, ...]
    cautions: tuple[str, ...]

    @property
    def slack_below_degF(self) -> float | None:
        """The temperature below which the first cable to do so hangs slack; None where all stay tight in the cold."""
        ends = [s.to_degF for r in self.runs for s in r.slack if s.from_degF == self.temperatures_degF[0]]
        return max(ends, default=None)

    @property
    def slack_above_degF(self) -> float | None:
        """The temperature above which the first cable to do so hangs slack; None where all stay tight in the heat."""
        starts = [s.from_degF for r in self.runs for s in r.slack if s.to_degF == self.temperatures_degF[-1]]
        return min(starts, default=None)

    @property
    def out_of_limits(self) -> tuple[OutOfLimits, ...]:
        """Every span of every cable outside its limits."""
        return tuple(out for r in self.runs for out in r.out)

    @property
    def found(self) -> bool:
        """Whether something needs doing: slack, out of limits, limits without a result on some day, no tension known, or no
        tension that could fit."""
        open_ = any(r.rigged_lbf is None or r.slack or r.limits.open for r in self.runs)
        return open_ or bool(self.out_of_limits) or (self.window is not None and self.window.empty)


class EnvelopeResult(msgspec.Struct, frozen=True):
    """The circuits shown, and those refused with the reason."""

    rig: Rig
    circuits: tuple[CircuitEnvelope, ...]
    refused: dict[str, str]

    @property
    def found(self) -> bool:
        """Whether any circuit needs something done, or was refused."""
        return bool(self.refused) or any(c.found for c in self.circuits)
