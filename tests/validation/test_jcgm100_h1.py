"""End-gauge calibration, the GUM's first worked example.

Reference: JCGM 100:2008, "Evaluation of measurement data - Guide to the expression of uncertainty in measurement"
(GUM), annex H.1, "End-gauge calibration", with G.4 for the effective degrees of freedom. Lengths in nm, temperatures
in degree C, as printed there. First order only: H.1.7 adds second-order terms, which this program has no use for.
"""

import math

import pytest

from rigging.measure.student_t import whole
from rigging.measure.uncertainty import Component, arcsine, combine, rectangular

# H.1.3: the estimates
AT = {"l_s": 50_000_623.0, "d": 215.0, "alpha_s": 11.5e-6, "d_alpha": 0.0, "theta": -0.1, "d_theta": 0.0}


def length_nm(l_s, d, alpha_s, d_alpha, theta, d_theta):
    """Equation (H.2): the length of the end gauge at 20 C."""
    return l_s + d - l_s * (d_alpha * theta + alpha_s * d_theta)


def sensitivity(name, step):
    """Partial derivative by a central difference; the equation is linear in each quantity, so the step is free."""
    up, down = ({**AT, name: AT[name] + sign * step} for sign in (1, -1))
    return (length_nm(**up) - length_nm(**down)) / (2 * step)


def component(name, standard_uncertainty, degrees_of_freedom=math.inf):
    step = standard_uncertainty
    return Component(name, abs(sensitivity(name, step)) * standard_uncertainty, degrees_of_freedom)


# H.1.3.2: repeated observations, random and systematic effects of the comparator
D_PARTS = [component("d", 5.8, 24), component("d", 3.9, 5), component("d", 6.7, 8)]
BUDGET = [
    component("l_s", 25.0, 18),
    *D_PARTS,
    component("alpha_s", rectangular(2e-6)),
    component("d_alpha", rectangular(1e-6), 50),
    component("theta", math.hypot(0.2, arcsine(0.5))),
    component("d_theta", rectangular(0.05), 2),
]


def test_the_length():
    assert round(length_nm(**AT)) == 50_000_838


def test_the_comparator():
    # H.1.3.2 and H.1.6: u(d) = 9.7 nm; 25.6 degrees of freedom from the rounded 9.7, and 25.4 from the unrounded
    d = combine(D_PARTS)
    u = d.standard_uncertainty
    assert round(u, 1) == 9.7
    assert round(d.degrees_of_freedom * (9.7 / u) ** 4, 1) == 25.6


@pytest.mark.parametrize(
    ("ours", "printed", "digits"),
    [
        (rectangular(2e-6) * 1e6, 1.2, 1),
        (rectangular(1e-6) * 1e6, 0.58, 2),
        (rectangular(0.05), 0.029, 3),
        (arcsine(0.5), 0.35, 2),
        (math.hypot(0.2, arcsine(0.5)), 0.41, 2),
    ],
)
def test_the_standard_uncertainties_of_table_h_1(ours, printed, digits):
    assert round(ours, digits) == printed


def test_the_contributions_of_table_h_1():
    # 2.9 nm from the difference of the expansions, 16.6 from that of the temperatures; none from alpha_s and theta
    by_name = {c.why: c.standard_uncertainty for c in BUDGET if c.why != "d"}
    assert {name: round(u, 1) for name, u in by_name.items()} == {
        "l_s": 25.0, "alpha_s": 0.0, "d_alpha": 2.9, "theta": 0.0, "d_theta": 16.6
    }  # fmt: skip


def test_the_combined_standard_uncertainty():
    # H.1.4
    assert round(combine(BUDGET).standard_uncertainty) == 32


def test_the_effective_degrees_of_freedom():
    # H.1.6 prints 16.7 from rounded contributions; unrounded it is 16.76. Both are cut to 16
    total = combine(BUDGET)
    assert total.degrees_of_freedom == pytest.approx(16.7, abs=0.1)
    assert whole(total.degrees_of_freedom) == 16


def test_the_coverage_factor():
    # H.1.6: t99(16) = 2.92
    assert round(combine(BUDGET).coverage_factor(0.99), 2) == 2.92


def test_the_expanded_uncertainty():
    # H.1.6: U99 = 2.92 x 32 nm = 93 nm, from u rounded to whole nm; 92.5 nm from the unrounded 31.7
    total = combine(BUDGET)
    assert round(total.coverage_factor(0.99) * round(total.standard_uncertainty)) == 93
    assert total.expanded(0.99) == pytest.approx(93, abs=0.6)
