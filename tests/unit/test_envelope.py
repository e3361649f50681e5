"""A circuit through the seasons: every figure by hand from EA, expansions, arms and lengths."""

import math

import pytest

from rigging.errors import BadFile, Refusal
from rigging.jobs.envelope import envelope
from rigging.jobs.envelope_parts import Asked
from rigging.jobs.window import window
from rigging.physics.spans import Span, below_zero, last_alike
from rigging.sheet.circuit import circuit_model
from rigging.sheet.load import load_rig

# 100 GPa, 56 % of the area of 3.175 mm, in lbf
EA = 100e9 * 0.585 * math.pi / 4 * (0.125 * 0.0254) ** 2 / 4.4482216152605
ALUMINIUM, SPRUCE, CABLE = 22.9e-6 / 1.8, 4.45e-6 / 1.8, 11.7e-6 / 1.8  # per degF
IN_ALUMINIUM = EA * (ALUMINIUM - CABLE)  # +0.62 lbf/F
IN_SPRUCE = EA * (SPRUCE - CABLE)  # -0.40 lbf/F

SHEET = """\
rig_sheet: 1
aircraft: {name: Test bed, registration: none}
reference_temperature: 70F
temperatures: {coldest: 0F, hottest: 110F}
airframe: {material: aluminium}
circuits:
  rudder:
    sectors:
      pedals: {arm: 5 in}
      horn: {arm: 4 in}
    hold: [pedals]
    cables:
      left: {size: 1/8, length: 12 ft, from: pedals +, to: horn +, limits: 30..40 lbf @ 70F}
      right: {size: 1/8, length: 12 ft, from: pedals -, to: horn -, limits: 30..40 lbf @ 70F}
"""
LIMITS = ", limits: 30..40 lbf @ 70F"
PILOT = "    pilot: {sector: pedals, lever: 10 in, surfaces: [horn], force: 200 lbf}\n    cables:"
CHART = """\
table: 1
kind: chart
title: Test chart
source: {basis: aircraft, document: Test manual}
read: 2026-11-25
columns: {for: {unit: text}, temperature: {unit: F}, low: {unit: lbf}, high: {unit: lbf}}
rows:
  - [rudder, 40, 20, 30]
  - [rudder, 100, 32, 42]
"""


@pytest.fixture
def through(tmp_path):
    """The envelope of the sheet with some of its text replaced."""

    def run(*changes, chart="", **asked):
        text = SHEET
        for old, new in changes:
            assert old in text
            text = text.replace(old, new)
        (tmp_path / "sheet.yaml").write_text(text, encoding="utf-8")
        (tmp_path / "chart.yaml").write_text(chart, encoding="utf-8")
        return envelope(load_rig(tmp_path / "sheet.yaml"), None, Asked(**asked)).circuits[0]

    return run


def at(circuit, temperature, run=0):
    return circuit.runs[run].tensions_lbf[circuit.temperatures_degF.index(temperature)]


def test_a_loop_in_aluminium_is_tighter_in_the_heat_and_slack_in_the_cold(through):
    circuit = through()
    assert at(circuit, 70.0) == pytest.approx(35.0)
    assert at(circuit, 110.0) == pytest.approx(35.0 + 40 * IN_ALUMINIUM)
    assert at(circuit, 0.0) == 0.0
    assert circuit.slack_below_degF == pytest.approx(70 - 35 / IN_ALUMINIUM, abs=1e-4)
    assert circuit.slack_above_degF is None
    assert circuit.runs[0].direction == "warmer is tighter"
    assert circuit.runs[0].slope_lbf_per_degF == pytest.approx(IN_ALUMINIUM)
    assert circuit.found and not circuit.out_of_limits


@pytest.mark.parametrize("wrong", [math.nan, math.inf, -math.inf])
@pytest.mark.parametrize("name", ["set_lbf", "pilot_force_lbf", "limit_lbf"])
def test_a_figure_asked_for_that_is_no_number_is_refused(through, name, wrong):
    with pytest.raises(Refusal, match=f"{wrong} is no "):
        through(**{name: wrong})
    with pytest.raises(Refusal, match=f"rudder / left: {wrong} is no tension"):
        through(tensions_lbf={"rudder / left": wrong})


@pytest.mark.parametrize(
    ("temperatures", "said"),
    [([], "no temperature is given"), ([70.0, math.nan], "temperature nan"), ([math.inf], "inf")],
)
def test_a_window_needs_temperatures(through, tmp_path, temperatures, said):
    through()
    rig = load_rig(tmp_path / "sheet.yaml")
    with pytest.raises(Refusal, match=said):
        window(rig, circuit_model(rig, "rudder"), temperatures, None, 50.0)


def test_wood_turns_the_sign(through):
    circuit = through(("aluminium", "spruce"), set_lbf=12.0)
    assert circuit.slack_below_degF is None
    assert circuit.slack_above_degF == pytest.approx(70 - 12 / IN_SPRUCE, abs=1e-4)
    assert circuit.runs[0].direction == "warmer is looser"
    assert any("moisture" in caution for caution in circuit.cautions)


def test_limits_end_where_the_low_one_would_be_slack(through):
    line = through().runs[0].limits
    assert [o.span for o in line.open] == [Span(0.0, pytest.approx(70 - 30 / IN_ALUMINIUM, abs=1e-6))]
    assert line.low_lbf[0] is None and line.low_lbf[-1] == pytest.approx(30 + 40 * IN_ALUMINIUM)
    assert line.high_lbf[-1] == pytest.approx(40 + 40 * IN_ALUMINIUM)


def test_uncertainty_grows_away_from_the_rigging_temperature(through):
    circuit = through()
    # EA 7.5 %; cable expansion +2/-0.7 and aluminium +-1 as rectangles; thermometer +-2 F when it was set; 1.96 for 95 %
    for temperature in (70.0, 110.0):
        away = temperature - 70
        parts = (
            0.075 * IN_ALUMINIUM * away,
            2.7e-6 / 1.8 / math.sqrt(12) * EA * away,
            1e-6 / 1.8 / math.sqrt(3) * EA * away,
            2 / math.sqrt(3) * IN_ALUMINIUM,
        )
        u = circuit.runs[0].uncertainties_lbf[circuit.temperatures_degF.index(temperature)]
        assert u == pytest.approx(1.95996 * math.hypot(*parts), rel=1e-5)


def test_slack_may_come_sooner_by_the_uncertainty(through):
    circuit = through()
    run = circuit.runs[0]
    away = circuit.slack_below_degF - 70
    parts = (
        0.075 * 35,
        2.7e-6 / 1.8 / math.sqrt(12) * EA * away,
        1e-6 / 1.8 / math.sqrt(3) * EA * away,
        2 / math.sqrt(3) * IN_ALUMINIUM,
    )
    assert run.slack_uncertainty_degF == pytest.approx(1.95996 * math.hypot(*parts) / IN_ALUMINIUM, rel=1e-4)
    (perhaps,) = run.perhaps_slack
    assert circuit.slack_below_degF < perhaps.to_degF < circuit.slack_below_degF + run.slack_uncertainty_degF


def test_two_materials_in_one_loop_move_tensions_and_limits_alike(through):
    circuit = through(("to: horn -,", "to: horn -, path: [{length: 12 ft, airframe: spruce}],"))
    loop = (IN_ALUMINIUM + IN_SPRUCE) / 2  # equal lengths and stiffness share the stretch
    assert [at(circuit, 110.0, i) for i in (0, 1)] == pytest.approx([35 + 40 * loop] * 2)
    for run in circuit.runs:
        assert run.limits.slope_lbf_per_degF == pytest.approx(loop)
        assert run.limits.low_lbf[-1] == pytest.approx(30 + 40 * loop)
        assert run.limits.high_lbf[-1] == pytest.approx(40 + 40 * loop)
    assert not circuit.out_of_limits and not circuit.found
    assert not any("they part" in note for note in circuit.notes)


def test_tensions_that_cannot_stand_together_are_balanced_and_said(through):
    circuit = through(("horn: {arm: 4 in}", "horn: {arm_plus: 3 in, arm_minus: 4 in}"))
    up, down = at(circuit, 70.0, 0), at(circuit, 70.0, 1)
    # the horn turns until 3 (35 + 3 q) = 4 (35 - 4 q)
    turned = 35 / 25
    assert (up, down) == (pytest.approx(35 + 3 * turned), pytest.approx(35 - 4 * turned))
    assert up * 3 == pytest.approx(down * 4)
    assert any("do not balance" in note for note in circuit.notes)


def test_a_cable_without_a_figure_gets_what_balances_the_other(through):
    circuit = through(
        ("right: {size: 1/8, length: 12 ft, from: pedals -, to: horn -" + LIMITS, "right: {size: 1/8, length: 12 ft, from: pedals -, to: horn -"),
        ("horn: {arm: 4 in}", "horn: {arm_plus: 3 in, arm_minus: 4 in}"),
    )  # fmt: skip
    assert at(circuit, 70.0, 0) == pytest.approx(35.0)
    assert at(circuit, 70.0, 1) == pytest.approx(35.0 * 3 / 4)
    assert circuit.runs[1].rigged_by == "balances left"
    assert circuit.window is not None


def test_without_any_figure_nothing_is_drawn(through):
    circuit = through((LIMITS, ""))
    assert [r.tensions_lbf for r in circuit.runs] == [(), ()]
    assert circuit.slack_below_degF is None and circuit.found


def test_what_the_user_sets_comes_before_the_limits(through):
    assert at(through(set_lbf=50.0), 70.0) == pytest.approx(50.0)
    circuit = through(tensions_lbf={"rudder / left": 44.0})
    assert [at(circuit, 70.0, i) for i in (0, 1)] == pytest.approx([44.0, 44.0])


def test_a_spring_takes_part_in_the_stretch(through):
    circuit = through(
        ("      right: {size: 1/8, length: 12 ft, from: pedals -, to: horn -, limits: 30..40 lbf @ 70F}\n",
         "    springs:\n      bungee: {from: horn -, rate: 5 lbf/in, pull: 35 lbf}\n"),
    )  # fmt: skip
    assert at(circuit, 70.0) == pytest.approx(35.0)
    growth = 144 * (ALUMINIUM - CABLE) * 40
    assert at(circuit, 110.0) == pytest.approx(35 + growth / (144 / EA + 1 / 5))
    # and the limits go with it
    assert circuit.runs[0].limits.low_lbf[-1] == pytest.approx(30 + growth / (144 / EA + 1 / 5))
    assert not circuit.out_of_limits


def test_give_of_the_structure_softens_tension_and_limits_alike(through):
    circuit = through(
        ("to: horn +,", "to: horn +, give: 0.001 in/lbf,"), ("to: horn -,", "to: horn -, give: 0.001 in/lbf,")
    )
    slope = 144 * (ALUMINIUM - CABLE) / (144 / EA + 0.001)
    assert circuit.runs[0].slope_lbf_per_degF == pytest.approx(slope)
    assert circuit.runs[0].limits.slope_lbf_per_degF == pytest.approx(slope)
    assert not circuit.out_of_limits


def test_chart_limits_have_their_corners_and_are_open_beyond(through):
    circuit = through(("aluminium}", "aluminium}\nchart: chart.yaml"), (LIMITS, ", chart: rudder"), chart=CHART)
    # 26..36 at 70 F, so 31; the chart moves 0.2 lbf/F
    assert at(circuit, 70.0) == pytest.approx(31.0)
    assert [o.span for o in circuit.runs[0].limits.open] == [Span(0.0, 40.0), Span(100.0, 110.0)]
    out = {o.side: o for o in circuit.runs[0].out}
    assert any("they part" in note for note in circuit.notes)
    apart = 5 / (IN_ALUMINIUM - 0.2)
    assert (out["low"].from_degF, out["low"].to_degF) == (40.0, pytest.approx(70 - apart, abs=1e-4))
    assert (out["high"].from_degF, out["high"].to_degF) == (pytest.approx(70 + apart, abs=1e-4), 100.0)


def test_a_reference_outside_the_range_is_still_where_it_was_rigged(through):
    circuit = through(("hottest: 110F", "hottest: 60F"))
    assert circuit.temperatures_degF[-1] == 70.0 and circuit.hottest_degF == 60.0
    assert at(circuit, 70.0) == pytest.approx(35.0)


def test_window_of_a_loop_under_a_force_in_the_cable(through):
    window = through(pilot_force_lbf=40.0, limit_lbf=150.0).window
    # T0 - F/2 on the coldest day, T0 + F/2 on the hottest
    assert window.low.tensions_lbf["left"] == pytest.approx(20 + 70 * IN_ALUMINIUM, abs=1e-3)
    assert window.high.tensions_lbf["left"] == pytest.approx(150 - 20 - 40 * IN_ALUMINIUM, abs=1e-3)
    assert window.low.words == "left or right goes slack at 0 F under 40.0 lbf in the cable"
    assert window.high.words == "left or right reaches the limit 150.0 lbf at 110 F under 40.0 lbf in the cable"
    assert not window.empty


def test_window_under_a_force_at_the_hand(through):
    window = through(("    cables:", PILOT), pilot_force_lbf=40.0, limit_lbf=250.0).window
    # 40 lbf x 10 in on an arm of 5 in, shared by two cables: +-40 lbf
    assert window.low.tensions_lbf["right"] == pytest.approx(40 + 70 * IN_ALUMINIUM, abs=1e-3)
    assert window.high.tensions_lbf["right"] == pytest.approx(250 - 40 - 40 * IN_ALUMINIUM, abs=1e-3)
    assert window.low.words.endswith("under 40.0 lbf at the hand")


def test_window_takes_brackets_and_pulleys_and_says_what_is_missing(through):
    bracket = through(("to: horn +,", "to: horn +, bracket_limit: 90 lbf,"), pilot_force_lbf=10.0).window
    assert bracket.high.tensions_lbf["left"] == pytest.approx(90 - 5 - 40 * IN_ALUMINIUM, abs=1e-3)
    assert bracket.high.cables == ("left",) and "bracket limit 90.0 lbf" in bracket.high.words
    assert bracket.without == ("what right may carry",)
    # MS20220-1 carries 500 lbf; a cable wrapped 90 degrees pulls with 2 T sin 45
    pulley = through(("to: horn +,", "to: horn +, pulleys: [{wrap: 90 deg, part: MS20220-1}],"), limit_lbf=400.0).window
    assert pulley.high.limit_lbf == pytest.approx(500 / math.sqrt(2))
    unrated = through(
        ("to: horn +,", "to: horn +, pulleys: [{wrap: 90 deg, part: MS20219-1}],"), limit_lbf=400.0
    ).window
    assert any("MS20219-1" in what for what in unrated.without)


def test_window_without_anything_from_above_has_no_high_edge(through):
    window = through((LIMITS, "")).window
    assert window.high is None and not window.empty
    assert window.low.tensions_lbf["left"] == pytest.approx(70 * IN_ALUMINIUM, abs=1e-3)
    assert len(window.without) == 2


def test_empty_windows_are_said(through):
    circuit = through(pilot_force_lbf=40.0, limit_lbf=80.0)
    assert circuit.window.empty and circuit.found and not circuit.window.exceeded
    # the force alone is more than the limit
    assert through(pilot_force_lbf=100.0, limit_lbf=80.0).window.exceeded


def test_window_of_unequal_arms_has_a_tension_for_each_cable(through):
    window = through(("horn: {arm: 4 in}", "horn: {arm_plus: 3 in, arm_minus: 4 in}"), limit_lbf=90.0).window
    assert window.low.tensions_lbf["left"] * 3 == pytest.approx(window.low.tensions_lbf["right"] * 4)
    assert window.high.cables == ("left",)


def test_a_sheet_without_a_range_says_what_to_add(through):
    with pytest.raises(BadFile, match="no coldest and hottest day is given"):
        through(("temperatures: {coldest: 0F, hottest: 110F}\n", ""))
    with pytest.raises(BadFile, match="coldest temperature -80 F"):
        through(("coldest: 0F", "coldest: -80F"))


def test_one_refused_circuit_does_not_stop_the_others(tmp_path):
    trim = (
        "  trim:\n    sectors: {wheel: {arm: 2 in}, tab: {arm: 2 in}}\n    hold: [wheel]\n    cables:\n"
        "      up: {size: 1/32, construction: 3x7, length: 9 ft, from: wheel +, to: tab +}\n"
    )
    (tmp_path / "sheet.yaml").write_text(SHEET + trim, encoding="utf-8")
    result = envelope(load_rig(tmp_path / "sheet.yaml"))
    assert [c.name for c in result.circuits] == ["rudder"]
    assert set(result.refused) == {"trim"} and result.found
    with pytest.raises(Refusal):
        envelope(load_rig(tmp_path / "sheet.yaml"), "trim")
    with pytest.raises(Refusal, match="did you mean 'rudder'"):
        envelope(load_rig(tmp_path / "sheet.yaml"), "ruder")


@pytest.mark.parametrize(
    ("margins", "spans"),
    [
        ((1.0, 1.0, 1.0), []),
        ((-1.0, -1.0, -1.0), [(0, 20)]),
        ((-1.0, 1.0, 1.0), [(0, 5)]),
        ((1.0, -1.0, 1.0), [(5, 15)]),
        ((-1.0, 1.0, -1.0), [(0, 5), (15, 20)]),
        ((0.0, 0.0, 0.0), []),
        ((0.0, -1.0, 0.0), [(0, 20)]),
        ((None, -1.0, 1.0), [(10, 15)]),
        ((-1.0, None, -1.0), []),
    ],
)
def test_spans_below_zero(margins, spans):
    assert below_zero((0.0, 10.0, 20.0), margins) == [Span(*map(float, s)) for s in spans]


def test_the_last_temperature_alike_is_found_from_both_sides():
    assert last_alike(0.0, 100.0, lambda t: t <= 41.5) == pytest.approx(41.5, abs=1e-9)
    assert last_alike(100.0, 0.0, lambda t: t >= 41.5) == pytest.approx(41.5, abs=1e-9)
