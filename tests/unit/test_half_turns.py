"""Half turns chosen on effects written by hand: so many pounds of each cable for half a turn of each turnbuckle."""

import math

import numpy as np
import pytest

from rigging.errors import Refusal
from rigging.judge.half_turns import Effect, Goal, Turnbuckle, choose, effect
from rigging.physics.circuit import Circuit, Joint, Link

FREE = math.inf
LOOP = Circuit(
    ["quadrant"],
    [
        Link("up", 100.0, None, Joint("quadrant", 1, 3.0)),
        Link("down", 100.0, None, Joint("quadrant", -1, 3.0)),
    ],
    held=[],
)


def turnbuckle(name="t", link=0, least=-10, most=10):
    return Turnbuckle(name, link, 0.05, least, most)


def moves(tension_lbf, per_half_turn, angle_rad=(0.0,), angle_per_half_turn=None):
    """An effect; rows of per_half_turn are cables, its columns turnbuckles."""
    per = np.array(per_half_turn, dtype=float)
    turned = np.zeros((len(angle_rad), per.shape[1])) if angle_per_half_turn is None else np.array(angle_per_half_turn)
    return Effect(np.array(tension_lbf, dtype=float), np.array(angle_rad, dtype=float), per, turned)


def bands(*limits, neutral_rad=(FREE,)):
    low, high = np.array(limits, dtype=float).T
    middle = [(a + b) / 2 if math.isfinite(a) else FREE for a, b in limits]
    return Goal(low, high, np.array(middle), np.array(neutral_rad, dtype=float))


def choice(now, goal, guard_lbf=0.0, turnbuckles=None):
    guard = np.full(len(now.tension_lbf), float(guard_lbf))
    return choose(now, goal, guard, turnbuckles or [turnbuckle()], LOOP)


FREE_BAND = (-FREE, FREE)


def test_after_half_turns_by_hand():
    now = moves([20.0, 30.0], [[10.0, -1.0], [2.0, 5.0]], [0.1], [[0.01, -0.02]])
    tension, angle = now.after(np.array([2.0, -1.0]))
    assert tension == pytest.approx([20 + 20 + 1, 30 + 4 - 5])
    assert angle == pytest.approx([0.1 + 0.02 + 0.02])


def test_the_effect_is_that_of_half_a_turn():
    # quadrant free: the two cables act as springs in a row, 1 / (1/100 + 1/100) = 50 lbf/in in both;
    # taking up 1 in turns it until each gives half an inch at an arm of 3 in
    found = effect(LOOP, [turnbuckle(link=1)], np.array([30.0, 30.0]), np.zeros(1))
    assert found.tension_per_half_turn[:, 0] == pytest.approx([50 * 0.05, 50 * 0.05])
    assert abs(found.angle_per_half_turn[0, 0]) == pytest.approx(0.05 / 2 / 3)


@pytest.mark.parametrize("tension", [[0.0, 30.0], [-1.0, 30.0]])
def test_a_cable_that_reads_nothing_is_taken_up_by_hand_first(tension):
    with pytest.raises(Refusal, match="up hangs slack"):
        effect(LOOP, [turnbuckle()], np.array(tension), np.zeros(1))


@pytest.mark.parametrize("wrong", [math.nan, math.inf, -math.inf])
def test_what_is_no_number_is_refused(wrong):
    for tension, angle in (([wrong, 30.0], [0.0]), ([30.0, 30.0], [wrong])):
        with pytest.raises(Refusal, match="not a finite number"):
            effect(LOOP, [turnbuckle()], np.array(tension), np.array(angle))
    good, band = moves([28.0, 0.0], [[10.0], [0.0]]), bands((35, 49), FREE_BAND)
    wrongly = (
        (moves([wrong, 0.0], [[10.0], [0.0]]), band, 0.0),
        (moves([28.0, 0.0], [[wrong], [0.0]]), band, 0.0),
        (moves([28.0, 0.0], [[10.0], [0.0]], angle_rad=(wrong,)), band, 0.0),
        (good, band, wrong),
        (good, band._replace(low_lbf=np.array([math.nan, -FREE])), 0.0),
        (good, band._replace(neutral_rad=np.array([math.nan])), 0.0),
    )
    for now, goal, guard in wrongly:
        with pytest.raises(Refusal, match="is no number"):
            choice(now, goal, guard)


def test_nothing_to_turn_is_refused():
    now = Effect(np.array([30.0, 30.0]), np.zeros(1), np.zeros((2, 0)), np.zeros((1, 0)))
    with pytest.raises(Refusal, match="no turnbuckle"):
        choose(now, bands((35, 49), FREE_BAND), np.zeros(2), [], LOOP)


def test_the_fewest_half_turns_that_end_inside():
    # 28, 38, 48: both inside 35..49, the first costs less, though 42 is what is aimed at
    found = choice(moves([28.0, 0.0], [[10.0], [0.0]]), bands((35, 49), FREE_BAND))
    assert found.half_turns == (1,)
    assert found.met
    assert found.margin == 1.0


def test_loosening_counts_like_tightening():
    found = choice(moves([75.0, 0.0], [[10.0], [0.0]]), bands((50, 60), FREE_BAND))
    assert found.half_turns == (-2,)


def test_of_equally_few_the_one_nearest_to_the_middle():
    # one half turn of the first ends at 36, of the second at 39, of the third at 45; the middle is 40
    now = moves([28.0, 0.0], [[8.0, 11.0, 17.0], [0.0, 0.0, 0.0]])
    found = choice(now, bands((33, 47), FREE_BAND), turnbuckles=[turnbuckle(n) for n in "abc"])
    assert found.half_turns == (0, 1, 0)


# 28 + 10 = 38 lies 2 lbf inside 36..48, and the threads allow no more
@pytest.mark.parametrize(
    ("guard_lbf", "margin"),
    [(1.9, 1.0), (3.9, 0.5), (5.0, 0.0)],
    ids=["all of the guard band", "half of it", "none of it"],
)
def test_as_much_of_the_guard_band_as_can_be_kept(guard_lbf, margin):
    now = moves([28.0, 0.0], [[10.0], [0.0]])
    found = choice(now, bands((36, 48), FREE_BAND), guard_lbf, [turnbuckle(least=0, most=1)])
    assert (found.half_turns, found.margin, found.stopped_by) == ((1,), margin, ())


def test_a_guard_band_wider_than_the_limits_leaves_no_place_inside():
    # 38..42 drawn in by 3 lbf on both sides is no band; by half of it 39.5..40.5 is
    found = choice(moves([20.0, 0.0], [[10.0], [0.0]]), bands((38, 42), FREE_BAND), 3.0)
    assert (found.half_turns, found.margin) == ((2,), 0.5)


def test_threads_that_are_used_up_stop_it():
    now, goal = moves([20.0, 0.0], [[10.0], [0.0]]), bands((48, 52), FREE_BAND)
    found = choice(now, goal, 0.0, [turnbuckle("T1", least=-1, most=2)])
    assert found.half_turns == (2,)
    assert (found.margin, found.met) == (0.0, False)
    assert found.stopped_by == ("thread window of T1: +3 half turns are needed, -1 to +2 are left: remake the cable",)


@pytest.mark.parametrize(("least", "most"), [(-2, 2), (-2, 3), (-2, 9), (2, 9)])
def test_only_the_turnbuckle_whose_threads_are_used_up_is_named(least, most):
    # each cable has its own; the first needs +2 and may, the second -3 and may not
    now, goal = moves([20.0, 70.0], [[10.0, 0.0], [0.0, 10.0]]), bands((38, 42), (38, 42))
    first = turnbuckle("T1", least=least, most=most)
    found = choice(now, goal, 0.0, [first, turnbuckle("T2", 1, least=-2, most=9)])
    assert found.half_turns == (2, -2)
    assert found.stopped_by == ("thread window of T2: -3 half turns are needed, -2 to +9 are left: remake the cable",)


def test_the_whole_window_may_be_used_both_ways():
    now, goal = moves([20.0, 70.0], [[10.0, 0.0], [0.0, 10.0]]), bands((38, 42), (38, 42))
    found = choice(now, goal, 0.0, [turnbuckle("T1", least=0, most=2), turnbuckle("T2", 1, least=-3, most=0)])
    assert (found.half_turns, found.met) == ((2, -3), True)


def test_a_window_that_begins_beyond_where_it_stands_must_be_entered():
    # threads showing too many: at least two half turns up, or one down, whatever the limits ask
    within = choice(moves([38.0, 0.0], [[2.0], [0.0]]), bands((35, 49), FREE_BAND), 0.0, [turnbuckle(least=2, most=5)])
    assert within.half_turns == (2,)
    down = choice(moves([42.0, 0.0], [[2.0], [0.0]]), bands((35, 49), FREE_BAND), 0.0, [turnbuckle(least=-5, most=-1)])
    assert down.half_turns == (-1,)


def test_half_turns_too_coarse_for_the_limits():
    found = choice(moves([28.0, 0.0], [[10.0], [0.0]]), bands((42, 46), FREE_BAND))
    assert found.stopped_by == (
        "whole half turns are too coarse for these limits:",
        "up ends at 48.0 lbf, its limits are 42.0..46.0",  # by 2 lbf; one half turn less lies 4 lbf outside
    )
    assert found.half_turns == (2,)
    assert found.margin == 0.0


def test_what_no_turnbuckle_can_do_is_told_by_cable_and_sector():
    # what tightens the one slackens the other, and both are to be tighter; the sector is off its mark by itself
    now = moves([20.0, 20.0], [[5.0], [-5.0]], [math.radians(2.0)], [[0.0]])
    found = choice(now, bands((30, 40), (30, 40), neutral_rad=(math.radians(0.5),)))
    assert found.half_turns == (0,)
    assert found.margin == 0.0
    assert found.stopped_by == (
        "up ends at 20.0 lbf, its limits are 30.0..40.0",
        "down ends at 20.0 lbf, its limits are 30.0..40.0",
        "quadrant rests +2.00 deg from its mark, 0.50 deg are allowed",
    )


def test_neutral_is_brought_to_its_mark_as_well():
    # in limits as it stands, but the sector rests 1.2 deg off; each half turn brings back 0.5 deg and 1 lbf
    now = moves([35.0, 35.0], [[1.0], [1.0]], [math.radians(1.2)], [[math.radians(-0.5)]])
    found = choice(now, bands((30, 40), (30, 40), neutral_rad=(math.radians(0.5),)))
    assert (found.half_turns, found.met) == ((2,), True)
    other_way = now._replace(angle_rad=-now.angle_rad)
    found = choice(other_way, bands((30, 40), (30, 40), neutral_rad=(math.radians(0.5),)))
    assert (found.half_turns, found.met) == ((-2,), True)
