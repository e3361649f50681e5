"""Risk of accepting what is out of limits, for guard bands w = r U.

Reference: ILAC-G8:09/2019, "Guidelines on decision rules and statements of conformity", table of guard bands with the
specific risk for a single (one-sided) limit, U = 2 u: r = 0.83 less than 5 %, r = 1 less than 2.5 %, r = 1.5 less
than 0.16 %.
"""

import pytest

from rigging.judge.verdict import Word, judge, probability_in_limits
from rigging.measure.student_t import coverage_factor

FAR = -1e6  # a low limit that plays no part


@pytest.mark.parametrize(("r", "risk"), [(0.83, 0.05), (1.0, 0.025), (1.5, 0.0016)])
def test_one_sided_risk_at_the_edge_of_the_guard_band(r, risk):
    u, high = 1.7, 40.0
    false_accept = 1 - probability_in_limits(high - r * 2 * u, FAR, high, u)
    assert 0.8 * risk < false_accept < risk


def test_without_a_guard_band_the_risk_is_half():
    # simple acceptance, w = 0
    assert 1 - probability_in_limits(40.0, FAR, 40.0, 1.7) == pytest.approx(0.5)


def test_a_reading_that_is_just_accepted_is_out_with_one_in_forty_at_most():
    # the program's own U is k u at 95 % and not 2 u: by its definition 2.5 % lie beyond one limit, for any dof
    for dof in (2, 5, 16, 400, float("inf")):
        k = coverage_factor(dof)
        edge = 40.0 - k * 1.7 - 1e-9
        verdict = judge(edge, FAR, 40.0, 1.7, dof, k)
        assert verdict.word is Word.IN
        assert 1 - verdict.probability_in_limits <= 0.025 + 1e-6
