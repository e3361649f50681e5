"""Friction over bends by small steps: the differential equation of a belt, and a ring of pulleys with Coulomb's law.

dT = mu T dbeta (Euler), integrated by Runge and Kutta; and a bend cut into thousands of corners, each of which presses
with 2 T sin(dbeta/2) and holds back mu of that. Neither knows the exponential function.
"""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from rigging.physics.friction import Bend, bend_ratio, circuit_friction, spread_lbf, tension_ratio

pytestmark = pytest.mark.slow


def integrated(tension, bends):
    """Tension at the far end of bends, pulled away over all of them."""
    for mu, angle_deg in bends:
        if angle_deg == 0 or mu == 0:
            continue
        slope = lambda beta, t, mu=mu: mu * t  # noqa: E731
        far = solve_ivp(slope, (0, math.radians(angle_deg)), [tension], rtol=1e-11, atol=1e-12)
        tension = float(far.y[0, -1])
    return tension


def corners(tension, mu, angle_rad, count=2_000):
    """The same over corners: what is added is mu times the press of the mean tension on each."""
    press = 2 * math.sin(angle_rad / count / 2)
    for _ in range(count):
        # mu times the press of (T1 + T2) / 2
        tension *= (1 + mu * press / 2) / (1 - mu * press / 2)
    return tension


def drawn(rng):
    """Up to six bends, from a fairlead of a degree to a turn and a half, slippery to rough, with nothings among them."""
    return [
        Bend(float(rng.choice([0.0, rng.uniform(0, 0.5)], p=[0.1, 0.9])), float(rng.choice([0.0, rng.uniform(0, 540)], p=[0.1, 0.9])))
        for _ in range(int(rng.integers(1, 7)))
    ]  # fmt: skip


@pytest.mark.parametrize("seed", range(20))
def test_the_equation_of_the_belt_integrated(seed, agrees):
    rng = np.random.default_rng(seed)
    bends, tension = drawn(rng), float(np.exp(rng.uniform(np.log(0.1), np.log(2000))))
    far = integrated(tension, bends)
    agrees("ratio over bends, dT = mu T dbeta integrated", tension_ratio(bends), far / tension, 1e-9)
    agrees("spread of readings, integrated", spread_lbf(tension, bends), far - tension, 1e-9, of=far)


@pytest.mark.parametrize("mu", [0.0125, 0.027, 0.1, 0.3])
@pytest.mark.parametrize("angle_deg", [1.0, 90.0, 180.0, 360.0])
def test_a_ring_of_corners_with_coulombs_law(mu, angle_deg, agrees):
    angle_rad = math.radians(angle_deg)
    agrees(
        "ratio of one bend, corners with Coulomb's law", bend_ratio(mu, angle_rad), corners(1.0, mu, angle_rad), 1e-6
    )


@pytest.mark.parametrize("load_lbf", [0.0, 0.5, 20.0])
@pytest.mark.parametrize("brake_lbf", [0.0, 0.4, 6.0])
def test_friction_from_a_control_that_is_pulled_slowly(load_lbf, brake_lbf, agrees):
    """A mass that is drawn through a soft scale against load and dry friction, in time: what the scale shows at the end."""

    def shown(towards, hooked):
        # hooked +1: the scale pulls against the load; -1: with it, and only pulls
        mass, scale, damping, pace = 0.02, 5.0, 1.0, 0.5

        def rate(t, z):
            place, speed = z
            hand = towards * pace * t
            pull = hooked * max(0.0, hooked * (scale * (hand - place)))
            dry = brake_lbf * math.tanh(speed / 1e-3)
            return [speed, (pull - load_lbf - dry - damping * (speed - towards * pace)) / mass]

        start = load_lbf / scale  # so that the scale carries the load at the start
        time = 40.0
        done = solve_ivp(
            rate, (0, time), [-hooked * start if hooked > 0 else 0.0, 0.0], method="LSODA", rtol=1e-8, atol=1e-9
        )
        return abs(scale * (towards * pace * time - float(done.y[0, -1])))

    up = shown(+1, +1)
    if load_lbf >= brake_lbf:
        found = circuit_friction(up, shown(-1, +1))
    else:
        found = circuit_friction(up, shown(-1, -1), "other side")
    size = load_lbf + brake_lbf
    if size:
        agrees("circuit friction, a control moved in time", found, [brake_lbf, load_lbf], 1e-4, of=size)


@pytest.mark.parametrize("mu_beta", [0.0, 0.01, 0.03, 0.1, 0.2])
def test_half_the_difference_where_friction_goes_with_the_load(mu_beta, agrees):
    """A weight over a bend: W e^x up and W e^-x down, so that half the sum is W cosh x and not W: 2 % at x 0.2."""
    up, down = corners(30.0, mu_beta, 1.0), 30.0 / corners(1.0, mu_beta, 1.0)
    found = circuit_friction(up, down)
    agrees("load at rest where friction goes with it", found.load_lbf, 30.0, 0.0201)
    assert found.load_lbf == pytest.approx(30 * math.cosh(mu_beta), rel=1e-6)


def test_limits():
    assert tension_ratio([Bend(0.0, 1e4), Bend(9.0, 0.0)]) == 1.0
    assert spread_lbf(0.0, [Bend(0.3, 180.0)]) == 0.0
    # small friction: the first term alone, mu beta T
    assert spread_lbf(1.0, [Bend(1e-9, 180.0)]) == pytest.approx(1e-9 * math.pi, rel=1e-6)
