"""Bending stiffness of a cable between its loose wires and a solid rod, by the textbook's EI of a round section."""

import math

import pytest

from rigging.errors import Refusal
from rigging.physics.bending import BendingRange, bending_range, longer_way

# 200 GPa in pounds and inches: 4.4482216152605 N and 25.4 mm, both by definition
STEEL_PSI = 200e9 * 0.0254**2 / 4.4482216152605


@pytest.mark.parametrize(
    ("construction", "wires", "across"), [("7x19", 133, 15), ("7x7", 49, 9), ("1x19", 19, 5), ("1x7", 7, 3)]
)
def test_a_rod_and_its_wires(construction, wires, across):
    found = bending_range(0.125, construction)
    assert found.solid_lbf_in2 == pytest.approx(STEEL_PSI * math.pi * 0.125**4 / 64, rel=1e-9)
    assert found.loose_lbf_in2 == pytest.approx(wires * STEEL_PSI * math.pi * (0.125 / across) ** 4 / 64, rel=1e-9)


@pytest.mark.parametrize("diameter_in", [0.0, -0.1, math.inf, math.nan])
def test_a_diameter_is_above_zero(diameter_in):
    with pytest.raises(Refusal, match="above zero"):
        bending_range(diameter_in, "7x19")


def test_a_construction_nobody_counted_the_wires_of():
    with pytest.raises(Refusal, match="no wire count is known for 6x25"):
        bending_range(0.125, "6x25")


def test_slices_are_the_middles_of_equal_parts_of_the_root():
    # roots 1 to 4 in three parts: 1.5, 2.5, 3.5
    assert BendingRange(1.0, 16.0).slices(3) == pytest.approx((2.25, 6.25, 12.25))
    assert len(BendingRange(1.0, 16.0).slices()) == 15


@pytest.mark.parametrize("count", [0, -1, math.inf, math.nan])
def test_there_is_one_slice_at_least(count):
    with pytest.raises(Refusal, match="one or more"):
        BendingRange(1.0, 16.0).slices(count)
    assert BendingRange(4.0, 4.0).slices(1) == (4.0,)


@pytest.mark.parametrize(
    ("loose", "solid"), [(-0.5, 16.0), (16.0, 1.0), (1.0, math.inf), (math.nan, 16.0), (-2.0, -1.0)]
)
def test_a_bending_stiffness_runs_from_none_or_more_up(loose, solid):
    with pytest.raises(Refusal, match="runs from that of loose wires"):
        BendingRange(loose, solid).slices(3)


@pytest.mark.parametrize("share", [0.0, -0.1, math.inf, math.nan])
def test_a_cable_that_does_not_give_way_has_no_way(share):
    with pytest.raises(Refusal, match="must be above zero"):
        longer_way(lambda _: share, 35.0)


@pytest.mark.parametrize("power", [-0.5, 0.25, 0.5])
def test_a_share_that_is_a_power_of_the_tension_has_its_way_by_hand(power):
    # T dshare/dT is share times the power: (1 - power) / share
    share = 0.2 * 16.0**power
    assert longer_way(lambda tension_lbf: 0.2 * tension_lbf**power, 16.0) == pytest.approx(
        (1 - power) / share, rel=1e-6
    )
