"""The order of half turns on lattices small enough to walk by hand."""

import numpy as np
import pytest

from rigging.errors import Refusal
from rigging.judge.half_turns import Effect, Turnbuckle
from rigging.judge.turn_order import order


def steps(per_half_turn, goal, ceiling_lbf, floor_lbf, start_lbf=40.0, windows=None):
    """One cable at ``start_lbf``, so many pounds for half a turn of each turnbuckle."""
    per = np.array([per_half_turn], dtype=float)
    now = Effect(np.array([start_lbf]), np.zeros(1), per, np.zeros((1, len(goal))))
    windows = windows or [(-10, 10)] * len(goal)
    turnbuckles = [Turnbuckle(f"T{i}", 0, 0.05, *window) for i, window in enumerate(windows)]
    return order(now, goal, np.array([ceiling_lbf]), np.array([floor_lbf]), turnbuckles)


def test_nothing_to_turn():
    assert steps([10, 10], (0, 0), 100.0, 0.0) == []


def test_one_turnbuckle_goes_straight_there():
    assert steps([10], (3,), 100.0, 0.0) == [(0, 3)]
    assert steps([10], (-3,), 100.0, 0.0) == [(0, -3)]


# the first adds 10 lbf, the second takes 10 away, two half turns of each: only up first keeps between 40 and 60,
# and both ends of that are touched
def test_a_tension_may_touch_its_floor_and_its_ceiling():
    assert steps([10, -10], (2, 2), 60.0, 40.0) == [(0, 2), (1, 2)]
    assert steps([10, -10], (2, 2), 40.0, 20.0) == [(1, 2), (0, 2)]


def test_where_neither_may_go_first_alone_they_take_turns():
    # 50, 40, 30, 40: between 25 and 55 no cable may lie two half turns off; three steps are the fewest
    assert steps([10, -10], (2, 2), 55.0, 25.0) in ([(0, 1), (1, 2), (0, 1)], [(1, 1), (0, 2), (1, 1)])


def test_strictly_in_turn_where_only_one_side_is_open():
    # 50, 40, 50, 40: each half turn of the first is taken back by the second before the next
    assert steps([10, -10], (2, 2), 55.0, 35.0) == [(0, 1), (1, 1), (0, 1), (1, 1)]


def test_a_detour_over_a_third_turnbuckle():
    # 20 lbf up or down is too much at a time: the third gives way by 10 and comes back; it may not go the other way
    found = steps([20, -20, -10], (1, 1, 0), 55.0, 25.0, windows=[(-9, 9), (-9, 9), (0, 9)])
    assert found == [(2, 1), (0, 1), (1, 1), (2, -1)]
    found = steps([20, -20, -10], (1, 1, 0), 55.0, 25.0, windows=[(-9, 9), (-9, 9), (-9, 0)])
    assert found == [(2, -1), (1, 1), (0, 1), (2, 1)]


def test_a_detour_of_three_half_turns():
    # by 30 lbf: the third gives 10 for half a turn and must give three, more than the first width of a detour
    found = steps([50, -50, -10], (1, 1, 0), 60.0, 0.0, windows=[(-9, 9), (-9, 9), (0, 9)])
    assert found == [(2, 3), (0, 1), (1, 1), (2, -3)]


def test_no_detour_without_threads_for_it():
    assert steps([20, -20, -10], (1, 1, 0), 55.0, 25.0, windows=[(-9, 9), (-9, 9), (0, 0)]) is None


def test_no_detour_beyond_four_half_turns():
    # five would be needed: 40 - 50 + 90 = 80
    assert steps([90, -90, -10], (1, 1, 0), 85.0, -15.0, windows=[(-9, 9), (-9, 9), (0, 9)]) is None


def test_a_goal_that_is_out_of_bounds_itself_has_no_way():
    assert steps([10], (2,), 55.0, 0.0) is None
    assert steps([10], (-2,), 100.0, 25.0) is None


def test_a_window_already_passed_does_not_bar_the_way_to_the_goal():
    # threads left say at most one, the plan says two: the plan is walked to its end
    assert steps([5], (2,), 100.0, 0.0, windows=[(0, 1)]) == [(0, 2)]


@pytest.mark.parametrize("detour", [0, 2, 4])
def test_the_way_is_not_made_longer_than_it_must_be(detour):
    windows = [(-detour, 9), (-9, 9)]
    assert sum(abs(n) for _, n in steps([10, -10], (3, 2), 75.0, 25.0, windows=windows)) == 5


@pytest.mark.parametrize(("ceiling_lbf", "floor_lbf"), [(float("nan"), 0.0), (100.0, float("nan"))])
def test_limits_on_the_way_that_are_no_number_are_refused(ceiling_lbf, floor_lbf):
    with pytest.raises(Refusal, match="is no number"):
        steps([10], (3,), ceiling_lbf, floor_lbf)


def test_half_turns_go_with_the_turnbuckles():
    with pytest.raises(Refusal, match="2 counts of half turns do not go with 1 turnbuckles"):
        steps([10], (3, 1), 100.0, 0.0, windows=[(-10, 10)])
