"""Loads of a loop by statics, and of a circuit of a sheet under its pilot's limit force."""

import math
from pathlib import Path

import msgspec
import pytest

from rigging.errors import BadFile, Refusal
from rigging.jobs.load_rules import Kept
from rigging.jobs.loads import loads
from rigging.physics.loads import loop_under_force, slack_force_lbf, strength_margin
from rigging.sheet.load import load_rig

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
# EA of 1/8 7x19 carbon: E 100 GPa, metallic share 0.585, and 12 ft of it
EA_LBF = 100e9 * 0.585 * math.pi * (0.125 * 0.0254) ** 2 / 4 / 4.4482216152605
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
        Refusal,
        match=r"no 'pilot:' block: add one .*sector: pedals, .* surfaces: \[horn\], control: rudder, travel_plus",
    ):
        solved(bench)


@pytest.mark.parametrize(
    ("control", "lever_in", "force_lbf"),
    # 14 CFR 23.397(b), before amendment 64; a couple of 50 D on a wheel of 14 in is 700 in-lbf, at 7 in 100 lbf
    [("aileron stick", 10, 67), ("elevator wheel", 10, 200), ("rudder", 10, 200), ("aileron wheel", 7, 100)],
)
def test_the_force_of_the_rule_for_a_named_control(flown, control, lever_in, force_lbf):
    flown.bend(flown.sheet, "lever: 10 in", f"lever: {lever_in} in")
    flown.bend(flown.sheet, "force: 20 lbf", f"control: {control}")
    result = solved(flown)
    assert result.force.value == force_lbf
    assert result.moment_in_lbf == force_lbf * lever_in
    assert "23.397(b), before amendment 64" in str(result.force.source)


def test_an_unknown_control_is_refused_with_the_known_ones(flown):
    flown.bend(flown.sheet, "force: 20 lbf", "control: throttle")
    with pytest.raises(BadFile, match=r"no limit force is printed for 'throttle'.*rudder"):
        solved(flown)


# EA 96 000 lbf over 144 in: 666.7 lbf/in a side; 40 lbf at the cable give way by 0.03 in, at 5 in 0.3438 deg
GIVES_WAY_DEG = math.degrees(40.0 / (2 * 96000 / 144) / 5)


@pytest.fixture
def measured(flown):
    """The same, with a stiffness of its own to 10 % and the kind of a sailplane."""
    flown.bend(
        flown.sheet, "{size: 1/8, length", "{size: 1/8, stiffness: 96000 lbf, stiffness_uncertainty: 10%, length"
    )
    flown.bend(flown.sheet, "registration: none}", "registration: none, kind: sailplane}")
    return flown


def one_way(plus_deg, minus_deg):
    return f"travel_plus: {plus_deg:.6f} deg, travel_minus: {minus_deg:.6f} deg"


@pytest.mark.parametrize(
    ("share", "kept"),
    # with the cables a tenth softer 22.5 % is 25 %
    [(0.15, Kept.MET), (0.22, Kept.MET), (0.23, Kept.RE_MEASURE), (0.26, Kept.BROKEN), (0.5, Kept.BROKEN)],
)
def test_control_stretch_is_a_quarter_of_the_way_from_neutral(measured, share, kept):
    measured.bend(measured.sheet, "travel: 40 deg", one_way(GIVES_WAY_DEG / share, GIVES_WAY_DEG / share))
    result = solved(measured)
    found = rule(result, "control stretch")
    assert found.kept is kept
    assert found.words.startswith(f"{100 * share:.0f} %, 0.3 of ")
    assert f"{100 * share / 1.1:.0f} to {100 * share / 0.9:.0f} % as far as the stiffness is known" in found.words
    assert result.finding is (kept is not Kept.MET)


@pytest.mark.parametrize("shorter", ["plus", "minus"])
def test_the_shorter_way_decides(measured, shorter):
    ways = {"plus": GIVES_WAY_DEG / 0.1, "minus": GIVES_WAY_DEG / 0.1} | {shorter: GIVES_WAY_DEG / 0.3}
    measured.bend(measured.sheet, "travel: 40 deg", one_way(ways["plus"], ways["minus"]))
    found = rule(solved(measured), "control stretch")
    assert (found.kept, found.words[:4]) == (Kept.BROKEN, "30 %")
    assert f"pedals {'+' if shorter == 'plus' else '-'} at 70 F" in found.words


@pytest.mark.parametrize(("share", "kept"), [(0.15, Kept.NOT_KNOWN), (0.26, Kept.BROKEN)])
def test_from_stop_to_stop_only_half_is_one_way(measured, share, kept):
    """Once 13 % of the whole was within a quarter; and where the ways differ, half says nothing of the shorter one."""
    measured.bend(measured.sheet, "travel: 40 deg", f"travel: {2 * GIVES_WAY_DEG / share:.6f} deg")
    found = rule(solved(measured), "control stretch")
    assert (found.kept, found.words.split(",")[0]) == (kept, f"{100 * share:.0f} %")
    assert "from stop to stop" in found.words


@pytest.mark.parametrize(
    ("kind", "kept", "words"),
    [
        (", kind: sailplane", Kept.BROKEN, ""),
        (", kind: airplane", Kept.NOTED, "guidance: a rule for sailplanes"),
        ("", Kept.BROKEN, "a rule for sailplanes: if this is none, write kind: airplane under aircraft"),
    ],
)
def test_control_stretch_is_a_rule_for_sailplanes(measured, kind, kept, words):
    measured.bend(measured.sheet, ", kind: sailplane", kind)
    measured.bend(measured.sheet, "travel: 40 deg", one_way(GIVES_WAY_DEG / 0.4, GIVES_WAY_DEG / 0.4))
    result = solved(measured)
    found = rule(result, "control stretch")
    assert (found.kept, found.words[:4]) == (kept, "40 %")
    assert words in found.words
    assert ("sailplanes" in found.words) is bool(words)
    assert result.finding is (kept is Kept.BROKEN)


@pytest.mark.parametrize(("kind", "rule_text"), [("sailplane", True), ("airplane", False)])
def test_the_limit_force_of_airplanes_is_not_that_of_sailplanes(measured, kind, rule_text):
    measured.bend(measured.sheet, "force: 20 lbf", "control: rudder")
    measured.bend(measured.sheet, "kind: sailplane", f"kind: {kind}")
    assert any("a rule for airplanes" in note for note in solved(measured).notes) is rule_text


def test_the_aileron_of_the_reedling_is_past_a_quarter(tmp_path):
    """Hottest day, left bellcrank held: from rest to 335 lbf in 14 ft of cable, at an arm of 3 in; the stick goes 26 deg."""
    result = loads(load_rig(EXAMPLES / "reedling/sheet.yaml"), "aileron")
    stiffness_lbf = result.model.runs[0].cable.need_stiffness().value
    rest_lbf = 35 - stiffness_lbf * (11.7 - 4.45) * 1e-6 / 1.8 * 40
    moved_deg = math.degrees((67 * 15 / 3 - rest_lbf) / (stiffness_lbf / 168) / 3)
    found = rule(result, "control stretch")
    assert found.words.startswith(f"{100 * moved_deg / 26:.0f} %, {moved_deg:.1f} of 26 deg one way from neutral")
    assert moved_deg / 26 > 0.35
    # it is no sailplane: guidance
    assert found.kept is Kept.NOTED


@pytest.mark.parametrize(
    "travel",
    ["travel_plus: 20 deg", "travel_minus: 20 deg", "travel: 40 deg, travel_plus: 20 deg, travel_minus: 20 deg"],
)
def test_travel_is_given_each_way_or_from_stop_to_stop(flown, travel):
    flown.bend(flown.sheet, "travel: 40 deg", travel)
    with pytest.raises(BadFile, match="give both 'travel_plus' and 'travel_minus'"):
        load_rig(flown.sheet)


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


TERMINALS = "terminals: {strength: 900 lbf, source: Dabchick drawing 12}"
TURNBUCKLE = "turnbuckle: {strength: 1600 lbf, source: Dabchick drawing 13}"


@pytest.mark.parametrize(
    ("stated", "weakest", "strength_lbf", "left_out"),
    [
        ("", "cable", 2000, "terminals and turnbuckle"),
        (f"strengths: {{{TERMINALS}}}, ", "terminals", 900, "turnbuckle"),
        (f"strengths: {{{TURNBUCKLE}}}, ", "turnbuckle", 1600, "terminals"),
        (f"strengths: {{{TERMINALS}, {TURNBUCKLE}}}, ", "terminals", 900, ""),
        (f"strengths: {{{TERMINALS.replace('900', '2200')}}}, ", "cable", 2000, "turnbuckle"),
    ],
)
def test_the_weakest_part_of_a_run_decides(flown, stated, weakest, strength_lbf, left_out):
    # 400 lbf at the hand: 800 in the cable, 1200 with the factor
    flown.bend(flown.sheet, "force: 20 lbf", "force: 400 lbf")
    flown.bend(flown.sheet, "left: {size: 1/8,", f"left: {{size: 1/8, turnbuckle: {{thread: 1/4-28}}, {stated}")
    result = solved(flown)
    left = result.cables[0]
    assert (left.weakest, left.margin) == (weakest, pytest.approx(strength_lbf / 1200 - 1))
    found = rule(result, "strength of left")
    assert found.kept is (Kept.MET if strength_lbf > 1200 else Kept.BROKEN)
    assert f"against {strength_lbf:,} lbf of the {weakest}" in found.words
    assert found.words.partition("not counted: ")[2] == left_out
    if weakest != "cable":
        assert "Dabchick drawing" in found.source
    # no turnbuckle hangs in the other one
    assert list(result.cables[1].not_counted) == ["terminals"]
    assert any("pins, brackets and levers are not counted" in note for note in result.notes)


def test_a_recalled_strength_of_any_part_is_not_for_sign_off(flown):
    """Not the weakest as recalled, it may well be in truth."""
    recalled = TERMINALS.replace("900", "2200").replace("12}", "12, basis: memory}")
    flown.bend(flown.sheet, "left: {size: 1/8,", f"left: {{size: 1/8, strengths: {{{recalled}}},")
    found = rule(solved(flown), "strength of left")
    assert found.kept is Kept.NOT_FOR_SIGN_OFF
    assert "the strength of the terminals is from memory" in found.words


@pytest.mark.parametrize(
    ("strengths", "words"),
    [
        ("terminals: {strength: 900 lbf}", "'source' is missing here"),
        ("terminals: {strength: 900 lbf, source: ' '}", "a strength needs a source"),
        ("terminals: {strength: 0 lbf, source: drawing 12}", "strength"),
        ("shackle: {strength: 900 lbf, source: drawing 12}", "unknown key 'shackle'"),
    ],
)
def test_a_strength_is_above_zero_and_has_a_source(flown, strengths, words):
    flown.bend(flown.sheet, "left: {size: 1/8,", f"left: {{size: 1/8, strengths: {{{strengths}}},")
    with pytest.raises(BadFile, match=words):
        load_rig(flown.sheet)


@pytest.fixture
def reedling(tmp_path):
    """Its own ailerons, with a balance cable of 1/16 in and a lever of 30 in: 67 lbf make 670 lbf in a cable."""
    (tmp_path / "card-0417.yaml").write_text((EXAMPLES / "reedling/card-0417.yaml").read_text(encoding="utf-8"))
    text = (EXAMPLES / "reedling/sheet.yaml").read_text(encoding="utf-8")
    for old, new in (("size: 1/8, length: 18 ft", "size: 1/16, length: 18 ft"), ("lever: 15 in", "lever: 30 in")):
        assert old in text
        text = text.replace(old, new)
    (tmp_path / "sheet.yaml").write_text(text, encoding="utf-8")
    return tmp_path / "sheet.yaml"


def test_a_balance_cable_is_judged_with_each_surface_alone(reedling):
    """Both held, it bears what it was rigged to; one alone, the whole pull goes through it."""
    result = loads(load_rig(reedling), "aileron")
    balance = next(c for c in result.cables if c.run.name == "balance")
    # 480 lbf is the strength of 1/16 (AC 43.13-1B table 7-3); the other side hangs slack, so one cable has it all
    assert balance.most_lbf == pytest.approx(670)
    assert balance.margin == pytest.approx(480 / (1.5 * 670) - 1)
    found = rule(result, "strength of balance")
    assert found.kept is Kept.BROKEN and result.finding
    assert found.words.startswith("margin -0.52: 670 lbf x 1.5 against 480 lbf of the cable")
    assert "bellcrank alone held" in found.words
    # what no such case makes worse is named by the plain one
    assert "alone" not in rule(result, "strength of left").words


def test_each_surface_alone_holds_by_its_own_cables(reedling):
    """Left alone, pulled to -: through right and balance; pulled to +: through left, the others let go."""
    result = loads(load_rig(reedling), "aileron")
    alone = {(p.held, p.way): p.tension_lbf for p in pulls(result) if len(p.held) == 1}
    for held, way, tight in (
        ("left bellcrank", "+", ["left"]),
        ("left bellcrank", "-", ["balance", "right"]),
        ("right bellcrank", "+", ["left", "balance"]),
        ("right bellcrank", "-", ["right"]),
    ):
        expected = {name: 670.0 if name in tight else 0.0 for name in ("left", "balance", "right")}
        assert alone[(held,), way] == pytest.approx(expected, abs=1e-6)
    assert "together and each alone" in result.notes[0]


def test_slack_comes_first_with_one_surface_alone(reedling):
    """Of two ways in parallel, the shorter one is stiffer and lets go first: 14 ft against 14 ft and 18 ft in a row."""
    text = reedling.read_text(encoding="utf-8").replace("size: 1/16, length: 18 ft", "size: 1/8, length: 18 ft")
    reedling.write_text(text, encoding="utf-8")
    result = loads(load_rig(reedling), "aileron")
    rest_lbf = next(d for d in result.days if d.day == "hottest").rest_lbf["left"]
    least = min(p.slack_force_lbf for d in result.days for p in d.pulls)
    assert least == pytest.approx(rest_lbf * (1 + 14 / 32) * 3 / 30)
    assert "left bellcrank alone held" in rule(result, "slack under limit force").words


def test_one_surface_has_no_other_case(flown):
    assert [p.held for p in pulls(solved(flown))] == [("horn",), ("horn",)]


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
    with pytest.raises(BadFile, match="'pedals' is the pilot's own sector"):
        solved(flown)


def test_a_temperature_beyond_the_model_is_refused(flown):
    with pytest.raises(Refusal, match="temperature 200 F lies outside"):
        solved(flown, at_degF=200.0)
