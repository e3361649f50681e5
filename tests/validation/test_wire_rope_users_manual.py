"""Modulus, stretch and sheave friction of wire rope.

Reference: Wire Rope Technical Board, "Wire Rope Users Manual", 4th edition: table 17 (approximate modulus of
elasticity) with its worked example of elastic stretch, and p. 88 (efficiency of sheaves) with its worked example.
"""

import pytest

from rigging import tables
from rigging.hardware.pulley import pulley_friction
from rigging.physics.friction import Bend, tension_ratio
from rigging.source import Basis


def test_table_17_rows():
    table = tables.load("modulus-wire-rope-users-manual-17")
    assert [(r.values["load_low"], r.values["load_high"], r.values["modulus_mpsi"]) for r in table.rows] == [
        (0, 20, 13.5),
        (21, 65, 15.0),
    ]
    assert {r.values["construction"] for r in table.rows} == {"6x19 IWRC"}
    assert table.file.source.basis is Basis.PUBLISHED
    assert next(table.rows).figure("modulus_mpsi").unit == "Mpsi"


def test_worked_example_of_stretch():
    # 200 ft of 1/2 in 6x25 FW IWRC, area 0.483 d^2, 5320 lbf: 7.8 in
    modulus_psi = next(tables.load("modulus-wire-rope-users-manual-17").rows).values["modulus_mpsi"] * 1e6
    stretch_in = 5320 * 200 * 12 / (0.483 * 0.5**2 * modulus_psi)
    assert round(stretch_in, 1) == 7.8


def test_low_load_modulus_is_nine_tenths_of_the_high_one():
    low, high = (r.values["modulus_mpsi"] for r in tables.load("modulus-wire-rope-users-manual-17").rows)
    assert low / high == pytest.approx(0.9)


def test_page_88_factors():
    table = tables.load("sheave-efficiency-wire-rope-users-manual")
    assert {r.values["bearing"]: r.values["factor"] for r in table.rows} == {"anti-friction": 1.04, "plain": 1.09}
    assert table.file.source.basis is Basis.PUBLISHED
    assert table.file.source.place == "p. 88"


def test_worked_example_of_sheaves():
    # lead line factor 0.309 over two plain sheaves: 0.367; a load of 6000 lb gives 2202 lb
    factor = tables.load("sheave-efficiency-wire-rope-users-manual").find(bearing="plain").values["factor"]
    assert round(0.309 * factor**2, 3) == 0.367
    assert 6000 * round(0.309 * factor**2, 3) == pytest.approx(2202)


def test_worked_example_of_sheaves_by_the_model():
    # the same example by exp(sum mu beta): two plain sheaves turned through 180 degrees each
    ratio = tension_ratio([Bend(pulley_friction("plain").value, 180.0)] * 2)
    assert round(0.309 * ratio, 3) == 0.367
    assert 6000 * round(0.309 * ratio, 3) == pytest.approx(2202)


def test_the_model_gives_the_printed_factors_back():
    assert tension_ratio([Bend(pulley_friction("ball").value, 180.0)]) == pytest.approx(1.04)
    assert tension_ratio([Bend(pulley_friction("plain").value, 180.0)]) == pytest.approx(1.09)
