"""What must hold for limits moved through a circuit: between fixed ends they are a special case of it."""

from __future__ import annotations

import math
from typing import NamedTuple

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from rigging.bands import Band
from rigging.hardware.airframe import airframe
from rigging.hardware.cable import cable
from rigging.judge.limits import InCircuit, limits_today, run_pieces
from rigging.judge.temperatures import Condition
from rigging.physics.circuit import Circuit, Joint, Link
from rigging.physics.thermal import Piece, Response, compliance_in_per_lbf, fixed_ends, responses, shift
from rigging.source import Basis, Source

pytestmark = pytest.mark.slow

SOURCE = Source(Basis.AIRCRAFT, "maintenance manual")
WIRE = cable("1/8", "7x19")
MATERIALS = [
    "aluminium 2024",
    "stainless 304",
    "steel tube",
    "steel 1020",
    "spruce",
    "wood",
    "carbon",
    "glass",
    "titanium",
]
TEMPERATURE = st.floats(-65, 160)
LENGTH = st.floats(12, 600)
ARM = st.floats(0.5, 30)


class Loop(NamedTuple):
    """A plain loop from a held sector over free ones and back: a cable more than there are free sectors."""

    lengths: list[float]
    arms: list[tuple[float, float]]

    def answers(self, materials: list[str], stiffer: float = 1.0, arms: float = 1.0) -> list[Response]:
        """How its cables answer temperature, each along one material."""
        names = ["held", *(f"s{i}" for i in range(len(self.arms)))]
        pieces = [
            [p._replace(stiffness_lbf=p.stiffness_lbf * stiffer) for p in run_pieces(WIRE, [(n, airframe(m))])]
            for n, m in zip(self.lengths, materials, strict=True)
        ]
        # each free sector is pulled to + by the cable before it and to - by the one after
        ends = [Joint("held", 1, 3.0)]
        for name, (plus, minus) in zip(names[1:], self.arms, strict=True):
            ends += [Joint(name, 1, plus * arms), Joint(name, -1, minus * arms)]
        ends.append(Joint("held", -1, 3.0))
        links = [
            Link(f"cable {i}", 1 / compliance_in_per_lbf(own), ends[2 * i], ends[2 * i + 1])
            for i, own in enumerate(pieces)
        ]
        effect, _ = Circuit(names, links, ["held"]).takeup_effect()
        return responses(pieces, effect.tolist())


@st.composite
def loops(draw, equal=False):
    lengths = draw(st.lists(LENGTH, min_size=2, max_size=5))
    arms = []
    for _ in lengths[1:]:
        arm = draw(ARM)
        arms.append((arm, arm if equal else draw(ARM)))
    return Loop(lengths, arms)


@given(loops(equal=True), st.sampled_from(MATERIALS), TEMPERATURE, st.none() | TEMPERATURE, st.none() | TEMPERATURE)
def test_a_tight_loop_of_one_material_and_equal_arms_is_as_between_fixed_ends(loop, material, at, cable_degF, air_degF):
    band, condition = Band(700.0, 900.0, 800.0, 70.0, "band"), Condition(at, 2.0, cable_degF, air_degF)
    for length, answer in zip(loop.lengths, loop.answers([material] * len(loop.lengths)), strict=True):
        parts = [(length, airframe(material))]
        ends = limits_today(band, SOURCE, WIRE, parts, condition)
        found = limits_today(band, SOURCE, WIRE, parts, condition, 0.0, InCircuit("loop / cable", answer))
        assert found.low_lbf == pytest.approx(ends.low_lbf, abs=1e-7)
        assert found.shift_lbf == pytest.approx(ends.shift_lbf, abs=1e-7)
        assert found.slope_lbf_per_degF == pytest.approx(ends.slope_lbf_per_degF, abs=1e-9)
        assert found.direction == ends.direction
        assert found.assumptions == ends.assumptions
        ours, theirs = ({c.why: c.standard_uncertainty for c in x.components} for x in (found, ends))
        assert {w: u for w, u in ours.items() if u > 1e-7} == pytest.approx({w: u for w, u in theirs.items() if u > 1e-7}, abs=1e-7)  # fmt: skip


@given(loops(), st.sampled_from(MATERIALS), st.floats(1, 90))
def test_warmer_and_tighter_go_with_the_material_whatever_the_arms(loop, material, warmer):
    # in a loop of one material every cable follows the sign of its structure against itself
    growth = airframe(material).expansion.value - WIRE.expansion.value
    assume(abs(growth) > 1e-8)
    for answer in loop.answers([material] * len(loop.lengths)):
        moved = shift(answer, warmer, warmer, 0.0).change_lbf
        assert moved * growth > 0
        # structure alone tightens and cable alone loosens, always
        assert answer.structure_lbf_per_degF > 0 > answer.cable_lbf_per_degF


@given(loops(), st.data(), st.floats(0.1, 10), st.floats(0.1, 10))
def test_stiffer_cables_scale_it_and_larger_sectors_do_not(loop, data, stiffer, larger):
    materials = [data.draw(st.sampled_from(MATERIALS)) for _ in loop.lengths]
    for before, after in zip(loop.answers(materials), loop.answers(materials, stiffer, larger), strict=True):
        ours, theirs = flat(before, stiffer), flat(after, 1.0)
        assert theirs == pytest.approx(ours, rel=1e-6, abs=1e-9 * max(map(abs, ours)))


def flat(answer: Response, times: float) -> list[float]:
    """Every figure of a response."""
    errors = [u for _, *pair in answer.stiffness for u in pair] + [u for _, u in (*answer.structures, *answer.cables)]
    return [times * x for x in (answer.structure_lbf_per_degF, answer.cable_lbf_per_degF, *errors)]


@given(loops(), st.data(), st.floats(-100, 100), st.floats(-100, 100), st.floats(0, 3), st.floats(0, 20))
def test_twice_the_change_is_twice_the_shift_and_no_surer(loop, data, structure, wire, reading_u, lag_u):
    materials = [data.draw(st.sampled_from(MATERIALS)) for _ in loop.lengths]
    for answer in loop.answers(materials):
        once, twice = (shift(answer, n * structure, n * wire, reading_u, lag_u) for n in (1, 2))
        assert twice.change_lbf == pytest.approx(2 * once.change_lbf, rel=1e-9, abs=1e-9)
        assert twice.standard_uncertainty_lbf >= once.standard_uncertainty_lbf


@given(loops(), st.data(), st.floats(-100, 100), st.floats(-100, 100))
def test_without_springs_an_error_of_the_common_table_is_its_share_of_the_change(loop, data, structure, wire):
    # T grows with EA when nothing else gives
    materials = [data.draw(st.sampled_from(MATERIALS)) for _ in loop.lengths]
    for answer in loop.answers(materials):
        moved = shift(answer, structure, wire, 0.0)
        expected = 0.075 * abs(moved.change_lbf)
        size = abs(answer.structure_lbf_per_degF * structure) + abs(answer.cable_lbf_per_degF * wire)
        assert moved.contributions_lbf.get("cable stiffness", 0.0) == pytest.approx(expected, abs=1e-6 * size + 1e-9)


@given(
    st.lists(st.builds(lambda n, ea, s, w: Piece(n, ea, s, w, "aluminium", "carbon cable", 0.075, 1e-7, 1e-7), LENGTH, st.floats(1e4, 1e6), st.floats(0, 15e-6), st.floats(0, 10e-6)), min_size=2, max_size=5),
    st.floats(0, 5e-3), ARM,
)  # fmt: skip
def test_a_run_cut_at_a_sector_of_equal_arms_is_still_one_run(pieces, give, arm):
    # the give at the far end of the last
    whole = fixed_ends(pieces, give)
    names = [f"s{i}" for i in range(len(pieces) - 1)]
    links = []
    for i, piece in enumerate(pieces):
        soft = compliance_in_per_lbf([piece], give if i == len(pieces) - 1 else 0.0)
        start = Joint(names[i - 1], -1, arm) if i else None
        end = Joint(names[i], 1, arm) if i < len(names) else None
        links.append(Link(f"cable {i}", 1 / soft, start, end))
    effect, _ = Circuit(names, links, []).takeup_effect()
    for answer in responses([[p] for p in pieces], effect.tolist()):
        assert flat(answer, 1.0) == pytest.approx(flat(whole, 1.0), rel=1e-6, abs=1e-9)
        assert math.isclose(answer.slope_lbf_per_degF, whole.slope_lbf_per_degF, rel_tol=1e-6, abs_tol=1e-9)
