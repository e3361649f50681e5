"""What must hold for any side pull, any plucked span, any gauge and any set of methods."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rigging.measure.agree import Method, agreement
from rigging.physics.bending import BendingRange
from rigging.physics.clamp import gauge_rise
from rigging.physics.pluck import PLUCK_ENDS, Mode, fitted_tension, mode_frequency_Hz, stiff_factor
from rigging.physics.side_pull import (
    ENDS,
    path_growth_in,
    pull_force_lbf,
    pulled_tension_lbf,
    pulled_way_in,
    string_share,
)

pytestmark = pytest.mark.slow

TENSIONS = st.floats(5.0, 400.0)
SPANS = st.floats(12.0, 240.0)
BENDINGS = st.floats(0.01, 5000.0)
PLACES = st.floats(0.2, 0.8)
SLOPES = st.floats(0.001, 0.1)


@given(TENSIONS, SPANS, PLACES, SLOPES, BENDINGS, st.sampled_from(ENDS))
def test_pull_and_tension_are_each_others_inverse(tension, span, place, slope, bending, ends):
    at = place * span
    d = slope * min(at, span - at)
    force = pull_force_lbf(tension, d, span, at, 0.0, bending, ends)
    assert pulled_tension_lbf(force, d, span, at, bending, ends) == pytest.approx(tension, rel=1e-6)


@given(TENSIONS, SPANS, PLACES, BENDINGS)
def test_clamped_gives_way_less_than_pinned_and_pinned_less_than_a_string(tension, span, place, bending):
    pinned, held = (string_share(tension, span, place * span, bending, ends) for ends in ENDS)
    assert 0 < held <= pinned * (1 + 1e-9) and pinned <= 1


@given(TENSIONS, SPANS, PLACES, BENDINGS, st.sampled_from(ENDS))
def test_from_which_end_a_place_is_told_does_not_matter(tension, span, place, bending, ends):
    one = string_share(tension, span, place * span, bending, ends)
    assert string_share(tension, span, span - place * span, bending, ends) == pytest.approx(one, rel=1e-6)


@given(SPANS, PLACES, st.floats(1e-6, 5.0))
def test_the_way_only_grows(span, place, d):
    growth = path_growth_in(span, place * span, d)
    assert growth > 0
    # never more than straight there and back
    assert growth <= 2 * d


@given(st.integers(1, 12), st.floats(1.0, 1e6))
def test_ends_held_tighter_ring_higher(mode, xi):
    pinned, one, both = (stiff_factor(mode, xi, ends) for ends in PLUCK_ENDS)
    assert 1 <= pinned <= one * (1 + 1e-12) and one <= both * (1 + 1e-12)


@given(st.floats(5.0, 1e4), st.sampled_from(PLUCK_ENDS))
def test_modes_rise_and_stretch(xi, ends):
    factors = [stiff_factor(n, xi, ends) for n in range(1, 9)]
    assert factors == sorted(factors)


@given(
    TENSIONS,
    st.floats(24.0, 200.0),
    st.floats(0.5, 400.0),
    st.sampled_from(PLUCK_ENDS),
    st.sets(st.integers(1, 9), min_size=1),
)
def test_a_span_gives_its_tension_back_once_its_stiffness_is_known(tension, span, bending, ends, numbers):
    mass = 6.26e-6
    modes = [Mode(n, mode_frequency_Hz(n, tension, span, mass, bending, ends), 0.1) for n in sorted(numbers)]
    found = fitted_tension(modes, span, mass, bending, ends)
    assert found.tension_lbf == pytest.approx(tension, rel=1e-5)
    assert found.chi_square < 1e-3


@given(st.floats(0.01, 0.18), st.floats(1.5, 10.0), st.floats(0.0, 1e4), st.floats(1.0, 3.0), TENSIONS, BENDINGS)
def test_a_gauge_only_adds_and_adds_more_on_a_stiffer_circuit(d, anvils, k, times, tension, bending):
    between = BendingRange(bending / 381, bending)
    one, more = (gauge_rise(d, anvils, x, tension, between, 30.0) for x in (k, k * times))
    assert 0 <= one.string_lbf <= one.least_raise_lbf * (1 + 1e-6) <= one.most_raise_lbf * (1 + 1e-6)
    assert one.most_raise_lbf <= more.most_raise_lbf * (1 + 1e-12)


@given(SPANS, PLACES, SLOPES, TENSIONS, BENDINGS, st.sampled_from(ENDS))
def test_a_bent_cable_goes_at_most_a_fifth_further_than_straight_flanks(span, place, slope, tension, bending, ends):
    at = place * span
    d = slope * min(at, span - at)
    way = pulled_way_in(d, span, at, tension, bending, ends)
    # 6/5: pinned ends, pulled at the middle, no tension; more towards an end and for clamped ends, 1.8 at a fifth
    assert 1 - 1e-6 <= way / path_growth_in(span, at, d) <= 1.8


METHODS = st.lists(st.tuples(st.floats(0.0, 500.0), st.floats(0.01, 50.0)), min_size=2, max_size=6)


@given(METHODS)
def test_the_combined_figure_lies_among_its_parts_and_is_surer_than_each(pairs):
    found = agreement([Method(f"m{i}", t, u) for i, (t, u) in enumerate(pairs)])
    assert min(t for t, _ in pairs) - 1e-9 <= found.tension_lbf <= max(t for t, _ in pairs) + 1e-9
    assert found.standard_uncertainty_lbf <= min(u for _, u in pairs) * (1 + 1e-12)
    assert 0 <= found.probability <= 1


@given(METHODS, st.randoms())
def test_the_order_of_methods_does_not_matter(pairs, random):
    methods = [Method(f"m{i}", t, u) for i, (t, u) in enumerate(pairs)]
    shuffled = list(methods)
    random.shuffle(shuffled)
    one, other = agreement(methods), agreement(shuffled)
    assert one.tension_lbf == pytest.approx(other.tension_lbf)
    assert math.isclose(one.chi_square, other.chi_square, rel_tol=1e-6, abs_tol=1e-9)
