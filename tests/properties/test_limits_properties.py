"""What must hold for limits at every temperature."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rigging.bands import Band
from rigging.errors import Refusal
from rigging.hardware.airframe import airframe
from rigging.hardware.cable import cable
from rigging.judge.limits import limits_today
from rigging.judge.temperatures import Condition
from rigging.source import Basis, Source

pytestmark = pytest.mark.slow

SOURCE = Source(Basis.AIRCRAFT, "maintenance manual")
MATERIALS = ["aluminium", "spruce", "steel tube", "carbon", "glass", "titanium", "stainless 304"]
TEMPERATURE = st.floats(-65, 160)
LOW = st.floats(5, 200)
WIDTH = st.floats(0.5, 60)


def limits(low, width, reference, at, material, size="1/8", **condition):
    band = Band(low, low + width, low + width / 2, reference, "band")
    return limits_today(band, SOURCE, cable(size, "7x19"), [(168.0, airframe(material))], Condition(at, **condition))


def or_none(*arguments, **condition):
    try:
        return limits(*arguments, **condition)
    except Refusal:
        return None


@settings(deadline=None)
@given(LOW, WIDTH, TEMPERATURE, TEMPERATURE, st.sampled_from(MATERIALS), st.floats(0, 300))
def test_limits_and_reading_are_moved_by_the_same(low, width, reference, at, material, tension):
    found = or_none(low, width, reference, at, material)
    if found is None:
        return
    moved = found.low_lbf - found.reference_low_lbf
    there = found.at_reference_lbf(tension)
    if tension > max(0.0, moved):
        assert moved == pytest.approx(tension - there, abs=1e-9)
    elif tension > 0 or moved >= 0:
        assert there == 0  # a cable cannot push
    else:
        assert there is None
    assert moved == pytest.approx(found.high_lbf - found.reference_high_lbf, abs=1e-9)


@settings(deadline=None)
@given(LOW, WIDTH, TEMPERATURE, TEMPERATURE, st.sampled_from(MATERIALS), st.floats(0, 300))
def test_so_both_ways_give_the_same_plain_answer(low, width, reference, at, material, tension):
    found = or_none(low, width, reference, at, material)
    if (
        found is None
        or found.at_reference_lbf(tension) is None
        or min(abs(tension - found.low_lbf), abs(tension - found.high_lbf)) < 1e-9
    ):
        return
    today = found.low_lbf <= tension <= found.high_lbf
    assert today is (found.reference_low_lbf <= found.at_reference_lbf(tension) <= found.reference_high_lbf)


@settings(deadline=None)
@given(WIDTH, st.floats(0.1, 60), st.sampled_from(MATERIALS))
def test_hot_and_cold_are_mirror_images(width, away, material):
    hot, cold = (limits(150.0, width, 70.0, 70 + d, material) for d in (away, -away))
    assert hot.shift_lbf == pytest.approx(-cold.shift_lbf)
    assert hot.slope_lbf_per_degF == cold.slope_lbf_per_degF


@settings(deadline=None)
@given(LOW, WIDTH, TEMPERATURE, TEMPERATURE, st.sampled_from(MATERIALS))
def test_the_words_and_the_figure_have_the_same_sign(low, width, reference, at, material):
    found = or_none(low, width, reference, at, material)
    if found is None or abs(found.shift_lbf) < 0.05 or abs(at - reference) < 0.05:
        return
    warmer_and_tighter = (at > reference) is (found.shift_lbf > 0)
    assert warmer_and_tighter is (found.slope_lbf_per_degF > 0)
    assert ("higher" in found.in_words) is (found.shift_lbf > 0)
    if found.direction != "nearly neutral":
        assert warmer_and_tighter is (found.direction == "warmer is tighter")


@settings(deadline=None)
@given(LOW, WIDTH, TEMPERATURE, TEMPERATURE, st.sampled_from(MATERIALS))
def test_what_is_printed_is_never_slack_nor_its_correction_down_beyond_the_tension(low, width, reference, at, material):
    found = or_none(low, width, reference, at, material)
    if found is None:
        return
    assert 0 < found.low_lbf < found.target_lbf < found.high_lbf
    assert -found.shift_lbf < low


@settings(deadline=None)
@given(LOW, WIDTH, TEMPERATURE, TEMPERATURE, st.sampled_from(MATERIALS))
def test_nothing_else_inside_the_bounds_is_refused(low, width, reference, at, material):
    if or_none(low, width, reference, at, material) is not None:
        return
    # nothing is refused but a way down beyond the low limit; no way up comes near the proof load
    wire = cable("1/8", "7x19")
    moved = wire.need_stiffness().value * (airframe(material).expansion.value - wire.expansion.value) * (at - reference)
    assert moved <= -0.999 * low


@settings(deadline=None)
@given(st.floats(0, 60), st.sampled_from(MATERIALS))
def test_further_from_reference_is_never_surer(away, material):
    near, far = (limits(150.0, 20.0, 70.0, 70 + d, material) for d in (away / 2, away))
    assert sum(c.standard_uncertainty**2 for c in near.components) <= sum(
        c.standard_uncertainty**2 for c in far.components
    ) * (1 + 1e-12)


@settings(deadline=None)
@given(st.floats(-40, 120), st.floats(0, 40), st.sampled_from(MATERIALS))
def test_air_above_and_below_the_structure_are_the_same_to_a_cable_not_measured(at, gap, material):
    above, below = (limits(190.0, 20.0, 70.0, at, material, air_degF=at + d) for d in (gap, -min(gap, at + 65)))
    if gap <= at + 65:
        ours, theirs = (sum(c.standard_uncertainty**2 for c in x.components) for x in (above, below))
        assert ours == pytest.approx(theirs)
    assert above.shift_lbf == below.shift_lbf
