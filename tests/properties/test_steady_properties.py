"""What must hold for every part that follows the air, and how often the interval of its time constant is right."""

import math
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rigging.jobs.steady import Question, steady, wait_words
from rigging.measure.timed import Time, Timed
from rigging.physics.steady import difference_left_degF, fit_time_constant, wait_h

pytestmark = pytest.mark.slow

DIFFERENCES = st.floats(2.1, 120) | st.floats(-120, -2.1)
CONSTANTS_H = st.floats(0.02, 3)


@given(DIFFERENCES, CONSTANTS_H, st.floats(0.5, 20))
def test_after_the_wait_a_part_is_within_and_not_before(difference, constant_h, within):
    wait = wait_h(difference, within, constant_h)
    assert abs(difference_left_degF(difference, wait, constant_h)) <= within * (1 + 1e-9)
    if wait > 1e-6:
        assert abs(difference_left_degF(difference, 0.99 * wait, constant_h)) > within


@given(DIFFERENCES, CONSTANTS_H, st.floats(0, 3), st.floats(0, 3))
def test_two_waits_are_one(difference, constant_h, first_h, second_h):
    then = difference_left_degF(difference_left_degF(difference, first_h, constant_h), second_h, constant_h)
    assert then == pytest.approx(difference_left_degF(difference, first_h + second_h, constant_h), rel=1e-9, abs=1e-300)


@given(DIFFERENCES, CONSTANTS_H, st.lists(st.floats(0.01, 1), min_size=1, max_size=6))
def test_exact_readings_give_the_time_constant_back(difference, constant_h, pauses):
    times = [0.0]
    for pause in pauses:
        times.append(times[-1] + pause * constant_h)
    differences = [difference * math.exp(-t / constant_h) for t in times]
    found = fit_time_constant(times, differences, 2.0)
    assert found.time_constant_h == pytest.approx(constant_h, rel=1e-6)
    assert found.low_h < constant_h < found.high_h


def test_the_interval_of_a_time_constant_holds_it_in_95_of_100():
    rng = random.Random(2026)
    held = trials = 0
    for _ in range(3000):
        constant, start = rng.uniform(0.1, 1.5), rng.choice((-1, 1)) * rng.uniform(12, 40)
        times = [constant * x for x in (0.0, 0.4, 0.8, 1.2)[: rng.choice((2, 3, 4))]]
        seen = [start * math.exp(-t / constant) + rng.uniform(-2, 2) for t in times]
        found = fit_time_constant(times, seen, 2.0)
        trials += 1
        held += found is not None and found.low_h <= constant <= found.high_h
    assert held / trials >= 0.95


def ask(readings, air_degF=54.0, within=2.0, **more):
    return steady(
        Question(
            air=[Timed("", None, air_degF)],
            readings=[Timed(part, Time(t, False), x) for part, t, x in readings],
            own_h={}, named=[], air_was_degF=None, changed_h=None, now_h=None, within_degF=within, half_width_degF=2.0, **more,
        )
    )  # fmt: skip


@given(st.floats(-20, 120), st.floats(-20, 120), st.floats(0.02, 2), st.floats(-20, 120))
def test_every_pair_of_readings_has_an_answer(first, second, pause_h, air):
    result = ask([("cap", 0.0, first), ("cap", pause_h, second)], air)
    cap = result.slowest
    if abs(second - air) <= 2:
        assert result.steady
    else:
        assert not result.steady
        # never shorter than the table says
        assert cap.wait_h is None or cap.wait_h >= cap.table.longest_h * math.log(abs(second - air) / 2) * (1 - 1e-9)


@given(st.floats(60, 120), st.floats(60, 120), st.floats(0.05, 2))
def test_structure_and_air_mirrored_wait_as_long(first, second, pause_h):
    up = ask([("cap", 0.0, first), ("cap", pause_h, second)], 54.0)
    down = ask([("cap", 0.0, 108 - first), ("cap", pause_h, 108 - second)], 54.0)
    assert up.wait_h == pytest.approx(down.wait_h) if up.wait_h is not None else down.wait_h is None


@given(st.floats(60, 120), st.floats(2, 5), st.floats(2, 5))
def test_who_asks_for_less_waits_no_longer(temperature, within, more):
    near, far = (ask([("cap", 0.0, temperature)], within=w) for w in (within, within + more))
    assert far.wait_h <= near.wait_h


@given(st.floats(0, 100))
def test_a_wait_in_words_is_never_shorter(time_h):
    words = wait_words(time_h).split()
    said = int(words[0]) if words[1] == "min" else 60 * int(words[0]) + (int(words[2]) if len(words) > 2 else 0)
    assert said % 5 == 0
    assert 60 * time_h - 1e-4 <= said < 60 * time_h + 5
