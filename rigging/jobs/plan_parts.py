"""What a plan is made of: turns given before, each step with what is predicted after it, and the whole plan."""

from __future__ import annotations

import msgspec

from rigging.jobs.check import RunResult
from rigging.sheet.circuit import CircuitModel


class Turned(msgspec.Struct, frozen=True):
    """What turns given once did: half turns on a cable's turnbuckle and the tension gained there [lbf]."""

    cable: str
    half_turns: int
    gained_lbf: float


class Step(msgspec.Struct, frozen=True):
    """One step and what is predicted after it; threads showing at each end, None where unknown."""

    turnbuckle: str
    half_turns: int
    tensions_lbf: dict[str, float]
    neutral_deg: dict[str, float]
    threads_showing: tuple[float, float] | None

    @property
    def direction(self) -> str:
        """``tighten`` or ``loosen``."""
        return "tighten" if self.half_turns > 0 else "loosen"


class PlanResult(msgspec.Struct, frozen=True):
    """A plan for one circuit.

    measured: the check of its runs. start_lbf, start_deg: tensions [lbf] and neutrals [deg] the plan
    starts from. uncertainty_lbf [lbf]: U of the predicted end by cable. limits_lbf: low and high today.
    stopped_by: what keeps the goal from being met, empty where it is met. findings: drag, and figures that
    are not for sign-off: a plan may be made on them, but what they say comes first.
    """

    model: CircuitModel
    measured: tuple[RunResult, ...]
    start_lbf: dict[str, float]
    start_deg: dict[str, float]
    limits_lbf: dict[str, tuple[float, float]]
    steps: tuple[Step, ...]
    uncertainty_lbf: dict[str, float]
    thread_window: dict[str, tuple[int, int] | None]
    stiffness_scale: float
    stiffness_uncertainty: float
    stopped_by: tuple[str, ...]
    findings: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def end_lbf(self) -> dict[str, float]:
        """Predicted tensions [lbf] by cable after the last step."""
        return self.steps[-1].tensions_lbf if self.steps else self.start_lbf

    @property
    def end_deg(self) -> dict[str, float]:
        """Predicted neutrals [deg] by free sector after the last step."""
        return self.steps[-1].neutral_deg if self.steps else self.start_deg

    @property
    def met(self) -> bool:
        """Whether the plan ends with every tension in its band and every neutral on its mark."""
        return not self.stopped_by
