"""Loads of a loop by statics, and of a circuit of a sheet under its pilot's limit force."""

import math
from pathlib import Path

import msgspec
import pytest

from rigging.errors import Refusal
from rigging.jobs.load_rules import Kept
from rigging.jobs.loads import loads
from rigging.physics.loads import loop_under_force, slack_force_lbf, strength_margin
from rigging.sheet.load import load_rig

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
# EA of 1/8 7x19 carbon: E 100 GPa, metallic share 0.56, and 12 ft of it
EA_LBF = 100e9 * 0.56 * math.pi * (0.125 * 0.0254) ** 2 / 4 / 4.4482216152605
LENGTH_IN = 144.0
ARM_IN = 5.0
# aluminium 2024 against carbon cable
SLOPE_LBF_PER_DEGF = EA_LBF * (22.9e-6 - 11.7e-6) / 1.8


@pytest.mark.parametrize(
    ("force_lbf", "tight_lbf", "slack_lbf", "is_slack"),
    [(0, 35, 35, False), (69.9, 69.95, 0.05, False), (70, 70, 0, True), (70.1, 70.1, 0, True), (400, 400, 0, True)],
)
def test_a_loop_below_at_and_past_slack(force_lbf, tight_lbf, slack_lbf, is_slack):
    found = loop_under_force(35.0, force_lbf)
    assert (found.tight_lbf, found.slack_lbf) == pytest.approx((tight_lbf, slack_lbf))
    assert found.is_slack is is_slack
    assert slack_force_lbf(35.0) == 70.0


@pytest.mark.parametrize("figures", [(-1.0, 10.0), (35.0, -1.0), (math.nan, 1.0)])
def test_a_loop_that_cannot_be_is_refused(figures):
    with pytest.raises(Refusal, match="cannot be below zero"):
        loop_under_force(*figures)


def test_strength_margin():
    # 2000 lbf against 1.5 x 1000, 1.5 x 1333.33 and 1.5 x 2000
    assert strength_margin(2000, 1000) == pytest.approx(1 / 3)
    assert strength_margin(2000, 2000 / 1.5) == pytest.approx(0)
    assert strength_margin(2000, 2000) == pytest.approx(-1 / 3)
    assert strength_margin(2000, 0) == math.inf
    assert strength_margin(0.75, 1) == pytest.approx(-0.5)  # a thread: 0.75 / 1.5 - 1
    for nothing in (0, -2000, math.inf):
        with pytest.raises(Refusal, match="above zero"):
            strength_margin(nothing, 10)


PILOT = "    pilot: {sector: pedals, lever: 10 in, surfaces: [horn], force: 20 lbf, travel: 40 deg}\n    cables:\n"


@pytest.fixture
def flown(bench):
    """The test bed with a pilot whose 20 lbf at 10 in make 40 lbf in a cable."""
    bench.bend(bench.sheet, "    cables:\n", PILOT)
    return bench


def solved(bench, **how):
    return loads(load_rig(bench.sheet), "rudder", **how)


def rule(result, what):
    return next(r for r in result.rules() if r.what == what)


def pulls(result, day="reference"):
    return next(d for d in result.days if d.day == day).pulls


@pytest.mark.parametrize("last_bit", [-1e-12, 1e-12])
def test_no_last_bit_decides_which_way_is_named(last_bit):
    """Both ways of equal arms are alike: another order of the same sum names the same one."""
    result = loads(load_rig(EXAMPLES / "reedling/sheet.yaml"), "elevator")

    def other(pull):
        share = 1 + last_bit if pull.way == "-" else 1.0
        slack_force_lbf, movement_deg = pull.slack_force_lbf * share, pull.movement_deg * share
        return msgspec.structs.replace(pull, slack_force_lbf=slack_force_lbf, movement_deg=movement_deg)

    days = tuple(msgspec.structs.replace(d, pulls=tuple(map(other, d.pulls))) for d in result.days)
    moved = msgspec.structs.replace(result, days=days)
    assert [r.words for r in moved.rules()] == [r.words for r in result.rules()]


def test_tensions_under_the_limit_force_both_ways(flown):
    result = solved(flown)
    assert [day.day for day in result.days] == ["reference"]
    assert result.moment_in_lbf == 200
    plus, minus = pulls(result)
    assert plus.tension_lbf == pytest.approx({"left": 55.0, "right": 15.0})
    assert minus.tension_lbf == pytest.approx({"left": 15.0, "right": 55.0})
    assert result.pulled("+") == ["left"] and result.pulled("-") == ["right"]
    assert (plus.slack, minus.slack) == ((), ())
    # the cable force of 70 lbf that ends it, over lever and arm
    assert plus.slack_force_lbf == pytest.approx(35.0)
    assert (plus.first_slack, minus.first_slack) == (("right",), ("left",))
    assert rule(result, "slack under limit force").kept is Kept.MET
    assert not result.finding
    assert any("no coldest and hottest" in note for note in result.notes)


def test_the_pilots_sector_turns_by_the_stretch_of_both_sides(flown):
    turned_rad = 40.0 / (2 * EA_LBF / LENGTH_IN) / ARM_IN
    for pull in pulls(solved(flown)):
        assert pull.movement_deg == pytest.approx(math.degrees(turned_rad))
        # at k = 2 EA lies 15 % off
        assert pull.movement_least_deg == pytest.approx(math.degrees(turned_rad) / 1.15)
        assert pull.movement_most_deg == pytest.approx(math.degrees(turned_rad) / 0.85)


def test_past_slack_one_side_carries_all(flown):
    flown.bend(flown.sheet, "force: 20 lbf", "force: 60 lbf")
    result = solved(flown)
    plus = pulls(result)[0]
    assert plus.tension_lbf == pytest.approx({"left": 120.0, "right": 0.0}, abs=1e-6)
    assert plus.slack == ("right",)
    assert plus.slack_force_lbf == pytest.approx(35.0)
    # the tight side stretches by what it gained
    assert plus.movement_deg == pytest.approx(math.degrees((120 - 35) / (EA_LBF / LENGTH_IN) / ARM_IN))
    # a slack side under the limit force breaks no rule: it is told, not held against the circuit
    assert rule(result, "slack under limit force").kept is Kept.NOTED
    assert not rule(result, "slack under limit force").finding


def test_days_move_the_tension_at_rest_and_the_slack_force(flown):
    flown.bend(flown.sheet, "airframe: {mat", "temperatures: {coldest: 40F, hottest: 110F}\nairframe: {mat")
    result = solved(flown, at_degF=54.0)
    assert [(d.day, d.temperature_degF) for d in result.days] == [
        ("coldest", 40), ("today", 54), ("reference", 70), ("hottest", 110),
    ]  # fmt: skip
    for day in result.days:
        rest_lbf = 35 + SLOPE_LBF_PER_DEGF * (day.temperature_degF - 70)
        assert day.rest_lbf == pytest.approx({"left": rest_lbf, "right": rest_lbf})
        # force at the hand = 2 T0 x arm over lever
        assert day.pulls[0].slack_force_lbf == pytest.approx(2 * rest_lbf * 5 / 10)


def test_slack_at_rest_is_found_before_any_pull(flown):
    flown.bend(flown.sheet, "airframe: {mat", "temperatures: {coldest: 0F, hottest: 110F}\nairframe: {mat")
    result = solved(flown)
    assert result.days[0].slack_at_rest == ("left", "right")
    assert result.days[0].pulls[0].slack_force_lbf == 0.0
    assert rule(result, "slack at rest").kept is Kept.BROKEN
    assert result.finding


def test_a_rigging_tension_of_ones_own(flown):
    result = solved(flown, tension_lbf=50.0)
    assert pulls(result)[0].tension_lbf == pytest.approx({"left": 70.0, "right": 30.0})
    with pytest.raises(Refusal, match="above zero"):
        solved(flown, tension_lbf=0.0)


def test_limits_that_hold_at_another_temperature(flown):
    flown.bend(flown.sheet, "30..40 lbf @ 70F", "30..40 lbf @ 60F")
    rest_lbf = 35 + SLOPE_LBF_PER_DEGF * 10
    assert solved(flown).days[0].rest_lbf["left"] == pytest.approx(rest_lbf)


def test_no_limits_no_tension(flown):
    flown.bend(flown.sheet, ", limits: 30..40 lbf @ 70F}\n      right", "}\n      right")
    with pytest.raises(Refusal, match=r"rudder / left: the sheet gives no limits.*--tension 35lbf"):
        solved(flown)
    assert solved(flown, tension_lbf=35.0).days[0].rest_lbf["left"] == pytest.approx(35)


def test_no_pilot_block_says_what_to_add(bench):
    with pytest.raises(
        Refusal, match=r"no 'pilot:' block: add one .*sector: pedals, .* surfaces: \[horn\], control: rudder"
    ):
        solved(bench)


@pytest.mark.parametrize(
    ("control", "lever_in", "force_lbf"),
    # 14 CFR 23.397(b); a couple of 50 D on a wheel of 14 in is 700 in-lbf, at 7 in 100 lbf
    [("aileron stick", 10, 67), ("elevator wheel", 10, 200), ("rudder", 10, 200), ("aileron wheel", 7, 100)],
)
def test_the_force_of_the_rule_for_a_named_control(flown, control, lever_in, force_lbf):
    flown.bend(flown.sheet, "lever: 10 in", f"lever: {lever_in} in")
    flown.bend(flown.sheet, "force: 20 lbf", f"control: {control}")
    result = solved(flown)
    assert result.force.value == force_lbf
    assert result.moment_in_lbf == force_lbf * lever_in
    assert "23.397" in str(result.force.source)


def test_an_unknown_control_is_refused_with_the_known_ones(flown):
    flown.bend(flown.sheet, "force: 20 lbf", "control: throttle")
    with pytest.raises(Refusal, match=r"no control 'throttle'.*rudder"):
        solved(flown)


def test_control_stretch_against_a_quarter_of_the_travel(flown):
    turned_deg = math.degrees(40.0 / (2 * EA_LBF / LENGTH_IN) / ARM_IN)
    for share, kept in ((0.15, Kept.MET), (0.24, Kept.RE_MEASURE), (0.26, Kept.BROKEN), (0.5, Kept.BROKEN)):
        text = flown.sheet.read_text(encoding="utf-8")
        flown.bend(flown.sheet, "travel: 40 deg", f"travel: {turned_deg / share:.6f} deg")
        result = solved(flown)
        assert rule(result, "control stretch").kept is kept
        assert rule(result, "control stretch").words.startswith(f"{100 * share:.0f} %")
        assert result.finding is (kept is not Kept.MET)
        flown.sheet.write_text(text, encoding="utf-8")


def test_without_travel_the_stretch_has_no_share(flown):
    flown.bend(flown.sheet, ", travel: 40 deg", "")
    result = solved(flown)
    assert rule(result, "control stretch").kept is Kept.NOT_KNOWN
    assert not result.finding


def test_strength_with_the_ultimate_factor(flown):
    # 1/8 7x19 carbon breaks at 2000 lbf: 1.5 x 700 x 10/5 is more
    flown.bend(flown.sheet, "force: 20 lbf", "force: 700 lbf")
    result = solved(flown)
    assert result.cables[0].margin == pytest.approx(2000 / (1.5 * 1400) - 1)
    assert rule(result, "strength of left").kept is Kept.BROKEN


def test_a_strength_from_memory_is_not_for_sign_off(flown):
    flown.bend(flown.sheet, "{size: 1/8, length", "{size: 1/8, construction: 1x19, length")
    assert rule(solved(flown), "strength of left").kept is Kept.NOT_FOR_SIGN_OFF
    assert solved(flown).finding


def test_an_expansion_from_memory_is_a_finding(flown):
    flown.bend(flown.sheet, "material: aluminium", "material: carbon")
    result = solved(flown)
    assert not result.usable
    assert result.finding


@pytest.mark.parametrize(
    ("pulley", "kept", "words"),
    [
        # highest tension 55 lbf: 2 x 55 x sin 45 = 77.8
        ("{wrap: 90 deg, part: MS20220-1}", Kept.MET, "78 lbf over 90 deg, rated 500 lbf"),
        ("{wrap: 90 deg}", Kept.NOT_KNOWN, "rating not known: the sheet names no part"),
        ("{wrap: 90 deg, part: X-1}", Kept.NOT_KNOWN, "rating not known"),
        ("{wrap: 90 deg, part: MS20219-1}", Kept.BROKEN, "made for other cable sizes"),
    ],
)
def test_pulleys(flown, pulley, kept, words):
    flown.bend(flown.sheet, "left: {size: 1/8,", f"left: {{size: 1/8, pulleys: [{pulley}],")
    result = solved(flown)
    found = rule(result, "pulley 1 on left")
    assert found.kept is kept
    assert words in found.words
    assert result.bends[0].load_lbf == pytest.approx(55 * math.sqrt(2))


def test_a_pulley_over_its_rating(flown):
    # 900 lbf at the hand: 1800 in the cable, 2546 on the pulley
    flown.bend(flown.sheet, "force: 20 lbf", "force: 900 lbf")
    flown.bend(
        flown.sheet, "left: {size: 1/8,", "left: {size: 1/8, pulleys: [{wrap: 90 deg, name: keel, part: MS20220-3}],"
    )
    assert rule(solved(flown), "keel on left").kept is Kept.BROKEN


@pytest.mark.parametrize(("bend_deg", "kept"), [(2.9, Kept.MET), (3, Kept.MET), (3.1, Kept.BROKEN)])
def test_a_fairlead_bends_the_cable_by_three_degrees_at_most(flown, bend_deg, kept):
    flown.bend(flown.sheet, "left: {size: 1/8,", f"left: {{size: 1/8, fairleads: [{{bend: {bend_deg} deg}}],")
    assert rule(solved(flown), "fairlead 1 on left").kept is kept


def test_friction_of_the_bends_of_a_run(flown):
    flown.bend(
        flown.sheet, "left: {size: 1/8,",
        "left: {size: 1/8, pulleys: [{wrap: 180 deg}, {wrap: 180 deg, bearing: plain}],",
    )  # fmt: skip
    left, right = solved(flown).cables
    assert left.friction_ratio == pytest.approx(1.04 * 1.09)
    assert left.spread_lbf == pytest.approx(35 * (1.04 * 1.09 - 1))
    assert (right.friction_ratio, right.spread_lbf) == (1, 0)


def test_unequal_arms_balance_by_moments(flown):
    # 4 in on the + sides and 5 on the - sides; rigged so that the moments agree, 43.75 x 4 = 35 x 5
    for sector, arm in (("pedals", 5), ("horn", 4)):
        flown.bend(flown.sheet, f"{sector}: {{arm: {arm} in}}", f"{sector}: {{arm_plus: 4 in, arm_minus: 5 in}}")
    flown.bend(flown.sheet, "to: horn +, limits: 30..40 lbf @ 70F", "to: horn +, limits: 43..44.5 lbf @ 70F")
    result = solved(flown)
    plus = pulls(result)[0]
    assert result.days[0].rest_lbf == pytest.approx({"left": 43.75, "right": 35.0})
    assert 4 * plus.tension_lbf["left"] - 5 * plus.tension_lbf["right"] == pytest.approx(200)
    assert not any("do not balance" in note for note in result.notes)


def test_tensions_that_do_not_balance_are_named(flown):
    flown.bend(flown.sheet, "to: horn -, limits: 30..40 lbf @ 70F", "to: horn -, limits: 20..30 lbf @ 70F")
    result = solved(flown)
    # equal arms and lengths: 35 and 25 settle to 30 each
    assert result.days[0].rest_lbf == pytest.approx({"left": 30, "right": 30})
    assert any("left: set to 35.0 lbf it rests at 30.0 lbf" in note for note in result.notes)


SPRINGS = """\
    springs:
      fore: {from: pedals -, rate: 5 lbf/in, pull: 35 lbf}
      aft: {from: horn -, rate: 5 lbf/in, pull: 35 lbf}
"""


def test_a_single_cable_with_a_spring_carries_one_way(flown):
    # a spring at each end holds 35 lbf with the pedals let go; pulled to -, the pedals' spring takes up what the cable lets go
    text = flown.sheet.read_text(encoding="utf-8")
    cable = next(line for line in text.splitlines() if line.startswith("      right:"))
    flown.bend(flown.sheet, cable + "\n", SPRINGS)
    result = solved(flown)
    plus, minus = pulls(result)
    k_cable, k_spring = EA_LBF / LENGTH_IN, 5.0
    moved_in = 40.0 / (k_cable + k_spring)
    assert plus.tension_lbf == pytest.approx({"left": 35 + k_cable * moved_in})
    # to the other side the cable goes slack at 35 + 35 k_spring / k_cable of cable force
    assert minus.slack_force_lbf == pytest.approx((35 + 35 * k_spring / k_cable) * 5 / 10)
    assert minus.slack == ("left",)


def test_a_single_cable_alone_carries_nothing_the_other_way(flown):
    text = flown.sheet.read_text(encoding="utf-8")
    cable = next(line for line in text.splitlines() if line.startswith("      right:"))
    flown.bend(flown.sheet, cable + "\n", "")
    result = solved(flown)
    plus, minus = pulls(result)
    # with the pin out nothing keeps it tight
    assert result.days[0].slack_at_rest == ("left",)
    assert plus.tension_lbf == pytest.approx({"left": 40.0})
    assert (minus.tension_lbf, minus.movement_deg, minus.slack_force_lbf) == ({}, None, None)
    assert any("pedals -: nothing carries a load that way" in note for note in result.notes)


def test_the_pilots_sector_is_no_surface(flown):
    flown.bend(flown.sheet, "surfaces: [horn]", "surfaces: [horn, pedals]")
    with pytest.raises(Refusal, match="both the pilot's sector and a surface"):
        solved(flown)


def test_a_temperature_beyond_the_model_is_refused(flown):
    with pytest.raises(Refusal, match="today temperature 200 F lies outside"):
        solved(flown, at_degF=200.0)
