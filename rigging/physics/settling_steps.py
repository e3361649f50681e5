"""A step of tension in one gap between two readings: what the readings say for it, against settling alone."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from rigging.physics.settling_drops import over_drops
from rigging.physics.settling_history import Prior
from rigging.physics.settling_line import Tails
from rigging.physics.settling_shapes import Shapes

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]


class Step(NamedTuple):
    """A step before a reading: ln of what the odds gain by it, its size and standard uncertainty [lbf]."""

    reading: int
    log_gain: float
    size_lbf: float
    standard_uncertainty_lbf: float


class Gap:
    """The gap before a reading, with a step of unknown size in it that may well be as large as ``scale_lbf`` [lbf] (k=1).

    square [1/lbf2], shape (shapes,): of the fit without a step. tails: of every gap. reading: from 1.
    """

    def __init__(
        self, square: Array, tails: Tails, shapes: Shapes, prior: Prior, reading: int, scale_lbf: float
    ) -> None:
        self.reading, self._shapes, self._prior = reading, shapes, prior
        self.form = float(tails.form[reading])  # of the step by itself [1/lbf2]
        self._inflate = 1 + scale_lbf**2 * self.form
        self._shrink = scale_lbf**2 / self._inflate
        self.along: Array = shapes.mixed(tails.pure[:, reading])  # of the step by every shape [1/lbf2]
        self._square: Array = square - self._shrink * self.along**2

    def step(self, line: Array, offset: float, log_sum: float) -> Step:
        """What speaks for a step here.

        line [1/lbf], shape (shapes,), and offset [1/lbf]: of the readings by every shape and by the step. log_sum: ln of
        the evidence of the same readings without a step.
        """
        import numpy as np

        post = over_drops(self._square, line - self._shrink * offset * self.along, self._shapes, self._prior)
        sizes = self._shrink * (offset + self.along[post.shape, None] * post.drops_lbf)
        weights = np.exp(post.log_weights)
        size = float((weights * sizes).sum())
        variance = float((weights * (sizes - size) ** 2).sum()) + self._shrink
        gain = post.log_sum - log_sum + 0.5 * (self._shrink * offset**2 - math.log(self._inflate))
        return Step(self.reading, gain, size, math.sqrt(variance))
