"""A chain between two pins: grown by small steps of temperature, stretched by small steps of load, closed by a root.

The structure, the steel and the turnbuckle grow by dL = a L dtheta, a step at a time; the cable stretches by
dL = L0 dT / EA. The length that fills the gap is found by Brent's method, and so is the tension of a cable that is there.
"""

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from rigging.errors import Refusal
from rigging.physics.cut import Assembly, cut_length_in, threads_showing

pytestmark = pytest.mark.slow

# square of the largest growth (13e-6/F over 225 F), half of it: what linear growth and growth by steps differ by
SECOND_ORDER = (13e-6 * 225) ** 2 / 2


def grown(length_in, per_degF, change_degF):
    """A length after a change of temperature, every step growing what the last one left."""
    if change_degF == 0:
        return length_in
    done = solve_ivp(lambda t, y: per_degF * y, (0, change_degF), [length_in], rtol=1e-12, atol=1e-12)
    return float(done.y[0, -1])


def gap(assembly, length_in, tension_lbf, threads, change_degF, bedded=0.0):
    """Room between the pins that the chain leaves open [in]; above zero it is too short."""
    pins = grown(assembly.pin_to_pin_in, assembly.structure_expansion_per_degF, change_degF)
    cable = length_in * (1 + bedded)
    stretch = cable * tension_lbf / assembly.stiffness_lbf
    chain = cable + stretch + assembly.turnbuckle_in + 2 * threads * assembly.pitch_in
    return pins - grown(chain, assembly.cable_expansion_per_degF, change_degF)


def drawn(rng):
    assembly = Assembly(
        float(rng.uniform(20, 600)), float(rng.uniform(0, 12)), float(1 / rng.choice([20, 24, 28, 32, 40])),
        float(np.exp(rng.uniform(np.log(1e4), np.log(9e5)))), float(rng.uniform(0, 13e-6)), float(rng.uniform(6e-6, 10e-6)),
    )  # fmt: skip
    return assembly, float(rng.uniform(-4, 3)), float(rng.uniform(0, 0.01) * assembly.stiffness_lbf), float(rng.choice([-135.0, 0.0, 90.0, rng.uniform(-135, 90)]))  # fmt: skip


@pytest.mark.parametrize("seed", range(60))
def test_the_length_that_closes_the_chain(seed, agrees):
    rng = np.random.default_rng(seed)
    assembly, threads, tension, change = drawn(rng)
    size = assembly.pin_to_pin_in
    found = cut_length_in(assembly, threads, tension, change)
    expected = brentq(lambda x: gap(assembly, x, tension, threads, change), 0.1, 2 * size, xtol=1e-12)
    agrees("finished length, chain closed by a root", found, expected, 2 * SECOND_ORDER, of=size)
    bedded = float(rng.choice([0.0, 1e-3, rng.uniform(0, 2e-3)]))
    thread = threads_showing(assembly, found, tension, change, bedded)
    expected = brentq(lambda n: gap(assembly, found, tension, n, change, bedded), -1e4, 1e4, xtol=1e-12)
    agrees(
        "threads showing, chain closed by a root", thread, expected, 2 * SECOND_ORDER, of=size / 2 / assembly.pitch_in
    )


@pytest.mark.parametrize("seed", range(20))
def test_the_cable_made_pulls_as_it_was_asked(seed, agrees):
    """Laid in, stretched by small steps until the pins are met: the load at which they meet is the tension asked for."""
    rng = np.random.default_rng(100 + seed)
    assembly, threads, tension, _ = drawn(rng)
    made = cut_length_in(assembly, threads, tension)

    def pulled(load):
        far = solve_ivp(lambda t, y: np.full(1, made / assembly.stiffness_lbf), (0, load), [made]) if load else None
        return (float(far.y[0, -1]) if far else made) + assembly.turnbuckle_in + 2 * threads * assembly.pitch_in

    met = brentq(lambda load: pulled(load) - assembly.pin_to_pin_in, 0, 0.02 * assembly.stiffness_lbf, xtol=1e-9)
    # a tension is a small difference of lengths: of EA
    agrees("tension of the cable made, stretched by steps", met, tension, 1e-9, of=assembly.stiffness_lbf)


def test_limits():
    reach = Assembly(171.0, 8.0, 1 / 28, 104123.0, 0.0, 0.0)
    # what does not grow does not care for temperature; what cannot stretch is as long as the room
    assert cut_length_in(reach, 3.0, 35.0, 90.0) == cut_length_in(reach, 3.0, 35.0)
    assert cut_length_in(reach._replace(stiffness_lbf=1e30), 3.0, 35.0) == pytest.approx(171 - 8 - 6 / 28)
    # alike in cable and structure: nothing but the proportion of all lengths
    alike = reach._replace(structure_expansion_per_degF=7e-6, cable_expansion_per_degF=7e-6)
    assert cut_length_in(alike, 3.0, 35.0, -135.0) == pytest.approx(cut_length_in(alike, 3.0, 35.0), rel=1e-12)
    # just room for a hair of cable, and just none
    full = reach._replace(turnbuckle_in=171 - 6 / 28 - 1e-6)
    assert cut_length_in(full, 3.0, 0.0) == pytest.approx(1e-6, rel=1e-4)
    with pytest.raises(Refusal, match="leaves no cable"):
        cut_length_in(full._replace(turnbuckle_in=171 - 6 / 28 + 1e-6), 3.0, 0.0)
