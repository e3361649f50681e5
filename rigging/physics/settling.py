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
from typing import TYPE_CHECKING, Final, Literal, NamedTuple

from rigging.errors import Refusal
from rigging.physics.settling_shapes import REACH, Shapes, log_centre, shapes

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

Law = Literal["exponential", "logarithmic", "mixed"]
LAWS: Final[tuple[Law, Law, Law]] = ("exponential", "logarithmic", "mixed")

DROPS = 16  # of the whole drop, for each shape
WINDOW = 5.0  # of the drop about its likeliest, in standard deviations
NEGLIGIBLE = 14.0  # ln of the weight below the greatest at which a shape is left out
EDGE = 0.3  # ln of the drop: where the likeliest lies beyond the prior, that much of its edge is looked at
LATER_SHARE = 0.2  # standard uncertainty of the drop still to come, as a share of it: no cable keeps to a law for ever
WIDE_LBF = 1e4  # prior of T0: anything
BINS = 1024  # of a forecast


class History(NamedTuple):
    """Readings of one run at one station, in order of time; every array of shape (readings,).

    elapsed: hours or control cycles since the first reading, rising. tension_lbf [lbf]: as read.
    standard_uncertainty_lbf [lbf]: of the single reading, with its thermometer's (slope times its own) and without
    the instrument's own error.
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
        while high - low > 1e-6 * (1.0 + abs(high) + abs(low)):
            middle = (low + high) / 2
            low, high = (middle, high) if self.below(middle) < probability else (low, middle)
        return (low + high) / 2

    def interval(self, probability: float = 0.95) -> tuple[float, float]:
        """The central interval [lbf] that holds the given probability."""
        return self.quantile((1 - probability) / 2), self.quantile((1 + probability) / 2)


class Fit:
    """A history fitted with every law: evidence, and forecasts of tension at the reference temperature.

    Raises Refusal: no reading, times that fall, or figures that are not finite.
    """

    def __init__(self, history: History, prior: Prior) -> None:
        import numpy as np

        _check(history, prior)
        self.history, self.prior = history, prior
        self.shapes = shapes(prior.elapsed_low, prior.elapsed_high, prior.horizon)
        design, deviations = _design(history, prior)
        self._middle_lbf = float(np.mean(history.tension_lbf))
        # known part taken off: what is left is T0 about the mean, the straight-line errors, and -D g
        self._rest = (
            history.tension_lbf
            - self._middle_lbf
            - prior.stiffness_lbf_per_in * history.takeup_in
            - prior.slope_lbf_per_degF * history.away_degF
        )
        # in units of the priors' deviations: the plain form loses all its digits against the wide prior of T0
        self._precision: Array = 1 / history.standard_uncertainty_lbf**2
        self._design: Array = self._precision[:, None] * design
        scaled = design * deviations
        inner = np.linalg.inv(np.eye(len(deviations)) + scaled.T @ (self._precision[:, None] * scaled))
        self._shrink: Array = deviations[:, None] * inner * deviations
        self._gain: Array = self._shrink @ self._design.T
        self._pure = self.shapes.pure(history.elapsed)
        self._square = self.shapes.squared(self._pure, self._weighed(self._pure))
        self._line = self.shapes.mixed(self._pure @ self._weighed(self._rest))
        self._posterior = _over_drops(self._square, self._line, self.shapes, prior)

    def _weighed(self, values: Array) -> Array:
        """Rows times the inverse of the readings' covariance, linear in the number of readings."""
        weighed: Array = values * self._precision - (values @ self._design) @ self._gain
        return weighed

    def law_probability(self) -> dict[Law, float]:
        """How probable each law is after the readings, all equally so before."""
        import numpy as np

        post = self._posterior
        weights = np.exp(post.log_weights).sum(axis=1)
        by_law = np.bincount(self.shapes.law[post.shape], weights=weights, minlength=len(LAWS))
        return {law: float(p) for law, p in zip(LAWS, by_law, strict=True)}

    def forecast(self, elapsed: float, takeup_in: float | None = None, law: Law | None = None) -> Forecast:
        """Tension [lbf] at the reference temperature at a time, by one law or by all weighted by evidence.

        takeup_in [in]: take-up given by then, that of the last reading where None.
        """
        import numpy as np

        takeup = float(self.history.takeup_in[-1]) if takeup_in is None else takeup_in
        point = np.zeros(len(self._shrink))
        point[0], point[1] = 1.0, self.prior.stiffness_lbf_per_in * takeup
        gain = point @ self._gain
        known = self._middle_lbf + float(point[1]) + float(gain @ self._rest)
        at = self.shapes.pure(np.array([elapsed]))[:, 0]
        # the straight-line part moves with D g: beta = gain (rest + D g)
        last = float(self.history.elapsed[-1])
        later = LATER_SHARE * self.drop_between(last, elapsed, law).mean_lbf if elapsed > last else 0.0
        spread = math.sqrt(max(0.0, float(point @ self._shrink @ point)) + later**2)
        return _binned(self._mixed(known, self._pure @ gain - at, law, spread))

    def drop_between(self, start: float, end: float, law: Law | None = None) -> Forecast:
        """Tension lost [lbf] between two times with no turn of a turnbuckle; never negative."""
        import numpy as np

        g = self.shapes.pure(np.array([start, end]))
        return self._mixed(0.0, g[:, 1] - g[:, 0], law, 0.0)

    def _mixed(self, known_lbf: float, per_drop: Array, law: Law | None, spread_lbf: float) -> Forecast:
        """``known + D per_drop`` over the posterior; per_drop: of every pure law."""
        import numpy as np

        post = self._posterior
        means = known_lbf + self.shapes.mixed(per_drop)[post.shape, None] * post.drops_lbf
        log_weights = post.log_weights
        if law is not None:
            own = self.shapes.law[post.shape] == LAWS.index(law)
            means, log_weights = means[own], log_weights[own]
        weights = np.exp(log_weights - log_weights.max())
        keep = weights > 1e-9
        weights = weights[keep]
        return Forecast(weights / weights.sum(), means[keep], spread_lbf)

    def step_evidence(self, scale_lbf: float) -> list[Step]:
        """For each gap before a reading i >= 1: what speaks for a step there.

        scale_lbf [lbf]: how large a step may well be (k=1).
        """
        import numpy as np

        found = []
        n = len(self._rest)
        for i in range(1, n):
            h = np.zeros(n)
            h[i:] = 1.0
            hi = self._weighed(h)
            inflate = 1 + scale_lbf**2 * float(h @ hi)
            shrink = scale_lbf**2 / inflate
            along, offset = self.shapes.mixed(self._pure @ hi), float(self._rest @ hi)
            square, line = self._square - shrink * along**2, self._line - shrink * along * offset
            post = _over_drops(square, line, self.shapes, self.prior)
            sizes = shrink * (offset + along[post.shape, None] * post.drops_lbf)
            weights = np.exp(post.log_weights)
            size = float((weights * sizes).sum())
            variance = float((weights * (sizes - size) ** 2).sum()) + shrink
            gain = post.log_sum - self._posterior.log_sum + 0.5 * (shrink * offset**2 - math.log(inflate))
            found.append(Step(i, gain, size, math.sqrt(variance)))
        return found


class Step(NamedTuple):
    """A step before a reading: ln of what the odds gain by it, its size and standard uncertainty [lbf]."""

    reading: int
    log_gain: float
    size_lbf: float
    standard_uncertainty_lbf: float


def fit_many(histories: Sequence[History], priors: Sequence[Prior]) -> list[Fit]:
    """A fleet: one fit for each history, with the prior that stands beside it."""
    return [Fit(history, prior) for history, prior in zip(histories, priors, strict=True)]


class _Posterior(NamedTuple):
    """Drops [lbf] and ln of their weights, which add up to 1, shape (shapes kept, DROPS); shape: which are kept.

    log_sum: ln of the evidence, without what all shapes share."""

    shape: NDArray[np.int_]
    drops_lbf: Array
    log_weights: Array
    log_sum: float


def _over_drops(square: Array, line: Array, shapes: Shapes, prior: Prior) -> _Posterior:
    """Sum ``exp(-(square D^2 + 2 line D) / 2)`` over the prior of D for each shape, at points where it has weight."""
    import numpy as np

    middle, deviation = log_centre(prior.drop_low_lbf, prior.drop_high_lbf)
    least, most = middle - REACH * deviation, middle + REACH * deviation
    least_lbf, most_lbf = math.exp(least), math.exp(most)
    square = np.maximum(square, 1e-12)
    likeliest = -line / square
    held = np.clip(likeliest, least_lbf, most_lbf)
    best = -0.5 * (square * held + 2 * line) * held + shapes.log_prior
    # of every law its best, however improbable, so that each can be asked for its own answer
    top_of_law = np.array([best[shapes.law == law].max() for law in range(len(LAWS))])
    shape = np.flatnonzero(best > top_of_law[shapes.law] - NEGLIGIBLE)
    centre, reach = likeliest[shape], WINDOW / np.sqrt(square[shape])
    low = np.where(centre - reach < most_lbf, np.log(np.clip(centre - reach, least_lbf, most_lbf)), most - EDGE)
    high = np.where(centre + reach > least_lbf, np.log(np.clip(centre + reach, least_lbf, most_lbf)), least + EDGE)
    x = low[:, None] + (high - low)[:, None] * ((np.arange(DROPS) + 0.5) / DROPS)
    drops = np.exp(x)
    scale = shapes.log_prior[shape] + np.log((high - low) / (DROPS * deviation * math.sqrt(2 * math.pi)))
    log_weights = (
        -0.5 * (square[shape, None] * drops + 2 * line[shape, None]) * drops
        - 0.5 * ((x - middle) / deviation) ** 2
        + scale[:, None]
    )
    log_sum = _log_sum(log_weights)
    return _Posterior(shape, drops, log_weights - log_sum, log_sum)


def _binned(forecast: Forecast) -> Forecast:
    """The same with at most BINS means, each the mean of those near it."""
    import numpy as np

    means = forecast.means_lbf
    low, high = float(means.min()), float(means.max())
    if len(means) <= BINS or high <= low:
        return forecast
    place = np.minimum(((means - low) * (BINS / (high - low))).astype(int), BINS - 1)
    weights = np.bincount(place, weights=forecast.weights, minlength=BINS)
    sums = np.bincount(place, weights=forecast.weights * means, minlength=BINS)
    used = weights > 0
    return Forecast(
        np.asarray(weights[used]),
        np.asarray(sums[used] / weights[used], dtype=float),
        forecast.standard_uncertainty_lbf,
    )


def _check(history: History, prior: Prior) -> None:
    import numpy as np

    if len(history.elapsed) == 0:
        raise Refusal("there is no reading to fit")
    if len({len(values) for values in history}) > 1:
        raise Refusal(
            "every reading needs a time, a tension, an uncertainty, a temperature, a take-up and an instrument"
        )
    if (np.diff(history.elapsed) < 0).any():
        raise Refusal("readings must stand in order of time")
    if not all(np.isfinite(np.asarray(values, dtype=float)).all() for values in history):
        raise Refusal("a reading, time or temperature is not a finite number")
    if not (history.standard_uncertainty_lbf > 0).all():
        raise Refusal("the uncertainty of every reading must be above zero")
    if not (0 < prior.drop_low_lbf < prior.drop_high_lbf and 0 < prior.elapsed_low < prior.elapsed_high):
        raise Refusal("the priors of drop and time need two rising figures above zero")
    if not prior.horizon > float(history.elapsed[-1]):
        raise Refusal(f"the horizon, {prior.horizon:g}, must lie after the last reading")


def _design(history: History, prior: Prior) -> tuple[Array, Array]:
    """Columns and prior standard deviations of T0, stiffness, slope and each instrument's own error, which is a share of tension."""
    import numpy as np

    n = len(history.elapsed)
    own = np.zeros((n, int(history.instrument.max()) + 1))
    own[np.arange(n), history.instrument] = history.tension_lbf
    columns = [np.ones(n), prior.stiffness_lbf_per_in * history.takeup_in, history.away_degF, *own.T]
    deviations = [
        WIDE_LBF,
        prior.stiffness_relative_uncertainty,
        prior.slope_uncertainty_lbf_per_degF,
        *[prior.bias_share] * own.shape[1],
    ]
    return np.column_stack(columns), np.array(deviations)


def _log_sum(values: Array) -> float:
    import numpy as np

    top = float(values.max())
    return top + math.log(float(np.exp(values - top).sum()))
