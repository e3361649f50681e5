"""Modulus of elasticity and fill factor of ropes and strands.

Reference: EN 1993-1-11:2006, "Eurocode 3: Design of steel structures - Part 1-11: Design of structures with tension
components", table 3.1 (modulus, GPa) and table 2.2 (fill factor); seen second-hand.
"""

import pytest

from rigging import tables
from rigging.source import Basis

TABLES = [
    ("7x7", "carbon", 100, 10, 0.56),
    ("7x7", "stainless", 90, 10, 0.56),
    ("7x19", "carbon", 100, 10, 0.56),
    ("7x19", "stainless", 90, 10, 0.56),
    ("1x19", "carbon", 150, 10, 0.76),
    ("1x19", "stainless", 130, 10, 0.76),
    ("1x7", "carbon", 150, 10, 0.77),
    ("1x7", "stainless", 130, 10, 0.77),
]


@pytest.mark.parametrize(("construction", "material", "modulus", "half_width", "fill"), TABLES)
def test_rows(construction, material, modulus, half_width, fill):
    row = tables.load("cable-modulus-en1993-1-11").find(construction=construction, material=material)
    v = row.values
    # of strand ropes the standard's figure is the lower edge
    column = "fill_low" if construction in ("7x7", "7x19") else "fill_factor"
    assert (v["modulus"], v["modulus_half_width"], v[column]) == (modulus, half_width, fill)
    assert row.source("modulus").basis is row.source(column).basis is Basis.SECOND_HAND
    assert row.source("modulus").document == "EN 1993-1-11:2006"


@pytest.mark.parametrize(
    ("construction", "share"),
    [("7x7", 0.605), ("7x19", 0.591)],
)
def test_geometry_lies_between_the_edges_of_the_fill_factor(construction, share):
    row = tables.load("cable-modulus-en1993-1-11").find(construction=construction, material="carbon").values
    # equal wires: a strand of 7 is 3 wires across, a strand of 19 is 5, and the cable is 3 strands across
    wires, across = (7 * 7, 9) if construction == "7x7" else (7 * 19, 15)
    assert wires / across**2 == pytest.approx(share, abs=5e-4)
    assert row["fill_low"] <= share <= row["fill_high"]
