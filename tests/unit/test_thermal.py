"""Temperature and tension: worked by hand, refused where no figure is honest."""

import math

import pytest

from rigging.errors import Refusal
from rigging.physics.thermal import (
    Piece,
    check_temperature,
    compliance_in_per_lbf,
    fixed_ends,
    hold_above_zero,
    responses,
    shift,
    slope_lbf_per_degF,
    tension_change_lbf,
)

# EA 100 000 lbf; structure grows by 12 and cable by 6 in a million per degree F
PIECE = Piece(200.0, 1e5, 12e-6, 6e-6)


def test_one_material_by_hand():
    # 1e5 (12 - 6)e-6 = 0.6 lbf/F
    assert slope_lbf_per_degF([PIECE]) == pytest.approx(0.6)
    assert tension_change_lbf([PIECE], -16, -16) == pytest.approx(-9.6)


def test_two_materials_share_their_stretch():
    # (200 x 6e-6 + 100 x -2e-6) / (300 / 1e5) = 1e-3 / 3e-3
    other = Piece(100.0, 1e5, 4e-6, 6e-6)
    assert slope_lbf_per_degF([PIECE, other]) == pytest.approx(1 / 3)


def test_the_give_of_the_structure_takes_its_share():
    # compliance 200 / 1e5 = 2e-3; as much again in the structure halves the slope
    assert slope_lbf_per_degF([PIECE], 2e-3) == pytest.approx(0.3)


def test_a_cable_that_cools_before_the_structure_gains_and_ends_lower():
    first = tension_change_lbf([PIECE], 0, -20)
    both = tension_change_lbf([PIECE], -20, -20)
    assert first == pytest.approx(12.0)
    assert both == pytest.approx(-12.0)


def test_each_piece_may_have_its_own_temperature():
    # only the first half of the structure warms: 200 x 12e-6 x 10 / (400 / 1e5)
    assert tension_change_lbf([PIECE, PIECE], [10, 0], [0, 0]) == pytest.approx(6.0)


def test_as_many_temperatures_as_pieces():
    with pytest.raises(Refusal, match="3 temperatures are given for 2 pieces"):
        tension_change_lbf([PIECE, PIECE], [1, 2, 3], 0)


def test_compliance_by_hand():
    assert compliance_in_per_lbf([PIECE, PIECE._replace(stiffness_lbf=5e4)], 1e-3) == pytest.approx(2e-3 + 4e-3 + 1e-3)


@pytest.mark.parametrize(
    "piece",
    [
        PIECE._replace(length_in=0.0),
        PIECE._replace(length_in=-1.0),
        PIECE._replace(stiffness_lbf=0.0),
        PIECE._replace(stiffness_lbf=-1.0),
    ],
)
def test_a_piece_without_length_or_stiffness_is_refused(piece):
    with pytest.raises(Refusal, match="needs a length and a stiffness above zero"):
        slope_lbf_per_degF([piece])


@pytest.mark.parametrize("stiffness_lbf", [0.0, -1.0])
def test_a_piece_in_a_circuit_has_a_stiffness_too(stiffness_lbf):
    with pytest.raises(Refusal, match="the stiffness of a piece of cable"):
        responses([[PIECE], [PIECE._replace(stiffness_lbf=stiffness_lbf)]], [[500.0, -80.0], [-80.0, 300.0]])


def test_a_structure_that_pushes_is_refused():
    with pytest.raises(Refusal, match="cannot be negative"):
        slope_lbf_per_degF([PIECE], -1e-6)


@pytest.mark.parametrize("degF", [-65.0, -64.99, 0.0, 70.0, 159.99, 160.0])
def test_temperatures_up_to_and_at_the_bounds(degF):
    check_temperature(degF)


@pytest.mark.parametrize("degF", [-65.01, 160.01, -459.0, 1e9, math.nan, math.inf])
def test_temperatures_outside_the_bounds(degF):
    with pytest.raises(
        Refusal,
        match=r"^structure temperature .* F lies outside -65 to 160 F, where no figure is given: check it and its unit",
    ):
        check_temperature(degF, "structure temperature")


@pytest.mark.parametrize(
    ("lbf", "held"), [(12.0, (12.0, False)), (0.0, (0.0, True)), (-3.0, (0.0, True)), (1e-9, (1e-9, False))]
)
def test_a_cable_cannot_push(lbf, held):
    assert hold_above_zero(lbf) == held


def test_each_contribution_by_hand():
    piece = PIECE._replace(
        structure="aluminium",
        cable="carbon cable",
        stiffness_relative_uncertainty=0.075,
        structure_expansion_uncertainty_per_degF=0.5e-6,
        cable_expansion_uncertainty_per_degF=0.4e-6,
    )
    moved = shift(fixed_ends([piece]), -30, -20, 1.2, 5.0)
    assert moved.change_lbf == pytest.approx(1e5 * (12e-6 * -30 - 6e-6 * -20))  # -24
    assert moved.contributions_lbf == pytest.approx(
        {
            "cable stiffness": 0.075 * 24,
            "expansion of aluminium": 1e5 * 0.5e-6 * 30,
            "expansion of carbon cable": 1e5 * 0.4e-6 * 20,
            "temperature reading": 0.6 * 1.2,
            "cable not at structure temperature": 1e5 * 6e-6 * 5.0,
        }
    )


def test_contributions_combine_as_a_root_of_squares():
    moved = shift(fixed_ends([PIECE._replace(stiffness_relative_uncertainty=0.05)]), 100, 100, 6.0)
    # 5 % of 60 lbf and 0.6 x 6
    assert moved.standard_uncertainty_lbf == pytest.approx(math.hypot(3.0, 3.6))


def test_one_material_met_twice_is_wrong_twice_in_the_same_way():
    part = PIECE._replace(structure="spruce", structure_expansion_uncertainty_per_degF=0.5e-6)
    whole = shift(fixed_ends([part._replace(length_in=400.0)]), 30, 30, 0.0)
    assert shift(fixed_ends([part, part]), 30, 30, 0.0).contributions_lbf == pytest.approx(whole.contributions_lbf)


def test_two_materials_are_wrong_independently():
    spruce = PIECE._replace(structure="spruce", structure_expansion_uncertainty_per_degF=0.5e-6)
    ash = spruce._replace(structure="ash")
    moved = shift(fixed_ends([spruce, ash]), 30, 30, 0.0)
    assert moved.contributions_lbf == pytest.approx({"expansion of spruce": 0.75, "expansion of ash": 0.75})


def test_no_change_of_temperature_leaves_only_the_thermometer():
    piece = PIECE._replace(stiffness_relative_uncertainty=0.075, structure_expansion_uncertainty_per_degF=1e-6)
    moved = shift(fixed_ends([piece]), 0, 0, 1.0)
    assert moved.change_lbf == 0
    assert moved.contributions_lbf == pytest.approx({"temperature reading": 0.6})


def test_a_cable_read_by_itself_has_an_error_of_its_own():
    # 1.2 lbf for a degree of the structure, 0.6 for one of the cable, each read to 2.5 degF
    apart = shift(fixed_ends([PIECE]), 10, 30, 2.5, cable_read_apart=True)
    assert apart.change_lbf == pytest.approx(1.2 * 10 - 0.6 * 30)
    assert apart.contributions_lbf == pytest.approx(
        {"structure temperature reading": 1.2 * 2.5, "cable temperature reading": 0.6 * 2.5}
    )


@pytest.mark.parametrize("effect", [[[1.0, 2.0]], [[]], [[1.0], [2.0]], []])
def test_a_circuit_of_one_cable_has_one_effect(effect):
    with pytest.raises(Refusal):
        responses([[PIECE]], effect)


def test_a_run_that_cannot_give_has_no_tension_to_gain():
    with pytest.raises(Refusal):
        fixed_ends([])
