"""What the airframe is made of, by the names people use."""

import math

import pytest

from rigging.errors import Refusal
from rigging.hardware.airframe import airframe, material_names, own_airframe
from rigging.source import Basis, Source
from rigging.tables import load

# Callister, appendix B, table B.6; 1e-6 per degree C
CALLISTER = {
    "aluminium 2024": 22.9,
    "aluminium 6061": 23.6,
    "aluminium 7075": 23.4,
    "steel tube": 12.3,
    "stainless 304": 17.2,
    "titanium": 8.6,
    "glass unidirectional": 6.6,
}


@pytest.mark.parametrize(("name", "expansion"), CALLISTER.items())
def test_expansion_per_degree_f_with_its_source(name, expansion):
    figure = airframe(name).expansion
    assert figure.value == pytest.approx(expansion * 1e-6 * 5 / 9)
    assert figure.unit == "/degF"
    assert figure.source.basis is Basis.PUBLISHED


@pytest.mark.parametrize(
    ("name", "row"),
    [
        ("aluminium", "aluminium 2024"),
        ("Aluminum", "aluminium 2024"),
        ("  STEEL   tube ", "steel tube"),
        ("steel", "steel tube"),
        ("carbon", "carbon quasi-isotropic"),
        ("glass", "glass quasi-isotropic"),
    ],
)
def test_everyday_names(name, row):
    assert airframe(name).name == row


@pytest.mark.parametrize("name", sorted({*material_names()} - {"glass", "glass quasi-isotropic"}))
def test_every_structure_carries_one_in_a_million_per_degree_c_each_way(name):
    # practice; quasi-isotropic glass 0.5, by lamination theory
    assert airframe(name).expansion.standard_uncertainty == pytest.approx(1e-6 / math.sqrt(3) * 5 / 9)


def test_no_material_is_known_exactly():
    for row in load("expansion").rows:
        for edge in ("minus", "plus"):
            assert row.values[edge] > 0, row.label
            # a width of ours does not borrow the status of the printed figure
            assert row.source(edge).basis in (Basis.PRACTICE, Basis.COMPUTED), row.label


@pytest.mark.parametrize("name", ["wood", "carbon"])
def test_figures_from_memory_are_marked(name):
    assert not airframe(name).expansion.source.acceptable


@pytest.mark.parametrize("name", ["wood", "spruce", "douglas fir"])
def test_moisture_is_named_with_every_wood(name):
    # FPL report 1093: 0.1 to 0.3 % over 30 % moisture
    assert "moisture: 33 to 100 microstrain" in airframe(name).caution


@pytest.mark.parametrize("name", ["aluminium", "steel", "carbon", "glass", "titanium"])
def test_and_with_nothing_else(name):
    assert airframe(name).caution == ""


@pytest.mark.parametrize("name", ["unobtainium", "", "wod", "carbon cable", "stainless cable"])
def test_an_unknown_material_is_refused_with_the_way_out(name):
    with pytest.raises(
        Refusal, match=r"unknown airframe material .*goes into the rig sheet with its expansion and source"
    ):
        airframe(name)


def test_a_slip_of_the_pen_is_asked_about():
    with pytest.raises(Refusal, match=r"did you mean 'spruce'\?"):
        airframe("spurce")


def test_every_name_offered_is_taken():
    for name in material_names():
        # Callister's lowest is -0.5e-6/C, carbon along its fibres
        assert airframe(name).expansion.value > -1e-6
    assert not {"carbon cable", "stainless cable"} & set(material_names())


def test_a_material_of_ones_own():
    own = own_airframe("ash", 3.6e-6, 0.3e-6, Source(Basis.MEASURED, "coupon test 4"))
    assert (own.name, own.expansion.value) == ("ash", 3.6e-6)
    assert own.expansion.standard_uncertainty == pytest.approx(0.3e-6 / math.sqrt(3))
    assert own.expansion.source.document == "coupon test 4"
