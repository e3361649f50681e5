"""The grid of time constants and its prior, against the log-normal distribution that they stand for."""

import math

import numpy as np
import pytest
from scipy import stats

from rigging.physics.settling_shapes import MIXTURES, REACH, TIMES, law_share, log_centre, log_grid, log_normal, shapes


@pytest.mark.parametrize(("low", "high"), [(1.0, 504.0), (10.0, 100.0), (0.5, 0.6)])
def test_a_range_holds_95_per_cent_of_its_logarithm(low, high):
    # 95 % by its definition, 2.5 % on either side; the distribution is scipy's
    middle, deviation = log_centre(low, high)
    inside = stats.norm.cdf(math.log(high), middle, deviation) - stats.norm.cdf(math.log(low), middle, deviation)
    assert inside == pytest.approx(0.95, abs=1e-4)
    assert stats.norm.cdf(math.log(low), middle, deviation) == pytest.approx(0.025, abs=1e-4)


@pytest.mark.parametrize(("low", "high"), [(1.0, 504.0), (10.0, 100.0), (0.5, 0.6)])
def test_the_grid_reaches_as_far_on_both_sides(low, high):
    grid = log_grid(low, high, 41)
    middle, deviation = math.log(low * high) / 2, math.log(high / low) / 3.92
    assert len(grid) == 41
    assert np.log(grid[[0, 20, -1]]) == pytest.approx([middle - REACH * deviation, middle, middle + REACH * deviation])
    assert np.diff(np.log(grid)) == pytest.approx(np.full(40, REACH * deviation / 20))


def test_the_prior_is_the_normal_distribution_of_the_logarithm():
    grid = log_grid(1.0, 504.0, 201)
    weights = np.exp(log_normal(grid, 1.0, 504.0))
    assert weights.sum() == pytest.approx(1.0)
    density = stats.norm.pdf(np.log(grid), math.log(504) / 2, math.log(504) / 3.92)
    assert weights == pytest.approx(density / density.sum())


def test_each_law_has_a_third_of_the_prior():
    made = shapes(1.0, 504.0, 8760.0)
    prior = np.exp(made.log_prior)
    for law in range(3):
        assert prior[made.law == law].sum() == pytest.approx(1 / 3)
    assert (made.law == 2).sum() == 3 * MIXTURES


def test_mixtures_draw_their_times_from_the_same_prior():
    """Fast and slow part each: quantiles against the log-normal, as near as so few draws and so coarse a grid can be."""
    made = shapes(1.0, 504.0, 8760.0)
    mixed, count = made.law == 2, len(made.times)
    middle, deviation = math.log(504) / 2, math.log(504) / 3.92
    step = 2 * REACH * deviation / TIMES
    for which in (made.first, made.second):
        drawn = np.log(made.times[which[mixed] % count])
        assert np.quantile(drawn, [0.1, 0.5, 0.9]) == pytest.approx(
            stats.norm.ppf([0.1, 0.5, 0.9], middle, deviation), abs=2 * step
        )
    # the share of the first part is even between none and all
    assert np.quantile(made.part[mixed], [0.1, 0.5, 0.9]) == pytest.approx([0.1, 0.5, 0.9], abs=0.05)


def test_mixtures_are_of_two_exponentials_two_logarithms_and_one_of_each():
    made = shapes(1.0, 504.0, 8760.0)
    count = len(made.times)
    logarithmic = np.stack([made.first >= count, made.second >= count])[:, made.law == 2].sum(axis=0)
    assert [(logarithmic == n).sum() for n in (0, 1, 2)] == [MIXTURES] * 3
    assert made.first.max() < 2 * count and made.first.min() >= 0


def test_a_share_of_a_mixture_is_the_mixture_of_shares():
    made = shapes(1.0, 504.0, 8760.0)
    at = np.array([3.0, 50.0, 1000.0])
    pure = made.pure(at)
    whole = np.stack([made.mixed(pure[:, i]) for i in range(3)], axis=1)
    count = len(made.times)
    laws = [law_share(law, at, made.times, 8760.0) for law in ("exponential", "logarithmic")]
    for i in (0, 7, count + 9, 2 * count, 2 * count + MIXTURES + 5, len(made.law) - 1):
        first, second = (laws[which // count][which % count] for which in (made.first[i], made.second[i]))
        assert whole[i] == pytest.approx(made.part[i] * first + (1 - made.part[i]) * second)
        if i < 2 * count:
            assert whole[i] == pytest.approx(laws[i // count][i % count])


def test_the_quadratic_form_of_a_mixture_by_the_long_way():
    made = shapes(1.0, 504.0, 8760.0)
    at = np.array([3.0, 50.0, 1000.0])
    form = np.array([[2.0, 0.3, 0.1], [0.3, 1.0, -0.2], [0.1, -0.2, 3.0]])
    pure = made.pure(at)
    whole = np.stack([made.mixed(pure[:, i]) for i in range(3)], axis=1)
    expected = np.einsum("si,ij,sj->s", whole, form, whole)
    assert made.squared(pure, pure @ form) == pytest.approx(expected, rel=1e-9)
