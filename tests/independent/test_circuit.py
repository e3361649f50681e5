"""A circuit let go in time: sectors with mass and a brake, moved by Newton's second law until they rest.

The other two ways, least complementary energy (Lawson and Hanson) and a minimiser of the energy, stand in
tests/validation/test_circuit_independent.py. Here nothing is minimised and no set of tight cables is known: a cable pulls
k x where x > 0, forces turn the sectors, and where they come to rest is the answer. And what must hold at the limits.
"""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from rigging.errors import Refusal
from rigging.physics.circuit import Circuit, Joint, Link

pytestmark = pytest.mark.slow


def drawn(rng):
    """Sectors in a row, each held by two cables or a cable and a spring to the one before or the airframe."""
    names = [f"s{i}" for i in range(int(rng.integers(1, 5)))]
    links = []
    for i, name in enumerate(names):
        before = names[int(rng.integers(0, i))] if i and rng.random() < 0.8 else None
        for side in (1, -1):
            start = Joint(name, side, float(rng.uniform(1, 5)))
            end = before and Joint(before, -side if rng.random() < 0.5 else side, float(rng.uniform(1, 5)))
            links.append(
                Link(f"{name} {side}", float(np.exp(rng.uniform(np.log(20), np.log(1500)))), start, end or None)
            )
    return Circuit(names, links, []), names, links


def rested(names, links, stretch, moment):
    """Tensions after the sectors have come to rest; masses such that all of them swing alike."""
    a = np.zeros((len(links), len(names)))
    for i, link in enumerate(links):
        for joint in (link.start, link.end):
            if joint is not None:
                a[i, names.index(joint.sector)] += joint.side * joint.arm_in
    k = np.array([link.stiffness_lbf_per_in for link in links])
    inertia = (k[:, None] * a**2).sum(axis=0)
    n = len(names)

    def tension(phi):
        return k * np.maximum(0.0, stretch + a @ phi)

    def rate(t, z):
        return np.concatenate([z[n:], (moment - a.T @ tension(z[:n])) / inertia - 0.4 * z[n:]])

    def change(t, z):
        stiff = (a.T * (k * (stretch + a @ z[:n] > 0))) @ a / inertia[:, None]
        return np.block([[np.zeros((n, n)), np.eye(n)], [-stiff, -0.4 * np.eye(n)]])

    done = solve_ivp(rate, (0, 1e4), np.zeros(2 * n), method="Radau", jac=change, rtol=1e-9, atol=1e-13)
    assert done.success
    return tension(done.y[:n, -1])


@pytest.mark.parametrize("seed", range(12))
def test_let_go_in_time(seed, agrees):
    rng = np.random.default_rng(seed)
    circuit, names, links = drawn(rng)
    stretch = rng.normal(0.03, 0.08, len(links))
    moment = rng.normal(0, 60, len(names)) * (rng.random() < 0.7)
    found = circuit.solve(stretch, moment).tension_lbf
    expected = rested(names, links, stretch, moment)
    agrees("tensions once at rest, Newton's second law in time", found, expected, 1e-6, of=max(expected.max(), 1.0))


def loop(k_one=600.0, k_other=600.0, arm=3.0):
    joints = [(Joint("stick", s, arm), Joint("horn", s, arm)) for s in (1, -1)]
    links = [Link(n, k, *j) for n, k, j in zip(("up", "down"), (k_one, k_other), joints, strict=True)]
    return Circuit(["stick", "horn"], links, ["stick"])


def test_limits_of_stiffness():
    """A cable like a wall beside one like a rubber band: the loop turns as far as the soft one lets it, F / k apart."""
    for ratio in (1e3, 1e6, 1e9):
        balance = loop(600.0 * ratio, 600.0).solve([40 / 600 / ratio, 40 / 600], [0.0, 30.0])
        # moment 30 in lbf over 3 in: 10 lbf between the two sides, by statics alone
        assert balance.tension_lbf[0] - balance.tension_lbf[1] == pytest.approx(10.0, rel=1e-9)
        # the stiff one takes it all, k1 / (k1 + k2) of 10 lbf
        assert balance.tension_lbf[0] == pytest.approx(40 + 10 * ratio / (ratio + 1), rel=1e-9)


def test_limits_of_load_and_stretch():
    circuit = loop()
    for tiny in (1e-12, 1e-9, 1e-6):
        # a loop without pretension carries any load on one side, however small: M / r
        assert circuit.solve([0.0, 0.0], [0.0, tiny]).tension_lbf == pytest.approx([tiny / 3, 0.0], abs=1e-11)
    # all that is held: no free sector, and each link is a spring by itself
    held = Circuit(["stick", "horn"], circuit.links, ["stick", "horn"])
    assert held.solve([0.1, -0.1]).tension_lbf == pytest.approx([60.0, 0.0])
    # hanging slack by a mile, nothing pulls and nothing is refused
    assert circuit.solve([-1e6, -1e6]).tension_lbf == pytest.approx([0.0, 0.0])
    with pytest.raises(Refusal, match="finite"):
        circuit.solve([math.nan, 0.0])


@pytest.mark.parametrize("arm", [1e-3, 1.0, 1e3])
def test_limits_of_the_arm(arm):
    """Tensions of a loop at rest know nothing of its arms; its angle goes with one over them."""
    balance = loop(arm=arm).solve([0.1, 0.06])
    assert balance.tension_lbf == pytest.approx([48.0, 48.0], rel=1e-9)
    assert balance.angle_rad[1] == pytest.approx(-0.02 / arm, rel=1e-9)
