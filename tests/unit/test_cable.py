"""One cable from the tables: each figure with its source, and an honest gap where no table has one."""

import math

import pytest

from rigging.errors import Refusal, UnitError
from rigging.hardware.cable import cable
from rigging.source import Basis, Figure, Source

LBF_PER_N = 1 / (0.45359237 * 9.80665)


def ea_lbf(gpa, fill, inches):
    return gpa * 1e9 * fill * math.pi * (inches * 0.0254) ** 2 / 4 * LBF_PER_N


@pytest.mark.parametrize(
    ("size", "material", "strength"),
    [("1/8", "carbon", 2000), ("1/8", "stainless", 1760), ("5/32", "carbon", 2800), ("3/16", "stainless", 3700)],
)
def test_breaking_strength_is_published(size, material, strength):
    # AC 43.13-1B table 7-3
    figure = cable(size, "7x19", material).breaking_strength
    assert (figure.value, figure.unit, figure.source.basis) == (strength, "lbf", Basis.PUBLISHED)
    assert "43.13-1B" in figure.source.document


def test_proof_load_is_six_tenths_of_it():
    # MIL-DTL-781J 4.6.1, published; AC 43.13-1B 7-146, the share second-hand
    figure = cable("1/8").proof_load
    assert figure.value == pytest.approx(1200)
    assert str(figure.source) == "published: MIL-DTL-781J, 4.6.1"


@pytest.mark.parametrize(
    ("size", "construction", "material", "gpa", "fill", "inches"),
    [
        ("1/8", "7x19", "carbon", 100, 0.585, 1 / 8),
        ("1/8", "7x19", "stainless", 90, 0.585, 1 / 8),
        ("3/32", "7x19", "carbon", 100, 0.585, 3 / 32),
        ("1/8", "1x19", "carbon", 150, 0.76, 1 / 8),
        ("1/8", "1x19", "stainless", 130, 0.76, 1 / 8),
    ],
)
def test_stiffness_from_modulus_and_metallic_share(size, construction, material, gpa, fill, inches):
    # EN 1993-1-11:2006 tables 3.1 and 2.2, second-hand; strand rope: the middle of 0.56 and 0.61
    figure = cable(size, construction, material).stiffness
    assert figure.value == pytest.approx(ea_lbf(gpa, fill, inches), rel=1e-6)
    assert figure.source.basis is Basis.COMPUTED
    assert "EN 1993-1-11" in figure.source.document


def test_ten_microstrain_are_one_pound_on_the_eighth():
    # 100 GPa on 0.585 of a circle of 3.175 mm: 463.16 kN
    assert cable("1/8").stiffness.value == pytest.approx(104_123, abs=1)
    assert round(10e-6 * cable("1/8").stiffness.value) == 1


# a rope maker's constants, second-hand: stretch in percent = W G / D^2, so EA = 100 D^2 / G
@pytest.mark.parametrize(("size", "inches"), [("3/64", 3 / 64), ("1/16", 1 / 16), ("3/32", 3 / 32)])
def test_7x7_is_as_stiff_as_a_rope_maker_has_it(size, inches):
    figure = cable(size, "7x7").stiffness
    # a load of EA stretches by 100 %
    assert figure.value * 1.07e-5 / inches**2 == pytest.approx(100, rel=1e-9)
    assert figure.source.basis is Basis.COMPUTED
    assert "rope maker" in figure.source.document
    assert "second-hand" in figure.source.document


def test_the_figure_for_three_thirty_seconds_of_7x7():
    # 100 x 0.0087890625 / 1.07e-5; stainless by the moduli, 90 to 100 GPa
    assert cable("3/32", "7x7").stiffness.value == pytest.approx(82_141, abs=1)
    assert cable("3/32", "7x7", "stainless").stiffness.value == pytest.approx(73_927, abs=1)
    assert "EN 1993-1-11" in cable("3/32", "7x7", "stainless").stiffness.source.note


@pytest.mark.parametrize(("material", "gpa"), [("carbon", 100), ("stainless", 90)])
def test_7x7_is_uncertain_down_to_what_modulus_and_share_make_of_it(material, gpa):
    figure = cable("3/32", "7x7", material).stiffness
    assert 2 * figure.standard_uncertainty >= 0.25 * figure.value
    low_lbf = figure.value - 2 * figure.standard_uncertainty
    assert low_lbf < ea_lbf(gpa, 0.585, 3 / 32) < figure.value


def test_the_same_rope_maker_has_7x19_within_the_uncertainty_of_the_standard():
    # 100 x 0.015625 / 1.40e-5 = 111 607 lbf against 104 123
    figure = cable("1/8", "7x19").stiffness
    assert abs(100 * 0.125**2 / 1.40e-5 - figure.value) < 2 * figure.standard_uncertainty


def test_stiffness_is_uncertain_by_what_its_parts_make():
    # E +-10 % rectangular, share 0.56 to 0.61, low-load modulus 0.9 of the high-load one
    parts = math.hypot(0.10 / math.sqrt(3), 0.05 / 0.585 / math.sqrt(12), 0.10 / math.sqrt(12))
    figure = cable("1/8").stiffness
    share = figure.standard_uncertainty / figure.value
    assert parts <= share < parts + 0.01


@pytest.mark.parametrize(("material", "per_degC"), [("carbon", 11.7e-6), ("stainless", 17.2e-6)])
def test_expansion_per_degree_f(material, per_degC):
    assert cable("1/8", material=material).expansion.value == pytest.approx(per_degC * 5 / 9)


def test_the_unequal_edges_of_the_carbon_figure_are_one_rectangle():
    # 11.7 +2 / -0.7: width 2.7, JCGM 100 4.3.8
    assert cable("1/8").expansion.standard_uncertainty == pytest.approx(2.7e-6 / math.sqrt(12) * 5 / 9)


def test_stainless_cable_is_open_by_two_each_way():
    # practice: 304 as bar stands for the finished cable
    assert cable("1/8", material="stainless").expansion.standard_uncertainty == pytest.approx(
        2e-6 / math.sqrt(3) * 5 / 9
    )


def test_each_source_of_the_carbon_figure_keeps_its_own_table():
    source = cable("1/8").expansion.source
    assert str(source) == "second-hand: ASME Boiler and Pressure Vessel Code, section II part D, table TE-1"
    assert "Callister, appendix B, table B.6, has 11.7 for 1020" in source.note


@pytest.mark.parametrize(
    ("size", "construction", "weight"), [("1/8", "7x19", 2.9), ("3/32", "7x7", 1.6), ("3/32", "7x19", 1.74)]
)
def test_weight_is_memory(size, construction, weight):
    figure = cable(size, construction).weight
    assert (figure.value, figure.unit) == (weight, "lb/100ft")
    assert not figure.source.acceptable


def test_a_strand_has_its_strength_from_memory_and_so_its_proof_load():
    strand = cable("1/8", "1x19")
    assert strand.breaking_strength.value == 2100
    assert not strand.breaking_strength.source.acceptable
    assert not strand.proof_load.source.acceptable


@pytest.mark.parametrize(
    ("size", "construction"),
    [("5/32", "7x19"), ("1/8", "7x19"), ("3/32", "7x7"), ("1/16", "7x7"), ("3/64", "7x7"), ("1/32", "3x7")],
)
def test_the_usual_construction_is_7x7_below_an_eighth(size, construction):
    assert cable(size).construction == construction


def test_a_blank_cell_of_the_print_stays_blank():
    # 11/32 corrosion-resistant
    wire = cable("11/32", "7x19", "stainless")
    assert wire.breaking_strength is None
    assert wire.proof_load is None
    assert "blank" in wire.missing["breaking_strength_lbf"]


def test_no_table_gives_the_stiffness_of_3x7():
    with pytest.raises(Refusal, match="measure the stiffness on the aircraft"):
        cable("1/32").need_stiffness()


def test_a_missing_weight_is_named():
    assert cable("3/8").weight is None
    assert "no weight is known for 3/8" in cable("3/8").missing["weight_lb_per_100ft"]


def test_a_stiffness_measured_on_the_aircraft_beats_the_table():
    learned = Figure(88_000.0, "lbf", Source(Basis.MEASURED, "rig sheet"), 2_000.0)
    assert cable("1/8").with_stiffness(learned).need_stiffness() == learned


@pytest.mark.parametrize("size", ["1/8", "1/8 in", "2/16", "4/32"])
def test_a_size_is_brought_to_lowest_terms(size):
    assert cable(size).size == "1/8"
    assert cable(size).diameter_in == 0.125


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("1/8", "7x19", "titanium"), "unknown cable material 'titanium': carbon or stainless"),
        (("1/8", "6x19"), "unknown cable construction '6x19': one of 7x19, 7x7, 1x19, 3x7"),
        (("5/8",), "no size '5/8'"),
        (("1/4", "7x7"), "no row for size 1/4 with 7x7"),
        (("7/32", "1x19"), "no size '7/32'"),
    ],
)
def test_what_no_table_has_is_refused(arguments, words):
    with pytest.raises(Refusal, match=words):
        cable(*arguments)


@pytest.mark.parametrize("size", ["0.125", "3.2 mm", "1", "8/1", ""])
def test_a_size_is_a_fraction_of_an_inch(size):
    with pytest.raises(UnitError, match="is not a cable size"):
        cable(size)
