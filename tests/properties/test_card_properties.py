"""What must hold for every card and every reading on it."""

import datetime as dt
from itertools import pairwise

import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from rigging.errors import Refusal
from rigging.measure.card import (
    Card,
    CardColumn,
    dial_to_lbf,
    dial_window,
    interpolation_error_lbf,
    lbf_to_dial,
    local_slope_lbf,
)
from rigging.measure.reading import read_tension
from rigging.source import Basis, Source

pytestmark = pytest.mark.slow

TODAY = dt.date(2026, 11, 25)
TENTHS = st.integers(1, 400).map(lambda n: n / 10)


@st.composite
def columns(draw):
    """A rising card of 2 to 8 points, in tenths as cards are printed."""
    steps = draw(st.lists(st.tuples(TENTHS, TENTHS), min_size=2, max_size=8))
    points, dial, lbf = [], 0.0, 0.0
    for step_dial, step_lbf in steps:
        dial, lbf = round(dial + step_dial, 1), round(lbf + step_lbf, 1)
        points.append((dial, lbf))
    return CardColumn(1, "1/8", points)


@st.composite
def columns_with_dial(draw):
    column = draw(columns())
    return column, draw(st.floats(column.points[0][0], column.points[-1][0]))


def card(column):
    source = Source(Basis.MEASURED, "card")
    return Card("7", dt.date(2026, 1, 15), dt.date(2027, 1, 15), 0.02, 1.0, (column,), source, "card.yaml", "")


@settings(deadline=None)
@given(columns_with_dial())
# a hair below the top, where rounding once led off the card
@example((CardColumn(1, "1/8", [(12.3, 8.2), (51.4, 48.4)]), 51.39999999999999))
def test_to_pounds_and_back(case):
    column, dial = case
    assert lbf_to_dial(column, dial_to_lbf(column, dial)) == pytest.approx(dial, abs=1e-9)


@settings(deadline=None)
@given(columns_with_dial())
def test_a_tension_never_leaves_the_hull_of_its_two_points(case):
    column, dial = case
    lbf = dial_to_lbf(column, dial)
    below = max(t for d, t in column.points if d <= dial)
    above = min(t for d, t in column.points if d >= dial)
    assert below <= lbf <= above


@settings(deadline=None)
@given(columns())
def test_the_points_themselves_are_exact_both_ways(column):
    for dial, lbf in column.points:
        assert dial_to_lbf(column, dial) == lbf
        assert lbf_to_dial(column, lbf) == dial


@settings(deadline=None)
@given(columns_with_dial(), st.floats(0, 1))
def test_more_on_the_dial_is_more_tension(case, share):
    column, dial = case
    higher = dial + share * (column.points[-1][0] - dial)
    assume(dial < higher <= column.points[-1][0])
    assert dial_to_lbf(column, dial) <= dial_to_lbf(column, higher)
    if higher - dial > 1e-9:
        assert dial_to_lbf(column, dial) < dial_to_lbf(column, higher)


@settings(deadline=None)
@given(columns(), st.floats(allow_nan=True, allow_infinity=True))
def test_outside_the_points_there_is_never_a_figure(column, value):
    dials, tensions = zip(*column.points, strict=True)
    for ask, known in ((dial_to_lbf, dials), (lbf_to_dial, tensions)):
        if known[0] <= value <= known[-1]:
            ask(column, value)
            continue
        with pytest.raises(Refusal, match="outside the card's points"):
            ask(column, value)


@settings(deadline=None)
@given(columns_with_dial())
def test_the_slope_is_that_of_the_chord(case):
    column, dial = case
    assume(dial + 1e-3 <= column.points[-1][0] and not any(dial < d <= dial + 1e-3 for d, _ in column.points))
    gain = dial_to_lbf(column, dial + 1e-3) - dial_to_lbf(column, dial)
    assert local_slope_lbf(column, dial) == pytest.approx(gain / 1e-3, rel=1e-6)


@settings(deadline=None)
@given(columns_with_dial())
def test_the_interpolation_error_is_never_negative(case):
    assert interpolation_error_lbf(*case) >= 0


@settings(deadline=None)
@given(columns_with_dial(), st.floats(0, 1), st.sampled_from([0.1, 0.5, 1.0]))
def test_a_dial_window_holds_only_tensions_of_the_band(case, share, division):
    column, dial = case
    low_lbf = dial_to_lbf(column, dial)
    high_lbf = low_lbf + share * (column.points[-1][1] - low_lbf)
    assume(low_lbf < high_lbf <= column.points[-1][1])
    try:
        low, high = dial_window(column, low_lbf, high_lbf, division)
    except Refusal:
        # no division inside: the band spans less than one
        assert lbf_to_dial(column, high_lbf) - lbf_to_dial(column, low_lbf) < division
        return
    for edge in (low, high):
        assert edge / division == pytest.approx(round(edge / division), abs=1e-6)
        assert lbf_to_dial(column, low_lbf) - 1e-6 <= edge <= lbf_to_dial(column, high_lbf) + 1e-6
    # and the next division on either side lies outside
    assert low - division < lbf_to_dial(column, low_lbf) + 1e-6
    assert high + division > lbf_to_dial(column, high_lbf) - 1e-6


@settings(deadline=None)
@given(st.data(), columns())
def test_the_mean_lies_within_its_readings(data, column):
    dials = st.floats(column.points[0][0], column.points[-1][0])
    tension = read_tension(card(column), 1, "1/8", data.draw(st.lists(dials, min_size=1, max_size=6)), TODAY)
    assert min(tension.readings_lbf) <= tension.tension_lbf <= max(tension.readings_lbf)
    assert tension.spread_lbf == max(tension.readings_lbf) - min(tension.readings_lbf)


@settings(deadline=None)
@given(columns(), st.integers(1, 9))
@example(CardColumn(1, "1/8", [(0.7, 10.0), (20.7, 40.0)]), 3)
def test_readings_at_the_edge_of_the_card_are_readings(column, count):
    for dial, lbf in (column.points[0], column.points[-1]):
        assert read_tension(card(column), 1, "1/8", [dial] * count, TODAY).tension_lbf == pytest.approx(lbf)


@settings(deadline=None)
@given(st.data(), columns())
def test_the_same_readings_once_more_are_never_less_sure(data, column):
    dials = st.floats(column.points[0][0], column.points[-1][0])
    pattern = data.draw(st.lists(dials, min_size=2, max_size=4))
    widths = [
        read_tension(card(column), 1, "1/8", pattern * times, TODAY).uncertainty_lbf for times in (1, 2, 3, 5, 10)
    ]
    assert all(later <= earlier * (1 + 1e-9) for earlier, later in pairwise(widths))
