"""What clamping a gauge adds, by Pythagoras, and how each thing measured makes it uncertain."""

import math

import pytest

from rigging.errors import Refusal
from rigging.physics.clamp import clamped


def test_the_way_over_the_riser_by_pythagoras():
    # a 3-4-5 triangle on each side: span 8 in, deflected by 1.5 in: 2 sqrt(16 + 2.25) - 8
    found = clamped(1.5, 8.0, 1000.0)
    assert found.path_in == pytest.approx(2 * math.sqrt(18.25) - 8)
    assert found.raise_lbf == pytest.approx(1000 * (2 * math.sqrt(18.25) - 8))


def test_what_is_known_exactly_leaves_nothing_open():
    assert clamped(0.06, 3.0, 2000.0).contributions_lbf == {"deflection": 0.0, "anvils": 0.0, "stiffness": 0.0}


# by differences of the raise itself
@pytest.mark.parametrize(
    ("name", "stated", "moved"),
    [
        ("deflection", {"deflection_uncertainty_in": 1e-4}, (1.5 + 1e-4, 8.0, 1000.0)),
        ("anvils", {"span_uncertainty_in": 1e-4}, (1.5, 8.0 + 1e-4, 1000.0)),
        ("stiffness", {"stiffness_uncertainty_lbf_per_in": 1e-2}, (1.5, 8.0, 1000.0 + 1e-2)),
    ],
)
def test_each_contribution_is_what_the_raise_changes_by(name, stated, moved):
    found = clamped(1.5, 8.0, 1000.0, **stated)
    assert found.contributions_lbf[name] == pytest.approx(abs(clamped(*moved).raise_lbf - found.raise_lbf), rel=1e-3)
    assert sum(value != 0 for value in found.contributions_lbf.values()) == 1


@pytest.mark.parametrize("value", [0.0, -1.0, math.inf, math.nan])
def test_a_deflection_and_a_distance_are_above_zero(value):
    with pytest.raises(Refusal, match="a deflection of"):
        clamped(value, 3.0, 2000.0)
    with pytest.raises(Refusal, match="distance between the anvils of"):
        clamped(0.06, value, 2000.0)


@pytest.mark.parametrize("stiffness", [-0.1, math.inf, math.nan])
def test_a_stiffness_is_not_below_zero(stiffness):
    with pytest.raises(Refusal, match="cannot be negative"):
        clamped(0.06, 3.0, stiffness)


def test_a_circuit_that_gives_freely_is_not_raised():
    assert clamped(0.06, 3.0, 0.0).raise_lbf == 0.0


def test_at_most_a_quarter_of_the_distance():
    assert clamped(0.75, 3.0, 1.0).raise_lbf > 0
    with pytest.raises(Refusal, match="no tensiometer's"):
        clamped(0.751, 3.0, 1.0)
