"""EI of a cable from where its wires lie: circles packed as the construction's name says, and their area summed.

Nothing of the program is used: wires of one diameter touch, six about one and twelve about those; strands are such
packings themselves. The circle about all of them is found by a minimiser, second moments by a grid over each circle.
"""

import numpy as np
import pytest
from scipy.optimize import minimize

from rigging.physics.bending import WIRES, BendingRange, bending_range

pytestmark = pytest.mark.slow

# 200 GPa in pounds and inches: 4.4482216152605 N and 25.4 mm, both by definition
STEEL_PSI = 200e9 * 0.0254**2 / 4.4482216152605


def rings(count):
    """Centres of 1, 3, 7 or 19 circles of diameter 1 that touch, as the wires of a strand lie."""
    if count == 3:
        return np.array([np.exp(2j * np.pi * i / 3) for i in range(3)]) / np.sqrt(3)
    turned = np.exp(1j * np.pi / 3 * np.arange(6))
    out = [0j, *turned]
    if count == 19:
        out += [*(2 * turned), *(np.sqrt(3) * turned * np.exp(1j * np.pi / 6))]
    return np.array(out[: {1: 1, 7: 7, 19: 19}[count]])


def round_all(centres, diameter):
    """Diameter of the smallest circle about circles, by a minimiser over its centre."""

    def reach(place):
        return np.abs(centres - complex(*place)).max() + diameter / 2

    found = minimize(reach, [0.05, 0.03], method="Nelder-Mead", options={"xatol": 1e-10, "fatol": 1e-12})
    return 2 * found.fun


def wires_of(construction):
    """Centres of all wires in wire diameters, and the diameter about them."""
    strands, wires = map(int, construction.split("x"))
    if strands == 1:
        centres = rings(wires)
        return centres, round_all(centres, 1.0)
    strand = rings(wires)
    across = round_all(strand, 1.0)
    centres = (rings(strands)[:, None] * across + strand[None, :]).ravel()
    # strands are round to each other, whatever lies in them
    return centres, round_all(rings(strands) * across, across)


def second_moment(diameter, off=0.0, points=2000):
    """Of a circle about an axis as far away as ``off``: y^2 summed over strips of its area."""
    y = (np.arange(points) + 0.5) / points * diameter - diameter / 2
    width = 2 * np.sqrt(np.maximum(0.0, diameter**2 / 4 - y**2))
    return float(((y + off) ** 2 * width).sum() * diameter / points)


@pytest.mark.parametrize("construction", WIRES)
def test_wires_laid_down_one_by_one(construction, agrees):
    centres, across = wires_of(construction)
    assert len(centres) == WIRES[construction][0]
    # three strands of seven: 6.464 is written with four figures
    agrees("cable over wire diameter, packed", WIRES[construction][1], across, 1e-4)
    for diameter in (1 / 32, 1 / 8, 3 / 8):
        wire = diameter / across
        loose = len(centres) * second_moment(wire) * STEEL_PSI
        solid = second_moment(diameter) * STEEL_PSI
        found = bending_range(diameter, construction)
        agrees("EI of a rod, strips of its area", found.solid_lbf_in2, solid, 1e-4)
        agrees("EI of loose wires, strips of their area", found.loose_lbf_in2, loose, 4e-4)
        # wires that hold to each other bend about the common axis: between the two, as the model says of the truth
        stuck = sum(second_moment(wire, c.imag * wire, 200) for c in centres) * STEEL_PSI
        assert found.loose_lbf_in2 < stuck < found.solid_lbf_in2


def test_slices_stand_for_a_rectangular_root(agrees):
    """Mean and deviation of what grows with the root of EI, and of EI itself, against 400 000 even steps of the root."""
    even = (np.arange(400_000) + 0.5) / 400_000
    for construction in WIRES:
        span = bending_range(0.125, construction)
        low, high = np.sqrt(span)
        roots = low + even * (high - low)
        slices = np.sqrt(span.slices())
        agrees("slices: mean of the root of EI", slices.mean(), roots.mean(), 1e-9)
        # fifteen slices of one width: their deviation is that of the rectangle times sqrt(1 - 1/225)
        agrees("slices: deviation of the root", slices.std(), roots.std(), 3e-3)
        agrees("slices: mean of EI", (slices**2).mean(), (roots**2).mean(), 2e-3)


def test_limits():
    # a thread has none, it goes with the fourth power, and a range without width is its slices
    assert bending_range(1e-9, "7x19").solid_lbf_in2 < 1e-25
    thin, thick = bending_range(0.1, "7x7"), bending_range(0.2, "7x7")
    assert [b / a for a, b in zip(thin, thick, strict=True)] == pytest.approx([16.0, 16.0])
    assert BendingRange(7.0, 7.0).slices(5) == pytest.approx((7.0,) * 5)
    assert BendingRange(0.0, 0.0).slices(3) == (0.0, 0.0, 0.0)
