"""How a new cable beds in: tension lost at constant length, fitted to readings with adjustments and temperature in between.

    T(t) = T0 + k u(t) + s dtheta(t) + b_m - D g(t)         g(horizon) = 1

u: take-up of the turnbuckles since the first reading; dtheta: structure away from the reference
temperature; b_m: what instrument m reads too much; D: the whole drop between the first reading and the horizon. Two laws for g:
``1 - exp(-t/tau)`` and ``log10(1 + t/t0)``, each scaled to 1 at the horizon, and mixtures of the two,
since a cable that beds in fast at its terminals and slowly along its length follows neither alone.

T0, k, s and b enter in a straight line with normal priors and are integrated in closed form; D and the
time are summed over a grid of their lognormal priors. So two or three readings already give an honest,
wide answer, and a forecast is a weighted sum of normal distributions, not a curve with error bars.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final, Literal, NamedTuple

from rigging.errors import Refusal

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

Law = Literal["exponential", "logarithmic", "mixed"]
LAWS: Final[tuple[Law, Law, Law]] = ("exponential", "logarithmic", "mixed")

TIMES = 48  # grid of the time constant
MIXED_TIMES = 14  # grid of each of the two time constants of a mixture
MIXED_SHARES = (0.2, 0.4, 0.6, 0.8)  # of the first part
DROPS = 72  # grid of the whole drop
REACH = 3.2  # of each prior, in its standard deviations
WIDE_LBF = 1e3  # prior of T0: anything
# what neither law says of a real cable, as a standard deviation: a share of the drop so far between neighbouring readings
SHAPE_SHARE = 0.03


class History(NamedTuple):
    """Readings of one run at one station, in order of time; every array of shape (readings,).

    elapsed: hours or control cycles since the first reading, rising. tension_lbf [lbf]: as read.
    standard_uncertainty_lbf [lbf]: of the single reading, without the instrument's own error.
    away_degF [degF]: structure temperature less the reference. takeup_in [in]: turnbuckle take-up
    given between the first reading and this one. instrument: a number for each tensiometer, from 0.
    """

    elapsed: Array
    tension_lbf: Array
    standard_uncertainty_lbf: Array
    away_degF: Array
    takeup_in: Array
    instrument: NDArray[np.int_]


class Prior(NamedTuple):
    """What is known before the first reading; ranges hold 95 %.

    drop_lbf [lbf]: whole drop from the first reading to the horizon. elapsed: range of the time constant
    and horizon, in the unit of the history. stiffness_lbf_per_in [lbf/in] and its relative standard
    uncertainty; slope_lbf_per_degF [lbf/degF] and its standard uncertainty; bias_share: standard
    uncertainty of an instrument, as a share of tension.
    """

    drop_low_lbf: float
    drop_high_lbf: float
    elapsed_low: float
    elapsed_high: float
    horizon: float
    stiffness_lbf_per_in: float
    stiffness_relative_uncertainty: float
    slope_lbf_per_degF: float
    slope_uncertainty_lbf_per_degF: float
    bias_share: float


class Forecast(NamedTuple):
    """A weighted sum of normal distributions with one standard deviation: weights (n,), means [lbf] (n,)."""

    weights: Array
    means_lbf: Array
    standard_uncertainty_lbf: float

    @property
    def mean_lbf(self) -> float:
        """Expected value [lbf]."""
        return float(self.weights @ self.means_lbf)

    def below(self, tension_lbf: float) -> float:
        """Probability that the tension lies below a value [lbf]."""
        import numpy as np
        from scipy.special import ndtr

        if self.standard_uncertainty_lbf <= 0:
            return float(self.weights @ np.asarray(self.means_lbf < tension_lbf, dtype=float))
        return float(self.weights @ ndtr((tension_lbf - self.means_lbf) / self.standard_uncertainty_lbf))

    def quantile(self, probability: float) -> float:
        """The value [lbf] below which the tension lies with the given probability, by bisection."""
        low = float(self.means_lbf.min()) - 8 * self.standard_uncertainty_lbf - 1e-6
        high = float(self.means_lbf.max()) + 8 * self.standard_uncertainty_lbf + 1e-6
        for _ in range(60):
            middle = (low + high) / 2
            low, high = (middle, high) if self.below(middle) < probability else (low, middle)
        return (low + high) / 2

    def interval(self, probability: float = 0.95) -> tuple[float, float]:
        """The central interval [lbf] that holds the given probability."""
        return self.quantile((1 - probability) / 2), self.quantile((1 + probability) / 2)


def law_share(law: Literal["exponential", "logarithmic"], elapsed: Array, time: Array, horizon: float) -> Array:
    """g: the share of the whole drop that is past, shape (times, readings); 0 at the start and 1 at the horizon."""
    import numpy as np

    ratio = np.asarray(elapsed)[None, :] / np.asarray(time)[:, None]
    end = horizon / np.asarray(time)[:, None]
    if law == "exponential":
        return np.asarray(-np.expm1(-ratio) / -np.expm1(-end))
    return np.asarray(np.log1p(ratio) / np.log1p(end))


class Shapes(NamedTuple):
    """Every shape of g that is tried, as two parts: whether each is logarithmic, its time constant, the share of the first.

    law: place in LAWS. log_prior: ln of the prior weight."""

    law: NDArray[np.int_]
    first: NDArray[np.bool_]
    first_time: Array
    second: NDArray[np.bool_]
    second_time: Array
    first_share: Array
    log_prior: Array

    def share(self, elapsed: Array, horizon: float) -> Array:
        """g of every shape, shape (shapes, readings)."""
        part = self.first_share[:, None]
        return part * _either(self.first, elapsed, self.first_time, horizon) + (1 - part) * _either(
            self.second, elapsed, self.second_time, horizon
        )


def _either(logarithmic: NDArray[np.bool_], elapsed: Array, time: Array, horizon: float) -> Array:
    import numpy as np

    slow, fast = (law_share(law, elapsed, time, horizon) for law in ("logarithmic", "exponential"))
    return np.asarray(np.where(logarithmic[:, None], slow, fast))


def _shapes(prior: Prior) -> Shapes:
    import numpy as np

    def weights(grid: Array) -> Array:
        return _log_normal(grid, prior.elapsed_low, prior.elapsed_high)

    fine, coarse = (_grid(prior.elapsed_low, prior.elapsed_high, n) for n in (TIMES, MIXED_TIMES))
    log_of = dict(zip(coarse.tolist(), weights(coarse).tolist(), strict=True))
    mixed = [
        (slow_law, fast, slow, part)
        for slow_law in (False, True)
        for fast in coarse.tolist()
        for slow in coarse.tolist()
        for part in MIXED_SHARES
        if slow_law or fast < slow
    ]
    n = len(fine)
    pair_weights = np.array([log_of[fast] + log_of[slow] for _, fast, slow, _ in mixed])
    pair_weights -= _log_sum(pair_weights)
    nothing = np.zeros(n, dtype=bool)
    return Shapes(
        law=np.repeat([0, 1, 2], [n, n, len(mixed)]),
        first=np.concatenate([nothing, ~nothing, np.zeros(len(mixed), dtype=bool)]),
        first_time=np.concatenate([fine, fine, [fast for _, fast, _, _ in mixed]]),
        second=np.concatenate([nothing, nothing, [slow_law for slow_law, _, _, _ in mixed]]),
        second_time=np.concatenate([np.ones(2 * n), [slow for _, _, slow, _ in mixed]]),
        first_share=np.concatenate([np.ones(2 * n), [part for _, _, _, part in mixed]]),
        log_prior=np.concatenate([weights(fine) + math.log(0.15), weights(fine) + math.log(0.15), pair_weights + math.log(0.7)]),
    )


class Fit:
    """A history fitted with every law: evidence, and forecasts of tension at the reference temperature.

    Raises Refusal: no reading, times that fall, or figures that are not finite.
    """

    def __init__(self, history: History, prior: Prior) -> None:
        import numpy as np

        _check(history, prior)
        self.history, self.prior = history, prior
        self.shapes = _shapes(prior)
        self.drops_lbf = _grid(prior.drop_low_lbf, prior.drop_high_lbf, DROPS)
        self._g = self.shapes.share(history.elapsed, prior.horizon)
        self._log_prior = self.shapes.log_prior[:, None] + _log_normal(
            self.drops_lbf, prior.drop_low_lbf, prior.drop_high_lbf
        )
        design, self._variances = _design(history, prior)
        self._middle_lbf = float(np.mean(history.tension_lbf))
        # known part taken off: what is left is T0 about the mean, the straight-line errors, and -D g
        self._rest = (
            history.tension_lbf
            - self._middle_lbf
            - prior.stiffness_lbf_per_in * history.takeup_in
            - prior.slope_lbf_per_degF * history.away_degF
        )
        self._gain_of = self._variances[:, None] * design.T
        covariance: Array = (
            design @ self._gain_of + np.diag(history.standard_uncertainty_lbf**2) + _shape(history, prior)
        )
        self._inverse: Array = np.asarray(np.linalg.inv(covariance), dtype=float)
        self._log_det = float(np.linalg.slogdet(covariance)[1])
        self._log_weights: Array = self._log_likelihood(self._inverse, self._log_det) + self._log_prior
        self._shrink = np.diag(self._variances) - self._gain_of @ self._inverse @ self._gain_of.T

    def _log_likelihood(self, inverse: Array, log_det: float) -> Array:
        """ln p(readings | shape, D), shape (shapes, drops)."""
        gi = self._g @ inverse
        square = float(self._rest @ inverse @ self._rest)
        # rest + D g, squared in the metric of the covariance
        both = (gi @ self._rest)[:, None] * self.drops_lbf * 2
        own = (gi * self._g).sum(axis=1)[:, None] * self.drops_lbf**2
        result: Array = -0.5 * (square + both + own + log_det + len(self._rest) * math.log(2 * math.pi))
        return result

    def law_probability(self) -> dict[Law, float]:
        """How probable each law is after the readings, all equally so before."""
        import numpy as np

        weights = np.exp(self._log_weights - self._log_weights.max()).sum(axis=1)
        by_law = np.bincount(self.shapes.law, weights=weights, minlength=len(LAWS))
        return {law: float(p) for law, p in zip(LAWS, by_law / by_law.sum(), strict=True)}

    def forecast(self, elapsed: float, takeup_in: float | None = None, law: Law | None = None) -> Forecast:
        """Tension [lbf] at the reference temperature at a time, by one law or by all weighted by evidence.

        takeup_in [in]: take-up given by then, that of the last reading where None.
        """
        import numpy as np

        takeup = float(self.history.takeup_in[-1]) if takeup_in is None else takeup_in
        point = np.zeros(len(self._variances))
        point[0], point[1] = 1.0, self.prior.stiffness_lbf_per_in * takeup
        gain = point @ self._gain_of @ self._inverse
        known = self._middle_lbf + float(point[1]) + float(gain @ self._rest)
        at = self.shapes.share(np.array([elapsed]), self.prior.horizon)[:, 0]
        # the straight-line part moves with D g: beta = gain (rest + D g)
        means = known + (self._g @ gain - at)[:, None] * self.drops_lbf
        return self._mixed(means, law, math.sqrt(max(0.0, float(point @ self._shrink @ point))))

    def drop_between(self, start: float, end: float, law: Law | None = None) -> Forecast:
        """Tension lost [lbf] between two times with no turn of a turnbuckle; never negative."""
        import numpy as np

        g = self.shapes.share(np.array([start, end]), self.prior.horizon)
        return self._mixed((g[:, 1] - g[:, 0])[:, None] * self.drops_lbf, law, 0.0)

    def _mixed(self, means: Array, law: Law | None, spread_lbf: float) -> Forecast:
        import numpy as np

        log_weights = self._log_weights
        if law is not None:
            own = self.shapes.law == LAWS.index(law)
            means, log_weights = means[own], log_weights[own]
        weights = np.exp(log_weights - log_weights.max()).ravel()
        keep = weights > 1e-7
        weights = weights[keep]
        return Forecast(weights / weights.sum(), means.ravel()[keep], spread_lbf)

    def step_evidence(self, scale_lbf: float) -> list[tuple[int, float, float]]:
        """For each gap before reading i >= 2: how the odds rise if a step fell there, and its best size [lbf].

        scale_lbf [lbf]: how large a step may well be (k=1). Returns (i, ln of the odds' gain, size). The
        first gap is left out: there a slip and bedding-in cannot be told apart.
        """
        import numpy as np

        found = []
        base = _log_sum(self._log_weights)
        for i in range(2, len(self._rest)):
            h = np.zeros(len(self._rest))
            h[i:] = 1.0
            hi = self._inverse @ h
            inflate = 1 + scale_lbf**2 * float(h @ hi)
            inverse = self._inverse - scale_lbf**2 * np.outer(hi, hi) / inflate
            weights = self._log_likelihood(inverse, self._log_det + math.log(inflate)) + self._log_prior
            shape, drop = np.unravel_index(int(weights.argmax()), weights.shape)
            residual = self._rest + self.drops_lbf[drop] * self._g[shape]
            size = scale_lbf**2 * float(hi @ residual) / inflate
            found.append((i, _log_sum(weights) - base, size))
        return found


def _check(history: History, prior: Prior) -> None:
    import numpy as np

    if len(history.elapsed) == 0:
        raise Refusal("there is no reading to fit")
    if (np.diff(history.elapsed) < 0).any():
        raise Refusal("readings must stand in order of time")
    if not all(np.isfinite(np.asarray(values, dtype=float)).all() for values in history):
        raise Refusal("a reading, time or temperature is not a finite number")
    if not (0 < prior.drop_low_lbf < prior.drop_high_lbf and 0 < prior.elapsed_low < prior.elapsed_high):
        raise Refusal("the priors of drop and time need two rising figures above zero")
    if not prior.horizon > float(history.elapsed[-1]):
        raise Refusal(f"the horizon, {prior.horizon:g}, must lie after the last reading")


def _grid(low: float, high: float, count: int) -> Array:
    import numpy as np

    middle, deviation = _log_centre(low, high)
    return np.asarray(np.exp(np.linspace(middle - REACH * deviation, middle + REACH * deviation, count)))


def _log_centre(low: float, high: float) -> tuple[float, float]:
    """Middle and standard deviation of the logarithm, for a range that holds 95 %."""
    return (math.log(low) + math.log(high)) / 2, (math.log(high) - math.log(low)) / (2 * 1.96)


def _log_normal(values: Array, low: float, high: float) -> Array:
    """ln of the prior's weight of each point of a grid even in the logarithm; the weights add up to 1."""
    import numpy as np

    middle, deviation = _log_centre(low, high)
    weights = np.exp(-0.5 * ((np.log(values) - middle) / deviation) ** 2)
    return np.asarray(np.log(weights / weights.sum()))


def _design(history: History, prior: Prior) -> tuple[Array, Array]:
    """Columns and prior variances of T0, stiffness, slope and each instrument's own error."""
    import numpy as np

    n = len(history.elapsed)
    instruments = int(history.instrument.max()) + 1
    own = np.zeros((n, instruments))
    own[np.arange(n), history.instrument] = 1.0
    columns = [np.ones(n), prior.stiffness_lbf_per_in * history.takeup_in, history.away_degF, *own.T]
    bias_lbf = prior.bias_share * float(np.mean(np.abs(history.tension_lbf)))
    variances = [
        WIDE_LBF**2,
        prior.stiffness_relative_uncertainty**2,
        prior.slope_uncertainty_lbf_per_degF**2,
        *[bias_lbf**2] * instruments,
    ]
    return np.column_stack(columns), np.array(variances)


def _shape(history: History, prior: Prior) -> Array:
    """Covariance [lbf2] of what neither law says: a random walk over the readings, each step a share of the prior's drop."""
    import numpy as np

    n = len(history.elapsed)
    middle, _ = _log_centre(prior.drop_low_lbf, prior.drop_high_lbf)
    step = SHAPE_SHARE * math.exp(middle)
    index = np.arange(n)
    return np.asarray(step**2 * np.minimum.outer(index, index) * (1.0 / max(n - 1, 1)))


def _log_sum(values: Array) -> float:
    import numpy as np

    top = float(values.max())
    return top + math.log(float(np.exp(values - top).sum()))
