"""What must hold for every bend, loop and cable to cut."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rigging.physics.circuit import Circuit, Joint, Link
from rigging.physics.cut import Assembly, cut_length_in, threads_showing
from rigging.physics.friction import Bend, circuit_friction, spread_lbf, tension_ratio
from rigging.physics.loads import loop_under_force, pulley_load_lbf, slack_force_lbf, strength_margin

pytestmark = pytest.mark.slow

BENDS = st.lists(st.builds(Bend, st.floats(0, 0.5), st.floats(0, 360)), max_size=6)
FORCES = st.floats(0, 1000)
TENSIONS = st.floats(0.1, 500)
EXPANSIONS = st.floats(0, 15e-6)
CHANGES = st.floats(-100, 100)


@st.composite
def assemblies(draw):
    return Assembly(
        pin_to_pin_in=draw(st.floats(40, 500)),
        turnbuckle_in=draw(st.floats(3, 15)),
        pitch_in=1 / draw(st.sampled_from([20, 24, 28, 32, 40])),
        stiffness_lbf=draw(st.floats(2e4, 5e5)),
        structure_expansion_per_degF=draw(EXPANSIONS),
        cable_expansion_per_degF=draw(EXPANSIONS),
    )


@given(BENDS, BENDS)
def test_the_ratio_multiplies_over_bends_and_never_helps(first, second):
    assert tension_ratio(first) >= 1
    assert tension_ratio([*first, *second]) == pytest.approx(tension_ratio(first) * tension_ratio(second))
    assert tension_ratio([*first, *second]) >= tension_ratio(first)


@given(st.floats(0, 0.5), st.floats(0, 180), st.floats(0, 180))
def test_only_the_sum_of_the_angles_counts(friction, one_deg, other_deg):
    split = tension_ratio([Bend(friction, one_deg), Bend(friction, other_deg)])
    assert split == pytest.approx(tension_ratio([Bend(friction, one_deg + other_deg)]))


@given(TENSIONS, BENDS)
def test_the_spread_grows_with_the_tension(tension_lbf, bends):
    assert spread_lbf(2 * tension_lbf, bends) == pytest.approx(2 * spread_lbf(tension_lbf, bends))


@given(FORCES, FORCES)
def test_friction_is_never_negative_and_the_pulls_come_back(one_lbf, other_lbf):
    found = circuit_friction(one_lbf, other_lbf)
    assert found.friction_lbf >= 0
    assert found.load_lbf + found.friction_lbf == pytest.approx(max(one_lbf, other_lbf))
    assert found.load_lbf - found.friction_lbf == pytest.approx(min(one_lbf, other_lbf), abs=1e-9)


@given(TENSIONS, FORCES)
def test_both_sides_of_a_loop_carry_the_force_between_them(rigging_lbf, force_lbf):
    found = loop_under_force(rigging_lbf, force_lbf)
    assert found.tight_lbf - found.slack_lbf == pytest.approx(force_lbf, abs=1e-9)
    assert found.slack_lbf >= 0
    assert found.is_slack is (force_lbf >= slack_force_lbf(rigging_lbf))
    if not found.is_slack:
        assert found.tight_lbf + found.slack_lbf == pytest.approx(2 * rigging_lbf)


@given(TENSIONS, FORCES, st.floats(1, 10), st.floats(100, 2000))
def test_the_loop_is_a_circuit_of_two_like_cables(rigging_lbf, force_lbf, arm_in, stiffness):
    links = [
        Link(name, stiffness, Joint("stick", side, arm_in), Joint("horn", side, arm_in))
        for name, side in (("up", 1), ("down", -1))
    ]
    loop = Circuit(["stick", "horn"], links, ["horn"])
    balance = loop.solve([rigging_lbf / stiffness] * 2, [force_lbf * arm_in, 0.0])
    found = loop_under_force(rigging_lbf, force_lbf)
    assert balance.tension_lbf == pytest.approx([found.tight_lbf, found.slack_lbf], rel=1e-6, abs=1e-6)


@given(TENSIONS, st.floats(0, 180))
def test_a_pulley_carries_at_most_twice_the_tension(tension_lbf, wrap_deg):
    load_lbf = pulley_load_lbf(tension_lbf, wrap_deg)
    assert 0 <= load_lbf <= 2 * tension_lbf * (1 + 1e-12)
    assert load_lbf >= pulley_load_lbf(tension_lbf, wrap_deg / 2)


@given(st.floats(100, 20000), st.floats(1, 20000))
def test_the_margin_is_zero_where_the_factored_load_breaks_the_cable(strength_lbf, load_lbf):
    margin = strength_margin(strength_lbf, load_lbf)
    assert load_lbf * 1.5 * (1 + margin) == pytest.approx(strength_lbf)
    assert (margin >= 0) is (strength_lbf / (1.5 * load_lbf) >= 1)


@given(assemblies(), st.floats(-4, 3), TENSIONS, TENSIONS)
def test_more_tension_wants_a_shorter_cable(assembly, threads, one_lbf, other_lbf):
    low, high = sorted((one_lbf, other_lbf))
    assert cut_length_in(assembly, threads, low) >= cut_length_in(assembly, threads, high)


@given(assemblies(), st.floats(-4, 3), st.floats(-4, 3), TENSIONS)
def test_more_threads_showing_want_a_shorter_cable(assembly, one, other, tension_lbf):
    low, high = sorted((one, other))
    assert cut_length_in(assembly, low, tension_lbf) >= cut_length_in(assembly, high, tension_lbf)


@given(assemblies(), st.floats(-4, 3), TENSIONS, CHANGES)
def test_threads_are_the_inverse_of_the_length(assembly, threads, tension_lbf, change_degF):
    made_in = cut_length_in(assembly, threads, tension_lbf, change_degF)
    assert threads_showing(assembly, made_in, tension_lbf, change_degF) == pytest.approx(threads, abs=1e-7)


@given(assemblies(), st.floats(-4, 3), TENSIONS, st.floats(1, 100))
def test_signs_of_temperature_are_mirrored_by_material(assembly, threads, tension_lbf, change_degF):
    """Measured cold: longer where the structure outgrows the cable, shorter where the cable does; swapped when warm."""
    one, other = assembly.structure_expansion_per_degF, assembly.cable_expansion_per_degF
    here = cut_length_in(assembly, threads, tension_lbf)
    moved_in = cut_length_in(assembly, threads, tension_lbf, change_degF) - here
    if abs(one - other) > 1e-9:
        assert math.copysign(1, moved_in) == math.copysign(1, one - other)
        back_in = cut_length_in(assembly, threads, tension_lbf, -change_degF) - here
        assert back_in == pytest.approx(-moved_in, rel=0.01, abs=1e-6)
        mirrored = assembly._replace(structure_expansion_per_degF=other, cable_expansion_per_degF=one)
        assert cut_length_in(mirrored, threads, tension_lbf, change_degF) - here == pytest.approx(
            -moved_in, rel=0.01, abs=1e-6
        )


@given(assemblies(), st.floats(-4, 3), TENSIONS, st.floats(0, 1e-3), st.floats(0, 1e-3))
def test_bedding_in_takes_thread_and_never_gives_it(assembly, threads, tension_lbf, one, other):
    made_in = cut_length_in(assembly, threads, tension_lbf)
    low, high = sorted((one, other))
    assert threads_showing(assembly, made_in, tension_lbf, 0.0, high) <= threads_showing(
        assembly, made_in, tension_lbf, 0.0, low
    )
