"""Travel, neutral and friction: the word at every boundary, the reason in words, and what is never taken."""

import math

import pytest
from scipy import stats

from rigging.errors import Refusal
from rigging.judge.travel import PROTRACTOR_U_DEG, SPRING_SCALE_U_LBF, judge_angle, judge_friction
from rigging.judge.verdict import Word, judge, probability_in_limits
from rigging.told import shown

IN, OUT, AGAIN = Word.IN, Word.OUT, Word.RE_MEASURE


def below(x):
    return math.nextafter(x, -math.inf)


def above(x):
    return math.nextafter(x, math.inf)


@pytest.mark.parametrize(
    ("angle", "word"),
    [
        (below(17.5), OUT), (17.5, AGAIN), (above(17.5), AGAIN),
        (below(18.5), AGAIN), (18.5, IN), (above(18.5), IN),
        (below(21.5), IN), (21.5, IN), (above(21.5), AGAIN),
        (below(22.5), AGAIN), (22.5, AGAIN), (above(22.5), OUT),
    ],
)  # fmt: skip
def test_the_word_at_just_below_and_just_above_each_boundary_of_a_travel(angle, word):
    # limits 18..22 deg, U 0.5 deg; ILAC-G8:09/2019 with w = U
    assert judge_angle(angle, 18, 22, 0.5).word is word


@pytest.mark.parametrize(
    ("offset", "word"),
    [(below(-1.25), OUT), (-1.25, AGAIN), (below(-0.75), AGAIN), (-0.75, IN), (0.0, IN), (0.75, IN), (above(0.75), AGAIN), (above(1.25), OUT)],
)  # fmt: skip
def test_a_neutral_lies_on_either_side_of_its_mark(offset, word):
    assert judge_angle(offset, -1, 1, 0.25).word is word


@pytest.mark.parametrize(
    ("angle", "plain", "side"),
    [(17, "out", "low"), (18, "in", "low"), (20, "in", None), (22, "in", "high"), (23, "out", "high")],
)
def test_the_plain_comparison_and_the_side(angle, plain, side):
    found = judge_angle(angle, 18, 22, 0.5)
    assert (found.plain, found.side) == (plain, side)


@pytest.mark.parametrize(
    ("value", "low", "high", "words"),
    [
        (18.5, 18, 22, "18.5 deg lies inside 18..22 by more than its uncertainty 0.5 deg"),
        (17.25, 18, 22, "17.25 deg lies 0.75 deg below 18, more than its uncertainty 0.5"),
        (24, 18, 22, "24 deg lies 2 deg above 22, more than its uncertainty 0.5"),
        (18, 18, 22, "18 deg is nearer to 18 than its uncertainty 0.5 deg: in limits with 50 % probability"),
        (-0.001, -1, 1, "0 deg lies inside -1..1 by more than its uncertainty 0.5 deg"),
        # P = Phi(0.4 / (0.5 / 1.96)) - Phi(-0.4 / (0.5 / 1.96)) = 2 Phi(1.568) - 1 = 0.8831
        (0, -0.4, 0.4, "this instrument cannot decide this band: its uncertainty 0.5 deg is more than half of -0.4..0.4; "
         "in limits with 88 % probability"),
    ],
)  # fmt: skip
def test_the_reason_in_words(value, low, high, words):
    assert judge_angle(value, low, high, 0.5).reason == words


def test_where_nobody_says_how_good_the_protractor_is_half_a_degree_is_taken_and_said():
    taken, given = judge_angle(18.5, 18, 22), judge_angle(18.5, 18, 22, 0.5)
    assert PROTRACTOR_U_DEG == 0.5  # practice
    assert (taken.word, taken.guard_deg, taken.probability_in_limits) == (IN, 0.5, given.probability_in_limits)
    assert taken.reason == f"{given.reason}; uncertainty not given, taken as 0.5 deg, that of a protractor (practice)"
    assert "practice" not in given.reason


@pytest.mark.parametrize("value", [17.4, 18.0, 18.7, 21.0, 23.0])
def test_the_probability_is_that_of_a_normal_distribution_whose_95_percent_are_u(value):
    u = 0.5 / 1.96
    expected = stats.norm.cdf((22 - value) / u) - stats.norm.cdf((18 - value) / u)
    assert judge_angle(value, 18, 22, 0.5).probability_in_limits == pytest.approx(expected, abs=1e-12)


def test_degrees_and_pounds_are_judged_by_one_rule():
    for value in (28, 29, 31, 32.5, 35, 38.5, 41, 43):
        angle, tension = judge_angle(value, 30, 40, 1.96), judge(value, 30, 40, 1.0)
        assert (angle.word, angle.side, angle.plain) == (tension.word, tension.side, tension.plain)
        assert angle.probability_in_limits == pytest.approx(tension.probability_in_limits, abs=1e-12)


def test_a_guard_band_is_not_taken_for_that_of_another_quantity():
    angle, tension = judge_angle(20, 18, 22, 0.5), judge(35, 30, 40, 1.0)
    assert (angle.guard_deg, angle.unit) == (0.5, "deg")
    assert (tension.guard_lbf, tension.unit) == (1.96, "lbf")
    with pytest.raises(ValueError, match="in deg, not in lbf"):
        _ = angle.guard_lbf
    with pytest.raises(ValueError, match="in lbf, not in deg"):
        _ = tension.guard_deg


@pytest.mark.parametrize("uncertainty", [0.0, -0.5, math.nan, math.inf])
def test_what_has_no_uncertainty_was_not_measured(uncertainty):
    with pytest.raises(Refusal, match="not measured"):
        judge_angle(20, 18, 22, uncertainty)
    with pytest.raises(Refusal, match="not measured"):
        judge_friction(2, 4, uncertainty)


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_an_angle_that_is_no_number_is_refused(value):
    with pytest.raises(Refusal, match="that was measured"):
        judge_angle(value, 18, 22, 0.5)


@pytest.mark.parametrize(("low", "high"), [(22, 18), (18, 18), (math.nan, 18)])
def test_limits_the_wrong_way_round_are_an_error_of_the_caller(low, high):
    with pytest.raises(ValueError, match="low must lie below high"):
        judge_angle(18, low, high, 0.5)


@pytest.mark.parametrize(
    ("friction", "word", "plain"),
    [
        (0.0, IN, "in"), (below(3.5), IN, "in"), (3.5, IN, "in"), (above(3.5), AGAIN, "in"),
        (4.0, AGAIN, "in"), (above(4.0), AGAIN, "out"), (4.5, AGAIN, "out"), (above(4.5), OUT, "out"),
    ],
)  # fmt: skip
def test_friction_has_a_high_limit_alone(friction, word, plain):
    found = judge_friction(friction, 4, 0.5)
    assert (found.word, found.plain) == (word, plain)
    assert found.side == (None if word is IN else "high")


@pytest.mark.parametrize(
    ("friction", "words"),
    [
        (1.5, "1.5 lies below 4.0 by more than its uncertainty 0.5 lbf"),
        (6.0, "6.0 lies 2.0 lbf above 4.0, more than its uncertainty 0.5"),
        (4.0, "4.0 is nearer to 4.0 than its uncertainty 0.5 lbf: in limits with 50 % probability"),
    ],
)
def test_the_reason_of_a_friction(friction, words):
    assert judge_friction(friction, 4, 0.5).reason == words


def test_the_reason_of_a_friction_in_newton():
    # 1.5, 4 and 0.5 lbf are 6.67, 17.79 and 2.22 N
    assert shown(judge_friction(1.5, 4, 0.5).reason, si=True) == "7 lies below 18 by more than its uncertainty 2 N"


@pytest.mark.parametrize(("uncertainty", "can_decide"), [(3.999, True), (4.0, True), (4.001, False)])
def test_a_scale_coarser_than_the_limit_decides_nothing_not_even_no_friction_at_all(uncertainty, can_decide):
    found = judge_friction(0.0, 4, uncertainty)
    assert found.can_decide is can_decide
    assert found.word is (IN if can_decide else AGAIN)
    # friction is never below zero, but a reading knows nothing of that
    assert (
        "this instrument cannot decide this limit: its uncertainty 4.0 lbf is more than 4.0 itself" in found.reason
    ) is not can_decide


def test_the_usual_spring_scale_is_taken_and_said():
    found = judge_friction(1.5, 4)
    assert SPRING_SCALE_U_LBF == 0.5  # practice
    assert found.guard_lbf == 0.5
    assert found.reason.endswith("; uncertainty not given, taken as 0.5 lbf, that of a spring scale (practice)")


@pytest.mark.parametrize("friction", [-0.001, -5, math.nan, math.inf])
def test_friction_below_zero_is_refused(friction):
    with pytest.raises(Refusal, match="never below zero"):
        judge_friction(friction, 4, 0.5)


@pytest.mark.parametrize("limit", [0, -4, math.nan, math.inf])
def test_a_friction_limit_is_above_zero(limit):
    with pytest.raises(Refusal, match="it must be above zero"):
        judge_friction(1, limit, 0.5)


@pytest.mark.parametrize("dof", [1, 2, 5, 16, 5000, math.inf])
def test_the_probability_below_a_high_limit_alone(dof):
    # one tail of Student's t; past a thousand degrees of freedom the program takes an approximation, good to 1e-6
    t = stats.t(dof) if math.isfinite(dof) else stats.norm()
    assert probability_in_limits(3.0, -math.inf, 4.0, 0.7, dof) == pytest.approx(t.cdf(1 / 0.7), abs=1e-6)
