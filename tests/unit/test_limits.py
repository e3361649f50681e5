"""Limits moved to today's temperature, both ways round, and every case in which none are given."""

import math

import msgspec
import pytest

from rigging.bands import parse_band
from rigging.errors import Refusal
from rigging.hardware.airframe import airframe
from rigging.hardware.cable import cable
from rigging.judge.limits import InCircuit, direction, limits_today, run_pieces
from rigging.judge.temperatures import Condition
from rigging.measure.uncertainty import Component
from rigging.physics.thermal import Response
from rigging.source import Basis, Figure, Source
from rigging.told import shown

AIRCRAFT = Source(Basis.AIRCRAFT, "maintenance manual", "page 31")
EIGHTH = cable("1/8", "7x19")
# EA of 1/8 7x19 carbon (reference R11), expansions of Callister and of carbon cable
EA = 104_123
ALUMINIUM = EA * (22.9 - 11.7) * 1e-6 / 1.8
SPRUCE = EA * (4.45 - 11.7) * 1e-6 / 1.8


def limits(at, band="30..40 lbf @ 70F", material="aluminium", source=AIRCRAFT, wire=EIGHTH, **condition):
    return limits_today(parse_band(band), source, wire, [(168.0, airframe(material))], Condition(at, **condition))


def part(found, why):
    return next(c.standard_uncertainty for c in found.components if c.why == why)


@pytest.mark.parametrize(("material", "slope"), [("aluminium", ALUMINIUM), ("spruce", SPRUCE)])
@pytest.mark.parametrize("at", [54.0, 70.0, 95.0])
def test_the_whole_band_moves_by_slope_times_difference(material, slope, at):
    found = limits(at, material=material)
    moved = slope * (at - 70)
    assert found.shift_lbf == pytest.approx(moved, rel=1e-4)
    assert (found.low_lbf, found.target_lbf, found.high_lbf) == pytest.approx(
        (30 + moved, 35 + moved, 40 + moved), abs=1e-3
    )
    assert (found.reference_degF, found.reference_low_lbf, found.reference_high_lbf) == (70, 30, 40)
    assert found.slope_lbf_per_degF == pytest.approx(slope, rel=1e-4)


def expanded(found):
    """U at 95 % of the shift, by hand from its parts."""
    return 1.959964 * math.sqrt(math.fsum(c.standard_uncertainty**2 for c in found.components))


def test_the_builder_in_a_55_f_garage_sets_aluminium_looser():
    # 15 F below reference: 15 slopes less
    found = limits(55.0)
    moved = 15 * ALUMINIUM
    assert (found.low_lbf, found.high_lbf) == pytest.approx((30 - moved, 40 - moved), abs=0.05)
    assert found.in_words == f"15 F below reference: limits {moved:.1f} +-{expanded(found):.1f} lbf lower"


def test_and_spruce_tighter():
    found = limits(54.0, material="spruce")
    assert found.in_words == f"16 F below reference: limits {-16 * SPRUCE:.1f} +-{expanded(found):.1f} lbf higher"


def test_a_reading_today_is_brought_to_the_reference_temperature():
    found = limits(54.0, material="spruce")
    # by definition: the high limit of today is the printed one
    assert found.at_reference_lbf(found.high_lbf) == pytest.approx(40.0)


def test_at_the_reference_temperature_nothing_moves():
    found = limits(70.0)
    assert (found.low_lbf, found.high_lbf) == (30, 40)
    assert found.in_words == "at reference temperature: limits as printed"


def test_equal_expansions_move_nothing():
    found = limits(20.0, material="steel 1020")
    assert found.in_words == "50 F below reference: limits unchanged"


@pytest.mark.parametrize(
    ("material", "wire", "words"),
    [
        ("aluminium", "carbon", "warmer is tighter"),
        ("aluminium", "stainless", "warmer is tighter"),
        ("spruce", "carbon", "warmer is looser"),
        ("carbon", "carbon", "warmer is looser"),
        ("steel tube", "carbon", "nearly neutral"),
        ("glass", "carbon", "nearly neutral"),
        ("steel tube", "stainless", "warmer is looser"),
        ("stainless 304", "stainless", "nearly neutral"),
    ],
)
def test_the_sign_in_words(material, wire, words):
    pieces = run_pieces(cable("1/8", "7x19", wire), [(100.0, airframe(material))])
    assert direction(pieces) == words


def test_a_run_along_two_materials_takes_both():
    found = limits_today(
        parse_band("30..40 lbf @ 70F"),
        AIRCRAFT,
        EIGHTH,
        [(100.0, airframe("aluminium")), (50.0, airframe("spruce"))],
        Condition(40.0),
    )
    assert found.shift_lbf == pytest.approx(-30 * (100 * ALUMINIUM + 50 * SPRUCE) / 150, rel=1e-4)


def test_the_give_of_the_structure_makes_the_shift_smaller():
    give = 168.0 / EA  # as soft as the cable itself
    found = limits_today(
        parse_band("30..40 lbf @ 70F"), AIRCRAFT, EIGHTH, [(168.0, airframe("aluminium"))], Condition(54.0), give
    )
    assert found.shift_lbf == pytest.approx(-16 * ALUMINIUM / 2, rel=1e-4)


# Cases in which no limits are given (domain notes 4.3), each with the way out


def test_a_band_without_its_temperature():
    with pytest.raises(Refusal, match=r"'30..40 lbf' names no temperature: write .* like 30..40 lbf @ 70F"):
        limits(54.0, band="30..40 lbf")


def test_an_unknown_airframe():
    with pytest.raises(Refusal, match="unknown airframe material 'unobtainium'"):
        limits(54.0, material="unobtainium")


def test_a_shifted_low_limit_of_zero_is_slack():
    # aluminium at 70 - 30 / slope has a low limit of zero
    zero = 70 - 30 / ALUMINIUM
    assert limits(zero + 0.1).low_lbf == pytest.approx(0.1 * ALUMINIUM, abs=0.005)
    with pytest.raises(
        Refusal,
        match=r"low limit 30\.0 lbf, moved by -30\.1 lbf to .* is a slack cable: .* nearer to 70 F, or .* own chart",
    ):
        limits(zero - 0.1)


def test_a_low_limit_of_exactly_zero_is_slack_too():
    with pytest.raises(Refusal, match=r"low limit 0\.0 lbf, moved by \+0\.0 lbf to 70 F, is a slack cable"):
        limits(70.0, band="0..40 lbf @ 70F")


# only a way down ends in a slack cable: a way up is calculated, however long


@pytest.mark.parametrize(("material", "at"), [("aluminium", 158.0), ("spruce", -60.0)])
def test_a_correction_upwards_may_be_larger_than_the_tension_itself(material, at):
    moved = {"aluminium": ALUMINIUM, "spruce": SPRUCE}[material] * (at - 70)
    assert moved > 35
    found = limits(at, material=material)
    assert (found.low_lbf, found.high_lbf) == pytest.approx((30 + moved, 40 + moved), rel=1e-3)


@pytest.mark.parametrize(("material", "at"), [("aluminium", 5.0), ("spruce", 158.0)])
def test_a_correction_downwards_larger_than_the_tension_is_refused(material, at):
    with pytest.raises(Refusal, match="is a slack cable"):
        limits(at, material=material)


# the proof load of 1/8 7x19 carbon is 60 % of 2000 lbf (AC 43.13-1B, table 7-3 and 7-146)


@pytest.mark.parametrize("band", ["30..4000 lbf @ 70F", "1500..1900 lbf @ 70F", "1190..1200.1 lbf @ 70F"])
def test_no_cable_is_rigged_above_its_proof_load(band):
    with pytest.raises(
        Refusal, match=r"a high limit of \d+ lbf is above the proof load of this cable, 1200 lbf \(1/8 7x19"
    ):
        limits(70.0, band=band)


def test_nor_moved_above_it():
    assert limits(70.0, band="1180..1200 lbf @ 70F").high_lbf == 1200
    with pytest.raises(Refusal, match=r"a high limit moved to 75 F of 120\d lbf is above the proof load"):
        limits(75.0, band="1180..1200 lbf @ 70F")


@pytest.mark.parametrize("at", [-65.0, -64.9, 159.9, 160.0])
def test_a_structure_at_or_just_inside_the_bounds(at):
    assert limits(at, band="90..110 lbf @ 70F").temperature_degF == at


@pytest.mark.parametrize("at", [-65.1, 160.1])
def test_a_structure_just_outside_the_bounds(at):
    with pytest.raises(Refusal, match=r"structure temperature .* outside -65 to 160 F"):
        limits(at, band="90..110 lbf @ 70F")


# the range of the thermal model, that of the typical chart
@pytest.mark.parametrize(("reference", "given"), [(-65, True), (160, True), (-65.1, False), (160.1, False)])
def test_the_reference_temperature_keeps_to_the_same_bounds(reference, given):
    band = f"190..210 lbf @ {reference}F"
    if given:
        assert limits(70.0, band=band).reference_degF == reference
        return
    with pytest.raises(Refusal, match=r"reference temperature .* outside -65 to 160 F"):
        limits(70.0, band=band)


@pytest.mark.parametrize(("what", "field"), [("cable temperature", "cable_degF"), ("air temperature", "air_degF")])
@pytest.mark.parametrize("at", [-65.1, 160.1])
def test_so_do_cable_and_air(what, field, at):
    with pytest.raises(Refusal, match=rf"{what} .* outside -65 to 160 F"):
        limits(70.0, **{field: at})


def test_a_cable_whose_stiffness_no_table_gives():
    with pytest.raises(Refusal, match="measure the stiffness on the aircraft"):
        limits(54.0, wire=cable("1/32"))


# Cable and structure at two temperatures


def test_a_cable_measured_warmer_than_the_structure_hangs_looser():
    # 10 F warmer: EA x 11.7e-6 / 1.8 x 10 = 6.8 lbf
    found = limits(70.0, cable_degF=80.0)
    assert found.shift_lbf == pytest.approx(-EA * 11.7e-6 / 1.8 * 10, rel=1e-4)
    moved, spread = EA * 11.7e-6 / 1.8 * 10, expanded(found)
    assert (
        found.in_words == f"at reference temperature, but the cable is not: limits {moved:.1f} +-{spread:.1f} lbf lower"
    )


@pytest.mark.parametrize("gap", [-18.0, 18.0])
def test_air_apart_from_the_structure_widens_the_uncertainty_either_way(gap):
    # the cable may be anywhere between: rectangular over the gap
    found = limits(70.0, air_degF=70.0 + gap)
    assert found.shift_lbf == 0
    expected = EA * 11.7e-6 / 1.8 * 18 / math.sqrt(3)
    assert part(found, "cable not at structure temperature") == pytest.approx(expected, rel=1e-4)
    assert "wait until they agree" in found.cautions[-1]


def test_air_and_structure_within_the_thermometer_need_no_caution():
    assert limits(70.0, air_degF=72.0).cautions == ()
    assert limits(70.0, air_degF=72.1).cautions != ()


def test_a_measured_cable_needs_no_air():
    assert "cable not at structure temperature" not in {
        c.why for c in limits(70.0, air_degF=40.0, cable_degF=60.0).components
    }


# Uncertainty and what may be accepted


def test_each_contribution_by_hand():
    found = limits(54.0, material="spruce")
    assert part(found, "cable stiffness") == pytest.approx(0.075 * 16 * abs(SPRUCE), rel=1e-3)
    assert part(found, "expansion of spruce") == pytest.approx(EA * 1e-6 / 1.8 / math.sqrt(3) * 16, rel=1e-3)
    assert part(found, "expansion of carbon cable") == pytest.approx(EA * 2.7e-6 / 1.8 / math.sqrt(12) * 16, rel=1e-3)
    assert part(found, "temperature reading") == pytest.approx(abs(SPRUCE) * 2 / math.sqrt(3), rel=1e-3)


def test_a_better_thermometer_counts():
    assert part(limits(54.0, half_width_degF=0.5), "temperature reading") == pytest.approx(
        ALUMINIUM * 0.5 / math.sqrt(3), rel=1e-3
    )


def test_moisture_is_named_with_wood():
    assert any("moisture" in c for c in limits(54.0, material="spruce").cautions)
    assert limits(54.0).cautions == ()


def test_limits_of_the_aircraft_may_be_signed_for():
    assert limits(54.0).usable_for_sign_off is True


@pytest.mark.parametrize("material", ["carbon", "wood"])
def test_an_expansion_from_memory_may_not(material):
    assert limits(54.0, material=material).usable_for_sign_off is False


def test_a_band_from_memory_may_not():
    assert limits(54.0, source=Source(Basis.MEMORY)).usable_for_sign_off is False


def test_a_stiffness_from_memory_may_not():
    remembered = EIGHTH.with_stiffness(Figure(1e5, "lbf", Source(Basis.MEMORY), 5e3))
    assert limits(54.0, wire=remembered).usable_for_sign_off is False


# A low limit that its own uncertainty reaches


def test_limits_moved_a_long_way_say_how_sure_they_are():
    # 135 F in aluminium carry a band of 95 to 115 lbf down by less than itself, but not surely
    found = limits(-65.0, band="95..115 lbf @ 70F")
    assert 0 < found.low_lbf == pytest.approx(95 - 135 * ALUMINIUM, abs=0.05)
    assert found.shift_uncertainty_lbf == pytest.approx(expanded(found), rel=1e-6)
    assert found.shift_uncertainty_lbf > 2 * 0.075 * 135 * ALUMINIUM * 0.95 > found.low_lbf
    assert found.may_hang_slack and not found.usable_for_sign_off
    (gap,) = found.sign_off_gaps
    assert f"low limit {found.low_lbf:.1f} lbf the cable may hang slack" in gap
    assert f"uncertain by {expanded(found):.1f} lbf" in gap and "nearer to 70 F" in gap


def test_a_low_limit_just_above_its_uncertainty_is_sure_to_be_tight():
    spread = expanded(limits(54.0))
    moved = 16 * ALUMINIUM
    for more, slack in ((0.01, False), (-0.01, True)):
        low = spread + moved + more
        assert limits(54.0, band=f"{low:.4f}..{low + 10:.4f} lbf @ 70F").may_hang_slack is slack


def test_both_gaps_are_named():
    found = limits(54.0, band="1..40 lbf @ 54F", source=Source(Basis.MEMORY))
    assert [("memory" in gap, "slack" in gap) for gap in found.sign_off_gaps] == [(True, False), (False, True)]


# A reading at reference: a cable cannot push


@pytest.mark.parametrize(
    ("material", "at", "reading", "there"),
    [
        ("spruce", 54.0, 16 * -SPRUCE + 0.01, 0.01),
        ("spruce", 54.0, 16 * -SPRUCE - 0.01, 0.0),
        ("spruce", 54.0, 1.0, 0.0),
        ("spruce", 54.0, 0.0, 0.0),
        ("aluminium", 54.0, 1.0, 1 + 16 * ALUMINIUM),
        # slack today, tighter at reference: by how much it hangs no reading tells
        ("aluminium", 54.0, 0.0, None),
        ("aluminium", 70.0, 0.0, 0.0),
    ],
)
def test_a_reading_at_reference_is_never_below_slack(material, at, reading, there):
    brought = limits(at, material=material).at_reference_lbf(reading)
    assert brought == (there if there is None else pytest.approx(there, abs=2e-3))


def test_every_assumption_is_shown_with_its_source():
    text = "\n".join(limits(54.0, material="spruce").assumptions)
    for words in (
        "EA 104123 lbf +-7.5 %",
        "EN 1993-1-11",
        "11.7e-6/C",
        "airframe spruce: 4.45e-6/C",
        "temperature +-2 F",
    ):
        assert words in text


@pytest.mark.parametrize(
    ("shift", "at", "words"),
    [
        (4.0, 80.0, "5.6 C above reference: limits 18 +-44 N higher"),
        (-4.0, 70.0, "at reference temperature, but the cable is not: limits 18 +-44 N lower"),
    ],
)
def test_the_shift_in_si(shift, at, words):
    # U of 10 lbf is 44 N
    parts = (Component("all there is", 10 / 1.959964),)
    found = msgspec.structs.replace(limits(70.0), shift_lbf=shift, temperature_degF=at, components=parts)
    assert shown(found.in_words, si=True) == words


@pytest.mark.parametrize(
    ("shift", "at", "words"),
    [
        (0.0, 70.0, "at reference temperature: limits as printed"),
        (0.04, 70.04, "at reference temperature: limits as printed"),
        (0.04, 71.0, "1 F above reference: limits unchanged"),
        (-0.04, 69.0, "1 F below reference: limits unchanged"),
        (0.5, 70.0, "at reference temperature, but the cable is not: limits 0.5 +-10.0 lbf higher"),
        (-0.5, 71.0, "1 F above reference: limits 0.5 +-10.0 lbf lower"),
        (0.5, 69.0, "1 F below reference: limits 0.5 +-10.0 lbf higher"),
        (0.5, 69.5, "0.5 F below reference: limits 0.5 +-10.0 lbf higher"),
    ],
)
def test_the_shift_near_the_reference(shift, at, words):
    parts = (Component("all there is", 10 / 1.959964),)
    changed = {"shift_lbf": shift, "temperature_degF": at, "components": parts}
    assert msgspec.structs.replace(limits(70.0), **changed).in_words == words


def test_the_note_on_fixed_ends_takes_the_cable_as_warm_as_it_is():
    # the structure 20 F below the reference, the cable 10 F: between fixed ends one shrinks by 20 F and the other by 10 F
    apart = EA * (10 * 11.7 - 20 * 22.9) * 1e-6 / 1.8
    hung = InCircuit("rudder / left", Response(0.1, 0.0, (), (), ()))
    found = limits_today(
        parse_band("30..40 lbf @ 70F"), AIRCRAFT, EIGHTH, [(168.0, airframe("aluminium"))],
        Condition(50.0, cable_degF=60.0), circuit=hung,
    )  # fmt: skip
    (note,) = (line for line in found.assumptions if "moved through the circuit" in line)
    assert note.endswith(f"by -2.0 lbf; between fixed ends it would be {apart:+.1f} lbf")


@pytest.mark.parametrize(
    ("wire", "cable_width"), [(EIGHTH, 2.7 / math.sqrt(12)), (cable("1/8", "7x19", "stainless"), 2 / math.sqrt(3))]
)
def test_metals_make_moved_limits_less_sure(wire, cable_width):
    # aluminium +-1e-6/C, stainless cable +-2e-6/C (practice), carbon cable +2 / -0.7, over 16 F
    ea = wire.stiffness.value
    found = limits(54.0, wire=wire)
    assert part(found, "expansion of aluminium 2024") == pytest.approx(ea * 1e-6 / 1.8 / math.sqrt(3) * 16, rel=1e-6)
    assert part(found, f"expansion of {wire.material} cable") == pytest.approx(ea * cable_width * 1e-6 / 1.8 * 16)
    text = "\n".join(found.assumptions)
    assert "airframe aluminium 2024: 22.9e-6/C +-0.58e-6 (k=1)" in text
