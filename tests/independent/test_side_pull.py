"""A pulled span as what it is: an elastica that may turn as far as it likes, on a cable that stretches in its circuit.

    x' = cos a    y' = sin a    a' = M / EI    M' = H sin a - V cos a          along the cable

with H and V the forces at its end, solved as a boundary value problem by collocation (scipy's solve_bvp). Nothing is
small in it: slopes, the longer way and the rise of tension come out of the shape itself, where the program has small
slopes, a share of a string's deflection, and Pythagoras. Beside it the share alone, over the whole range of stiffness: a
Fourier series for pinned ends, cubic beam elements for clamped ones (tests/validation/test_side_pull.py has a grid).
"""

import math

import numpy as np
import pytest
from scipy.integrate import solve_bvp
from scipy.linalg import solveh_banded

from rigging.physics.side_pull import ENDS, STEEPEST, pull_force_lbf, pulled_tension_lbf, string_share


def elastica(rest, span, deflection, stiffness, bending, ends):
    """Force at mid span that holds a deflection: half of the span, twice its V. Tension at the support is rest + K way."""
    half = span / 2
    flank = math.hypot(half, deflection)
    size = rest + stiffness * 2 * (flank - half)  # of the tension
    own = math.sqrt(bending / size) / half  # the length in which bending dies away, in half spans

    def rate(s, z, p):
        length, h, v = p
        _, _, a, m = z
        return length * np.array([np.cos(a), np.sin(a), m / own, (h * np.sin(a) - v * np.cos(a)) / own])

    def unmet(z0, z1, p):
        length, h, v = p
        held = z0[2] if ends == "clamped" else z0[3]
        pulls = h * math.cos(z0[2]) + v * math.sin(z0[2])
        tension = (rest + stiffness * 2 * half * (length - 1)) / size
        return np.array([z0[0], z0[1], held, z1[0] - 1, z1[1] - deflection / half, z1[2], pulls - tension])

    s = np.unique(np.concatenate([np.linspace(0, 1, 40), np.geomspace(1e-3, 1, 40), 1 - np.geomspace(1e-3, 1, 40)]))
    slope = math.atan(deflection / half)
    z = np.array([s, deflection / half * s, slope * (1 - s**6), 0 * s])
    done = solve_bvp(rate, unmet, s, z, [flank / half, math.cos(slope), math.sin(slope)], tol=1e-7, max_nodes=20_000)
    assert done.success, done.message
    return 2 * float(done.p[2]) * size


@pytest.mark.parametrize("ends", ENDS)
@pytest.mark.parametrize("seed", range(25))
def test_an_elastica_that_stretches_its_circuit(seed, ends, agrees):
    rng = np.random.default_rng(seed)
    span, rest = float(rng.uniform(24, 144)), float(np.exp(rng.uniform(np.log(5), np.log(200))))
    steep = STEEPEST * float(rng.choice([0.999, rng.uniform(0.02, 1)]))
    deflection = steep * span / 2
    bending = rest * span**2 / float(np.exp(rng.uniform(np.log(2), np.log(150)))) ** 2
    stiffness = float(rng.choice([0.0, np.exp(rng.uniform(np.log(5), np.log(2000)))]))
    found = pull_force_lbf(rest, deflection, span, span / 2, stiffness, bending, ends)
    expected = elastica(rest, span, deflection, stiffness, bending, ends)
    # what the program leaves out: curvature is w'' over (1 + slope^2)^(3/2), and a bent cable goes up to 6/5 of the way
    # over straight flanks (6/5: a beam alone), which raises its tension by as much more
    rise = stiffness * 2 * (math.hypot(span / 2, deflection) - span / 2)
    left_out = 1.5 * steep**2 + 0.2 * rise / (rest + rise)
    agrees("force, an elastica: slopes to 0.15, any rise", found, expected, left_out)
    if rise < 0.02 * rest:
        agrees("the same, rise below 2 % of the tension", found, expected, left_out)
    if steep < 0.05 and rise < 0.02 * rest:
        agrees("the same, slopes below 0.05 too", found, expected, left_out)


def series(tension, bending, span, at, terms=200_000):
    """Deflection under a unit force with pinned ends: the sum over half waves."""
    k = np.arange(1, terms + 1) * math.pi / span
    return float((2 / span * np.sin(k * at) ** 2 / (bending * k**4 + tension * k**2)).sum())


def elements(tension, bending, span, at, count=240):
    """The same with clamped ends: cubic elements, half on each side; small at force and ends where bending dies away soon."""
    even = np.linspace(0, 1, count // 2 + 1)
    near = even - 0.98 / (2 * math.pi) * np.sin(2 * math.pi * even) if tension * span**2 / bending > 2500 else even
    nodes = np.concatenate([near * at, at + near[1:] * (span - at)])
    bands = np.zeros((4, 2 * len(nodes)))
    for i, h in enumerate(np.diff(nodes)):
        beam = bending / h**3 * np.array([[12, 6 * h, -12, 6 * h], [6 * h, 4 * h**2, -6 * h, 2 * h**2], [-12, -6 * h, 12, -6 * h], [6 * h, 2 * h**2, -6 * h, 4 * h**2]])  # fmt: skip
        pull = tension / (30 * h) * np.array([[36, 3 * h, -36, 3 * h], [3 * h, 4 * h**2, -3 * h, -(h**2)], [-36, -3 * h, 36, -3 * h], [3 * h, -(h**2), -3 * h, 4 * h**2]])  # fmt: skip
        for a in range(4):
            for b in range(a, 4):
                bands[3 + a - b, 2 * i + b] += (beam + pull)[a, b]
    free = slice(2, 2 * len(nodes) - 2)
    load = np.zeros(2 * len(nodes) - 4)
    under = 2 * (count // 2) - 2
    load[under] = 1.0
    return float(solveh_banded(bands[:, free], load)[under])


@pytest.mark.parametrize("seed", range(30))
def test_the_share_of_a_string_over_the_whole_range(seed, agrees):
    rng = np.random.default_rng(seed)
    tension, span, place = 35.0, 60.0, float(rng.choice([0.2, 0.5, 0.8, rng.uniform(0.2, 0.8)]))
    xi = float(np.exp(rng.uniform(np.log(2e-3), np.log(800))))
    bending, string = tension * span**2 / xi**2, place * (1 - place) * span / tension
    pinned = string_share(tension, span, place * span, bending, "pinned")
    agrees(
        "share of a string, pinned: Fourier series", pinned, series(tension, bending, span, place * span) / string, 2e-4
    )
    held = string_share(tension, span, place * span, bending, "clamped")
    agrees(
        "share of a string, clamped: cubic elements",
        held,
        elements(tension, bending, span, place * span) / string,
        2e-4,
    )


@pytest.mark.parametrize("ends", ENDS)
def test_limits(ends):
    # no bending stiffness, and so little that it is none
    assert string_share(35.0, 60.0, 30.0, 0.0, ends) == 1.0
    assert string_share(35.0, 60.0, 30.0, 1e-9, ends) == pytest.approx(1.0, abs=1e-6)
    # continuous where the sum changes from hyperbolic functions to the plain beam, at q L = 0.01
    bending = 35.0 * 60**2
    shares = [
        string_share(35.0, 60.0, 20.0, bending / (1e-2 * (1 + e)) ** 2, ends) / (1 + e) ** 2 for e in (-1e-6, 1e-6)
    ]
    assert shares[0] == pytest.approx(shares[1], rel=1e-4)
    # a cable that hangs loose is pulled by the way it takes alone
    way = 2 * (math.hypot(30, 1.5) - 30)
    assert pull_force_lbf(0.0, 1.5, 60.0, 30.0, 400.0) == pytest.approx(400 * way * 2 * 1.5 / math.hypot(30, 1.5))
    # the smallest pull: tension from next to no force
    assert pulled_tension_lbf(1e-9, 1e-9 * 60 / 4 / 35.0, 60.0, 30.0) == pytest.approx(35.0, rel=1e-9)
