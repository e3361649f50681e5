"""A gauge on a cable made of springs that slide in it, let go to where their forces balance; and a stiff one on a grid.

The cable is four lengths of one wire: two runs to the ends and two flanks in the gauge, with the give of the airframe at
one end. It slides over anvils and riser without friction, so how much wire lies in each is free, and the state in which
no length pulls harder than the next is found by MINPACK. Strains are finite and the geometry is exact.
"""

import math

import numpy as np
import pytest
from scipy.optimize import root
from scipy.sparse import bmat, coo_matrix, diags
from scipy.sparse.linalg import spsolve

from rigging.physics.bending import bending_range
from rigging.physics.clamp import STEEPEST_CLAMP, clamped

EA_LBF = 99673.0  # 1/8 7x19 carbon, reference table R4


def rested(ea, length, rest, deflection, anvils, give):
    """Tension with the gauge on."""
    wire = length / (1 + rest / ea)  # unloaded
    outer = (length - anvils) / 2
    flank = math.hypot(anvils / 2, deflection)
    spans = np.array([outer, flank, flank, outer])

    def pulls(z):
        pieces = wire * spans / spans.sum() * (1 + np.append(z[:3], 0.0))
        pieces[3] = wire - pieces[:3].sum()
        moved = z[3]  # the airframe, towards the cable
        return ea * ((spans - [0, 0, 0, moved]) / pieces - 1), moved

    def unbalanced(z):
        pull, moved = pulls(z)
        end = pull[3] - rest - moved / give if give else moved * ea
        return np.append(np.diff(pull), end) / ea

    found = root(unbalanced, np.zeros(4), tol=1e-14)
    pull, _ = pulls(found.x)
    assert np.ptp(pull) < 1e-6 * pull.max(), "not at rest"
    return float(pull.mean())


@pytest.mark.parametrize("seed", range(60))
def test_springs_that_slide_in_the_gauge(seed, agrees):
    rng = np.random.default_rng(seed)
    anvils = float(rng.uniform(2, 12))
    length, rest = float(np.exp(rng.uniform(np.log(24), np.log(600)))), float(rng.uniform(0, 200))
    # from next to nothing to the steepest that is no refusal
    deflection = float(np.exp(rng.uniform(np.log(0.002), np.log(STEEPEST_CLAMP / 2)))) * anvils
    if seed < 10:
        deflection = STEEPEST_CLAMP / 2 * anvils
    ea, give = float(np.exp(rng.uniform(np.log(2e4), np.log(4e5)))), float(rng.choice([0.0, 1e-4, 2e-3]))
    found = clamped(deflection, anvils, 1 / (length / ea + give))
    expected = rested(ea, length, rest, deflection, anvils, give) - rest
    # the model counts strain on the length under tension and the wire on its own: they differ by the strain itself
    strain = (rest + found.raise_lbf) / ea
    agrees("rise over one plus the strain at rest", found.raise_lbf, expected, 2 * strain + 1e-6)
    if strain < 2e-3:
        agrees("rise, springs that slide (strain below 0.2 %)", found.raise_lbf, expected, 4e-3)


def test_contributions_are_those_of_a_monte_carlo(agrees):
    """JCGM 101: 200 000 gauges, anvils and stiffnesses drawn as normal, the whole formula of Pythagoras for each."""
    rng = np.random.default_rng(20261125)
    for d, s, k, u in ((0.06, 3.0, 2000.0, (0.003, 0.04, 150.0)), (0.3, 8.0, 500.0, (0.01, 0.1, 60.0)), (1.0, 4.0, 90.0, (0.01, 0.02, 1.0))):  # fmt: skip
        ds, ss, ks = (m + e * rng.standard_normal(200_000) for m, e in zip((d, s, k), u, strict=True))
        drawn = ks * (2 * np.sqrt(ss**2 / 4 + ds**2) - ss)
        found = clamped(d, s, k, *u)
        agrees("rise, mean of the draws", found.raise_lbf, drawn.mean(), 5e-3)
        agrees(
            "rise, standard uncertainty by JCGM 101", math.hypot(*found.contributions_lbf.values()), drawn.std(), 1e-2
        )


def grown(tension, bending, anvils, deflection, outer=30.0, points=6000):
    """Way of a cable with bending stiffness through the gauge: least energy on a grid that is held at anvils and riser."""
    span = anvils + 2 * outer
    h = span / points
    n = points + 1
    second = diags([1.0, -2.0, 1.0], [0, 1, 2], shape=(n - 2, n)) / h**2
    first = diags([-1.0, 1.0], [0, 1], shape=(points, n)) / h
    stiff = h * (bending * second.T @ second + tension * first.T @ first)
    at = [0, points, round(outer / h), round((outer + anvils) / h), round((outer + anvils / 2) / h)]
    held = coo_matrix((np.ones(5), (range(5), at)), shape=(5, n))
    load = np.zeros(n + 5)
    load[-1] = deflection
    w = spsolve(bmat([[stiff, held.T], [held, None]]).tocsc(), load)[:n]
    return h * float((np.hypot(1, np.diff(w) / h) - 1).sum())


def test_a_stiff_cable_goes_a_longer_way(agrees):
    """Through three given points the straight lines are the shortest way, so that bending stiffness only adds to it."""
    low, high = bending_range(0.125, "7x19")
    for tension in (20.0, 35.0, 150.0):
        ways = [grown(tension, ei, 3.0, 0.06) for ei in (1e-3, low, 30.0, high)]
        string = clamped(0.06, 3.0, 1.0).path_in
        agrees("way of a cable without bending stiffness, on a grid", string, ways[0], 5e-3)
        assert ways == sorted(ways)
        # between 3 and 11 % more for loose wires; beyond 80 % for a solid rod
        assert 1.03 < ways[1] / string < 1.11
        assert ways[3] / string > 1.8


def test_limits():
    # two anvils far apart or a deflection of next to nothing: 2 K d^2 / s, and none where the circuit gives freely
    for d in (1e-9, 1e-6, 1e-3):
        assert clamped(d, 3.0, 1000.0).raise_lbf == pytest.approx(2 * 1000 * d**2 / 3, rel=1e-6)
    assert clamped(0.06, 3.0, 0.0, 0.01, 0.1, 0.0).contributions_lbf == {
        "deflection": 0.0,
        "anvils": 0.0,
        "stiffness": 0.0,
    }
