"""A span that swings: its equation carried from end to end by matrix exponentials, and a chain of weights that sags.

EI w'''' - T w'' = m w0^2 w as four first-order equations: one step over the span is the exponential of a matrix, and a
frequency is one at which what the near end may do meets what the far end must. Nothing of the program's characteristic
equation is used. (tests/validation/test_stiff_string.py holds it to a grid and to Chebyshev collocation besides.)
Sag: a chain of bars with weight, brought to rest by Newton's method, its tangent stiffness against its masses.
Uncertainty of a tension from frequencies: JCGM 101, by drawing them.
"""

import math

import numpy as np
import pytest
from scipy.linalg import eigh, expm
from scipy.optimize import brentq, least_squares

from rigging.physics.pluck import (
    PLUCK_ENDS,
    Mode,
    fitted_tension,
    mode_frequency_Hz,
    pinned_line,
    sag_share,
    stiff_factor,
    string_tension_lbf,
)

pytestmark = pytest.mark.slow

# which of w, w', w'', w''' vanish at a pinned and at a clamped end
PINNED, CLAMPED = (0, 2), (0, 1)
HELD = {"pinned": (PINNED, PINNED), "one clamped": (CLAMPED, PINNED), "clamped": (CLAMPED, CLAMPED)}
SPAN_IN, MASS = 72.0, 6.259e-6  # 1/8 7x19: 2.9 lb per 100 ft


def unmet(square, xi, ends):
    """Zero at a mode; span, tension and mass 1, square: of the circular frequency."""
    equation = np.diag([1.0, 1.0, 1.0], 1)
    equation[3] = [square * xi**2, 0.0, xi**2, 0.0]
    near, far = HELD[ends]
    free = [i for i in range(4) if i not in near]
    across = expm(equation)
    return float(np.linalg.det(across[np.ix_(far, free)]))


@pytest.mark.parametrize("ends", PLUCK_ENDS)
@pytest.mark.parametrize("xi", [0.05, 0.3, 1.0, 3.0, 7.0, 15.0])
def test_the_equation_carried_over_the_span(xi, ends, agrees):
    found = [n * math.pi * stiff_factor(n, xi, ends) for n in range(1, 6)]
    # every sign change on the way is a mode: none is passed over
    steps = np.linspace(0.3 * found[0], found[-1] * 1.05, 4000)
    values = [unmet(w * w, xi, ends) for w in steps[:: max(1, len(steps) // 500)]]
    coarse = steps[:: max(1, len(steps) // 500)]
    roots = [
        brentq(lambda w: unmet(w * w, xi, ends), a, b, xtol=1e-11 * b, rtol=1e-12)
        for a, b, u, v in zip(coarse, coarse[1:], values, values[1:], strict=False)
        if u * v < 0
    ]
    agrees("first five modes, carried by matrix exponentials", found, roots[:5], 1e-6)


def ring(tension, bending, ends, numbers, u, rng=None):
    out = []
    for n in numbers:
        f = mode_frequency_Hz(n, tension, SPAN_IN, MASS, bending, ends)
        out.append(Mode(n, f + (u * rng.standard_normal() if rng else 0.0), u))
    return out


@pytest.mark.parametrize("ends", PLUCK_ENDS)
@pytest.mark.parametrize(("tension", "bending", "numbers"), [(35.0, 0.91, (1, 2, 3)), (35.0, 348.0, (1, 2, 3, 4)), (12.0, 348.0, (2, 5)), (150.0, 90.0, (1,)), (8.0, 348.0, (1, 3, 6)), (5.0, 2000.0, (1, 2, 3))])  # fmt: skip
def test_the_uncertainty_from_frequencies_by_drawing_them(tension, bending, numbers, ends, agrees):
    """JCGM 101: 300 sets of frequencies, each with the whole fit; its spread is what the fit says of itself."""
    rng = np.random.default_rng(20261125)
    u = 0.05
    stated = fitted_tension(
        ring(tension, bending, ends, numbers, u), SPAN_IN, MASS, bending, ends
    ).standard_uncertainty_lbf
    drawn = [fitted_tension(ring(tension, bending, ends, numbers, u, rng), SPAN_IN, MASS, bending, ends).tension_lbf for _ in range(300)]  # fmt: skip
    agrees("u of a tension from its modes, JCGM 101 (300 draws: 4 %)", stated, np.std(drawn), 0.16)


def first_up_and_down(tension, span, weight, stiffness, hangs, bars=120):
    """Square of the circular frequency of the first mode of a chain that swings up and down, in units of g."""
    ea, bar = stiffness * span, span / bars
    # every node carries its weight, so the upright pull of each bar is known, and with it where it points
    upright = weight * bar * (np.arange(bars) - (bars - 1) / 2) * hangs
    pull = np.hypot(tension, upright)
    along = np.column_stack([np.full(bars, tension), upright]) / pull[:, None]
    whole = np.zeros((2 * bars + 2, 2 * bars + 2))
    for i in range(bars):
        n = along[i]
        stretch = ea * (1 + pull[i] / ea) / bar * np.outer(n, n)
        turn = pull[i] / bar * (np.eye(2) - np.outer(n, n))
        own = slice(2 * i, 2 * i + 4)
        whole[own, own] += np.kron([[1, -1], [-1, 1]], stretch + turn)
    inner = whole[2:-2, 2:-2] / (weight * bar)
    squares, shapes = eigh(inner, subset_by_index=[0, 5])
    # the first that is alike on both sides of the middle
    for square, shape in zip(squares, shapes.T, strict=True):
        y = shape[1::2]
        if abs(y.sum()) > 0.3 * np.abs(y).sum():
            return float(square)
    raise AssertionError("no symmetric mode")


@pytest.mark.parametrize(("tension", "span", "size"), [(150.0, 48.0, 1), (40.0, 72.0, 1), (20.0, 72.0, 1), (35.0, 120.0, 1), (20.0, 110.0, 1), (80.0, 96.0, 2)])  # fmt: skip
def test_sag_by_a_chain_of_bars(tension, span, size, agrees):
    weight = 2.9 / 1200 * size**2
    stiffness = 104123 * size**2 / span
    squared = (weight * span / tension) ** 2 * stiffness * span / tension
    assert squared < 1.0  # the model's own bound
    share = (
        first_up_and_down(tension, span, weight, stiffness, 1) / first_up_and_down(tension, span, weight, stiffness, 0)
        - 1
    )
    found = sag_share(tension, span, weight, stiffness)
    agrees("sag's share of the tension, a chain of bars", found, share, 1e-4, of=1.0)


@pytest.mark.parametrize("ends", PLUCK_ENDS)
def test_the_nearest_tension_and_the_line_by_another_search(ends, agrees):
    """Levenberg and Marquardt over the root of T alone, and over T and EI together for pinned ends."""
    rng = np.random.default_rng(7)
    for _ in range(10):
        tension, bending = (
            float(np.exp(rng.uniform(np.log(8), np.log(200)))),
            float(np.exp(rng.uniform(np.log(0.5), np.log(350)))),
        )
        modes = ring(tension, bending, ends, (1, 2, 3, 4, 5), 0.02, rng)

        def off(z, t=None, bending=bending, modes=modes):
            return [(m.frequency_Hz - mode_frequency_Hz(m.number, z[0] ** 2, SPAN_IN, MASS, z[1] if len(z) > 1 else bending, ends)) / 0.02 for m in modes]  # fmt: skip

        found = fitted_tension(modes, SPAN_IN, MASS, bending, ends)
        nearest = least_squares(off, [math.sqrt(tension)], xtol=1e-12, ftol=1e-12).x[0] ** 2
        agrees(
            "tension nearest to the modes, in its own u",
            found.tension_lbf,
            nearest,
            1.0,
            of=found.standard_uncertainty_lbf,
        )
        if ends == "pinned":
            both = least_squares(off, [math.sqrt(tension), bending], xtol=1e-13, ftol=1e-13, x_scale=[1, bending]).x
            line = pinned_line(modes, SPAN_IN, MASS)
            agrees("straight line: tension, nonlinear least squares", line.tension_lbf, both[0] ** 2, 1e-4)
            agrees("straight line: EI, nonlinear least squares, of 348", line.bending_lbf_in2, both[1], 1e-3, of=348.0)


def test_limits():
    # a string: f n, and no wire so thin or span so long that it is not one
    assert [stiff_factor(5, math.inf, ends) for ends in PLUCK_ENDS] == [1.0] * 3
    assert stiff_factor(1, 1e9, "clamped") == pytest.approx(1.0, abs=1e-8)
    # a loose beam: n pi for pinned ends, and the textbooks' 3.9266 and 4.7300 (Timoshenko)
    for ends, root in (("pinned", math.pi), ("one clamped", 3.926602), ("clamped", 4.730041)):
        xi = 1e-4
        assert math.sqrt(math.pi * xi * stiff_factor(1, xi, ends)) == pytest.approx(root, rel=1e-6)
    # tension to nothing: the frequency is that of the beam, f = pi / 2L^2 sqrt(EI/m), and what is fitted is nothing with the
    # uncertainty 4 m L^2 2 f u, as T = 4 m L^2 f^2 - what bending holds
    f = math.pi / (2 * SPAN_IN**2) * math.sqrt(100.0 / MASS)
    loose = fitted_tension([Mode(1, f, 0.1)], SPAN_IN, MASS, 100.0, "pinned")
    assert loose.tension_lbf < 1e-3
    assert loose.standard_uncertainty_lbf == pytest.approx(8 * MASS * SPAN_IN**2 * f * 0.1, rel=1e-3)
    assert string_tension_lbf(1, 1e-12, SPAN_IN, MASS) < 1e-20
