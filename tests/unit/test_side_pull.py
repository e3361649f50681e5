"""Side pull: where a span may be pulled and how far, to the last place inside and the first outside."""

import math

import pytest
from scipy import optimize

from rigging.errors import Refusal
from rigging.physics.side_pull import (
    check_pull,
    left_out_share,
    path_growth_in,
    pull_force_lbf,
    pulled_tension_lbf,
    pulled_way_in,
    string_share,
)


@pytest.mark.parametrize("at_in", [12.0, 30.0, 48.0])
def test_the_middle_three_fifths_may_be_pulled(at_in):
    check_pull(1.0, 0.5, 60.0, at_in)


@pytest.mark.parametrize("at_in", [11.99, 48.01, 0.0, 60.0, 61.0, -1.0])
def test_nearer_to_an_end_may_not(at_in):
    with pytest.raises(Refusal, match="middle three fifths"):
        check_pull(1.0, 0.5, 60.0, at_in)


# slope 0.15 on the shorter side: 2.25 in at 15 in from either end of 60 in, 4.5 in at the middle
@pytest.mark.parametrize(("at_in", "most_in"), [(15.0, 2.25), (45.0, 2.25), (30.0, 4.5)])
def test_the_steeper_side_decides(at_in, most_in):
    check_pull(1.0, most_in - 0.01, 60.0, at_in)
    check_pull(1.0, most_in, 60.0, at_in)
    with pytest.raises(Refusal, match=r"too steep \(0.15, at most 0.15\)"):
        check_pull(1.0, most_in + 0.01, 60.0, at_in)


@pytest.mark.parametrize("value", [0.0, -1.0, math.inf, math.nan])
def test_nothing_pulls_deflects_or_spans_nothing(value):
    with pytest.raises(Refusal, match="a pull of"):
        check_pull(value, 0.5, 60.0, 30.0)
    with pytest.raises(Refusal, match="a deflection of"):
        check_pull(1.0, value, 60.0, 30.0)
    with pytest.raises(Refusal, match="a span of"):
        check_pull(1.0, 0.5, value, 30.0)


def test_a_string_pulled_off_its_middle_by_its_own_triangle():
    # 36 + 64 = 100 in, 4.8 in aside: slopes 4.8 / hypot(36, 4.8) and 4.8 / hypot(64, 4.8) carry 10 lbf
    slopes = 4.8 / math.hypot(36, 4.8) + 4.8 / math.hypot(64, 4.8)
    assert pulled_tension_lbf(10.0, 4.8, 100.0, 36.0) == pytest.approx(10 / slopes, rel=1e-12)
    # the way grows by what Pythagoras says, and a circuit of 50 lbf/in tightens by as much
    grown_in = math.hypot(36, 4.8) + math.hypot(64, 4.8) - 100
    assert path_growth_in(100.0, 36.0, 4.8) == pytest.approx(grown_in, rel=1e-9)
    assert pull_force_lbf(35.0, 4.8, 100.0, 36.0, 50.0) == pytest.approx((35 + 50 * grown_in) * slopes, rel=1e-12)


# a simple beam under a force at a: d = F a^2 b^2 / (3 EI L); fixed at both ends d = F a^3 b^3 / (3 EI L^3) (textbooks)
@pytest.mark.parametrize("at_in", [15.0, 30.0, 40.0])
@pytest.mark.parametrize(("ends", "power"), [("pinned", 2), ("clamped", 3)])
def test_a_span_that_hangs_loose_is_a_beam(at_in, ends, power):
    a, b, span, bending, tension = at_in, 60.0 - at_in, 60.0, 300.0, 1e-7
    beam = (a * b) ** power / (3 * bending * span ** (2 * power - 3))
    string = a * b / span / tension
    assert string_share(tension, span, at_in, bending, ends) == pytest.approx(beam / string, rel=1e-4)


@pytest.mark.parametrize("ends", ["pinned", "clamped"])
def test_where_bending_carries_all_of_the_pull_no_tension_is_left(ends):
    power = {"pinned": 2, "clamped": 3}[ends]
    # what the beam alone answers to a hundredth of a pound with
    alone_in = 0.01 * (30.0 * 30.0) ** power / (3 * 300.0 * 60.0 ** (2 * power - 3))
    assert pulled_tension_lbf(0.01, 1.01 * alone_in, 60.0, 30.0, 300.0, ends) == 0.0
    assert pulled_tension_lbf(0.01, 0.95 * alone_in, 60.0, 30.0, 300.0, ends) > 0.0


@pytest.mark.parametrize("share", [-0.01, 1.01, math.inf, math.nan])
def test_a_share_of_a_string_lies_from_none_to_all(share):
    with pytest.raises(Refusal, match="outside 0 to 1"):
        left_out_share(0.6, 60.0, 30.0, share)


def test_a_whole_string_is_a_share_too():
    # slope 0.02 on either side, and nothing of a beam: 0.15 of its square
    assert left_out_share(0.6, 60.0, 30.0, 1.0) == pytest.approx(0.15 * 0.02**2)


@pytest.mark.parametrize("tension_lbf", [-0.5, -35.0, math.inf, math.nan])
def test_no_share_is_told_for_a_cable_that_pushes(tension_lbf):
    with pytest.raises(Refusal, match="a tension of"):
        string_share(tension_lbf, 60.0, 30.0, 348.0, "pinned")


@pytest.mark.parametrize("bending", [-0.5, -348.0, math.inf, math.nan])
def test_no_share_is_told_for_a_bending_stiffness_that_is_none(bending):
    with pytest.raises(Refusal, match="a bending stiffness"):
        string_share(35.0, 60.0, 30.0, bending, "pinned")


def test_a_cable_without_bending_stiffness_has_no_ends():
    # a string turns at its ends whether these are pinned or clamped
    for at_in, deflection_in in ((30.0, 4.0), (20.0, 2.5)):
        pull = (deflection_in, 60.0, at_in)
        assert pulled_tension_lbf(5.0, *pull, 0.0, "clamped") == pulled_tension_lbf(5.0, *pull, 0.0, "pinned")
        assert pull_force_lbf(35.0, *pull, 50.0, 0.0, "clamped") == pull_force_lbf(35.0, *pull, 50.0, 0.0, "pinned")
        assert pulled_way_in(*pull, 35.0, 0.0, "clamped") == path_growth_in(60.0, at_in, deflection_in)


def test_a_beam_without_tension_gives_nothing_of_what_a_string_would():
    assert string_share(0.0, 60.0, 30.0, 348.0, "clamped") == 0.0


@pytest.mark.parametrize("at_in", [0.5, 59.5])
def test_the_way_over_a_point_near_an_end_by_pythagoras(at_in):
    grown_in = math.hypot(0.5, 0.05) + math.hypot(59.5, 0.05) - 60
    assert path_growth_in(60.0, at_in, 0.05) == pytest.approx(grown_in, rel=1e-9)


def test_a_slack_string_takes_the_way_over_its_flanks():
    assert pulled_way_in(0.6, 60.0, 30.0, 0.0) == path_growth_in(60.0, 30.0, 0.6)


def test_a_little_bending_stiffness_is_some():
    # 1 lbf in2 at 0.01 lbf: L sqrt(T/EI) is 6, and the way a few per cent longer
    assert pulled_way_in(0.6, 60.0, 30.0, 0.01, 1.0) > 1.02 * path_growth_in(60.0, 30.0, 0.6)
    # and alone, without tension, a beam whose way is 6/5 of that over straight flanks (textbooks: w goes with 3 x - 4 x^3)
    assert pulled_way_in(0.6, 60.0, 30.0, 0.0, 1.0) == pytest.approx(1.2 * path_growth_in(60.0, 30.0, 0.6), rel=5e-4)


def test_a_slack_cable_on_a_circuit_that_gives_answers_no_pull():
    with pytest.raises(Refusal, match="hangs slack and answers no pull"):
        pull_force_lbf(0.0, 0.6, 60.0, 30.0, 0.0)
    assert pull_force_lbf(0.0, 0.6, 60.0, 30.0, 100.0) > 0


@pytest.mark.parametrize("at_in", [0.0, 60.0, -1.0, 61.0, math.nan])
def test_a_force_stands_inside_the_span(at_in):
    with pytest.raises(Refusal):
        string_share(35.0, 60.0, at_in, 300.0, "pinned")


@pytest.mark.parametrize("ends", ["pinned", "clamped"])
@pytest.mark.parametrize("at_in", [20.0, 30.0])
def test_a_very_limp_cable_has_no_jump_in_its_share(at_in, ends):
    # 700 lengths of sqrt(EI / T) in the span, where exponentials no longer fit a number: a thousandth of EI moves what
    # bending takes away, a few of 700, by a two-thousandth
    bending = 35.0 * (60.0 / 700.0) ** 2
    below, above = (string_share(35.0, 60.0, at_in, share * bending, ends) for share in (1.001, 0.999))
    assert 0 < above - below < 1e-4


@pytest.mark.parametrize("bending", [0.5, 348.0])
@pytest.mark.parametrize("ends", ["pinned", "clamped"])
def test_the_tension_of_a_pulled_cable_and_its_way_hold_each_other(ends, bending):
    # 5 lbf at rest on a stiff circuit: nearly all of the tension is made by the pull, and the way hangs on it
    rest, d, span, at, k = 5.0, 1.2, 60.0, 25.0, 900.0
    pulled = optimize.brentq(
        lambda t: rest + k * pulled_way_in(d, span, at, t, bending, ends) - t, rest, 500, xtol=1e-12
    )
    a, b = at, span - at
    slopes = d / a + d / b if ends == "clamped" else d / math.hypot(a, d) + d / math.hypot(b, d)
    expected = pulled * slopes / string_share(pulled, span, at, bending, ends)
    assert pull_force_lbf(rest, d, span, at, k, bending, ends) == pytest.approx(expected, rel=1e-9)
