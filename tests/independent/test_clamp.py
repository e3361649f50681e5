"""A gauge on a cable made of springs that slide in it, let go to where their forces balance; and on a stiff one.

The cable of springs is four lengths of one wire: two runs to the ends and two flanks in the gauge, with the give of the airframe at
one end. It slides over anvils and riser without friction, so how much wire lies in each is free, and the state in which
no length pulls harder than the next is found by MINPACK. Strains are finite and the geometry is exact.

The stiff one is an elastica, which may turn as far as it likes, solved by collocation (scipy's solve_bvp): from the riser
over an anvil, where the cable turns freely, to the end of the run beyond. The gauge hangs free, so that this run carries
no force across. Beside it least energy on a grid, with the gauge free to move and to tilt and its runs of two lengths.
"""

import math

import numpy as np
import pytest
from scipy.integrate import solve_bvp
from scipy.optimize import brentq, root
from scipy.sparse import bmat, csc_matrix, diags
from scipy.sparse.linalg import spsolve

from rigging.hardware.cable import cable
from rigging.jobs import stretch
from rigging.jobs.clamp import clamp_effect
from rigging.physics.bending import BendingRange, bending_range
from rigging.physics.clamp import NEAREST_IN, STEEPEST_CLAMP, clamped, gauge_rise, gauge_way_in
from rigging.physics.side_pull import ENDS

pytestmark = pytest.mark.slow

LIMP = BendingRange(0.0, 0.0)
EA_LBF = 104123.0  # 1/8 7x19 carbon, reference table R4


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
    # limp: what it is read at counts for nothing, as long as it is more than the rise
    found = clamped(deflection, anvils, 1 / (length / ea + give), 1e9, LIMP, 30.0)
    expected = rested(ea, length, rest, deflection, anvils, give) - rest
    # the model counts strain on the length under tension and the wire on its own: they differ by the strain itself
    strain = (rest + found.raise_lbf) / ea
    agrees("rise over one plus the strain at rest", found.raise_lbf, expected, 2 * strain + 1e-6)
    if strain < 2e-3:
        agrees("rise, springs that slide (strain below 0.2 %)", found.raise_lbf, expected, 4e-3)


def test_contributions_are_those_of_a_monte_carlo(agrees):
    """JCGM 101: 200 000 gauges, anvils and stiffnesses drawn as normal, the whole formula of Pythagoras for each."""
    rng = np.random.default_rng(20261125)
    for d, s, k, u in ((0.06, 3.0, 2000.0, (0.003, 0.04, 150.0)), (0.3, 8.0, 500.0, (0.01, 0.1, 60.0)), (0.5, 4.0, 90.0, (0.01, 0.02, 1.0))):  # fmt: skip
        ds, ss, ks = (m + e * rng.standard_normal(200_000) for m, e in zip((d, s, k), u, strict=True))
        drawn = ks * (2 * np.sqrt(ss**2 / 4 + ds**2) - ss)
        found = clamped(d, s, k, 1e9, LIMP, 30.0, *u)
        agrees("rise, mean of the draws", found.raise_lbf, drawn.mean(), 5e-3)
        agrees(
            "rise, standard uncertainty by JCGM 101", math.hypot(*found.contributions_lbf.values()), drawn.std(), 1e-2
        )


def elastica(tension, bending, anvils, deflection, beyond, ends):
    """By how much longer the way is, from the shape itself; lengths in halves of the anvils' distance."""
    half = anvils / 2
    own, run = bending / tension / half**2, beyond / half

    def piece(z, length, across):
        _, angle, moment, _ = z
        return length * np.array(
            [np.tan(angle), moment / own / np.cos(angle), np.tan(angle) - across, 1 / np.cos(angle) - 1]
        )

    def rate(s, z, p):
        return np.vstack([piece(z[:4], 1.0, p[0]), piece(z[4:], run, 0.0)])

    def unmet(z0, z1, p):
        held = z1[5] if ends == "clamped" else z1[6]
        return np.array([z0[0], z0[1], z0[3], z1[0] - deflection / half, *(z0[4:] - z1[:4]), held])

    near = np.geomspace(1e-4, 1, 60)
    s = np.unique(np.concatenate([np.linspace(0, 1, 41), near, 1 - near]))
    d = deflection / half
    z = np.zeros((8, len(s)))
    z[0], z[1], z[3], z[4], z[7] = d * s, d * np.sin(np.pi * s / 2), d * d / 2 * s, d, d * d / 2
    done = solve_bvp(rate, unmet, s, z, [d], tol=1e-6, max_nodes=50_000)
    assert done.success, done.message
    return anvils * float(done.y[7, -1])


def drawn(seed):
    """A cable, its bending stiffness at either end of its range or between, and a gauge on it."""
    rng = np.random.default_rng(seed)
    size, construction = [("1/16", "7x7"), ("3/32", "7x7"), ("1/8", "7x19"), ("5/32", "7x19"), ("3/16", "7x19"), ("1/4", "7x19"), ("1/8", "1x19")][rng.integers(7)]  # fmt: skip
    wire = cable(size, construction)
    low, high = bending_range(wire.diameter_in, construction)
    share = [0.0, 1.0, float(rng.uniform(0, 1))][seed % 3]
    bending = (math.sqrt(low) + share * (math.sqrt(high) - math.sqrt(low))) ** 2
    anvils = float(rng.uniform(2, 6))
    steep = float(np.exp(rng.uniform(np.log(0.01), np.log(STEEPEST_CLAMP))))
    length = anvils + 2 * NEAREST_IN + float(np.exp(rng.uniform(np.log(0.1), np.log(400))))
    run = float(rng.choice([NEAREST_IN, rng.uniform(NEAREST_IN, length - anvils - NEAREST_IN)]))
    tension = float(np.exp(rng.uniform(np.log(5), np.log(200))))
    return wire, bending, anvils, steep * anvils / 2, length, run, tension, str(rng.choice(ENDS))


@pytest.mark.parametrize("seed", range(90))
def test_an_elastica_in_the_gauge(seed, agrees):
    _, bending, anvils, deflection, _, run, tension, ends = drawn(seed)
    found = gauge_way_in(deflection, anvils, tension, run, bending, ends)
    expected = elastica(tension, bending, anvils, deflection, run, ends)
    steep = 2 * deflection / anvils
    # what the program leaves out are slopes squared, up to half as steep again as straight flanks
    agrees("way, an elastica: d up to s/8", found, expected, 0.6 * steep**2 + 1e-3)
    if steep < 0.06:
        agrees("the same, d up to 0.03 s", found, expected, 0.6 * steep**2 + 1e-3)


@pytest.mark.parametrize("seed", range(90))
def test_the_interval_holds_the_elastica_wherever_its_stiffness_lies(seed):
    """Loose wires, solid rod and between, each with runs and ends beyond the gauge drawn: the tension without the gauge
    lies within U, though deflection, anvils and stretch are known exactly here."""
    wire, bending, anvils, deflection, length, run, tension, ends = drawn(seed)
    run_known = stretch.of_length(wire, length)
    exact = stretch.Stretch(wire, run_known.stiffness_lbf_per_in, 0.0, run_known.source, "", length)
    k = exact.stiffness_lbf_per_in
    rise = k * elastica(tension, bending, anvils, deflection, run, ends)
    if rise >= tension:
        # such a cable would have to push without the gauge
        return
    found = clamp_effect(deflection, anvils, exact, tension, 1e-6, 0.0, 0.0)
    assert {c.why.split(",")[0] for c in found.combined.components} == {"bending stiffness"}
    assert abs(found.free_lbf - (tension - rise)) <= found.free.expanded()
    # without bending stiffness it would be said too high, whatever the stiffness is
    assert tension - found.clamped.rise.string_lbf > tension - rise


@pytest.mark.parametrize("size", ["3/32", "1/8", "3/16"])
@pytest.mark.parametrize("tension", [10.0, 35.0, 150.0])
def test_the_figure_does_not_err_to_the_unsafe_side(size, tension):
    """Of elasticas with every EI alike in its root and all ends and runs alike, the mean rise is no more than is said."""
    wire, d, s = cable(size), 0.06, 3.0
    low, high = (math.sqrt(x) for x in bending_range(wire.diameter_in, "7x19"))
    ways = [
        elastica(tension, (low + (i + 0.5) / 8 * (high - low)) ** 2, s, d, run, ends)
        for i in range(8)
        for run in (6.0, 30.0)
        for ends in ENDS
    ]
    rise = gauge_rise(d, s, 1.0, tension, bending_range(wire.diameter_in, "7x19"), 30.0)
    assert (rise.least_raise_lbf + rise.most_raise_lbf) / 2 >= np.mean(ways)


def grown(tension, bending, anvils, deflection, left, right, points=2400):
    """Way of a cable with bending stiffness: least energy on a grid with pinned ends, whose riser lies that far out of
    the middle between the two anvils, wherever these lie."""
    span = left + anvils + right
    h = span / points
    n = points + 1
    second = diags([1.0, -2.0, 1.0], [0, 1, 2], shape=(n - 2, n)) / h**2
    first = diags([-1.0, 1.0], [0, 1], shape=(points, n)) / h
    stiff = h * (bending * second.T @ second + tension * first.T @ first)
    held = np.zeros((3, n))
    held[0, 0] = held[1, points] = 1
    for place, weight in ((left, -0.5), (left + anvils, -0.5), (left + anvils / 2, 1.0)):
        at, rest = divmod(place / h, 1)
        held[2, int(at) : int(at) + 2] += np.array([1 - rest, rest]) * weight
    held = csc_matrix(held)
    load = np.zeros(n + 3)
    load[-1] = deflection
    w = spsolve(bmat([[stiff, held.T], [held, None]]).tocsc(), load)[:n]
    return h * float((np.hypot(1, np.diff(w) / h) - 1).sum())


def test_a_gauge_free_to_move_on_a_grid(agrees):
    """The gauge finds its own place and tilt; with runs of two lengths the way is nearly the mean of two like ones."""
    low, high = bending_range(0.125, "7x19")
    for tension in (20.0, 35.0, 150.0):
        for ei in (low, 30.0, high):
            for left, right in ((20.0, 20.0), (6.0, 6.0), (6.0, 30.0)):
                found = grown(tension, ei, 3.0, 0.06, left, right)
                ways = [gauge_way_in(0.06, 3.0, tension, run, ei, "pinned") for run in (left, right)]
                like, what = (1e-3, "like") if left == right else (1e-2, "of 6 and 30 in")
                agrees(f"way, least energy on a grid, runs {what}", sum(ways) / 2, found, like)


def test_a_stiff_cable_goes_a_longer_way(agrees):
    """Through three given points the straight lines are the shortest way, so that bending stiffness only adds to it."""
    low, high = bending_range(0.125, "7x19")
    for tension in (20.0, 35.0, 150.0):
        ways = [elastica(tension, ei, 3.0, 0.06, 30.0, "pinned") for ei in (1e-3, low, 30.0, high)]
        string = gauge_way_in(0.06, 3.0, tension, 30.0)
        agrees("way of a cable without bending stiffness", string, ways[0], 5e-3)
        assert ways == sorted(ways)
        # between 3 and 11 % more for loose wires; 1.8 to 3.9 times as long for a solid rod
        assert 1.03 < ways[1] / string < 1.11
        assert 1.8 < ways[3] / string < 3.9


def test_rise_and_tension_hold_each_other():
    """From the cable's own tension up: a tension at which the gauge's rise and the tension with it on fit together."""
    k, d, s, rest = EA_LBF / 168, 0.06, 3.0, 30.0
    low, high = bending_range(0.125, "7x19")
    for bending in (low, high):
        on = brentq(lambda t, ei=bending: rest + k * elastica(t, ei, s, d, 40.0, "pinned") - t, rest, 3 * rest)
        found = clamp_effect(d, s, stretch.of_length(cable("1/8"), 168.0), on, deflection_within_in=0.0)
        assert abs(found.free_lbf - rest) <= found.free.expanded()


def test_limits():
    # two anvils far apart or a deflection of next to nothing: 2 K d^2 / s, and none where the circuit gives freely
    for d in (1e-9, 1e-6, 1e-3):
        found = clamped(d, 3.0, 1000.0, 1e9, LIMP, 30.0)
        assert found.raise_lbf == pytest.approx(2 * 1000 * d**2 / 3, rel=1e-6)
    assert set(
        clamped(0.06, 3.0, 0.0, 40.0, bending_range(0.125, "7x19"), 30.0, 0.01, 0.1).contributions_lbf.values()
    ) == {0.0}
