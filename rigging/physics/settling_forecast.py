"""A tension or a drop that is not known for sure: a weighted sum of normal distributions."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final, NamedTuple

from rigging.errors import Refusal

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

BINS: Final = 1024  # of a forecast


class Forecast(NamedTuple):
    """A weighted sum of normal distributions with one standard deviation.

    weights (n,), adding up to 1; means_lbf [lbf] (n,); standard_uncertainty_lbf [lbf], zero or more.

    >>> import numpy as np
    >>> two = Forecast(np.array([0.5, 0.5]), np.array([10.0, 30.0]), 1.0)
    >>> two.mean_lbf, round(two.below(30.0), 3)  # all of the half at 10 and half of the half at 30
    (20.0, 0.75)
    """

    weights: Array
    means_lbf: Array
    standard_uncertainty_lbf: float

    @property
    def mean_lbf(self) -> float:
        """Expected value [lbf]."""
        return float(self.weights @ self.means_lbf)

    def below(self, tension_lbf: float) -> float:
        """Probability that the tension lies below a value [lbf]; of one below no number, or of nothing, Refusal."""
        import numpy as np
        from scipy.special import ndtr

        if math.isnan(tension_lbf) or len(self.weights) == 0:
            raise Refusal("how probable a tension is can only be said of a number, and of a forecast that holds one")
        if self.standard_uncertainty_lbf <= 0:
            return float(self.weights @ np.asarray(self.means_lbf < tension_lbf, dtype=float))
        return float(self.weights @ ndtr((tension_lbf - self.means_lbf) / self.standard_uncertainty_lbf))

    def quantile(self, probability: float) -> float:
        """The value [lbf] below which the tension lies with a probability between 0 and 1, by bisection; else Refusal."""
        if not 0 < probability < 1 or len(self.weights) == 0:
            raise Refusal(f"a probability of {probability:g} has no value: it must lie between 0 and 1")
        low = float(self.means_lbf.min()) - 8 * self.standard_uncertainty_lbf - 1e-6
        high = float(self.means_lbf.max()) + 8 * self.standard_uncertainty_lbf + 1e-6
        while high - low > 1e-6 * (1.0 + abs(high) + abs(low)):
            middle = (low + high) / 2
            low, high = (middle, high) if self.below(middle) < probability else (low, middle)
        return (low + high) / 2

    def interval(self, probability: float = 0.95) -> tuple[float, float]:
        """The central interval [lbf] that holds a probability between 0 and 1; else Refusal."""
        return self.quantile((1 - probability) / 2), self.quantile((1 + probability) / 2)


def binned(forecast: Forecast) -> Forecast:
    """The same with at most BINS means, each the mean of those near it."""
    import numpy as np

    means = forecast.means_lbf
    low, high = (float(means.min()), float(means.max())) if len(means) else (0.0, 0.0)
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
