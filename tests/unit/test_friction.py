"""Friction over bends, and of a whole circuit from two pulls of a spring scale."""

import math

import pytest

from rigging.errors import Refusal
from rigging.physics.friction import Bend, bend_ratio, circuit_friction, circuit_friction_lbf, spread_lbf, tension_ratio


def test_without_a_bend_nothing_is_held_back():
    assert tension_ratio([]) == 1.0
    assert spread_lbf(40.0, []) == 0.0
    assert tension_ratio([Bend(0.2, 0.0), Bend(0.0, 180.0)]) == 1.0


def test_degrees_and_radians_of_one_bend_agree():
    assert tension_ratio([Bend(0.2, 90.0)]) == pytest.approx(bend_ratio(0.2, math.pi / 2))


def test_spread_over_a_pulley_and_a_fairlead():
    # ball pulley 90 deg and fairlead 3 deg: exp(0.0125 pi/2 + 0.2 pi/60) = exp(0.030107) = 1.030565
    assert spread_lbf(40.0, [Bend(0.0125, 90.0), Bend(0.2, 3.0)]) == pytest.approx(1.2226, abs=1e-4)


@pytest.mark.parametrize(
    ("friction", "angle_deg"), [(-0.1, 90.0), (0.1, -90.0), (0.1, -1.0), (math.nan, 90.0), (0.1, math.inf)]
)
def test_a_bend_that_cannot_be_is_refused(friction, angle_deg):
    with pytest.raises(Refusal, match="not negative"):
        tension_ratio([Bend(friction, angle_deg)])


@pytest.mark.parametrize("friction", [0.2, 4.0, 40.0])
def test_where_friction_lets_nothing_slide(friction):
    # mu beta of 20 is a ratio of 485 million
    assert bend_ratio(friction, 19.9 / friction) == pytest.approx(math.exp(19.9))
    with pytest.raises(Refusal, match="lets nothing slide"):
        bend_ratio(friction, 20.1 / friction)


@pytest.mark.parametrize("tension_lbf", [-1.0, math.inf, math.nan])
def test_a_cable_that_pushes_is_refused(tension_lbf):
    with pytest.raises(Refusal, match="cannot push"):
        spread_lbf(tension_lbf, [])


# load W and friction f, both known: the scale shows W + f up and W - f back; hooked on the other side f - W
@pytest.mark.parametrize(("load_lbf", "friction_lbf"), [(4.5, 1.5), (3.0, 0.0), (2.0, 2.0)])
def test_a_scale_left_on_one_side(load_lbf, friction_lbf):
    found = circuit_friction(load_lbf + friction_lbf, load_lbf - friction_lbf)
    assert found == pytest.approx((friction_lbf, load_lbf))


@pytest.mark.parametrize(("load_lbf", "friction_lbf"), [(0.0, 1.5), (1.0, 3.0), (-1.0, 3.0)])
def test_a_scale_hooked_on_the_other_side(load_lbf, friction_lbf):
    found = circuit_friction(friction_lbf + load_lbf, friction_lbf - load_lbf, "other side")
    assert found == pytest.approx((friction_lbf, load_lbf))


def test_the_order_of_the_pulls_does_not_matter():
    assert circuit_friction_lbf(2.0, 5.0) == circuit_friction_lbf(5.0, 2.0) == (5.0 - 2.0) / 2


@pytest.mark.parametrize("pulls", [(-1.0, 2.0), (2.0, -1.0), (math.nan, 1.0), (math.inf, 1.0), (1.0, math.inf)])
def test_a_scale_that_pushes_is_refused(pulls):
    with pytest.raises(Refusal, match="only pulls"):
        circuit_friction(*pulls)
