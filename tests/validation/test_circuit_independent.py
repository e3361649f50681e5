"""Random circuits solved a second way: least complementary energy by Lawson and Hanson, and the energy by a minimiser.

Of all tensions that cannot push and that balance the moments, the true ones make

    sum T^2 / 2k - sum T x0     least, subject to  T >= 0,  A' T = M

(principle of least complementary energy). With T = T_p + N w it is a least-distance problem, which
`scipy.optimize.nnls` solves in a finite number of steps (C. L. Lawson, R. J. Hanson, "Solving Least Squares Problems",
1974, chapter 23). It shares nothing with Newton's method on angles: its unknowns are tensions, and slack is a bound.
"""

import numpy as np
import pytest
from scipy.linalg import null_space, qr
from scipy.optimize import minimize, nnls, root

from rigging.errors import Refusal
from rigging.physics.circuit import Circuit, Joint, Link

CLOSE = 1e-8  # of the largest tension


def random_circuit(rng):
    """2 to 6 sectors in chains, loops and branches, with springs to the airframe; every sector can be held."""
    n = int(rng.integers(2, 7))
    names = [f"s{i}" for i in range(n)]
    held = [name for name in names if rng.random() < 0.25]
    links = []

    def joint(name):
        return Joint(str(name), int(rng.choice([1, -1])), float(rng.uniform(1, 6)))

    def add(start, end, softest=100.0, stiffest=4000.0):
        stiffness = float(np.exp(rng.uniform(np.log(softest), np.log(stiffest))))
        links.append(Link(f"link {len(links)}", stiffness, start, end))

    anchors = list(held)
    for name in names:
        if name in held:
            continue
        start = joint(name)
        end = joint(rng.choice(anchors)) if anchors and rng.random() < 0.8 else None
        add(start, end)
        if rng.random() < 0.8:
            add(start._replace(side=-start.side), end and end._replace(side=-end.side))
        anchors.append(name)
    if rng.random() < 0.5:
        spring = joint(rng.choice(names))
        add(spring, None, 1.0, 50.0)
        add(spring._replace(side=-spring.side), None, 1.0, 50.0)
    while len(links) < 2 or rng.random() < 0.3:
        a, b = rng.choice(names, 2, replace=False)
        add(joint(a), joint(b))
    return names, links, held


def geometry(names, links, held):
    """Stretch per radian of the free sectors, and the stiffnesses."""
    free = [name for name in names if name not in held]
    a = np.zeros((len(links), len(free)))
    for i, link in enumerate(links):
        for joint in (link.start, link.end):
            if joint is not None and joint.sector in free:
                a[i, free.index(joint.sector)] += joint.side * joint.arm_in
    return a, np.array([link.stiffness_lbf_per_in for link in links])


def least_complementary_energy(a, k, stretch, moment):
    """Tensions, or None where no tensions that only pull balance the moments."""
    particular = np.linalg.lstsq(a.T, moment, rcond=None)[0] if a.shape[1] else np.zeros(len(k))
    free = null_space(a.T) if a.shape[1] else np.eye(len(k))
    # |K^-1/2 (T_p + N w) - K^1/2 x0| least: with K^-1/2 N = Q R and u = R w + Q' c it is |u| least
    c = particular / np.sqrt(k) - np.sqrt(k) * stretch
    q, r = qr(free / np.sqrt(k)[:, None], mode="economic")
    g = np.linalg.solve(r.T, free.T).T if free.shape[1] else free
    offset = q.T @ c
    h = -particular + g @ offset  # G u >= h is T >= 0
    # a link that statics alone determines leaves no choice; the others weigh alike
    weight = np.sqrt((g**2).sum(axis=1))
    given = weight < 1e-9 * np.sqrt(k)
    if (h[given] > 1e-9 * max(np.abs(particular).max(), 1.0)).any():
        return None
    rows, least = g[~given] / weight[~given, None], h[~given] / weight[~given]
    size = max(np.abs(least).max(initial=0.0), 1e-3)
    e = np.vstack([rows.T, least[None, :] / size])
    f = np.append(np.zeros(g.shape[1]), 1.0)
    residual = e @ nnls(e, f, maxiter=1000)[0] - f if len(least) else -f
    if -residual[-1] < 1e-9:
        return None
    u = -residual[:-1] / residual[-1] * size
    return particular + g @ (u - offset)


def drawn(seed):
    """A circuit with stretches, many of them slack, and moments: none, one or all."""
    rng = np.random.default_rng(seed)
    names, links, held = random_circuit(rng)
    stretch = rng.normal(0.02, 0.06, len(links))
    moment = rng.normal(0, 150, len(names)) * (rng.random(len(names)) < rng.choice([0.0, 0.3, 1.0]))
    free = np.array([name not in held for name in names])
    return Circuit(names, links, held), *geometry(names, links, held), stretch, moment, free


@pytest.mark.parametrize("block", range(20))
def test_least_complementary_energy_agrees(block):
    met = {"tight": 0, "slack": 0, "refused": 0}
    for seed in range(100 * block, 100 * block + 100):
        circuit, a, k, stretch, moment, free = drawn(seed)
        expected = least_complementary_energy(a, k, stretch, moment[free])
        if expected is None:
            with pytest.raises(Refusal, match="nothing stops"):
                circuit.solve(stretch, moment)
            met["refused"] += 1
            continue
        found = circuit.solve(stretch, moment).tension_lbf
        assert np.abs(found - expected).max() <= CLOSE * max(expected.max(), 1.0), f"circuit {seed}"
        met["slack" if (found == 0).any() else "tight"] += 1
    # the draw is worth its name: every kind is met in every hundred
    assert min(met.values()) >= 3, met


@pytest.mark.parametrize("block", range(4))
def test_a_minimiser_of_the_energy_agrees(block):
    # an energy is flat at its least and says nothing below its own rounding, so BFGS comes within 1e-6 or so;
    # MINPACK takes the moments from there to zero
    solved = 0
    for seed in range(5000 + 25 * block, 5000 + 25 * block + 25):
        circuit, a, k, stretch, moment, free = drawn(seed)
        if not free.any() or least_complementary_energy(a, k, stretch, moment[free]) is None:
            continue
        reach = 1 / np.sqrt((k[:, None] * a**2).sum(axis=0))  # all angles of like weight
        a, load = a * reach, moment[free] * reach

        def tensions(z, a=a, k=k, stretch=stretch):
            return k * np.maximum(0.0, stretch + a @ z)

        def unbalanced(z, a=a, load=load, tensions=tensions):
            return a.T @ tensions(z) - load

        def curvature(z, a=a, k=k, stretch=stretch):
            return (a.T * (k * (stretch + a @ z > 0))) @ a

        def energy(z, k=k, load=load, tensions=tensions):
            return 0.5 * (tensions(z) ** 2 / k).sum() - load @ z

        best = minimize(energy, np.zeros(a.shape[1]), jac=unbalanced, method="BFGS", options={"maxiter": 5000})
        rest = root(unbalanced, best.x, jac=curvature, tol=1e-14)
        size = np.abs(a).max() * max(tensions(rest.x).max(), 1.0)
        assert np.abs(rest.fun).max() < 1e-11 * size, f"the second way fails on circuit {seed}"
        expected = tensions(rest.x)
        found = circuit.solve(stretch, moment).tension_lbf
        assert np.abs(found - expected).max() <= CLOSE * max(expected.max(), 1.0), f"circuit {seed}"
        solved += 1
    assert solved >= 10


def test_the_second_way_is_right_about_the_loop_done_by_hand():
    # two cables of 600 lbf/in at 3 in and 40 lbf each, loaded with 300 in lbf: 100 and 0 lbf
    a, k = np.array([[3.0], [-3.0]]), np.array([600.0, 600.0])
    stretch = np.full(2, 40 / 600)
    assert least_complementary_energy(a, k, stretch, np.array([300.0])) == pytest.approx([100, 0], abs=1e-9)
    assert least_complementary_energy(a, k, stretch, np.array([60.0])) == pytest.approx([50, 30], abs=1e-9)
    assert least_complementary_energy(a[:1], k[:1], stretch[:1], np.array([-60.0])) is None
