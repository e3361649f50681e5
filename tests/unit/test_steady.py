"""Waiting for a steady temperature: which part is waited for, and when waiting does not help."""

import math

import pytest

from rigging.errors import Refusal, UsageError
from rigging.jobs.steady import Question, in_words, steady, wait_words
from rigging.measure.timed import parse_air, parse_part_reading
from rigging.physics.steady import difference_left_degF, fit_time_constant, time_constant_s, wait_h

# minutes at 8 W/m2K, typed from the table
CABLE, SKIN, CAP, FITTING = 3.7, 4.1, 15.2, 63.3


def ask(*readings, air=("54F",), own=None, named=(), was=None, changed=None, now=None, within=2.0, half=2.0):
    return steady(
        Question(
            air=[parse_air(text) for text in air],
            readings=[parse_part_reading(text) for text in readings],
            own_h={name: minutes / 60 for name, minutes in (own or {}).items()},
            named=named,
            air_was_degF=was,
            changed_h=changed,
            now_h=now,
            within_degF=within,
            half_width_degF=half,
        )
    )


def minutes(result):
    return None if result.wait_h is None else 60 * result.wait_h


def test_the_readings_beat_a_shorter_table():
    # 12 F off, 6 F after 20 min: halves in 20 min, and 6 to 2 F takes ln 3 / ln 2 of them
    result = ask("cap 08:00 66F", "cap 08:20 60F")
    assert minutes(result) == pytest.approx(20 * math.log(3) / math.log(2))
    assert result.slowest.basis == "its readings"
    assert in_words(result) == "wait 35 min: the slowest part is the cap, 6 F from the air"
    assert not result.steady


def test_the_table_beats_a_shorter_figure_from_the_readings():
    # 16 F off, 4 F after 10 min: halves in 5 min, faster than the table
    result = ask("cap 0min 70F", "cap 10min 58F")
    assert 60 * result.slowest.fitted.time_constant_h == pytest.approx(5 / math.log(2))
    assert minutes(result) == pytest.approx(CAP * math.log(2))
    assert result.slowest.basis == "still air, computed"


def test_one_reading_waits_by_the_slow_end_of_the_table():
    assert minutes(ask("fitting 08:00 70F")) == pytest.approx(FITTING * math.log(8))


def test_the_slowest_part_is_waited_for():
    result = ask("cable 08:00 70F", "cap 08:00 70F", named=("fitting",), was=70.0)
    assert [f.name for f in result.following] == ["fitting", "cap", "cable"]
    assert minutes(result) == pytest.approx(FITTING * math.log(8))


def test_without_a_reading_all_parts_of_the_table_are_looked_at():
    result = ask(was=70.0)
    assert [f.name for f in result.following] == ["fitting", "cap", "skin", "cable"]
    assert [60 * f.wait_h for f in result.following] == pytest.approx(
        [x * math.log(8) for x in (FITTING, CAP, SKIN, CABLE)]
    )


def test_time_that_has_passed_since_the_change_counts():
    fresh, later = ask(was=70.0, changed=8.0, now=8.0), ask(was=70.0, changed=8.0, now=9.0)
    assert minutes(fresh) - minutes(later) == pytest.approx(60)
    assert later.following[0].difference_degF == pytest.approx(16 * math.exp(-60 / FITTING))


def test_time_that_has_passed_since_the_last_reading_counts():
    result = ask("cap 08:00 66F", now=8.25)
    assert minutes(result) == pytest.approx(CAP * math.log(6) - 15)
    assert "read it again" in result.slowest.note


def test_steady():
    result = ask("cap 08:00 55.9F", "fitting 08:00 52F")
    assert result.steady
    assert minutes(result) == 0
    assert in_words(result) == "steady: every part looked at is within 2 F of the air at 54 F"


def test_a_structure_that_warms_up_is_the_same():
    assert minutes(ask("cap 08:00 42F", "cap 08:20 48F")) == pytest.approx(
        minutes(ask("cap 08:00 66F", "cap 08:20 60F"))
    )


def test_a_part_that_does_not_come_nearer():
    result = ask("skin 0min 66F", "skin 20min 67F")
    assert minutes(result) is None
    assert result.slowest.state == "does not follow"
    assert "12 F off at first, 13 F now" in in_words(result)


def test_a_part_that_stays_where_it_was_for_long():
    result = ask("skin 0min 66F", "skin 30min 66F")
    assert result.slowest.state == "does not follow"


def test_a_part_much_slower_than_the_table_is_believed():
    # a skin that loses 1 F of 12 in 20 min: 1 F is less than the thermometer tells, but the table says 11 F
    result = ask("skin 0min 66F", "skin 20min 65F")
    assert minutes(result) == pytest.approx(20 / math.log(12 / 11) * math.log(11 / 2))


def test_readings_too_near_together_leave_the_table():
    # a fitting loses 0.4 F of 12 in 2 min
    result = ask("fitting 0min 66F", "fitting 2min 66F")
    assert minutes(result) == pytest.approx(FITTING * math.log(6))
    assert "too near together" in result.slowest.note


def test_a_part_that_went_past_the_air():
    result = ask("skin 0min 66F", "skin 20min 46F")
    assert minutes(result) is None
    assert "went past the air" in in_words(result)


def test_air_that_changes_is_not_steady_and_the_wait_counts_from_its_end():
    result = ask("cap 08:30 60F", air=("08:00 60F", "08:30 54F"))
    assert (result.air_steady, result.steady) == (False, False)
    assert minutes(result) == pytest.approx(CAP * math.log(3))
    assert result.lag_degF == pytest.approx(6 / 30 * CAP)  # rate times time constant
    assert in_words(result).startswith("not steady: the air itself changes, 60 F at first and 54 F now; 20 min more")


def test_air_that_changes_by_less_than_the_thermometer_tells_is_steady():
    assert ask("cap 08:30 54F", air=("08:00 56F", "08:30 54F")).steady
    assert not ask("cap 08:30 54F", air=("08:00 56.1F", "08:30 54F")).steady
    # there and back is no standing still
    assert not ask("cap 09:00 54F", air=("08:00 54F", "08:30 60F", "09:00 54F")).steady


def test_while_the_air_changes_no_reading_is_taken_for_a_law():
    result = ask("cap 08:00 66F", "cap 08:30 66F", air=("08:00 60F", "08:30 54F"))
    assert result.slowest.fitted is None
    assert minutes(result) == pytest.approx(CAP * math.log(6))
    with pytest.raises(Refusal, match="the air changes, and nothing tells how fast 'tube' follows"):
        ask("tube 08:00 66F", "tube 08:30 60F", air=("08:00 60F", "08:30 54F"))


def test_a_part_of_ones_own():
    assert minutes(ask("spar 08:00 66F", own={"spar": 40})) == pytest.approx(40 * math.log(6))
    assert minutes(ask("tube 08:00 66F", "tube 08:20 60F")) == pytest.approx(20 * math.log(3) / math.log(2))
    for readings in (("tube 08:00 66F",), ("tube 08:00 66F", "tube 08:01 65.9F")):
        with pytest.raises(Refusal, match=r"nothing tells how fast 'tube' follows.*--part 'tube=20min'"):
            ask(*readings)


def test_slower_parts_that_were_not_looked_at_are_named():
    assert [p.name for p in ask("cap 08:00 66F").slower] == ["fitting"]
    assert [p.name for p in ask("cable 08:00 66F").slower] == ["skin", "cap", "fitting"]
    assert not ask("fitting 08:00 54F").slower
    assert [p.name for p in ask("spar 08:00 66F", own={"spar": 40}).slower] == ["fitting"]


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        (ask, "nothing to look at"),
        (lambda: ask("cap 08:00 66F", air=()), "give the temperature of the air"),
        (lambda: ask("cap 08:00 66F", air=("54F", "55F")), "the air is given more than once"),
        (lambda: ask("cap 08:20 66F", "cap 08:00 60F"), "readings of cap are not in the order"),
        (lambda: ask("cap 08:20 66F", "cap 08:20 60F"), "readings of cap are not in the order"),
        (lambda: ask("cap 08:20 66F", now=8.0), "--now lies before the last reading"),
        (lambda: ask("cap 08:20 66F", changed=9.0, was=70.0), "--changed lies after now"),
        (lambda: ask(named=("cap",)), "nothing is known of the cap"),
        (lambda: ask(named=("capp",), was=70.0), "unknown part 'capp'.*did you mean 'cap'"),
    ],
)  # fmt: skip
def test_questions_that_cannot_be_right(asked, words):
    with pytest.raises(UsageError, match=words):
        asked()


def test_a_thermometer_too_coarse_for_the_question():
    with pytest.raises(Refusal, match="good to 2 F cannot show that a part is within 1 F"):
        ask("cap 08:00 66F", within=1.0)
    assert minutes(ask("cap 08:00 66F", within=1.0, half=0.5)) == pytest.approx(CAP * math.log(12))


@pytest.mark.parametrize(
    ("time_min", "words"),
    [(31.7, "35 min"), (35, "35 min"), (0.1, "5 min"), (119, "2 h"), (131.6, "2 h 15 min"), (115, "115 min")],
)
def test_a_wait_is_rounded_up_to_five_minutes(time_min, words):
    assert wait_words(time_min / 60) == words


# the model itself outside its range


@pytest.mark.parametrize(
    "figures", [(0, 1, 1, 1), (1, -1, 1, 1), (1, 1, math.nan, 1), (1, 1, 1, math.inf), (1, 1, 1, 1, 0)]
)
def test_a_body_that_is_none(figures):
    with pytest.raises(Refusal):
        time_constant_s(*figures)


def test_times_and_bands_that_are_none():
    for wrong in (
        lambda: wait_h(10, 0, 1),
        lambda: wait_h(10, 2, 0),
        lambda: wait_h(10, 2, math.inf),
        lambda: difference_left_degF(10, -1, 1),
        lambda: fit_time_constant([0], [1], 2),
        lambda: fit_time_constant([0, 1], [1], 2),
        lambda: fit_time_constant([0, 1], [4, 2, 1], 2),
        lambda: fit_time_constant([1, 0], [2, 1], 2),
        lambda: fit_time_constant([0, 1], [2, -1], 2),
        lambda: fit_time_constant([0, 1], [2, 0], 2),
        lambda: fit_time_constant([0, 1], [-2, 0.5], 2),
        lambda: fit_time_constant([0, 1], [-2, 0], 2),
    ):
        with pytest.raises(Refusal):
            wrong()


def test_a_part_that_goes_away_has_no_time_constant():
    assert fit_time_constant([0, 1], [10, 11], 2) is None
    assert fit_time_constant([0, 1], [10, 10], 2) is None


def test_the_interval_is_open_where_the_thermometer_tells_little():
    assert math.isinf(fit_time_constant([0, 0.1], [10, 9], 2).high_h)


@pytest.mark.parametrize("times_h", [(0.0, 0.0), (0.0, 0.5, 0.5), (0.5, 0.5, 1.0), (1.0, 0.5)])
def test_two_readings_at_one_time_tell_no_time_constant(times_h):
    with pytest.raises(Refusal, match="each later than the one before"):
        fit_time_constant(times_h, [16.0, 8.0, 4.0][: len(times_h)], 0.0)
