"""Side pull: where a span may be pulled and how far, to the last place inside and the first outside."""

import math

import pytest

from rigging.errors import Refusal
from rigging.physics.side_pull import (
    check_pull,
    left_out_share,
    path_growth_in,
    pull_force_lbf,
    pulled_tension_lbf,
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
