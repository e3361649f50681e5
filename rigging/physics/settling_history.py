"""What a settling fit is given: the readings of one run, and what is known of the cable before the first of them."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final, NamedTuple

from rigging.errors import Refusal

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]


LARGEST: Final = 1e9  # of any figure, and the least of one above zero is its inverse: beyond, sums lose their digits


class History(NamedTuple):
    """Readings of one run at one station, in order of time; every array of shape (readings,).

    elapsed: hours or control cycles since the first reading, rising. tension_lbf [lbf]: as read.
    standard_uncertainty_lbf [lbf], above zero: of the single reading, with its thermometer's (slope times its own) and
    without the instrument's own error.
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

    drop_low_lbf, drop_high_lbf [lbf], above zero and rising: whole drop from the first reading to the horizon.
    elapsed_low, elapsed_high, above zero and rising: range of the time constant, and horizon, after the last reading, in
    the unit of the history. stiffness_lbf_per_in [lbf/in] and its relative standard uncertainty; slope_lbf_per_degF
    [lbf/degF] and its standard uncertainty; bias_share: standard uncertainty of an instrument, as a share of tension.
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


def check(history: History, prior: Prior) -> None:
    """Raise Refusal, in one line, where a history or a prior cannot be fitted: empty, uneven, out of order, not finite."""
    import numpy as np

    if len({np.shape(values) for values in history}) > 1 or np.ndim(history.elapsed) != 1:
        raise Refusal(
            "every reading needs a time, a tension, an uncertainty, a temperature, a take-up and an instrument"
        )
    if len(history.elapsed) == 0:
        raise Refusal("there is no reading to fit")
    if not all(np.isfinite(np.asarray(values, dtype=float)).all() for values in history):
        raise Refusal("a reading, time or temperature is not a finite number")
    if not all(math.isfinite(value) for value in prior):
        raise Refusal("a figure of what is known before the first reading is not a finite number")
    if max(float(np.abs(values).max()) for values in (*history, prior)) > LARGEST:
        raise Refusal(f"a figure beyond {LARGEST:g} is too large to be fitted")
    if (np.diff(history.elapsed) < 0).any():
        raise Refusal("readings must stand in order of time")
    if not (history.standard_uncertainty_lbf >= 1 / LARGEST).all():
        raise Refusal("the uncertainty of every reading must be above zero")
    if not (np.asarray(history.instrument) >= 0).all():
        raise Refusal("instruments are numbered from zero")
    if not (
        1 / LARGEST <= prior.drop_low_lbf < prior.drop_high_lbf
        and 1 / LARGEST <= prior.elapsed_low < prior.elapsed_high
    ):
        raise Refusal("the priors of drop and time need two rising figures above zero")
    if min(prior.stiffness_relative_uncertainty, prior.slope_uncertainty_lbf_per_degF, prior.bias_share) < 0:
        raise Refusal("the uncertainties of stiffness, slope and instruments cannot be below zero")
    if not prior.horizon > float(history.elapsed[-1]):
        raise Refusal(f"the horizon, {prior.horizon:g}, must lie after the last reading")
