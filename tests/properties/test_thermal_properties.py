"""What must hold for every run, whatever it is made of."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rigging.hardware.airframe import airframe
from rigging.hardware.cable import cable
from rigging.judge.limits import run_pieces
from rigging.physics.thermal import (
    Piece,
    compliance_in_per_lbf,
    fixed_ends,
    hold_above_zero,
    shift,
    slope_lbf_per_degF,
    tension_change_lbf,
)

pytestmark = pytest.mark.slow

LENGTH = st.floats(12, 600)
EA = st.floats(1e4, 1e6)
EXPANSION = st.floats(-1e-6, 15e-6)
CHANGE = st.floats(-200, 200)
GIVE = st.floats(0, 5e-3)
SHARE = st.floats(0, 0.2)
UNCERTAINTY = st.floats(0, 1e-6)

# how far the material grows against carbon steel 11.7 and stainless 17.2 (Callister B.6; memory for carbon)
TIGHTER_ON_CARBON = [
    "aluminium 2024",
    "aluminium 6061",
    "aluminium 7075",
    "stainless 304",
    "stainless 316",
    "steel tube",
]
LOOSER_ON_CARBON = [
    "wood",
    "spruce",
    "douglas fir",
    "carbon",
    "carbon unidirectional",
    "glass unidirectional",
    "titanium",
]
LOOSER_ON_STAINLESS = [*LOOSER_ON_CARBON, "steel tube", "steel 1020", "stainless 316", "glass"]


def pieces(names=("spruce", "aluminium", "glass")):
    """1 to 5 pieces of one cable, along a few materials that may be met more than once."""
    piece = st.builds(Piece, LENGTH, EA, EXPANSION, EXPANSION, st.sampled_from(names), st.just("carbon cable"))
    return st.lists(piece, min_size=1, max_size=5)


def slope(material, size="1/8", wire="carbon", length_in=168.0):
    return slope_lbf_per_degF(run_pieces(cable(size, "7x19", wire), [(length_in, airframe(material))]))


@pytest.mark.parametrize("material", TIGHTER_ON_CARBON)
@settings(deadline=None)
@given(warmer=st.floats(0.1, 200))
def test_warmer_is_tighter(material, warmer):
    run = run_pieces(cable("1/8"), [(168.0, airframe(material))])
    assert tension_change_lbf(run, warmer, warmer) > 0 > tension_change_lbf(run, -warmer, -warmer)


@pytest.mark.parametrize("material", LOOSER_ON_CARBON)
@settings(deadline=None)
@given(warmer=st.floats(0.1, 200))
def test_warmer_is_looser_in_wood_and_carbon(material, warmer):
    run = run_pieces(cable("1/8"), [(168.0, airframe(material))])
    assert tension_change_lbf(run, warmer, warmer) < 0 < tension_change_lbf(run, -warmer, -warmer)


@pytest.mark.parametrize("material", LOOSER_ON_STAINLESS)
def test_a_stainless_cable_turns_the_sign_of_steel(material):
    assert slope(material, wire="stainless") < 0


def test_a_stainless_cable_in_aluminium_still_tightens_and_less():
    assert 0 < slope("aluminium", wire="stainless") < slope("aluminium")


@settings(deadline=None)
@given(expansion=EXPANSION, length=LENGTH, ea=EA, change=CHANGE, give=GIVE)
def test_equal_expansions_move_nothing(expansion, length, ea, change, give):
    assert tension_change_lbf([Piece(length, ea, expansion, expansion)], change, change, give) == 0


@settings(deadline=None)
@given(ea=EA, structure=EXPANSION, wire=EXPANSION, change=CHANGE, lengths=st.tuples(LENGTH, LENGTH))
def test_the_length_falls_out_for_one_material(ea, structure, wire, change, lengths):
    first, second = (tension_change_lbf([Piece(n, ea, structure, wire)], change, change) for n in lengths)
    assert first == pytest.approx(second, rel=1e-9, abs=1e-12)
    assert first == pytest.approx(ea * (structure - wire) * change, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize("size", ["3/32", "5/32", "3/16", "1/4"])
@pytest.mark.parametrize("material", ["aluminium", "spruce", "carbon"])
def test_it_grows_with_the_square_of_the_diameter(size, material):
    above, below = map(int, size.split("/"))
    assert slope(material, size) == pytest.approx(slope(material) * (above / below / 0.125) ** 2)


@settings(deadline=None)
@given(run=pieces(), s=CHANGE, c=CHANGE, s2=CHANGE, c2=CHANGE, give=GIVE)
def test_two_changes_one_after_the_other_add_up(run, s, c, s2, c2, give):
    both = tension_change_lbf(run, s + s2, c + c2, give)
    apart = tension_change_lbf(run, s, c, give) + tension_change_lbf(run, s2, c2, give)
    assert both == pytest.approx(apart, rel=1e-6, abs=1e-6)


@settings(deadline=None)
@given(run=pieces(), change=CHANGE, give=GIVE)
def test_there_and_back_is_nothing(run, change, give):
    up, down = (tension_change_lbf(run, c, c, give) for c in (change, -change))
    assert up == -down


@settings(deadline=None)
@given(run=pieces(), change=CHANGE, give=GIVE)
def test_cutting_a_piece_in_two_changes_nothing(run, change, give):
    cut = [
        half for p in run for half in (p._replace(length_in=0.3 * p.length_in), p._replace(length_in=0.7 * p.length_in))
    ]
    whole = tension_change_lbf(run, change, change, give)
    assert tension_change_lbf(cut, change, change, give) == pytest.approx(whole, rel=1e-9, abs=1e-9)


@settings(deadline=None)
@given(run=pieces(), change=CHANGE)
def test_a_run_lies_between_its_softest_and_its_hardest_piece(run, change):
    alone = [tension_change_lbf([p], change, change) for p in run]
    together = tension_change_lbf(run, change, change)
    slack = 1e-9 * (1 + abs(together))
    assert min(alone) - slack <= together <= max(alone) + slack


@settings(deadline=None)
@given(run=pieces(), give=st.floats(1e-6, 5e-3))
def test_give_reduces_the_slope_by_its_share_of_the_compliance(run, give):
    rigid = slope_lbf_per_degF(run)
    compliance = sum(p.length_in / p.stiffness_lbf for p in run)
    assert slope_lbf_per_degF(run, give) == pytest.approx(rigid * compliance / (compliance + give), abs=1e-12)
    assert abs(slope_lbf_per_degF(run, give)) <= abs(rigid)
    assert compliance_in_per_lbf(run, give) == pytest.approx(compliance + give)


@settings(deadline=None)
@given(run=pieces(), warmer=st.floats(0.1, 200), give=GIVE)
def test_a_cable_that_cools_first_gains_first(run, warmer, give):
    expands = [p._replace(cable_expansion_per_degF=abs(p.cable_expansion_per_degF) + 1e-7) for p in run]
    assert tension_change_lbf(expands, 0, -warmer, give) > 0


@settings(deadline=None)
@given(st.floats(-1e3, 1e3))
def test_tension_is_never_negative(lbf):
    held, slack = hold_above_zero(lbf)
    assert held >= 0
    assert slack is (held == 0)


def moved(run, structure, wire, give, ea_scale=1.0, structure_by=None, wire_by=0.0):
    """The equation of the domain notes (4.2), written out once more, with every uncertain quantity moved by hand."""
    grown = sum(
        p.length_in
        * (
            (p.structure_expansion_per_degF + (structure_by or {}).get(p.structure, 0.0)) * structure
            - (p.cable_expansion_per_degF + wire_by) * wire
        )
        for p in run
    )
    return grown / (sum(p.length_in / (p.stiffness_lbf * ea_scale) for p in run) + give)


@settings(deadline=None)
@given(
    run=pieces(("spruce", "aluminium")),
    structure=CHANGE,
    wire=CHANGE,
    give=GIVE,
    ea_share=SHARE,
    frame_u=st.fixed_dictionaries({"spruce": UNCERTAINTY, "aluminium": UNCERTAINTY}),
    wire_u=UNCERTAINTY,
    thermometer=st.floats(0, 5),
    lag=st.floats(0, 30),
)
def test_the_uncertainty_is_that_of_finite_differences(
    run, structure, wire, give, ea_share, frame_u, wire_u, thermometer, lag
):
    """One error per material and one for all EA: pieces of one material are wrong together."""
    run = [
        p._replace(
            stiffness_relative_uncertainty=ea_share,
            structure_expansion_uncertainty_per_degF=frame_u[p.structure],
            cable_expansion_uncertainty_per_degF=wire_u,
            stiffness="one table",
        )
        for p in run
    ]
    base = moved(run, structure, wire, give)
    tiny = 1e-6
    steps = [
        (moved(run, structure, wire, give, 1 + tiny) - moved(run, structure, wire, give, 1 - tiny))
        / (2 * tiny)
        * ea_share,
        *(moved(run, structure, wire, give, structure_by={n: u}) - base for n, u in frame_u.items()),
        moved(run, structure, wire, give, wire_by=wire_u) - base,
        moved(run, structure + thermometer, wire + thermometer, give) - base,
        moved(run, structure, wire + lag, give) - base,
    ]
    found = shift(fixed_ends(run, give), structure, wire, thermometer, lag)
    assert found.change_lbf == pytest.approx(base, rel=1e-9, abs=1e-9)
    assert found.standard_uncertainty_lbf == pytest.approx(math.hypot(*steps), rel=1e-5, abs=1e-5)


def test_the_uncertainty_is_that_of_a_monte_carlo():
    """Two woods of one kind and one length of aluminium, 60 F colder; a fixed seed, 200 000 draws."""
    import numpy as np

    draw = np.random.default_rng(20261125)
    count = 200_000
    ea_u, spruce_u, wire_u, reading_u = 0.075, 0.3e-6, 0.4e-6, 1.2
    lengths = (100.0, 60.0, 40.0)
    frames = ("spruce", "aluminium", "spruce")
    expansions = {"spruce": 2.5e-6, "aluminium": 12.7e-6}
    run = [
        Piece(n, 1e5, expansions[f], 6.5e-6, f, "carbon cable", ea_u, spruce_u if f == "spruce" else 0.0, wire_u)
        for n, f in zip(lengths, frames, strict=True)
    ]
    ea = 1e5 * (1 + ea_u * draw.standard_normal(count))
    spruce = 2.5e-6 + spruce_u * draw.standard_normal(count)
    wire = 6.5e-6 + wire_u * draw.standard_normal(count)
    change = -60 + reading_u * draw.standard_normal(count)
    structure = {"spruce": spruce, "aluminium": 12.7e-6}
    tension = ea / 200.0 * change * sum(n * (structure[f] - wire) for n, f in zip(lengths, frames, strict=True))
    found = shift(fixed_ends(run), -60, -60, reading_u)
    assert found.change_lbf == pytest.approx(tension.mean(), abs=0.02)
    assert found.standard_uncertainty_lbf == pytest.approx(tension.std(), rel=0.01)
