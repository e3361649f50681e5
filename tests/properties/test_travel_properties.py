"""What must hold for every verdict on an angle or a friction."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rigging.judge.travel import judge_angle, judge_friction
from rigging.judge.verdict import Word

pytestmark = pytest.mark.slow

# eighths of a degree add up without rounding, so that a boundary is exactly where it is
EIGHTHS = st.integers(1, 400).map(lambda n: n / 8)
EDGE = st.integers(-800, 800).map(lambda n: n / 8)


def by_rule(value, low, high, guard):
    """ILAC-G8:09/2019 with w = U, as the domain notes (4.5) put it."""
    if low + guard <= value <= high - guard:
        return Word.IN
    if value < low - guard or value > high + guard:
        return Word.OUT
    return Word.RE_MEASURE


@given(low=EDGE, width=EIGHTHS, guard=EIGHTHS)
def test_at_just_below_and_just_above_each_boundary(low, width, guard):
    high = low + width
    for edge in (low - guard, low + guard, high - guard, high + guard):
        for value in (math.nextafter(edge, -math.inf), edge, math.nextafter(edge, math.inf)):
            assert judge_angle(value, low, high, guard).word is by_rule(value, low, high, guard)


@given(value=EDGE, low=EDGE, width=EIGHTHS, guard=EIGHTHS)
def test_a_surface_that_turns_the_other_way_is_judged_alike(value, low, width, guard):
    there, back = judge_angle(value, low, low + width, guard), judge_angle(-value, -low - width, -low, guard)
    assert (there.word, there.plain) == (back.word, back.plain)
    assert there.probability_in_limits == pytest.approx(back.probability_in_limits, abs=1e-12)
    if value != low + width / 2:
        assert there.side == {"low": "high", "high": "low", None: None}[back.side]


@given(value=EDGE, low=EDGE, width=EIGHTHS, guard=EIGHTHS, more=EIGHTHS)
def test_a_coarser_protractor_never_accepts_or_rejects_more(value, low, width, guard, more):
    fine, coarse = (judge_angle(value, low, low + width, g).word for g in (guard, guard + more))
    assert coarse in (fine, Word.RE_MEASURE)


@given(value=EDGE, low=EDGE, width=EIGHTHS, guard=EIGHTHS)
def test_what_is_accepted_is_in_with_at_least_nineteen_in_twenty(value, low, width, guard):
    found = judge_angle(value, low, low + width, guard)
    if found.word is Word.IN:
        assert found.probability_in_limits >= 0.95
    if found.word is Word.OUT:
        assert found.probability_in_limits <= 0.05


@given(friction=st.integers(0, 800).map(lambda n: n / 8), limit=EIGHTHS, guard=EIGHTHS)
def test_friction_is_accepted_below_its_limit_alone(friction, limit, guard):
    found = judge_friction(friction, limit, guard)
    assert found.word is by_rule(friction, -math.inf, limit, guard)
    assert 0 <= found.probability_in_limits <= 1
    if found.word is Word.IN:
        assert found.can_decide


@given(friction=EIGHTHS, limit=EIGHTHS, guard=EIGHTHS, less=st.floats(0, 1))
def test_less_friction_is_never_judged_worse(friction, limit, guard, less):
    order = [Word.IN, Word.RE_MEASURE, Word.OUT]
    before, after = (judge_friction(f, limit, guard) for f in (friction, friction * less))
    assert order.index(after.word) <= order.index(before.word)
    assert after.probability_in_limits >= before.probability_in_limits - 1e-12
