"""Coefficients of thermal expansion, 1e-6 per degree C.

Reference: W. D. Callister, "Materials Science and Engineering: An Introduction", appendix B, table B.6 (room-temperature
linear coefficients of thermal expansion). Aluminium 2024, 6061, 7075; steel 4140 and 1020; stainless 304 and 316;
Ti-6Al-4V; Douglas fir along the grain; E-glass and carbon in epoxy along the fibres.
"""

import pytest

from rigging import tables
from rigging.source import Basis

TABLE_B_6 = {
    "aluminium 2024": 22.9,
    "aluminium 6061": 23.6,
    "aluminium 7075": 23.4,
    "steel tube": 12.3,
    "steel 1020": 11.7,
    "stainless 304": 17.2,
    "stainless 316": 15.9,
    "titanium": 8.6,
    "glass unidirectional": 6.6,
    "stainless cable": 17.2,
}


@pytest.mark.parametrize(("material", "expansion"), TABLE_B_6.items())
def test_single_figures(material, expansion):
    figure = tables.load("expansion").find(material=material).figure("expansion")
    assert (figure.value, figure.unit) == (expansion, "1e-6/C")
    assert figure.source.basis is Basis.PUBLISHED
    assert figure.source.document == "Callister, Materials Science and Engineering, appendix B"
    assert figure.source.place == "table B.6"


@pytest.mark.parametrize(
    ("material", "low", "high"), [("douglas fir", 3.8, 5.1), ("carbon unidirectional", -0.5, 0.02)]
)
def test_of_a_printed_range_the_middle_is_held_and_the_range_is_covered(material, low, high):
    row = tables.load("expansion").find(material=material)
    v = row.values
    assert v["expansion"] == pytest.approx((low + high) / 2)
    assert v["expansion"] - v["minus"] <= low < high <= v["expansion"] + v["plus"]
    assert f"{low} to {high}" in row.source("expansion").note
    assert row.source("expansion").basis is Basis.PUBLISHED


def test_what_is_not_printed_there_is_not_called_published():
    for material in ("spruce", "wood", "glass quasi-isotropic", "carbon quasi-isotropic", "carbon cable"):
        assert tables.load("expansion").find(material=material).source("expansion").basis is not Basis.PUBLISHED
