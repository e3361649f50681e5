"""What a settling fit refuses at the edge of its ranges, and a wide forecast told to its ends."""

import math

import numpy as np
import pytest
from scipy import stats

from rigging.errors import Refusal
from rigging.physics.settling import Fit
from rigging.physics.settling_forecast import Forecast
from rigging.physics.settling_history import History, Prior
from rigging.physics.settling_shapes import law_share, shapes

PRIOR = Prior(10.0, 100.0, 1.0, 504.0, 8760.0, 300.0, 0.075, 0.62, 0.05, 0.0115)
NONE = np.zeros(3)
READ = History(np.array([0.0, 1.0, 5.0]), np.array([80.0, 78.0, 75.0]), NONE + 0.6, NONE, NONE, np.zeros(3, int))


@pytest.mark.parametrize("reading", [-1, 0, 3])
def test_gaps_lie_before_every_reading_but_the_first(reading):
    with pytest.raises(Refusal, match=f"no gap before reading {reading}"):
        Fit(READ, PRIOR).gap(reading, 20.0)


@pytest.mark.parametrize("scale_lbf", [0.0, -1.0, math.inf, math.nan])
def test_a_step_is_looked_for_on_a_scale_above_zero(scale_lbf):
    with pytest.raises(Refusal, match="cannot be looked for"):
        Fit(READ, PRIOR).gap(1, scale_lbf)


@pytest.mark.parametrize(
    "wrong",
    [
        {"drop_high_lbf": 10.0}, {"drop_high_lbf": 9.0}, {"drop_low_lbf": -1.0},
        {"elapsed_high": 1.0}, {"elapsed_high": 0.5}, {"elapsed_low": 0.0}, {"elapsed_low": -1.0},
    ],
)  # fmt: skip
def test_the_ranges_known_before_rise_from_above_zero(wrong):
    with pytest.raises(Refusal, match="priors of drop and time need two rising figures above zero"):
        Fit(READ, PRIOR._replace(**wrong))


@pytest.mark.parametrize("horizon", [0.0, -0.5, -1.0, math.inf, math.nan])
def test_a_horizon_is_a_time(horizon):
    with pytest.raises(Refusal):
        law_share("logarithmic", [1.0], [1.0], horizon)
    with pytest.raises(Refusal):
        shapes(1.0, 504.0, horizon)


@pytest.mark.parametrize(("elapsed", "time"), [(-0.5, 1.0), (1.0, 0.0), (1.0, -1.0), (math.inf, 1.0), (1.0, math.nan)])
def test_time_runs_forward(elapsed, time):
    with pytest.raises(Refusal):
        law_share("exponential", [elapsed], [time], 100.0)


@pytest.mark.parametrize("probability", [0.001, 0.025, 0.4, 0.975, 0.999])
def test_the_quantiles_of_one_wide_normal_are_its_own(probability):
    found = Forecast(np.array([1.0]), np.array([50.0]), 20.0).quantile(probability)
    assert found == pytest.approx(stats.norm.ppf(probability, 50.0, 20.0), abs=1e-3)


@pytest.mark.parametrize("probability", [-0.1, 0.0, 1.0, 1.1, math.nan])
def test_no_value_lies_below_a_probability_that_is_none(probability):
    with pytest.raises(Refusal, match="must lie between 0 and 1"):
        Forecast(np.array([1.0]), np.array([50.0]), 20.0).quantile(probability)


@pytest.mark.parametrize("horizon", [5.0, 4.9, 1.0])
def test_a_forecast_looks_beyond_the_last_reading(horizon):
    with pytest.raises(Refusal, match="must lie after the last reading"):
        Fit(READ, PRIOR._replace(horizon=horizon))
