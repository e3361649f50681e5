"""A loop under the pilot's hand, where its energy is least; a pulley from the press of the cable on its groove.

Two cables that pull k x where x > 0 and nothing where they hang slack, a hand that gives F per inch: the place of least
energy is found by golden section and Brent, and knows no formula for either side of slack.
"""

import math

import numpy as np
import pytest
from scipy.optimize import brentq, minimize_scalar

from rigging.physics.loads import loop_under_force, pulley_load_lbf, slack_force_lbf, strength_margin

pytestmark = pytest.mark.slow


def pulled(rest, stiffness, force):
    """How far the hand goes, and the tensions of both sides there."""
    far = 4 * (rest + force) / stiffness + 1e-9

    def energy(x):
        return sum(stiffness / 2 * max(0.0, rest / stiffness + s * x) ** 2 for s in (1, -1)) - force * x

    x = minimize_scalar(energy, bounds=(-far, far), method="bounded", options={"xatol": 1e-14 * far}).x

    # an energy is flat at its least: its slope, by differences, brings the last digits
    def slope(x, h=1e-4 * far):
        return (energy(x + h) - energy(x - h)) / (2 * h)

    if slope(x - 0.01 * far) < 0 < slope(x + 0.01 * far) and abs(force - 2 * rest) > 0.02 * (rest + force):
        x = brentq(slope, x - 0.01 * far, x + 0.01 * far, xtol=1e-16)
    return x, [stiffness * max(0.0, rest / stiffness + s * x) for s in (1, -1)]


def drawn(seed):
    rng = np.random.default_rng(seed)
    rest, stiffness = float(rng.choice([0.0, rng.uniform(1, 200)], p=[0.1, 0.9])), float(np.exp(rng.uniform(3, 8)))
    # from nothing through slack to far beyond
    share = float(rng.choice([0.0, 1.0, rng.uniform(0, 0.98), rng.uniform(1.02, 2), rng.uniform(2, 20)]))
    return rest, stiffness, (share * 2 * rest if rest else 40 * share)


@pytest.mark.parametrize("seed", range(80))
def test_where_the_energy_of_the_loop_is_least(seed, agrees):
    rest, stiffness, force = drawn(seed)
    found = loop_under_force(rest, force)
    _, (tight, slack) = pulled(rest, stiffness, force)
    at_kink = abs(force - 2 * rest) <= 0.02 * (rest + force)
    what = "tensions at the edge of slack, least energy" if at_kink else "tensions of both sides, least energy"
    agrees(
        what, [found.tight_lbf, found.slack_lbf], [tight, slack], 1e-5 if at_kink else 1e-9, of=max(rest + force, 1e-9)
    )


@pytest.mark.parametrize("rest", [0.5, 35.0, 180.0])
def test_the_force_at_slack_is_where_the_stiffness_halves(rest, agrees):
    """Found from the outside: the force beyond which the hand goes twice as far for every pound."""
    stiffness = 600.0

    def easier(force):
        step = 0.01 * rest
        gone = [pulled(rest, stiffness, f)[0] for f in (force - step, force + step)]
        return (gone[1] - gone[0]) / (2 * step) * stiffness - 0.75  # 1/2 before, 1 beyond, 3/4 where it halves

    agrees("force at slack, from how far the hand goes", slack_force_lbf(rest), brentq(easier, rest, 3.5 * rest), 1e-3)
    agrees("stretch of the control before slack", pulled(rest, stiffness, rest)[0], rest / (2 * stiffness), 1e-9)
    # past slack: what it went until then, and the rest on one cable alone
    beyond = rest / stiffness + (3 * rest - slack_force_lbf(rest)) / stiffness
    agrees("stretch of the control past slack", pulled(rest, stiffness, 3 * rest)[0], beyond, 1e-9)


@pytest.mark.parametrize("wrap_deg", [0.0, 1e-6, 1.0, 33.0, 90.0, 179.9, 180.0, 270.0, 360.0])
def test_a_pulley_carries_what_the_cable_presses_on_its_groove(wrap_deg, agrees):
    """T per radian of wrap towards the centre, summed as vectors over the groove."""
    wrap = math.radians(wrap_deg)
    middles = (np.arange(200_000) + 0.5) / 200_000 * wrap
    along = [73.0 * float(f(middles).mean()) * wrap for f in (np.cos, np.sin)]
    agrees(
        "load on a pulley, press on its groove summed",
        pulley_load_lbf(73.0, wrap_deg),
        math.hypot(*along),
        1e-9,
        of=73.0,
    )


def test_the_margin_is_what_more_load_breaks_it(agrees):
    for strength, load, factor in (
        (2000.0, 50.0, 1.5),
        (2000.0, 1333.0, 1.5),
        (480.0, 900.0, 1.5),
        (14400.0, 1.0, 2.0),
    ):
        more = brentq(lambda m, s=strength, x=load, f=factor: f * x * (1 + m) - s, -1, 1e6, xtol=1e-9)
        agrees(
            "margin, the load raised until it breaks", strength_margin(strength, load, factor), more, 1e-9, of=1 + more
        )


def test_limits():
    # a loop without tension has its slack side from the start, and a slack loop carries F on one
    assert loop_under_force(0.0, 0.0) == (0.0, 0.0, True)
    assert loop_under_force(0.0, 25.0) == (25.0, 0.0, True)
    # no force: both at rest; continuous over slack from either side
    assert loop_under_force(35.0, 0.0) == (35.0, 35.0, False)
    before, after = loop_under_force(35.0, math.nextafter(70, 0)), loop_under_force(35.0, 70.0)
    assert before[:2] == pytest.approx(after[:2], abs=1e-12)
    assert pulley_load_lbf(0.0, 180.0) == 0.0
    # a straight cable loads no pulley, and T per radian of a small wrap
    assert pulley_load_lbf(50.0, 1e-9) == pytest.approx(50 * math.radians(1e-9), rel=1e-9)
    assert strength_margin(2000.0, 1e-300) > 1e300
