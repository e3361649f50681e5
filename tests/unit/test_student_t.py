"""Student's t in closed form, held to scipy's values."""

import math

import pytest
from scipy import stats

from rigging.measure.student_t import NORMAL_FROM_DOF, cdf, coverage_factor, whole


@pytest.mark.parametrize("t", [-1e6, -40.0, -3.0, -0.7, 0.0, 0.25, 1.0, 1.96, 2.92, 12.7, 1e6])
def test_cdf_is_scipys_for_every_whole_dof_to_2000(t):
    ours = [cdf(t, dof) for dof in range(1, 2001)]
    assert ours == pytest.approx(stats.t.cdf(t, range(1, 2001)), abs=1e-9)


@pytest.mark.parametrize("probability", [0.5, 0.6827, 0.95, 0.99])
def test_coverage_factor_is_scipys_up_to_the_longest_sum(probability):
    # every whole number where a reading can have it, then odd and even ones up to 2000
    dofs = [*range(1, 201), *range(201, 1990, 37), *range(1990, 2001)]
    ours = [coverage_factor(dof, probability) for dof in dofs]
    assert ours == pytest.approx(stats.t.ppf((1 + probability) / 2, dofs), rel=1e-9)


@pytest.mark.parametrize("dof", [2001, 5000, 100_000, NORMAL_FROM_DOF - 1, NORMAL_FROM_DOF, 1e12])
def test_coverage_factor_beyond_the_sum_keeps_to_three_in_a_million(dof):
    assert coverage_factor(dof) == pytest.approx(stats.t.ppf(0.975, dof), abs=3e-6)


def test_infinite_dof_is_the_normal_distribution():
    assert coverage_factor(math.inf) == pytest.approx(stats.norm.ppf(0.975), rel=1e-12)
    assert cdf(1.0, math.inf) == pytest.approx(stats.norm.cdf(1.0), rel=1e-12)


@pytest.mark.parametrize(("dof", "cut"), [(0.2, 1), (1.0, 1), (16.76, 16), (16.999999, 16), (17.0, 17)])
def test_effective_dof_are_cut_to_the_next_lower_whole_number(dof, cut):
    # JCGM 100:2008, G.4.1
    assert whole(dof) == cut
    assert coverage_factor(dof) == coverage_factor(cut)


def test_infinite_dof_stay():
    assert math.isinf(whole(math.inf))


@pytest.mark.parametrize("dof", [1, 2, 7, 16, 400, 5000, math.inf])
def test_cdf_is_symmetric_and_one_half_at_zero(dof):
    assert cdf(0.0, dof) == 0.5
    assert cdf(-1.3, dof) == pytest.approx(1 - cdf(1.3, dof), abs=1e-14)


def test_coverage_factor_falls_with_dof():
    factors = [coverage_factor(dof) for dof in (1, 2, 3, 5, 10, 30, 100, 1000, 2000, 2001, 10_000, math.inf)]
    assert factors == sorted(factors, reverse=True)
