"""A part in changed air by the equation of heat: cells of a plate, a wire and a ball; and its rate of change integrated."""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.linalg import eigvalsh_tridiagonal
from scipy.optimize import curve_fit

from rigging.errors import Refusal
from rigging.physics.steady import LARGEST_BIOT, difference_left_degF, fit_time_constant, time_constant_s, wait_h

pytestmark = pytest.mark.slow

SHAPES = {"plate": 0, "wire": 1, "ball": 2}  # how the area grows with the distance from the middle
# what the inside lags behind by, in h (V/A) / k: the first term of the series for the slowest root (Carslaw and Jaeger)
LAG = {"plate": 1 / 3, "wire": 1 / 2, "ball": 3 / 5}


def slowest_s(shape, half_m, density, heat, conductivity, film, cells=400):
    """Time constant of the slowest way in which heat leaves a body of cells, each with its own temperature."""
    power = SHAPES[shape]
    edges = np.linspace(0, half_m, cells + 1)
    volume = np.diff(edges ** (power + 1)) / (power + 1)
    area = edges**power
    inner = conductivity * area[1:-1] / (half_m / cells)
    # from the middle of the last cell through half of it and the film
    outer = area[-1] / (1 / film + half_m / cells / 2 / conductivity)
    through = np.zeros(cells)
    through[:-1] += inner
    through[1:] += inner
    through[-1] += outer
    held = density * heat * volume
    root = np.sqrt(held)
    rates = eigvalsh_tridiagonal(through / held, -inner / (root[:-1] * root[1:]), select="i", select_range=(0, 0))
    return 1 / float(rates[0])


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("biot", [1e-4, 1e-3, 0.01, 0.05, LARGEST_BIOT])
def test_a_body_of_cells(shape, biot, agrees):
    half, density, heat, conductivity = 0.0125, 2780.0, 875.0, 120.0
    over_area = half / (SHAPES[shape] + 1)
    film = biot * conductivity / over_area * (1 - 1e-12)
    found = time_constant_s(over_area, density, heat, film, conductivity)
    expected = slowest_s(shape, half, density, heat, conductivity, film)
    agrees("time constant over one plus the lag of the inside", found, expected, biot * LAG[shape] + 1e-5)
    if biot <= 1e-3:
        agrees("time constant, body of cells (h (V/A) / k to 0.001)", found, expected, 1e-3)
    assert expected >= found * (1 - 1e-5), "the lumped body is the fastest there is"


@pytest.mark.parametrize("seed", range(30))
def test_the_rate_of_change_integrated(seed, agrees):
    rng = np.random.default_rng(seed)
    constant, within = float(np.exp(rng.uniform(np.log(0.02), np.log(3)))), float(rng.uniform(0.1, 5))
    start = float(rng.choice([-1, 1])) * float(rng.uniform(0, 120))
    time = float(rng.uniform(0, 8)) * constant
    near = lambda t, y: abs(y[0]) - within  # noqa: E731
    near.terminal = True
    rate = lambda t, y: -y / constant  # noqa: E731
    left = solve_ivp(rate, (0, time), [start], rtol=1e-11, atol=1e-13).y[0, -1] if time else start
    agrees("difference left, its rate integrated", difference_left_degF(start, time, constant), left, 1e-8, of=120.0)
    if abs(start) <= within:
        assert wait_h(start, within, constant) == 0.0
        return
    done = solve_ivp(rate, (0, 60 * constant), [start], events=near, rtol=1e-11, atol=1e-13)
    agrees(
        "wait, when the rate has brought it there",
        wait_h(start, within, constant),
        done.t_events[0][0],
        1e-7,
        of=constant,
    )


@pytest.mark.parametrize("seed", range(20))
def test_a_time_constant_by_nonlinear_least_squares(seed, agrees):
    """Not a line through logs but the exponential itself through the differences, by Levenberg and Marquardt."""
    rng = np.random.default_rng(seed)
    constant, start = float(rng.uniform(0.1, 1.5)), float(rng.choice([-1, 1])) * float(rng.uniform(12, 80))
    times = np.sort(rng.uniform(0, 1.2, int(rng.integers(2, 8)))) * constant
    exact = start * np.exp(-times / constant)
    seen = exact + rng.uniform(-0.05, 0.05, len(times))
    found = fit_time_constant(times.tolist(), seen.tolist(), 0.05)
    fitted, spread = curve_fit(
        lambda t, d, rate: d * np.exp(-t * rate), times, seen, [start, 1 / constant],
        sigma=np.full(len(times), 0.05 / math.sqrt(3)), absolute_sigma=True,
    ) if len(times) > 2 else (None, None)  # fmt: skip
    if fitted is None:
        # through two readings the exponential is given: its rate by halving
        agrees(
            "time constant of two readings",
            found.time_constant_h,
            (times[1] - times[0]) / math.log(seen[0] / seen[1]),
            1e-9,
        )
        return
    agrees(
        "rate, nonlinear least squares, in its deviations",
        1 / found.time_constant_h,
        fitted[1],
        0.1,
        of=math.sqrt(spread[1, 1]),
    )
    low, high = fitted[1] - 1.96 * math.sqrt(spread[1, 1]), fitted[1] + 1.96 * math.sqrt(spread[1, 1])
    agrees("95 % interval of the rate, in its half-width", [1 / found.high_h if found.high_h < math.inf else 0.0, 1 / found.low_h], [max(low, 0.0), high], 0.1, of=(high - low) / 2)  # fmt: skip


def test_the_interval_holds_in_95_of_100_by_simulation():
    """Thermometers equally likely wrong within +-2 F; 4000 parts, held at least as often as is said, and not always."""
    rng = np.random.default_rng(20261125)
    held = 0
    for _ in range(4000):
        constant, start = rng.uniform(0.1, 1.5), rng.choice((-1, 1)) * rng.uniform(12, 60)
        times = constant * np.array([0.0, 0.4, 0.8, 1.2])
        found = fit_time_constant(times, start * np.exp(-times / constant) + rng.uniform(-2, 2, 4), 2.0)
        held += found is not None and found.low_h <= constant <= found.high_h
    assert 0.94 <= held / 4000 <= 0.97


def test_limits():
    # no time, no change; for ever, none left; already there, no wait
    assert difference_left_degF(16.0, 0.0, 0.2) == 16.0
    assert difference_left_degF(16.0, 1e6, 0.2) == 0.0
    assert wait_h(2.0, 2.0, 0.2) == 0.0 and wait_h(0.0, 2.0, 0.2) == 0.0
    # just outside: tau times the share that is too much
    assert wait_h(2.0 * (1 + 1e-9), 2.0, 1.0) == pytest.approx(1e-9, rel=1e-6)
    # beyond the bound the cells say otherwise by more than 3 %, and no figure is given
    film = 2 * LARGEST_BIOT * 120 / 0.0125
    assert slowest_s("plate", 0.0125, 2780, 875, 120, film) > 1.05 * 0.0125 * 2780 * 875 / film
    with pytest.raises(Refusal, match="inside lags behind"):
        time_constant_s(0.0125, 2780.0, 875.0, film, 120.0)
