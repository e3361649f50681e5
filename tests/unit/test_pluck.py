"""Modes of a plucked span to its tension: the fits against other people's sums of the same thing."""

import math

import numpy as np
import pytest
from scipy import optimize

from rigging.errors import Refusal
from rigging.physics.pluck import (
    Mode,
    fitted_tension,
    mass_lbf_s2_per_in2,
    mode_frequency_Hz,
    pinned_line,
    string_tension_lbf,
    tension_share,
)

SPAN_IN, MASS = 72.0, 6.259e-6  # 1/8 7x19: 2.9 lb per 100 ft


def test_the_line_through_the_modes_is_numpys_weighted_line():
    # uncertainties that differ much, and frequencies that lie on no straight line
    modes = [Mode(1, 21.0, 0.3), Mode(2, 41.0, 0.05), Mode(3, 64.5, 0.4), Mode(5, 106.0, 0.1)]
    x = [m.number**2 for m in modes]
    y = [(m.frequency_Hz / m.number) ** 2 for m in modes]
    # u of (f/n)^2 is 2 f u / n^2
    weights = [m.number**2 / (2 * m.frequency_Hz * m.standard_uncertainty_Hz) for m in modes]
    b, a = np.polyfit(x, y, 1, w=weights)
    found = pinned_line(modes, SPAN_IN, MASS)
    assert found.tension_lbf == pytest.approx(4 * MASS * SPAN_IN**2 * a, rel=1e-9)
    # of a pinned beam b = pi^2 EI / (4 m L^4)
    assert found.bending_lbf_in2 == pytest.approx(4 * MASS * SPAN_IN**4 * b / math.pi**2, rel=1e-9)


@pytest.mark.parametrize("ends", ["pinned", "one clamped", "clamped"])
@pytest.mark.parametrize("bending", [1.0, 60.0, 348.0])
def test_the_fitted_tension_is_where_the_modes_lie_nearest(ends, bending):
    """Against a search for the least sum of squares by scipy, frequencies taken off their places on purpose."""
    off = (0.2, -0.15, 0.1)
    modes = [
        Mode(n, mode_frequency_Hz(n, 35.0, SPAN_IN, MASS, bending, ends) + d, u)
        for n, d, u in zip((1, 2, 4), off, (0.2, 0.1, 0.3), strict=True)
    ]

    def squares(tension):
        return sum(
            (
                (m.frequency_Hz - mode_frequency_Hz(m.number, tension, SPAN_IN, MASS, bending, ends))
                / m.standard_uncertainty_Hz
            )
            ** 2
            for m in modes
        )

    nearest = optimize.minimize_scalar(squares, bounds=(20, 60), method="bounded", options={"xatol": 1e-9})
    found = fitted_tension(modes, SPAN_IN, MASS, bending, ends)
    # the slope of h with tension is left out of the fit's own derivative: a small share of what the modes leave open
    assert found.tension_lbf == pytest.approx(nearest.x, abs=0.1 * found.standard_uncertainty_lbf)
    assert found.chi_square == pytest.approx(nearest.fun, rel=0.02)


def test_frequencies_of_a_string_where_no_stiffness_is_given():
    # f_n = n / (2 L) sqrt(T / m)
    expected_Hz = 3 / (2 * SPAN_IN) * math.sqrt(35.0 / MASS)
    assert mode_frequency_Hz(3, 35.0, SPAN_IN, MASS) == pytest.approx(expected_Hz, rel=1e-12)


def test_one_mode_of_a_string():
    found = fitted_tension([Mode(2, 2 * 24.0, 0.1)], SPAN_IN, MASS, 0.0, "pinned")
    assert found.tension_lbf == pytest.approx(4 * MASS * SPAN_IN**2 * 24.0**2, rel=1e-12)
    # T goes with f squared: u(T) / T = 2 u(f) / f
    assert found.standard_uncertainty_lbf == pytest.approx(found.tension_lbf * 2 * 0.1 / 48.0, rel=1e-9)
    assert found.chi_square == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize("weight", [0.0, -1.0, math.inf, math.nan])
def test_a_weight_is_above_zero(weight):
    with pytest.raises(Refusal, match="above zero"):
        mass_lbf_s2_per_in2(weight)


def test_the_mass_of_an_inch():
    # 2.9 lb per 100 ft over 1200 in; a pound weighs a lbf where g is 386.0886 in/s2
    assert mass_lbf_s2_per_in2(2.9) == pytest.approx(2.9 / 1200 / 386.08858, rel=1e-7)


@pytest.mark.parametrize("mode", [0, -1, math.inf, math.nan])
def test_modes_count_from_one(mode):
    with pytest.raises(Refusal, match="modes count from 1"):
        string_tension_lbf(mode, 24.0, SPAN_IN, MASS)
    for xi in (10.0, math.inf):
        with pytest.raises(Refusal, match="modes count from 1"):
            tension_share(mode, xi, "pinned")


@pytest.mark.parametrize("number", [0, -1])
def test_no_line_goes_through_a_mode_that_is_none(number):
    modes = [Mode(number, 20.0, 0.1), Mode(2, 41.0, 0.1), Mode(3, 62.0, 0.1)]
    with pytest.raises(Refusal, match="modes count from 1"):
        pinned_line(modes, SPAN_IN, MASS)
