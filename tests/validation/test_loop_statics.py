"""A preloaded loop under a force, and a cable over a bend: exact by statics.

References: statics of two like springs in a loop, tension T0, moment M on a sector of radius r, the other sector held:
T0 +- M/2r, slack at M = 2 T0 r, stiffness halved beyond. Euler and Eytelwein, T2 = T1 exp(mu beta): mu 0.2 over
180 degrees gives 1.874.
"""

import math

import pytest

from rigging.physics.circuit import Circuit, Joint, Link
from rigging.physics.friction import Bend, tension_ratio
from rigging.physics.loads import loop_under_force

T0_LBF, ARM_IN, STIFFNESS = 35.0, 3.0, 600.0
LOOP = Circuit(
    ["stick", "horn"],
    [
        Link("up", STIFFNESS, Joint("stick", 1, ARM_IN), Joint("horn", 1, ARM_IN)),
        Link("down", STIFFNESS, Joint("stick", -1, ARM_IN), Joint("horn", -1, ARM_IN)),
    ],
    held=["horn"],
)


def solved(force_lbf):
    balance = LOOP.solve([T0_LBF / STIFFNESS] * 2, [force_lbf * ARM_IN, 0.0])
    return balance.tension_lbf, balance.angle_rad[0]


@pytest.mark.parametrize("force_lbf", [0.0, 10.0, 69.0, 70.0, 71.0, 300.0])
def test_loop_and_circuit_give_the_same(force_lbf):
    found = loop_under_force(T0_LBF, force_lbf)
    tension, _ = solved(force_lbf)
    assert tension == pytest.approx([found.tight_lbf, found.slack_lbf], abs=1e-6)


def test_slack_at_a_moment_of_two_t0_r():
    before, after = loop_under_force(T0_LBF, 2 * T0_LBF - 1e-6), loop_under_force(T0_LBF, 2 * T0_LBF)
    assert not before.is_slack and before.slack_lbf == pytest.approx(0, abs=1e-6)
    assert after == (pytest.approx(70.0), 0.0, True)


def test_the_stiffness_halves_beyond_slack():
    before = solved(60.0)[1] - solved(50.0)[1]
    after = solved(100.0)[1] - solved(90.0)[1]
    assert after == pytest.approx(2 * before)
    assert before == pytest.approx(10.0 / (2 * STIFFNESS * ARM_IN))


def test_capstan():
    assert round(tension_ratio([Bend(0.2, 180.0)]), 3) == 1.874
    assert tension_ratio([Bend(0.2, 180.0)]) == pytest.approx(math.exp(0.2 * math.pi))
