"""What must hold for every verdict: the word changes at four places and nowhere else."""

import math
from itertools import pairwise

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from rigging.judge.verdict import Word, judge, probability_in_limits
from rigging.measure.student_t import coverage_factor

pytestmark = pytest.mark.slow

# eighths add up without rounding, so that a boundary is exactly where it is
EIGHTHS = st.integers(1, 1600).map(lambda n: n / 8)
DOF = st.one_of(st.integers(1, 3000).map(float), st.just(math.inf))
TENSION = st.floats(0, 400)


def word(tension, low, high, guard):
    return judge(tension, low, high, guard, coverage_factor=1.0).word


def by_rule(tension, low, high, guard):
    """ILAC-G8:09/2019 with w = U, as the domain notes (4.5) put it."""
    if low + guard <= tension <= high - guard:
        return Word.IN
    if tension < low - guard or tension > high + guard:
        return Word.OUT
    return Word.RE_MEASURE


@settings(deadline=None)
@given(low=EIGHTHS, width=EIGHTHS, guard=EIGHTHS)
def test_at_just_below_and_just_above_each_boundary(low, width, guard):
    high = low + width
    for edge in (low - guard, low + guard, high - guard, high + guard):
        for tension in (math.nextafter(edge, -math.inf), edge, math.nextafter(edge, math.inf)):
            assert word(tension, low, high, guard) is by_rule(tension, low, high, guard)


@settings(deadline=None)
@given(low=EIGHTHS, width=EIGHTHS, guard=EIGHTHS)
def test_out_again_in_again_out_in_this_order(low, width, guard):
    high = low + width
    edges = sorted({low - guard, low + guard, high - guard, high + guard})
    stops = [edges[0] - 1, *((a + b) / 2 for a, b in pairwise(edges)), edges[-1] + 1]
    words = [word(t, low, high, guard) for t in stops]
    accepts = 2 * guard < width
    middle = [Word.RE_MEASURE, Word.IN, Word.RE_MEASURE] if accepts else [Word.RE_MEASURE] * (len(stops) - 2)
    assert words == [Word.OUT, *middle, Word.OUT]


@settings(deadline=None)
@given(tension=TENSION, low=EIGHTHS, width=EIGHTHS, guard=EIGHTHS)
def test_between_the_boundaries_nothing_changes(tension, low, width, guard):
    high = low + width
    assert word(tension, low, high, guard) is by_rule(tension, low, high, guard)


@settings(deadline=None)
@given(tension=TENSION, low=EIGHTHS, width=EIGHTHS, guard=EIGHTHS, more=EIGHTHS)
def test_more_uncertainty_never_makes_a_verdict_out_of_re_measure(tension, low, width, guard, more):
    before, after = (word(tension, low, low + width, g) for g in (guard, guard + more))
    assert after in (before, Word.RE_MEASURE)


@settings(deadline=None)
@given(tension=TENSION, low=EIGHTHS, width=EIGHTHS, guard=EIGHTHS)
def test_the_plain_comparison_and_the_verdict_never_contradict(tension, low, width, guard):
    found = judge(tension, low, low + width, guard, coverage_factor=1.0)
    assert found.plain == ("in" if low <= tension <= low + width else "out")
    if found.word is not Word.RE_MEASURE:
        assert found.word.value == found.plain


@settings(deadline=None)
@given(low=EIGHTHS, width=EIGHTHS, guard=EIGHTHS)
def test_there_is_an_accept_zone_unless_u_is_more_than_half_the_tolerance(low, width, guard):
    found = judge(low + width / 2, low, low + width, guard, coverage_factor=1.0)
    assert found.can_decide is (guard <= width / 2)
    assert (found.word is Word.IN) is found.can_decide


@settings(deadline=None)
@given(tension=st.floats(-1e3, 1e4), low=EIGHTHS, width=EIGHTHS, u=st.floats(1e-6, 1e6), dof=DOF)
# far out both tails round alike, and their difference once came out below zero
@example(tension=44.375, low=9.0, width=3.75, u=0.05, dof=10.0)
def test_a_probability_lies_between_nothing_and_certainty(tension, low, width, u, dof):
    assert 0 <= probability_in_limits(tension, low, low + width, u, dof) <= 1


@settings(deadline=None)
@given(away=st.floats(0, 200), further=st.floats(0, 200), width=EIGHTHS, u=st.floats(0.01, 50), dof=DOF)
def test_the_probability_falls_away_from_the_middle_alike_on_both_sides(away, further, width, u, dof):
    low, high, middle = 100.0, 100.0 + width, 100.0 + width / 2
    above, below, beyond = (
        probability_in_limits(t, low, high, u, dof) for t in (middle + away, middle - away, middle + away + further)
    )
    assert above == pytest.approx(below, abs=1e-9)
    assert beyond <= above + 1e-9


@settings(deadline=None)
@given(tension=TENSION, low=EIGHTHS, width=EIGHTHS, wider=EIGHTHS, u=st.floats(0.01, 50), dof=DOF)
def test_wider_limits_hold_more(tension, low, width, wider, u, dof):
    narrow = probability_in_limits(tension, low, low + width, u, dof)
    assert narrow <= probability_in_limits(tension, low, low + width + wider, u, dof) + 1e-12


@settings(deadline=None)
@given(low=EIGHTHS, guard=EIGHTHS, spare=EIGHTHS, share=st.floats(0, 1), dof=DOF)
def test_what_is_accepted_is_in_with_at_least_nineteen_in_twenty(low, guard, spare, share, dof):
    k = coverage_factor(dof)
    found = judge(low + guard + share * spare, low, low + 2 * guard + spare, guard / k, dof, k * (1 - 1e-9))
    assert found.word is Word.IN
    assert found.probability_in_limits >= 0.95 - 1e-6
