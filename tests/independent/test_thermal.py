"""Temperature and tension by the long way: cells of cable and structure brought to rest, and limits drawn by JCGM 101.

A run is cut into cells, each a spring on a piece of structure; every temperature step makes both longer by its own
figure, and where the energy is least the tension stands. Limits in a circuit: EA, expansions and thermometer drawn from
the distributions that the reference figures (R4, R5) have, the whole nonlinear circuit solved for every draw, and the
stated U held to the share of draws that it covers.
"""

import math

import numpy as np
import pytest
from scipy.optimize import minimize_scalar

from rigging.measure.uncertainty import Component, combine
from rigging.physics.circuit import Circuit, Joint, Link
from rigging.physics.thermal import (
    HIGHEST_DEGF,
    LOWEST_DEGF,
    Piece,
    compliance_in_per_lbf,
    fixed_ends,
    hold_above_zero,
    responses,
    shift,
    slope_lbf_per_degF,
    tension_change_lbf,
)

pytestmark = pytest.mark.slow

# reference table R5 [1/degF]: 2024, spruce, 4130, quasi-isotropic carbon; carbon and stainless cable
STRUCTURES = {"2024": 22.9e-6 / 1.8, "spruce": 4.45e-6 / 1.8, "4130": 12.3e-6 / 1.8, "carbon": 2.5e-6 / 1.8}
CABLES = {"carbon cable": 11.7e-6 / 1.8, "stainless cable": 17.2e-6 / 1.8}
WIDEST_DEGF = HIGHEST_DEGF - LOWEST_DEGF


def at_rest(pieces, tension, structure, cable, give):
    """Tension after each piece of structure and cable has changed by its own temperature; strains finite, slack known."""
    # unloaded wire of every piece, so that all pull alike at the start
    wires = [p.length_in / (1 + tension / p.stiffness_lbf) for p in pieces]
    room = sum(p.length_in * (1 + p.structure_expansion_per_degF * s) for p, s in zip(pieces, structure, strict=True))
    wires = [w * (1 + p.cable_expansion_per_degF * c) for w, p, c in zip(wires, pieces, cable, strict=True)]
    room += give * tension  # the airframe has given way by that much at the start, and gives by each further pound

    def energy(pull):
        """Complementary energy of a chain of springs at one tension; least where the lengths close."""
        stored = (
            sum(w * pull**2 / (2 * p.stiffness_lbf) for w, p in zip(wires, pieces, strict=True)) + give * pull**2 / 2
        )
        return stored - pull * (room - sum(wires))

    most = 10 * (tension + 2000)
    coarse = minimize_scalar(energy, bounds=(0, most), method="bounded", options={"xatol": 1e-9}).x
    # the energy is a parabola; three of its points give the place of its least to the last digit
    h = 100.0
    low, mid, high = energy(coarse - h), energy(coarse), energy(coarse + h)
    return max(0.0, coarse - h * (high - low) / (2 * (high - 2 * mid + low)))


@pytest.mark.parametrize("seed", range(100))
def test_a_run_of_cells_at_rest(seed, agrees):
    rng = np.random.default_rng(seed)
    names = list(STRUCTURES)
    pieces = [
        Piece(float(rng.uniform(5, 200)), float(np.exp(rng.uniform(np.log(2e4), np.log(3e5)))), STRUCTURES[str(rng.choice(names))], CABLES[str(rng.choice(list(CABLES)))])
        for _ in range(int(rng.integers(1, 6)))
    ]  # fmt: skip
    give, tension = float(rng.choice([0.0, rng.uniform(0, 3e-3)])), float(rng.uniform(0, 200))
    # from bound to bound, and all between; each piece by itself, the cable behind or before its structure
    edge = float(rng.choice([-1, 1])) * WIDEST_DEGF
    structure = [edge if seed % 4 == 0 else float(rng.uniform(-135, 90)) for _ in pieces]
    cable = [s + (0.0 if seed % 2 else float(rng.uniform(-40, 40))) for s in structure]
    expected = at_rest(pieces, tension, structure, cable, give)
    change = tension_change_lbf(pieces, structure, cable, give)
    found, slack = hold_above_zero(tension + change)
    # cable counted long by its strain and expansion: shares of the change of 0.3 % and of T/EA, and of T itself
    second = WIDEST_DEGF * max(CABLES.values()) + 1.2 * (tension + abs(change)) / min(p.stiffness_lbf for p in pieces)
    agrees("tension after a change, cells at rest, of T and change", found, expected, second, of=tension + abs(change))
    if expected > 1e-3 * tension + 0.01 * abs(change):
        assert not slack


def loop(rng):
    """A loop of two or three runs over unequal arms, with a spring in one of two, all of one or two materials."""
    count = int(rng.integers(2, 4))
    sectors = ["stick", "horn"] if count == 2 else ["stick", "bellcrank", "horn"]
    arms = {s: (float(rng.uniform(2, 5)), float(rng.uniform(2, 5)) if rng.random() < 0.4 else 0.0) for s in sectors}
    arms = {s: (a, b or a) for s, (a, b) in arms.items()}
    ways = [("stick", 1, "horn", 1), ("horn", -1, "stick", -1)]
    if count == 3:
        ways = [("stick", 1, "bellcrank", 1), ("bellcrank", -1, "horn", 1), ("horn", -1, "stick", -1)]
    names = [str(n) for n in rng.choice(list(STRUCTURES), 2)]
    runs = [
        [(float(rng.uniform(40, 200)), names[int(rng.integers(0, 2))]) for _ in range(int(rng.integers(1, 3)))]
        for _ in ways
    ]
    spring = (float(rng.uniform(3, 40)), sectors[-1]) if rng.random() < 0.5 else None
    return sectors, arms, ways, runs, spring


def assembled(sectors, arms, ways, softness, spring):
    links = [
        Link(f"run {i}", 1 / c, Joint(a, s, arms[a][s < 0]), Joint(b, t, arms[b][t < 0]))
        for i, (c, (a, s, b, t)) in enumerate(zip(softness, ways, strict=True))
    ]
    if spring:
        links.append(Link("spring", spring[0], Joint(spring[1], 1, arms[spring[1]][0]), None))
    return Circuit(sectors, links, ["stick"])


@pytest.mark.parametrize("seed", range(10))
def test_limits_in_a_circuit_by_jcgm_101(seed, agrees):
    """20 000 draws each; what draws leave open of their own deviation is 0.5 %, of a coverage of 95 % it is 0.15 %."""
    rng = np.random.default_rng(1000 + seed)
    sectors, arms, ways, runs, spring = loop(rng)
    ea, wire, count = 104123.0, "carbon cable", 20_000
    wire_u, frame_u = 2.7e-6 / 1.8 / math.sqrt(12), {n: (1e-6 / 1.8 / math.sqrt(3) if n in ("spruce", "carbon") else 0.0) for n in STRUCTURES}  # fmt: skip
    change, half_width = float(rng.choice([-135.0, -60.0, 40.0, 90.0])), 2.0
    pieces = [
        [Piece(n, ea, STRUCTURES[m], CABLES[wire], m, wire, 0.075, frame_u[m], wire_u) for n, m in run] for run in runs
    ]
    # the tension at reference is given, as a band is: stretches that bring it about in the circuit of every draw
    circuit = assembled(sectors, arms, ways, [compliance_in_per_lbf(p) for p in pieces], spring)
    basis = circuit.pretension()
    reference = basis @ (basis.T @ np.full(len(basis), 60.0))
    if (reference < 20).any():
        reference = 60.0 * np.abs(basis[:, 0]) / np.abs(basis[:, 0]).min()
    effect, _ = circuit.takeup_effect()
    found = [shift(r, change, change, half_width / math.sqrt(3)) for r in responses([*pieces, *([[]] if spring else [])], effect.tolist())]  # fmt: skip

    eas = ea * (1 + 0.075 * rng.standard_normal(count))
    wires = CABLES[wire] + wire_u * math.sqrt(3) * rng.uniform(-1, 1, count)
    frames = {n: STRUCTURES[n] + u * math.sqrt(3) * rng.uniform(-1, 1, count) for n, u in frame_u.items()}
    changes = change + half_width * rng.uniform(-1, 1, count)
    a = np.zeros((len(reference), len(sectors) - 1))
    for i, link in enumerate(circuit.links):
        for joint in (link.start, link.end):
            if joint is not None and joint.sector != "stick":
                a[i, sectors.index(joint.sector) - 1] += joint.side * joint.arm_in
    softness = np.array(
        [[sum(n for n, _ in run) / e for run in runs] + ([1 / spring[0]] if spring else []) for e in eas]
    )
    growth = np.stack([sum(n * (frames[m] - wires) for n, m in run) * changes for run in runs] + ([np.zeros(count)] if spring else []), axis=1)  # fmt: skip
    k = 1 / softness
    x = reference * softness + growth
    # the moments of every draw put to zero by solving for its angles; all of them tight
    phi = np.linalg.solve(np.einsum("ls,dl,lt->dst", a, k, a), -np.einsum("ls,dl->ds", a, k * x)[..., None])[..., 0]
    moved = k * (x + phi @ a.T) - reference
    for i in range(len(runs)):
        drawn, one = moved[:, i], found[i]
        spread = float(drawn.std())
        agrees("shift in a circuit, mean of the draws, in u", one.change_lbf, drawn.mean(), 0.05, of=max(spread, 1e-9))
        agrees("u of the shift in a circuit, JCGM 101", one.standard_uncertainty_lbf, spread, 0.02)
        expanded = combine(Component(w, u) for w, u in one.contributions_lbf.items()).expanded()
        covered = float((np.abs(drawn - one.change_lbf) <= expanded).mean())
        # where one rectangle decides, 1.96 u holds more than 95 %; never less
        agrees("share of draws outside U at 95 %, beyond 5 %", max(0.0, 0.95 - covered), 0.0, 0.008, of=1.0)


def test_the_cable_left_behind_or_read_for_itself_by_jcgm_101(agrees):
    """A cable somewhere between structure and air, and one with a thermometer of its own: 400 000 draws."""
    rng = np.random.default_rng(20261125)
    piece = Piece(
        168.0, 104123.0, STRUCTURES["2024"], CABLES["carbon cable"], "2024", "carbon cable", 0.075, 0.0, 0.4e-6
    )
    ea, wire = 104123.0 * (1 + 0.075 * rng.standard_normal(400_000)), piece.cable_expansion_per_degF + 0.4e-6 * rng.standard_normal(400_000)  # fmt: skip
    draw = lambda: rng.uniform(-2, 2, 400_000)  # noqa: E731
    for structure, cable, apart in (
        (-60.0, -60.0, False),
        (-60.0, -20.0, True),
        (85.0, 100.0, True),
        (0.0, 0.0, False),
    ):
        lag = 0.0 if apart else 12.0
        first = draw()
        seen = structure + first, cable + (draw() if apart else first) + lag * rng.uniform(-1, 1, 400_000)
        drawn = ea * (piece.structure_expansion_per_degF * seen[0] - wire * seen[1])
        found = shift(fixed_ends([piece]), structure, cable, 2 / math.sqrt(3), lag / math.sqrt(3), apart)
        agrees("shift of a run, mean of the draws, in u", found.change_lbf, drawn.mean(), 0.02, of=drawn.std())
        agrees("u of the shift of a run, JCGM 101", found.standard_uncertainty_lbf, drawn.std(), 0.02)


def test_limits():
    piece = Piece(100.0, 1e5, 12.7e-6, 6.5e-6)
    # a rigid airframe is give zero; one that gives freely holds no change, and a cable of no stiffness neither
    assert slope_lbf_per_degF([piece]) == pytest.approx(0.62)
    assert slope_lbf_per_degF([piece], 1e9) == pytest.approx(0.0, abs=1e-9)
    assert slope_lbf_per_degF([piece._replace(stiffness_lbf=1e-9)]) == pytest.approx(0.0, abs=1e-12)
    # a length of nothing beside a long one adds nothing
    assert slope_lbf_per_degF([piece, Piece(1e-12, 1e5, 9.9, 0.0)]) == pytest.approx(0.62, rel=1e-6)
    # a piece that is all but rigid gives what it grows and nothing else: growth over the other's compliance
    stiff = Piece(100.0, 1e18, 12.7e-6, 6.5e-6)
    assert slope_lbf_per_degF([piece, stiff]) == pytest.approx(2 * 0.62)
    # no change, no shift and no uncertainty but the thermometer's; tension to zero is slack, and nothing below
    assert shift(fixed_ends([piece]), 0.0, 0.0, 0.0) == (0.0, {})
    assert hold_above_zero(0.0) == (0.0, True) and hold_above_zero(5e-324) == (5e-324, False)
