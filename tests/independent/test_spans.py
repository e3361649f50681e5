"""Spans below zero by brute force: every line drawn through thousands of points, each asked for itself."""

from itertools import pairwise

import numpy as np
import pytest
from scipy.optimize import brentq

from rigging.physics.spans import below_zero, last_alike

pytestmark = pytest.mark.slow

POINTS = 20_001


def drawn(rng):
    """Two to nine temperatures between -65 and 160 F with margins, some of them none and some just zero."""
    n = int(rng.integers(2, 10))
    at = np.sort(rng.choice(np.arange(-65, 161), n, replace=False)).astype(float)
    margins = [float(m) for m in rng.normal(0, 20, n)]
    for i in range(n):
        what = rng.random()
        margins[i] = None if what < 0.1 else 0.0 if what < 0.2 else margins[i]
    return at.tolist(), margins


def line_at(x, at, margins):
    """The margin at x by the two-point form, nan where one of its ends is open."""
    out = np.full(len(x), np.nan)
    for (t0, m0), (t1, m1) in pairwise(zip(at, margins, strict=True)):
        if m0 is not None and m1 is not None:
            inside = (x >= t0) & (x <= t1)
            out[inside] = np.interp(x[inside], [t0, t1], [m0, m1])
    return out


@pytest.mark.parametrize("seed", range(150))
def test_every_point_of_the_line_asked_for_itself(seed, agrees):
    at, margins = drawn(np.random.default_rng(seed))
    x = np.linspace(at[0], at[-1], POINTS)
    step = x[1] - x[0]
    value = line_at(x, at, margins)
    spans = below_zero(at, margins)
    inside = np.zeros(POINTS, dtype=bool)
    for one, other in spans:
        assert one < other
        inside |= (x > one + step) & (x < other - step)
        # the ends are where the line is zero, or where its piece ends
        for end in (one, other):
            there = line_at(np.array([end]), at, margins)[0]
            assert end in at or abs(there) < 1e-9 * max(abs(m) for m in margins if m is not None)
    assert (value[inside] <= 1e-9).all(), "a span holds a place above zero"
    far_below = np.zeros(POINTS, dtype=bool)
    for one, other in spans:
        far_below |= (x >= one - step) & (x <= other + step)
    assert far_below[value < 0].all(), "a place below zero is in no span"
    below = float((value < 0).sum()) * step
    agrees(
        "length below zero, points counted",
        sum(o - s for s, o in spans),
        below,
        3e-4 * (len(spans) + 1),
        of=at[-1] - at[0],
    )
    # spans stand in order and never touch
    assert all(one.to_degF < other.from_degF for one, other in pairwise(spans))


@pytest.mark.parametrize("seed", range(40))
def test_the_last_temperature_by_another_root_finder(seed, agrees):
    rng = np.random.default_rng(seed)
    slope, zero = float(rng.choice([-1, 1])) * float(np.exp(rng.normal())), float(rng.uniform(-64, 159))
    # a bent line, so that halving and Brent's method take other ways
    bent = lambda x: slope * (x - zero) * (1 + 0.002 * abs(x - zero))  # noqa: E731
    near, far = (-65.0, 160.0) if rng.random() < 0.5 else (160.0, -65.0)
    side = bent(near) > 0
    found = last_alike(near, far, lambda x: (bent(x) > 0) == side)
    agrees("last temperature alike, Brent's method", found, brentq(bent, -65, 160, xtol=1e-13), 1e-11, of=225.0)
    assert (bent(found) > 0) == side


def test_limits():
    assert below_zero([], []) == [] and below_zero([70.0], [-5.0]) == []
    # a change right at one end, and one that never comes
    assert last_alike(-65.0, 160.0, lambda x: x < 160.0) == pytest.approx(160.0, abs=1e-9)
    assert last_alike(-65.0, 160.0, lambda x: x <= -65.0) == -65.0
    # margins of next to nothing still change where they change
    assert below_zero([0.0, 1.0], [1e-150, -1e-150])[0].from_degF == pytest.approx(0.5)
