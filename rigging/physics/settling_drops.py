"""The sum over the whole drop D of a cable, for every shape of its loss with time, at points where the readings leave it weight."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final, NamedTuple

from rigging.errors import Refusal
from rigging.physics.settling_history import Prior
from rigging.physics.settling_shapes import LAWS, REACH, Shapes, log_centre

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

DROPS: Final = 16  # of the whole drop, for each shape
WINDOW: Final = 5.0  # of the drop about its likeliest, in standard deviations
NEGLIGIBLE: Final = 14.0  # ln of the weight below the greatest at which a shape is left out
EDGE: Final = 0.3  # ln of the drop: where the likeliest lies beyond the prior, that much of its edge is looked at


class Drops(NamedTuple):
    """Drops [lbf] and ln of their weights, which add up to 1, shape (shapes kept, DROPS); shape: which are kept.

    log_sum: ln of the evidence, without what all shapes share.
    """

    shape: NDArray[np.int_]
    drops_lbf: Array
    log_weights: Array
    log_sum: float


def over_drops(square: Array, line: Array, shapes: Shapes, prior: Prior) -> Drops:
    """Sum ``exp(-(square D^2 + 2 line D) / 2)`` over the prior of D for each shape.

    square [1/lbf2], line [1/lbf]: shape (shapes,). Raises Refusal where they are too large to be summed.
    """
    import numpy as np

    middle, deviation = log_centre(prior.drop_low_lbf, prior.drop_high_lbf)
    least, most = middle - REACH * deviation, middle + REACH * deviation
    least_lbf, most_lbf = math.exp(least), math.exp(most)
    square = np.maximum(square, 1e-12)
    likeliest = -line / square
    held = np.clip(likeliest, least_lbf, most_lbf)
    best = -0.5 * (square * held + 2 * line) * held + shapes.log_prior
    if not np.isfinite(best).all():
        raise Refusal("the readings or their times are too large, or too far apart, to be fitted")
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
    top = float(log_weights.max())
    log_sum = top + math.log(float(np.exp(log_weights - top).sum()))
    return Drops(shape, drops, log_weights - log_sum, log_sum)
