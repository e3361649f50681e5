"""The shapes in which a bedding-in cable may lose tension with time, each with its prior weight: two laws and their mixtures."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING, Final, Literal, NamedTuple

from rigging.errors import Refusal

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]

Law = Literal["exponential", "logarithmic", "mixed"]
LAWS: Final[tuple[Law, Law, Law]] = ("exponential", "logarithmic", "mixed")

TIMES: Final = 96  # of each law, from which mixtures take theirs
FINER: Final = 4  # times as many for a law alone
MIXTURES: Final = 3072  # of each kind: two exponentials, an exponential and a logarithm, two logarithms
REACH: Final = 3.2  # of each prior, in its standard deviations


def law_share(law: Literal["exponential", "logarithmic"], elapsed: ArrayLike, time: ArrayLike, horizon: float) -> Array:
    """g: the share of the whole drop that is past, shape (times, readings); 0 at the start and 1 at the horizon.

    elapsed, shape (readings,): from the start, zero or more. time, shape (times,), and horizon: time constants and the end,
    above zero, in the same unit. Raises Refusal: any that is not so, or not finite.

    >>> law_share("logarithmic", [0.0, 9.0, 99.0], [1.0], 99.0).round(6).tolist()  # 9 h: log(10) / log(100)
    [[0.0, 0.5, 1.0]]
    """
    import numpy as np

    if not (0 < horizon < math.inf and _all_finite_from(elapsed, 0.0) and _all_finite_from(time, 1e-300)):
        raise Refusal("times of settling must be finite, time constants and the horizon above zero")
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
        """g of the pure laws, shape (pure laws, readings); elapsed, shape (readings,), and errors: as of ``law_share``."""
        import numpy as np

        both = (law_share(law, elapsed, self.times, self.horizon) for law in ("exponential", "logarithmic"))
        return np.concatenate(list(both))

    def mixed(self, of_pure: Array) -> Array:
        """A linear functional of g, known of every pure law, shape (pure laws,), for every shape: shape (shapes,)."""
        return self.part * of_pure[self.first] + (1 - self.part) * of_pure[self.second]

    def squared(self, of_pure: Array, own: Array) -> Array:
        """A quadratic form of g for every shape, shape (shapes,).

        of_pure, shape (pure laws, readings): g of the pure laws. own, the same shape: the same times the form.
        """
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
    """The shapes for a range of the time constant that holds 95 %, mixtures spread evenly over their prior.

    low, high, above zero and rising, and horizon, above zero: in the unit of the history. Raises Refusal: any that is not so.
    """
    import numpy as np
    from scipy.special import ndtr

    if not 0 < horizon < math.inf:
        raise Refusal(f"a horizon of {horizon:g} is no finite time above zero")
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
    """Points even in the logarithm over a range that holds 95 % and its tails, shape (count,).

    low, high: as of ``log_centre``. Raises Refusal: a range that is none, or no point at all.
    """
    import numpy as np

    middle, deviation = log_centre(low, high)
    if not 1 <= count < math.inf:
        raise Refusal(f"a grid of {count} points is none")
    return np.asarray(np.exp(np.linspace(middle - REACH * deviation, middle + REACH * deviation, count)))


def log_centre(low: float, high: float) -> tuple[float, float]:
    """Middle and standard deviation of the logarithm, for a range that holds 95 %.

    low, high: above zero, finite and rising. Raises Refusal: any that is not so.
    """
    if not 0 < low < high < math.inf:
        raise Refusal(f"{low:g} to {high:g} is no range: it needs two rising figures above zero")
    return (math.log(low) + math.log(high)) / 2, (math.log(high) - math.log(low)) / (2 * 1.96)


def log_normal(values: Array, low: float, high: float) -> Array:
    """ln of the prior's weight of each point of a grid even in the logarithm, its shape; the weights add up to 1.

    low, high: as of ``log_centre``. Raises Refusal: a range that is none, no point, or one that is not above zero and finite.
    """
    import numpy as np

    middle, deviation = log_centre(low, high)
    if np.size(values) == 0 or not _all_finite_from(values, 1e-300):
        raise Refusal("the prior of a time is asked for at one time or more, each finite and above zero")
    weights = np.exp(-0.5 * ((np.log(values) - middle) / deviation) ** 2)
    return np.asarray(np.log(weights / weights.sum()))


def _all_finite_from(values: ArrayLike, least: float) -> bool:
    import numpy as np

    found = np.asarray(values, dtype=float)
    return bool((found >= least).all() and np.isfinite(found).all())
