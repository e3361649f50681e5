"""What every tension found without a tensiometer is held to: its uncertainty, and the band it is for."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from rigging.judge.verdict import Verdict, judge

if TYPE_CHECKING:
    from rigging.bands import Band
    from rigging.measure.uncertainty import Combined

LOOSEST: Final = 0.20  # a relative U beyond this decides nothing (practice)


class NoGauge:
    """Shared by the results of all such methods, which have these three fields."""

    __slots__ = ()
    if TYPE_CHECKING:
        tension_lbf: float
        combined: Combined
        band: Band | None

    @property
    def uncertainty_lbf(self) -> float:
        """U at 95 % [lbf]."""
        return self.combined.expanded()

    @property
    def relative(self) -> float:
        """U over the tension [1]."""
        return self.uncertainty_lbf / self.tension_lbf

    @property
    def too_loose(self) -> str:
        """Why the figure decides nothing; empty where it is good enough."""
        if self.band is not None:
            if self.uncertainty_lbf > (self.band.high_lbf - self.band.low_lbf) / 2:
                return f"its uncertainty is more than half the width of {self.band.text}: it cannot decide this band"
            return ""
        if self.relative > LOOSEST:
            return f"its uncertainty is {100 * self.relative:.0f} % of it, more than {100 * LOOSEST:.0f} %"
        return ""

    @property
    def verdict(self) -> Verdict | None:
        """Against the band as it stands; None without one."""
        if self.band is None:
            return None
        u, k = self.combined.standard_uncertainty, self.combined.coverage_factor()
        return judge(self.tension_lbf, self.band.low_lbf, self.band.high_lbf, u, math.inf, k)
