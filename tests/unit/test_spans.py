"""Spans below zero of lines drawn by hand."""

import pytest

from rigging.physics.spans import Span, below_zero, last_alike


@pytest.mark.parametrize(
    ("margins", "spans"),
    [
        ([1.0, 2.0, 3.0], []),
        ([0.0, 0.0, 0.0], []),
        ([-1.0, -2.0, -1.0], [Span(0, 20)]),
        ([5.0, -5.0, -5.0], [Span(5, 20)]),
        ([-5.0, -5.0, 5.0], [Span(0, 15)]),
        ([5.0, -5.0, 15.0], [Span(5, 12.5)]),
        ([-5.0, 5.0, -15.0], [Span(0, 5), Span(12.5, 20)]),
        # a line that starts from zero or ends on it
        ([0.0, -5.0, 0.0], [Span(0, 20)]),
        ([-5.0, 0.0, 5.0], [Span(0, 10)]),
        ([5.0, 0.0, -5.0], [Span(10, 20)]),
        # one that touches zero and goes back is one span, or two that meet there
        ([-5.0, 0.0, -5.0], [Span(0, 20)]),
        # no span reaches into a piece with an open end
        ([-5.0, None, -5.0], []),
        ([-5.0, -5.0, None], [Span(0, 10)]),
        ([None, -5.0, -5.0], [Span(10, 20)]),
    ],
)
def test_where_a_line_lies_below_zero(margins, spans):
    assert below_zero([0.0, 10.0, 20.0], margins) == spans


@pytest.mark.parametrize(("near", "far"), [(-65.0, 160.0), (160.0, -65.0)])
def test_the_last_temperature_alike_from_either_side(near, far):
    change = 37.123456789
    found = last_alike(near, far, lambda at: (at < change) == (near < change))
    assert found == pytest.approx(change, abs=1e-12)


def test_a_margin_may_step_at_one_temperature():
    assert below_zero([0.0, 10.0, 10.0, 20.0], [5.0, 5.0, -5.0, -5.0]) == [Span(10, 20)]
