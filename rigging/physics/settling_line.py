"""What enters a settling history in a straight line and is integrated in closed form: first tension, stiffness, slope, instruments."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

from rigging.physics.settling_history import History, Prior

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

WIDE_LBF: Final = 1e4  # prior of T0: anything


class Tails(NamedTuple):
    """A step of 1 lbf from one reading to the last, seen by the readings: for every first reading of it.

    form [1/lbf2], shape (readings,): weighed by itself. rest [1/lbf], shape (readings,): by what is left of the readings.
    pure [1/lbf2], shape (pure laws, readings): by every pure law.
    """

    form: Array
    rest: Array
    pure: Array


class StraightLine:
    """The readings less what is known for certain, and products with the inverse of their covariance.

    Every sum takes time and room in proportion to the number of readings, for a given number of instruments.
    """

    def __init__(self, history: History, prior: Prior) -> None:
        import numpy as np

        design, deviations = _design(history, prior)
        self.middle_lbf = float(np.mean(history.tension_lbf))
        # known part taken off: what is left is T0 about the mean, the straight-line errors, and -D g
        self.rest_lbf: Array = (
            history.tension_lbf
            - self.middle_lbf
            - prior.stiffness_lbf_per_in * history.takeup_in
            - prior.slope_lbf_per_degF * history.away_degF
        )
        # in units of the priors' deviations: the plain form loses all its digits against the wide prior of T0
        self._precision: Array = 1 / history.standard_uncertainty_lbf**2
        self._design: Array = self._precision[:, None] * design
        scaled = design * deviations
        inner = np.linalg.inv(np.eye(len(deviations)) + scaled.T @ (self._precision[:, None] * scaled))
        self.shrink: Array = deviations[:, None] * inner * deviations
        self.gain: Array = self.shrink @ self._design.T

    def weighed(self, values: Array) -> Array:
        """Rows [lbf] of shape (readings,) or (n, readings) times the inverse of the readings' covariance [1/lbf]."""
        weighed: Array = values * self._precision - (values @ self._design) @ self.gain
        return weighed

    def tails(self, weighed_pure: Array) -> Tails:
        """Every step that lasts to the last reading; weighed_pure: of the pure laws, shape (pure laws, readings)."""
        seen = _to_the_end(self._design)
        form = _to_the_end(self._precision) - ((seen @ self.shrink) * seen).sum(axis=1)
        return Tails(form, _to_the_end(self.weighed(self.rest_lbf)), _to_the_end(weighed_pure.T).T)


def _to_the_end(values: Array) -> Array:
    """Sums from each row to the last."""
    sums: Array = values[::-1].cumsum(axis=0)[::-1]
    return sums


def _design(history: History, prior: Prior) -> tuple[Array, Array]:
    """Columns and prior standard deviations of T0, stiffness, slope and each instrument's own error, a share of tension."""
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
