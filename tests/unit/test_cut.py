"""Finished length of a cable and the thread its turnbuckle has left."""

import math

import msgspec
import pytest

from rigging.errors import Refusal
from rigging.hardware.airframe import airframe
from rigging.hardware.bedding_in import HISTORIES, bedding_in
from rigging.hardware.cable import cable
from rigging.jobs.cut import cut
from rigging.jobs.cut_parts import Order
from rigging.jobs.limit_line import limits_under
from rigging.judge.temperatures import Condition
from rigging.physics.cut import Assembly, cut_length_in, threads_showing
from rigging.sheet.circuit import Circuits
from rigging.sheet.load import load_rig
from rigging.source import Basis

EA_LBF = 100e9 * 0.585 * math.pi * (0.125 * 0.0254) ** 2 / 4 / 4.4482216152605
PITCH_IN = 1 / 28
ALUMINIUM, SPRUCE, CABLE = 22.9e-6 / 1.8, 4.45e-6 / 1.8, 11.7e-6 / 1.8
IN_ALUMINIUM = Assembly(171.0, 8.0, PITCH_IN, EA_LBF, ALUMINIUM, CABLE)
IN_SPRUCE = IN_ALUMINIUM._replace(structure_expansion_per_degF=SPRUCE)


def order(**how):
    """An eighth cable in spruce between pins 171 in apart, measured at reference so that nothing moves."""
    plain = {
        "cable": cable("1/8"), "airframe": airframe("spruce"), "bedding_in": bedding_in("new"), "thread": "1/4-28",
        "pin_to_pin_in": 171.0, "pin_to_pin_half_width_in": 0.0, "turnbuckle_in": 8.0, "threads_showing": 1.0,
        "tension_lbf": 35.0, "measured_degF": 70.0, "half_width_degF": 2.0, "reference_degF": 70.0,
    }  # fmt: skip
    return Order(**(plain | how))


def test_length_without_tension_and_change_is_what_is_left_between_the_pins():
    # 171 - 8 - 2 x 3 / 28
    assert cut_length_in(IN_SPRUCE, 3.0, 0.0) == pytest.approx(171 - 8 - 6 / 28)
    assert cut_length_in(IN_SPRUCE, -3.0, 0.0) == pytest.approx(171 - 8 + 6 / 28)


def test_tension_takes_off_the_elastic_stretch():
    free_in = 171 - 8 - 6 / 28
    made_in = cut_length_in(IN_SPRUCE, 3.0, 35.0)
    # the cable made, pulled by 35 lbf, fills the gap again
    assert made_in * (1 + 35 / EA_LBF) == pytest.approx(free_in)


@pytest.mark.parametrize(("assembly", "structure"), [(IN_ALUMINIUM, ALUMINIUM), (IN_SPRUCE, SPRUCE)])
def test_measured_cold_for_a_warm_reference(assembly, structure):
    # after 30 F structure, cable and turnbuckle have grown, each by its own figure, and fit under 35 lbf
    made_in = cut_length_in(assembly, 2.0, 35.0, 30.0)
    gap_in = 171 * (1 + structure * 30)
    chain_in = (made_in * (1 + 35 / EA_LBF) + 8 + 4 / 28) * (1 + CABLE * 30)
    assert chain_in == pytest.approx(gap_in, abs=1e-9)


def test_threads_after_bedding_in():
    made_in = cut_length_in(IN_SPRUCE, 3.0, 35.0)
    found = threads_showing(IN_SPRUCE, made_in, 35.0, bedding_in_share=0.001)
    # a thousandth of the stretched length, taken up half at each end
    assert found == pytest.approx(3 - 0.001 * made_in * (1 + 35 / EA_LBF) / (2 * PITCH_IN))


def test_hot_and_cold_threads_to_first_order():
    made_in = cut_length_in(IN_ALUMINIUM, 2.0, 35.0)
    for change_degF in (-90.0, 40.0):
        moved_in = 171 * (ALUMINIUM - CABLE) * change_degF
        assert threads_showing(IN_ALUMINIUM, made_in, 35.0, change_degF) == pytest.approx(
            2 + moved_in / (2 * PITCH_IN), abs=0.005
        )


@pytest.mark.parametrize(
    ("assembly", "threads", "tension_lbf", "words"),
    [
        (IN_SPRUCE._replace(turnbuckle_in=171.0), 1.0, 35.0, "leaves no cable"),
        (IN_SPRUCE._replace(turnbuckle_in=171.0), 0.0, 35.0, "leaves no cable"),
        (IN_SPRUCE._replace(pin_to_pin_in=0.0), 1.0, 35.0, "pin to pin distance must be above zero"),
        (IN_SPRUCE._replace(pitch_in=0.0), 1.0, 35.0, "pitch must be above zero"),
        (IN_SPRUCE._replace(stiffness_lbf=math.nan), 1.0, 35.0, "stiffness must be above zero"),
        (IN_SPRUCE._replace(turnbuckle_in=-1.0), 1.0, 35.0, "cannot be below zero"),
        (IN_SPRUCE, 1.0, -1.0, "cannot be below zero"),
    ],
)
def test_what_cannot_be_is_refused(assembly, threads, tension_lbf, words):
    with pytest.raises(Refusal, match=words):
        cut_length_in(assembly, threads, tension_lbf)


def test_a_shorter_bedded_in_cable_is_refused():
    with pytest.raises(Refusal, match="no shorter"):
        threads_showing(IN_SPRUCE, 162.0, 35.0, bedding_in_share=-0.001)


@pytest.mark.parametrize(("shrinks", "refused"), [(-2.0, True), (-1.0, True), (-0.5, False), (2.0, False)])
def test_a_cable_cannot_shrink_to_nothing(shrinks, refused):
    # a share of its length, by an expansion of 0.01 per degree; without threads, turnbuckle or tension all of the room is cable
    growing = IN_SPRUCE._replace(turnbuckle_in=0.0, structure_expansion_per_degF=0.0, cable_expansion_per_degF=0.01)
    if refused:
        with pytest.raises(Refusal, match="cannot shrink to nothing"):
            cut_length_in(growing, 0.0, 0.0, 100 * shrinks)
    else:
        assert cut_length_in(growing, 0.0, 0.0, 100 * shrinks) == pytest.approx(growing.pin_to_pin_in / (1 + shrinks))


@pytest.mark.parametrize("length_in", [0.0, -1.0, math.inf, math.nan])
def test_a_cable_has_a_length(length_in):
    with pytest.raises(Refusal, match="a length above zero"):
        threads_showing(IN_SPRUCE, length_in, 35.0)


def test_a_very_short_cable_is_one_too():
    # 3 in between the pins less a turnbuckle of 2 in and a cable of half an inch: half an inch for the threads of both ends
    short = IN_SPRUCE._replace(pin_to_pin_in=3.0, turnbuckle_in=2.0)
    assert threads_showing(short, 0.5, 0.0) == pytest.approx(0.5 / (2 * short.pitch_in), rel=1e-12)
    assert cut_length_in(short, 0.5 / (2 * short.pitch_in), 0.0) == pytest.approx(0.5, rel=1e-12)


def test_bedding_in_by_history():
    assert {h: (b.low_share, b.high_share) for h, b in HISTORIES.items()} == {
        "new": (1e-4, 1e-3), "proof-loaded": (0, 1e-4), "in-service": (0, 0),
    }  # fmt: skip
    assert {b.source.basis for b in HISTORIES.values()} == {Basis.PRACTICE}
    assert bedding_in("new").words == "0.01 to 0.1 % of length"
    assert bedding_in("new").figure.value == pytest.approx((1e-4 + 1e-3) / 2)
    with pytest.raises(Refusal, match=r"unknown history of a cable 'old'.*new"):
        bedding_in("old")


def test_a_cut_with_everything_known_exactly():
    found = cut(order(threads_showing=2.0, bedding_in=bedding_in("in-service")))
    assert found.length_in == pytest.approx((171 - 8 - 4 / 28) / (1 + 35 / EA_LBF))
    assert found.stretch_in == pytest.approx(found.length_in * 35 / EA_LBF)
    assert [(d.day, d.new, d.least, d.most) for d in found.days] == [("reference", *[pytest.approx(2.0)] * 3)]
    assert found.findings == ()
    assert (found.bedding_in_low_in, found.bedding_in_high_in) == (0, 0)


def test_uncertainty_of_the_length_is_the_root_of_its_squares():
    found = cut(order(pin_to_pin_half_width_in=0.0625, measured_degF=50.0))
    u_steel = (0.0625 / math.sqrt(3), 171 * (CABLE - SPRUCE) * 2 / math.sqrt(3), 171 * 35 / EA_LBF * 0.075)
    # carbon cable 11.7 +2 -0.7 over its whole width; spruce as the table has it
    u_cable = 171 * 20 * 2.7e-6 / 1.8 / math.sqrt(12)
    u_wood = 171 * 20 * airframe("spruce").expansion.standard_uncertainty
    assert found.length.standard_uncertainty == pytest.approx(math.hypot(*u_steel, u_cable, u_wood))
    assert found.uncertainty_in == pytest.approx(1.96 * found.length.standard_uncertainty, rel=1e-3)


@pytest.mark.parametrize("material", ["spruce", "aluminium"])
def test_every_day_has_the_tension_wanted_there(material):
    """What temperature does to a cable that is left as it was set; so at that tension as many threads show as before."""
    asked = order(airframe=airframe(material), coldest_degF=40.0, hottest_degF=110.0)
    found = cut(asked)
    assert [d.day for d in found.days] == ["coldest", "reference", "hottest"]
    per_degF = asked.cable.need_stiffness().value * ({"spruce": SPRUCE, "aluminium": ALUMINIUM}[material] - CABLE)
    for day in found.days:
        assert day.tension_lbf == pytest.approx(35 + per_degF * (day.temperature_degF - 70))
        # structure and steel part by up to 0.05 in; the tension takes that up, but for the turnbuckle, which does not stretch
        apart_in = per_degF / asked.cable.need_stiffness().value * (day.temperature_degF - 70) * 171
        assert day.new == pytest.approx(1 + apart_in * (1 - found.length_in / 171) / (2 * PITCH_IN), abs=0.002)
        assert not day.slack


def test_the_tension_wanted_is_the_target_that_check_moves(bench):
    """The same cable in the same airframe, by the limits of a sheet at 54 F."""
    bench.bend(bench.sheet, "material: aluminium", "material: spruce")
    rig = load_rig(bench.sheet)
    moved = limits_under(Circuits(rig), rig.runs[0], Condition(54.0))
    assert cut(order(coldest_degF=54.0)).days[0].tension_lbf == pytest.approx(moved.target_lbf, abs=1e-6)


def test_days_have_growth_between_them():
    found = cut(order(coldest_degF=-20.0, hottest_degF=110.0))
    for day in found.days:
        assert day.least < day.most < day.new
    bedded_in = found.length_in * (1 + 35 / EA_LBF)
    reference = found.days[1]
    assert reference.most == pytest.approx(1 - 1e-4 * bedded_in / (2 * PITCH_IN))
    assert reference.least == pytest.approx(1 - 1e-3 * bedded_in / (2 * PITCH_IN))


@pytest.mark.parametrize(
    ("coldest_degF", "words", "slack"),
    [
        (-20.0, "on the coldest day, at -20 F, the cable hangs slack", True),
        (20.0, "the cable may hang slack", False),
        (50.0, "", False),
    ],
)
def test_a_cable_that_hangs_slack_in_the_cold_is_a_finding(coldest_degF, words, slack):
    # aluminium takes 0.62 to 0.65 lbf a degree: 35 lbf are gone 54 to 56 F below reference, and may be sooner
    found = cut(order(airframe=airframe("aluminium"), coldest_degF=coldest_degF))
    assert found.days[0].slack is slack
    assert [words in finding for finding in found.findings] == ([True] if words else [])
    assert found.finding is bool(words)
    if slack:
        # nobody sets a tension there, and no thread of that day counts
        assert (found.start_low, found.start_high) == (
            cut(order(airframe=airframe("aluminium"))).start_low, cut(order(airframe=airframe("aluminium"))).start_high
        )  # fmt: skip


@pytest.mark.parametrize(
    ("threads", "words"),
    [
        (3.5, "too short: 3.5 threads would show on the reference day, at most 3 may"),
        (-5.0, "too long: the terminals would be sunk 5.0 threads below the end of the barrel on the reference day, at first "
               "rigging at most 4 threads deep (published: FAA AC 43.13-1B, 7-166)"),
        (2.9, "may be too short"),
        (-3.9, "may be too long"),
    ],
)  # fmt: skip
def test_which_end_runs_out(threads, words):
    found = cut(order(threads_showing=threads, pin_to_pin_half_width_in=0.0625))
    assert len(found.findings) == 1
    assert found.findings[0].startswith(words)
    assert f"start with {found.start_low:.1f} to {found.start_high:.1f} threads showing" in found.findings[0]


def test_four_threads_deep_is_a_rule_of_first_rigging_alone():
    """At -3 new, bedding-in sinks the terminals to 5.3: no rule forbids it, and whether the barrel has room is its own."""
    asked = order(threads_showing=-3.0)
    found = cut(asked)
    assert found.days[0].least < -4
    assert not found.findings
    assert any("how deep they can go before they meet in it is not known" in note for note in found.notes)
    shallow = cut(msgspec.structs.replace(asked, most_inside=5.0))
    assert [f.startswith("too long: the terminals would be sunk 5.3 threads") for f in shallow.findings] == [True]
    assert "remake the cable" in shallow.findings[0]
    deep = cut(msgspec.structs.replace(asked, most_inside=7.0))
    assert not deep.findings
    assert not any("is not known" in note for note in deep.notes)


@pytest.mark.parametrize("edge", ["start_low", "start_high"])
def test_a_start_inside_the_window_has_no_finding_and_one_outside_has(edge):
    asked = order(pin_to_pin_half_width_in=0.0625, coldest_degF=-20.0, hottest_degF=110.0, most_inside=4.0)
    found = cut(asked)
    inside = getattr(found, edge) + (0.01 if edge == "start_low" else -0.01)
    outside = getattr(found, edge) + (-0.01 if edge == "start_low" else 0.01)
    assert not cut(msgspec.structs.replace(asked, threads_showing=inside)).findings
    assert cut(msgspec.structs.replace(asked, threads_showing=outside)).findings
    # and the length that goes with it is the one that such an order gives
    there = cut(msgspec.structs.replace(asked, threads_showing=inside))
    assert found.length_for_in(inside) == pytest.approx(there.length_in, abs=2e-3)


def test_a_window_too_small_for_the_growth_has_no_start():
    # 100 ft on a fine thread: 1.2 in of bedding-in against 7 threads of 0.0625 in
    found = cut(order(thread="10-32", pin_to_pin_in=1200.0, pin_to_pin_half_width_in=0.0, most_inside=4.0))
    assert found.start_low is None and found.start_high is None
    assert "no start fits both ends" in found.findings[0]


@pytest.mark.parametrize(
    ("how", "words"),
    [
        ({"measured_degF": 200.0}, "temperature while measuring 200 F lies outside"),
        ({"reference_degF": -80.0}, "reference temperature -80 F lies outside"),
        ({"coldest_degF": -90.0}, "coldest temperature"),
        ({"hottest_degF": 190.0}, "hottest temperature"),
        ({"coldest_degF": 110.0, "hottest_degF": -20.0}, "swapped"),
        ({"tension_lbf": 1300.0}, "above the proof load of this cable, 1200 lbf"),
        ({"thread": "10-24"}, "no thread '10-24'"),
        ({"cable": cable("1/32", "3x7")}, "measure the stiffness"),
        ({"turnbuckle_in": 180.0}, "leaves no cable"),
    ],
)
def test_an_order_that_has_no_honest_answer_is_refused(how, words):
    with pytest.raises(Refusal, match=words):
        cut(order(**how))


def test_an_expansion_from_memory_is_shown_and_not_accepted():
    found = cut(order(airframe=airframe("carbon"), bedding_in=bedding_in("in-service")))
    assert found.findings == ()
    assert found.finding and not found.usable
    assert not cut(order()).finding


def test_wood_and_missing_days_are_noted():
    notes = " ".join(cut(order()).notes)
    assert "no coldest and no hottest day was named" in notes
    assert "moisture" in notes
    assert "proof-loaded after cutting" in notes


def test_a_turnbuckle_may_be_short_or_left_out():
    # 171 in less half an inch less 6 pitches, unloaded; and without a turnbuckle at all
    short = IN_ALUMINIUM._replace(turnbuckle_in=0.5)
    assert cut_length_in(short, 3.0, 0.0) == pytest.approx(171.0 - 0.5 - 6 / 28)
    assert cut_length_in(IN_ALUMINIUM._replace(turnbuckle_in=0.0), 0.0, 0.0) == pytest.approx(171.0)
    with pytest.raises(Refusal, match="cannot be below zero"):
        cut_length_in(IN_ALUMINIUM._replace(turnbuckle_in=-0.001), 3.0, 0.0)
