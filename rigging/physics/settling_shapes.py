"""The shapes in which a bedding-in cable may lose tension with time, each with its prior weight: two laws and their mixtures."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING, Final, Literal, NamedTuple

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

TIMES: Final = 96  # of each law, from which mixtures take theirs
FINER: Final = 4  # times as many for a law alone
MIXTURES: Final = 3072  # of each kind: two exponentials, an exponential and a logarithm, two logarithms
REACH: Final = 3.2  # of each prior, in its standard deviations


def law_share(law: Literal["exponential", "logarithmic"], elapsed: Array, time: Array, horizon: float) -> Array:
    """g: the share of the whole drop that is past, shape (times, readings); 0 at the start and 1 at the horizon."""
    import numpy as np

    ratio = np.asarray(elapsed)[None, :] / np.asarray(time)[:, None]
    end = horizon / np.asarray(time)[:, None]
    if law == "exponential":
        return np.asarray(-np.expm1(-ratio) / -np.expm1(-end))
    return np.asarray(np.log1p(ratio) / np.log1p(end))


class Shapes(NamedTuple):
    """Every shape of g that is tried: ``part`` of one pure law and the rest of another, by their places in a list of pure laws.

    times: of the pure laws, every one first exponential, then again logarithmic. law: place in LAWS, log_prior: ln of the
    prior weight, of each shape.
    """

    times: Array
    first: NDArray[np.int_]
    second: NDArray[np.int_]
    part: Array
    law: NDArray[np.int_]
    log_prior: Array
    horizon: float

    def pure(self, elapsed: Array) -> Array:
        """g of the pure laws, shape (pure laws, readings)."""
        import numpy as np

        both = (law_share(law, elapsed, self.times, self.horizon) for law in ("exponential", "logarithmic"))
        return np.concatenate(list(both))

    def mixed(self, of_pure: Array) -> Array:
        """A linear functional of g, known of every pure law, for every shape."""
        return self.part * of_pure[self.first] + (1 - self.part) * of_pure[self.second]

    def squared(self, of_pure: Array, own: Array) -> Array:
        """A quadratic form of g for every shape; of_pure: g of the pure laws, own: the same times the form."""
        import numpy as np

        straight = (own * of_pure).sum(axis=1)
        coarse = slice(0, None, FINER)
        cross = own[coarse] @ of_pure[coarse].T
        # only mixtures cross, and they stand on the coarse times
        crossed = np.where(
            self.first == self.second, straight[self.first], cross[self.first // FINER, self.second // FINER]
        )
        rest = 1 - self.part
        return np.asarray(
            self.part**2 * straight[self.first] + 2 * self.part * rest * crossed + rest**2 * straight[self.second]
        )


@lru_cache(maxsize=16)
def shapes(low: float, high: float, horizon: float) -> Shapes:
    """The shapes for a range of the time constant, mixtures spread evenly over their prior."""
    import numpy as np
    from scipy.special import ndtr

    count = TIMES * FINER
    times = log_grid(low, high, count)
    alone = log_normal(times, low, high)
    # a low-discrepancy sequence (powers of the root of x^4 = x + 1), carried to the places of the coarse times
    index = np.arange(1, MIXTURES + 1)
    root = 1.2207440846057596
    u, v, part = ((0.5 + index / root**power) % 1.0 for power in (1, 2, 3))
    # the nearest place: beyond the middle between two it is the next
    places = np.linspace(-REACH, REACH, count)[::FINER]
    edges = ndtr((places[1:] + places[:-1]) / 2)
    fast, slow = (np.searchsorted(edges, draw) * FINER for draw in (u, v))
    whole = np.arange(2 * count)
    return Shapes(
        times=times,
        first=np.concatenate([whole, fast, fast, fast + count]),
        second=np.concatenate([whole, slow, slow + count, slow + count]),
        part=np.concatenate([np.ones(2 * count), part, part, part]),
        law=np.repeat([0, 1, 2], [count, count, 3 * MIXTURES]),
        log_prior=np.concatenate([alone, alone, np.full(3 * MIXTURES, -math.log(3 * MIXTURES))]) - math.log(3),
        horizon=horizon,
    )


def log_grid(low: float, high: float, count: int) -> Array:
    """Points even in the logarithm over a range that holds 95 % and its tails."""
    import numpy as np

    middle, deviation = log_centre(low, high)
    return np.asarray(np.exp(np.linspace(middle - REACH * deviation, middle + REACH * deviation, count)))


def log_centre(low: float, high: float) -> tuple[float, float]:
    """Middle and standard deviation of the logarithm, for a range that holds 95 %."""
    return (math.log(low) + math.log(high)) / 2, (math.log(high) - math.log(low)) / (2 * 1.96)


def log_normal(values: Array, low: float, high: float) -> Array:
    """ln of the prior's weight of each point of a grid even in the logarithm; the weights add up to 1."""
    import numpy as np

    middle, deviation = log_centre(low, high)
    weights = np.exp(-0.5 * ((np.log(values) - middle) / deviation) ** 2)
    return np.asarray(np.log(weights / weights.sum()))
