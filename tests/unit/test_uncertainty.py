"""The parts of JCGM 100:2008 (GUM) that every figure passes through."""

import math

import pytest
from scipy import stats

from rigging.measure.uncertainty import Combined, Component, arcsine, combine, mean_and_deviation, rectangular


def test_components_combine_as_the_root_of_the_sum_of_squares():
    assert combine([Component("a", 3.0), Component("b", 4.0)]).standard_uncertainty == pytest.approx(5.0)


def test_effective_dof_by_welch_satterthwaite():
    # G.2b with numbers that can be done in the head: u^4 = 625; 81/3 + 256/8 = 59
    both = combine([Component("a", 3.0, 3), Component("b", 4.0, 8)])
    assert both.degrees_of_freedom == pytest.approx(625 / 59)


def test_one_component_keeps_its_own_dof():
    assert combine([Component("a", 0.3, 7)]).degrees_of_freedom == pytest.approx(7)


def test_without_a_finite_dof_the_result_has_none_either():
    assert math.isinf(combine([Component("a", 1.0), Component("b", 2.0)]).degrees_of_freedom)


def test_expanded_uncertainty_uses_the_dof_cut_to_a_whole_number():
    both = combine([Component("a", 3.0, 3), Component("b", 4.0, 8)])  # 10.59 effective
    assert both.expanded() == pytest.approx(stats.t.ppf(0.975, 10) * 5.0)
    assert both.expanded(0.99) == pytest.approx(stats.t.ppf(0.995, 10) * 5.0)


def test_components_of_zero_are_dropped():
    assert combine([Component("a", 0.0, 1), Component("b", 2.0)]).components == (Component("b", 2.0),)


def test_nothing_uncertain_at_all():
    nothing = combine([])
    assert nothing.standard_uncertainty == 0
    assert nothing.expanded() == 0


@pytest.mark.parametrize("size", [1e-200, 1e-80, 1e80, 1e150])
def test_the_dof_do_not_depend_on_the_unit(size):
    both = combine([Component("a", 3 * size, 3), Component("b", 4 * size, 8)])
    if both.standard_uncertainty > 0:  # 1e-200 squared is nothing
        assert both.degrees_of_freedom == pytest.approx(625 / 59)


def test_rectangular_is_the_deviation_of_equally_likely_values():
    assert rectangular(2.0) == pytest.approx(stats.uniform(-2, 4).std())  # GUM 4.3.7


def test_arcsine_is_the_deviation_of_a_cycle():
    swing = [0.5 * math.sin(2 * math.pi * i / 1000) for i in range(1000)]
    assert arcsine(0.5) == pytest.approx(math.sqrt(sum(x * x for x in swing) / 1000))  # GUM H.1.3.4


def test_mean_and_experimental_deviation():
    mean, deviation = mean_and_deviation([2.0, 4.0, 4.0, 4.0, 5.0, 5.0, 7.0, 9.0])
    assert (mean, deviation) == pytest.approx((5.0, math.sqrt(32 / 7)))


def test_a_single_value_has_no_deviation():
    mean, deviation = mean_and_deviation([31.5])
    assert mean == 31.5
    assert math.isnan(deviation)


def test_equal_values_have_themselves_as_mean_to_the_last_bit():
    # a third of the sum of three 0.7 is not 0.7 in floating point
    assert mean_and_deviation([0.7] * 3) == (0.7, 0.0)


def test_degrees_of_freedom_of_what_is_certain():
    nothing = Combined((Component("a", 0.0, 5),))
    assert math.isinf(nothing.degrees_of_freedom)
    assert nothing.expanded() == 0
