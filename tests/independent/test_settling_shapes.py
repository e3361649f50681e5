"""Shapes of bedding-in from the rates behind them, integrated in time; their prior from dense sums over the times.

An exponential law loses in proportion to what is left, dg/dt = (1 - g) / tau, a logarithmic one ever more slowly with the
time that has passed, dg/dt = 1 / (t + t0); each scaled to 1 at the horizon. The mixtures of the program stand at places of
a low-discrepancy sequence; what they make of any curve is held to Gauss quadrature over both times and the share.
"""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.stats import norm

from rigging.physics.settling_shapes import law_share, log_centre, log_grid, log_normal, shapes

pytestmark = pytest.mark.slow

YEAR_H = 8760.0
RATES = {
    "exponential": lambda t, g, time: (1 - g) / time,
    "logarithmic": lambda t, g, time: np.full(1, 1 / (t + time)),
}


@pytest.mark.parametrize("law", RATES)
@pytest.mark.parametrize("time", [0.01, 1.0, 22.0, 504.0, 8760.0, 1e6])
def test_the_rate_of_a_law_integrated(law, time, agrees):
    at = np.concatenate([[0.0], np.geomspace(1e-3, YEAR_H, 40)])
    done = solve_ivp(RATES[law], (0, YEAR_H), [0.0], args=(time,), t_eval=at, method="LSODA", rtol=1e-10, atol=1e-14)
    expected = done.y[0] / done.y[0, -1]
    found = law_share(law, at, np.array([time]), YEAR_H)[0]
    agrees("share of the drop, its rate integrated", found, expected, 1e-6, of=1.0)


@pytest.mark.parametrize(("low", "high"), [(1.0, 504.0), (10.0, 100.0), (0.5, 20.0)])
def test_what_the_prior_says_of_any_reading(low, high, agrees):
    """Mean and deviation of g over each law and the mixtures, against dense quadrature of the same prior."""
    horizon = 20 * high
    made = shapes(low, high, horizon)
    at = np.array([0.01 * low, low, math.sqrt(low * high), high, 0.6 * horizon])
    g = np.stack([made.mixed(column) for column in made.pure(at).T])
    middle, deviation = math.log(low * high) / 2, math.log(high / low) / 3.92
    z = (np.arange(2000) + 0.5) / 2000
    times = np.exp(middle + deviation * norm.ppf(z))
    one = np.stack([[law_by_hand(law, t, times, horizon) for t in at] for law in ("exponential", "logarithmic")])
    for law in (0, 1):
        own = made.law == law
        weight = np.exp(made.log_prior[own]) * 3
        agrees("mean share, a law alone", g[:, own] @ weight, one[law].mean(axis=1), 1e-3, of=1.0)
        agrees("mean square, a law alone", (g[:, own] ** 2) @ weight, (one[law] ** 2).mean(axis=1), 2e-3, of=1.0)
    # of a mixture p a + (1-p) b: E = (a + b) / 2, E of the square (aa + ab + bb) / 3 with a and b independent
    first, second = one.mean(axis=2), (one**2).mean(axis=2)
    mean = sum(first[i] + first[j] for i, j in ((0, 0), (0, 1), (1, 1))) / 6
    square = sum(second[i] + first[i] * first[j] + second[j] for i, j in ((0, 0), (0, 1), (1, 1))) / 9
    own = made.law == 2
    agrees("mean share, mixtures", g[:, own].mean(axis=1), mean, 5e-3, of=1.0)
    agrees("mean square, mixtures", (g[:, own] ** 2).mean(axis=1), square, 5e-3, of=1.0)


def law_by_hand(law, t, times, horizon):
    if law == "exponential":
        return (1 - np.exp(-t / times)) / (1 - np.exp(-horizon / times))
    return np.log10(1 + t / times) / np.log10(1 + horizon / times)


def test_the_weights_of_the_grid_are_areas_of_the_normal_curve(agrees):
    grid = log_grid(1.0, 504.0, 385)
    middle, deviation = log_centre(1.0, 504.0)
    edges = np.log(grid)
    half = (edges[1] - edges[0]) / 2
    area = norm.cdf(edges + half, middle, deviation) - norm.cdf(edges - half, middle, deviation)
    agrees("weights of the times, areas of the normal curve", np.exp(log_normal(grid, 1.0, 504.0)), area / area.sum(), 1e-4, of=area.max())  # fmt: skip


def test_limits():
    at = np.array([0.0, 10.0, 100.0])
    # a law far slower than the horizon is a straight line; one far faster is over at once; the logarithm is never over
    for law in RATES:
        assert law_share(law, at, np.array([1e12]), 100.0)[0] == pytest.approx([0.0, 0.1, 1.0], abs=1e-6)
    assert law_share("exponential", at, np.array([1e-9]), 100.0)[0] == pytest.approx([0.0, 1.0, 1.0])
    assert law_share("logarithmic", at, np.array([1e-9]), 100.0)[0, 1] == pytest.approx(
        10 / 11, abs=1e-3
    )  # 1e10 of 1e11
