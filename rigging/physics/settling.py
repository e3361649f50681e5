"""How a new cable beds in: tension lost at constant length, fitted to readings with adjustments and temperature in between.

    T(t) = T0 + k u(t) + s dtheta(t) + b_m - D g(t)         g(horizon) = 1

u: take-up of the turnbuckles since the first reading; dtheta: structure away from the reference
temperature; b_m: what instrument m reads too much; D: the whole drop between the first reading and the horizon. Two laws for g:
``1 - exp(-t/tau)`` and ``log10(1 + t/t0)``, each scaled to 1 at the horizon, and mixtures of the two,
since a cable that beds in fast at its terminals and slowly along its length follows neither alone.

T0, k, s and b enter in a straight line with normal priors and are integrated in closed form; D and the
times are summed over points of their lognormal priors, D where the readings leave it any weight. So two or
three readings already give an honest, wide answer, and a forecast is a weighted sum of normal
distributions, not a curve with error bars. The three laws are equally probable before the first reading.
What a cable will do that no law says is carried beyond the last reading as a share of the drop to come.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cached_property
from typing import TYPE_CHECKING, Final

from rigging.errors import Refusal
from rigging.physics.settling_drops import over_drops
from rigging.physics.settling_forecast import Forecast, binned
from rigging.physics.settling_history import History, Prior, check
from rigging.physics.settling_line import StraightLine, Tails
from rigging.physics.settling_shapes import LAWS, Law, shapes
from rigging.physics.settling_steps import Gap, Step

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

LATER_SHARE: Final = (
    0.2  # standard uncertainty of the drop still to come, as a share of it: no cable keeps to a law for ever
)


class Fit:
    """A history fitted with every law: evidence, and forecasts of tension at the reference temperature.

    Time and room grow in proportion to the number of readings. Raises Refusal: what ``check`` refuses, or
    figures too large to be summed.
    """

    def __init__(self, history: History, prior: Prior) -> None:
        check(history, prior)
        self.history, self.prior = history, prior
        self.shapes = shapes(prior.elapsed_low, prior.elapsed_high, prior.horizon)
        self.straight = StraightLine(history, prior)
        # by pure law (., readings); a form and a line for each shape: ln of its evidence is -(square D^2 + 2 line D) / 2
        self.pure: Array = self.shapes.pure(history.elapsed)
        self._weighed_pure: Array = self.straight.weighed(self.pure)
        self.square: Array = self.shapes.squared(self.pure, self._weighed_pure)
        self.line = self.line_of(self.straight.rest_lbf)
        self.posterior = over_drops(self.square, self.line, self.shapes, prior)

    def line_of(self, rest_lbf: Array) -> Array:
        """The line of every shape [1/lbf] for what is left of readings [lbf], shape (readings,)."""
        return self.shapes.mixed(self._weighed_pure @ rest_lbf)

    def law_probability(self) -> dict[Law, float]:
        """How probable each law is after the readings, all equally so before; together they make 1."""
        import numpy as np

        post = self.posterior
        weights = np.exp(post.log_weights).sum(axis=1)
        by_law = np.bincount(self.shapes.law[post.shape], weights=weights, minlength=len(LAWS))
        return {law: float(p) for law, p in zip(LAWS, by_law, strict=True)}

    def forecast(self, elapsed: float, takeup_in: float | None = None, law: Law | None = None) -> Forecast:
        """Tension [lbf] at the reference temperature at a time, by one law or by all weighted by evidence.

        elapsed: from the first reading, in the unit of the history, not below zero. takeup_in [in]: take-up given by then,
        that of the last reading where None. Raises Refusal: a time or take-up that is no such number.
        """
        import numpy as np

        _check_time(elapsed)
        takeup = float(self.history.takeup_in[-1]) if takeup_in is None else takeup_in
        if not math.isfinite(takeup):
            raise Refusal(f"a take-up of {takeup:g} in is no finite number")
        point = np.zeros(len(self.straight.shrink))
        point[0], point[1] = 1.0, self.prior.stiffness_lbf_per_in * takeup
        gain = point @ self.straight.gain
        known = self.straight.middle_lbf + float(point[1]) + float(gain @ self.straight.rest_lbf)
        at = self.shapes.pure(np.array([elapsed]))[:, 0]
        # the straight-line part moves with D g: beta = gain (rest + D g)
        last = float(self.history.elapsed[-1])
        later = LATER_SHARE * self.drop_between(last, elapsed, law).mean_lbf if elapsed > last else 0.0
        spread = math.sqrt(max(0.0, float(point @ self.straight.shrink @ point)) + later**2)
        return binned(self._mixed(known, self.pure @ gain - at, law, spread))

    def drop_between(self, start: float, end: float, law: Law | None = None) -> Forecast:
        """Tension lost [lbf] between two times with no turn of a turnbuckle; never negative where ``end`` is the later one.

        start, end: as ``elapsed`` of ``forecast``. Raises Refusal likewise.
        """
        import numpy as np

        _check_time(start)
        _check_time(end)
        g = self.shapes.pure(np.array([start, end]))
        return self._mixed(0.0, g[:, 1] - g[:, 0], law, 0.0)

    def _mixed(self, known_lbf: float, per_drop: Array, law: Law | None, spread_lbf: float) -> Forecast:
        """``known + D per_drop`` over the posterior; per_drop: of every pure law."""
        import numpy as np

        post = self.posterior
        means = known_lbf + self.shapes.mixed(per_drop)[post.shape, None] * post.drops_lbf
        log_weights = post.log_weights
        if law is not None:
            own = self.shapes.law[post.shape] == LAWS.index(law)
            means, log_weights = means[own], log_weights[own]
        weights = np.exp(log_weights - log_weights.max())
        keep = weights > 1e-9
        weights = weights[keep]
        return Forecast(weights / weights.sum(), means[keep], spread_lbf)

    @cached_property
    def tails(self) -> Tails:
        """Every step that lasts to the last reading, as the readings see it."""
        return self.straight.tails(self._weighed_pure)

    def gap(self, reading: int, scale_lbf: float) -> Gap:
        """The gap before a reading with a step in it; reading: 1 to the last. scale_lbf: as of ``step_evidence``.

        Raises Refusal: no such reading, or a scale that is not above zero and finite.
        """
        if reading not in range(1, len(self.history.elapsed)):
            raise Refusal(f"there is no gap before reading {reading}: gaps lie before readings 1 to the last, from 0")
        if not 0 < scale_lbf < math.inf:
            raise Refusal(f"a step of {scale_lbf:g} lbf cannot be looked for: it must be a finite size above zero")
        return Gap(self.square, self.tails, self.shapes, self.prior, reading, scale_lbf)

    def step_evidence(self, scale_lbf: float) -> list[Step]:
        """For each gap before a reading i >= 1: what speaks for a step there; none for a single reading.

        scale_lbf [lbf], above zero: how large a step may well be (k=1). Raises Refusal: a scale that is no such number.
        """
        return [
            self.gap(i, scale_lbf).step(self.line, float(self.tails.rest[i]), self.posterior.log_sum)
            for i in range(1, len(self.history.elapsed))
        ]


def fit_many(histories: Sequence[History], priors: Sequence[Prior]) -> list[Fit]:
    """A fleet: one fit for each history, with the prior that stands beside it; none for none.

    Raises Refusal: not as many priors as histories, or a history that ``Fit`` refuses.
    """
    if len(histories) != len(priors):
        raise Refusal(f"{len(histories)} histories need as many priors, not {len(priors)}")
    return [Fit(history, prior) for history, prior in zip(histories, priors, strict=True)]


def _check_time(elapsed: float) -> None:
    if not 0 <= elapsed < math.inf:
        raise Refusal(f"a time of {elapsed:g} after the first reading is not a finite number from zero on")
