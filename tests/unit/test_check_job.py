"""The main job: what each run is told, and that one run's trouble stays its own."""

import datetime as dt
import re
from pathlib import Path

import pytest

from rigging.jobs.check import check
from rigging.jobs.envelope import envelope
from rigging.jobs.plan import plan
from rigging.judge.chart import limits_from_chart
from rigging.judge.temperatures import Condition
from rigging.judge.verdict import Word
from rigging.sheet import circuit
from rigging.sheet.load import load_rig
from rigging.sheet.readings import Reading

TODAY = dt.date(2026, 11, 25)
EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


def reading(run="left", dial=35.0, **more):
    base = {
        "circuit": "rudder",
        "run": run,
        "station": "",
        "riser": 1,
        "dial": dial,
        "typed": f"{dial:g}",
        "tensiometer": "0007",
    }
    return Reading(**{**base, "structure_degF": 70.0, **more})  # fmt: skip


@pytest.fixture
def left(bench):
    """The result for the left cable from readings of it, on a sheet that the test may have bent."""

    def result(*readings, at_degF=None, today=TODAY):
        return check(load_rig(bench.sheet), readings, today, at_degF).runs[0]

    return result


def three(dial, **more):
    return [reading(dial=dial, **more) for _ in range(3)]


# the card of the bench is dial = pounds, accuracy 2 %, so U is about 1 lbf; limits are 30..40 lbf


# the dial is the tension, so each case is what is read and what must come out
@pytest.mark.parametrize(
    ("dial", "word", "side", "action"),
    [
        (35, Word.IN, None, "leave as it is"),
        (26, Word.OUT, "low", "tighten to 35.0 lbf: dial 35 (30 to 40), riser 1"),
        (44, Word.OUT, "high", "loosen to 35.0 lbf: dial 35 (30 to 40), riser 1"),
        (30.2, Word.RE_MEASURE, "low", "set nearer the middle, or use a better instrument"),
        (29.8, Word.RE_MEASURE, "low", "set nearer the middle, or use a better instrument"),
        (40.2, Word.RE_MEASURE, "high", "set nearer the middle, or use a better instrument"),
    ],
)
def test_what_three_readings_lead_to(left, dial, word, side, action):
    run = left(*three(dial))
    assert (run.word, run.verdict.side, run.action) == (word, side, action)
    assert run.tension.tension_lbf == pytest.approx(dial)
    assert run.refusal == ""


def test_one_reading_near_a_limit_is_read_again_first(left):
    run = left(reading(dial=30.2))
    assert run.word is Word.RE_MEASURE
    assert run.action == "cycle the controls, read three times again"
    assert any("one reading only" in reason for reason in run.reasons)


def test_a_band_that_the_instrument_cannot_decide(bench, left):
    bench.bend(bench.sheet, "horn +, limits: 30..40 lbf", "horn +, limits: 34.8..35.2 lbf")
    run = left(*three(35))
    assert run.word is Word.RE_MEASURE
    assert not run.verdict.can_decide
    assert "this one cannot decide this band" in run.action


def test_the_reading_at_reference_temperature_and_back(bench, left):
    run = left(*three(25, structure_degF=54.0))
    # aluminium, 16 F below reference: EA (22.9 - 11.7)e-6/1.8 x 16 = 9.9 lbf lower
    shift = run.run.cable.stiffness.value * (22.9e-6 - 11.7e-6) / 1.8 * 16
    assert run.tension_at_reference_lbf == pytest.approx(25 + shift)
    assert run.limits.low_lbf == pytest.approx(30 - shift)
    assert run.word is Word.IN


def test_no_reading_is_not_measured_and_no_refusal(left):
    run = left()
    assert (run.word, run.refusal, run.action) == (Word.NOT_MEASURED, "", "read this run")
    assert run.limits is None
    run = left(at_degF=70.0)
    assert (run.word, run.refusal, run.action) == (Word.NOT_MEASURED, "", "read this run")
    assert run.limits.low_lbf == 30  # with a temperature the limits can be said before the reading
    assert run.tension_at_reference_lbf is None


def test_a_reading_without_a_temperature_is_refused_and_air_is_not_enough(left):
    run = left(*three(35, structure_degF=None, air_degF=70.0))
    assert run.word is Word.NOT_MEASURED
    assert "no structure temperature" in run.refusal
    assert run.tension.tension_lbf == pytest.approx(35)
    assert left(*three(35, structure_degF=None), at_degF=70.0).word is Word.IN


def test_the_readings_own_temperature_beats_the_one_given_for_all(left):
    assert left(*three(35, structure_degF=60.0), at_degF=70.0).limits.temperature_degF == 60


@pytest.mark.parametrize(("spread", "steady"), [(4.0, True), (4.1, False)])
def test_temperatures_at_one_station_agree_within_the_thermometer(left, spread, steady):
    # the thermometer is +-2 F where the sheet says nothing
    run = left(reading(structure_degF=70.0), reading(structure_degF=70.0 + spread))
    assert (run.refusal == "") is steady
    if steady:
        assert run.limits.temperature_degF == 72
    else:
        assert "wait until it is steady" in run.refusal


def test_air_and_structure_apart_widen_what_is_known(left):
    near = left(*three(35, air_degF=70.0))
    far = left(*three(35, air_degF=50.0))
    assert far.verdict.guard_lbf > 2 * near.verdict.guard_lbf
    assert any("differ" in caution for caution in far.limits.cautions)
    measured = left(*three(35, air_degF=50.0, cable_temperature_degF=70.0))
    # its own thermometer error counts, but the gap does not
    assert near.verdict.guard_lbf < measured.verdict.guard_lbf < far.verdict.guard_lbf


def test_readings_of_two_instruments_or_two_risers_are_not_averaged(bench, left):
    bench.bend(bench.sheet, "[card.yaml]", "[card.yaml, other.yaml]")
    other = bench.card.read_text().replace("0007", "0008").replace("{riser: 1", "{riser: 2")
    (bench.folder / "other.yaml").write_text(other)
    run = left(reading(), reading(tensiometer="0008", riser=2))
    assert "several tensiometers (0007, 0008)" in run.refusal
    assert run.word is Word.NOT_MEASURED
    bench.bend(bench.card, "columns:\n", "columns:\n  - {riser: 2, cable: 1/8, points: [[1, 1], [50, 50]]}\n")
    run = left(reading(), reading(riser=2))
    assert "several risers (1, 2)" in run.refusal


def test_a_dial_outside_the_card_keeps_the_limits(left):
    run = left(reading(dial=51.0))
    assert "lies outside the card's points" in run.refusal
    assert run.tension is None and run.verdict is None
    assert run.limits.low_lbf == 30  # as the sheet has it, at its reference temperature
    assert run.action == "mend what is refused, then read again"


def test_two_reasons_to_refuse_are_both_said(left):
    run = left(reading(dial=51.0, structure_degF=None))
    assert "no structure temperature" in run.refusal and "lies outside the card's points" in run.refusal


def test_without_limits_the_reading_stands_and_nobody_guesses(bench, left):
    bench.bend(bench.sheet, "to: horn +, limits: 30..40 lbf @ 70F}", "to: horn +}")
    run = left(*three(35))
    assert "gives no limits" in run.refusal
    assert run.tension.tension_lbf == pytest.approx(35)
    assert run.action == "find its limits first"


@pytest.mark.parametrize(("today", "in_date"), [(dt.date(2027, 1, 15), True), (dt.date(2027, 1, 16), False), (dt.date(2026, 1, 14), False)])  # fmt: skip
def test_a_card_out_of_date_never_says_in(left, today, in_date):
    run = left(*three(35), today=today)
    assert (run.word is Word.IN) is in_date
    assert run.verdict.plain == "in"
    if not in_date:
        assert run.word is Word.RE_MEASURE
        assert any("not for sign-off" in reason for reason in run.reasons)
        assert run.action != "leave as it is"


def test_a_card_out_of_date_still_says_out(left):
    assert left(*three(26), today=dt.date(2028, 1, 1)).word is Word.OUT


def test_a_figure_from_memory_never_says_in(bench, left):
    bench.bend(bench.sheet, "material: aluminium", "material: carbon")
    run = left(*three(35))
    assert run.verdict.plain == "in"
    assert run.word is Word.RE_MEASURE
    assert any("cannot be accepted" in reason for reason in run.reasons)


@pytest.mark.parametrize(("showing", "fine"), [("[3, 3]", True), ("[4, 3]", False), ("[3, 4]", False)])
def test_too_many_threads_show_and_nobody_tightens_on(bench, left, showing, fine):
    bench.bend(
        bench.sheet,
        "left: {size: 1/8,",
        f"left: {{size: 1/8, turnbuckle: {{thread: 10-32, threads_showing: {showing}}},",
    )
    run = left(*three(26))
    assert run.word is Word.OUT
    assert ("tighten" in run.action) is fine
    if not fine:
        assert "remake" in run.action
        assert any("AC 43.13-1B" in reason for reason in run.reasons)


def test_readings_in_two_states_of_the_aircraft_are_pointed_out(left):
    assert not any("states" in r for r in left(*three(35, state="on wheels")).reasons)
    run = left(reading(state="on wheels"), reading(state="on jacks"))
    assert any("on jacks, on wheels" in r for r in run.reasons)


def test_every_station_is_judged_alone(bench):
    bench.bend(bench.sheet, "left: {size: 1/8,", "left: {size: 1/8, stations: [nose, tail],")
    result = check(load_rig(bench.sheet), [*three(35, station="tail"), *three(26, station="nose")], TODAY)
    found = {(r.run.name, r.station): r.word for r in result.runs}
    assert found == {("left", "tail"): Word.IN, ("left", "nose"): Word.OUT, ("right", ""): Word.NOT_MEASURED}
    # a station that was not read still has its place
    result = check(load_rig(bench.sheet), three(35, station="tail"), TODAY)
    assert {(r.station, r.word) for r in result.runs[:2]} == {("tail", Word.IN), ("nose", Word.NOT_MEASURED)}


@pytest.mark.parametrize(
    ("left_dial", "right_dial", "word"),
    [
        (35, 35, Word.IN),
        (35, None, Word.NOT_MEASURED),
        (30.2, None, Word.RE_MEASURE),
        (30.2, 26, Word.OUT),
        (35, 26, Word.OUT),
    ],
)
def test_the_whole_is_as_bad_as_its_worst_run(bench, left_dial, right_dial, word):
    readings = three(left_dial) + ([] if right_dial is None else three(right_dial, run="right"))
    assert check(load_rig(bench.sheet), readings, TODAY).word is word


def test_the_dial_window_of_the_action_holds_limits_at_its_edges(left):
    run = left(*three(20, structure_degF=64.0))
    low, high = map(float, re.search(r"\((\S+) to (\S+)\)", run.action).groups())
    # dial is pounds on this card
    assert run.limits.low_lbf <= low < run.limits.low_lbf + 1
    assert run.limits.high_lbf - 1 < high <= run.limits.high_lbf
    assert f"{run.limits.target_lbf:.1f} lbf" in run.action


ALUMINIUM, SPRUCE = (
    (x - 11.7) * 1e-6 / 1.8 for x in (22.9, 4.45)
)  # growth of the structure against carbon cable, per degF
ALONG_SPRUCE = "from: pedals -, to: horn -, path: [{length: 12 ft, airframe: spruce}],"


def test_limits_move_as_the_tension_does_in_its_circuit(bench, left):
    alone = left(*three(35, structure_degF=50.0))
    ea = alone.run.cable.stiffness.value
    assert alone.limits.low_lbf == pytest.approx(30 - 20 * ea * ALUMINIUM)
    assert not any("circuit" in line for line in alone.limits.assumptions)
    # the other cable of the loop lies along spruce: the horn turns, and both cables take the mean of the two slopes
    bench.bend(bench.sheet, "from: pedals -, to: horn -,", ALONG_SPRUCE)
    cold = left(*three(35, structure_degF=50.0))
    slope = ea * (ALUMINIUM + SPRUCE) / 2  # +0.11 lbf/F, between fixed ends +0.65
    assert cold.refusal == ""
    assert cold.limits.low_lbf == pytest.approx(30 - 20 * slope)
    assert cold.tension_at_reference_lbf == pytest.approx(35 + 20 * slope)
    (told,) = (line for line in cold.limits.assumptions if "moved through the circuit" in line)
    assert told.startswith("limits of rudder / left ")
    assert "by -2.3 lbf; between fixed ends it would be -13.0 lbf" in told
    # so near to the reference the two ways differ by less than can be felt
    assert not any("circuit" in line for line in left(*three(35, structure_degF=69.6)).limits.assumptions)
    assert left(*three(35, structure_degF=70.0)).limits.low_lbf == 30


def test_the_cable_itself_is_moved_through_the_circuit_too(bench, left):
    # structure at reference, all cables 10 F warmer; the spring of 5 lbf/in gives way, 144/EA + 1/5 in/lbf
    text = bench.sheet.read_text().splitlines()
    bench.sheet.write_text(
        "\n".join([*text[:-1], "    springs: {bungee: {from: horn -, rate: 5 lbf/in, pull: 35 lbf}}", ""])
    )
    run = left(*three(35, cable_temperature_degF=80.0))
    ea = run.run.cable.stiffness.value
    assert run.limits.shift_lbf == pytest.approx(-144 * 11.7e-6 / 1.8 * 10 / (144 / ea + 1 / 5))
    assert run.limits.direction == "nearly neutral"


def test_what_may_not_be_accepted_in_the_circuit_may_not_in_its_limits(bench, left):
    # the expansion of carbon structure is from memory, and it moves this cable through the horn
    bench.bend(bench.sheet, "from: pedals -, to: horn -,", ALONG_SPRUCE.replace("spruce", "carbon"))
    run = left(*three(35))
    assert run.verdict.plain == "in" and run.word is Word.RE_MEASURE
    assert any("cannot be accepted" in reason for reason in run.reasons)
    assert any("airframe carbon" in line for line in run.limits.assumptions)


def test_a_circuit_that_cannot_be_worked_out_moves_no_limits(bench, left):
    bench.bend(bench.sheet, "right: {size: 1/8,", "right: {size: 1/32, construction: 3x7,")
    assert left(*three(35)).word is Word.IN  # at the reference temperature they hold as printed
    cold = left(*three(35, structure_degF=69.0))
    assert cold.limits is None and cold.tension.tension_lbf == pytest.approx(35)
    assert (
        "rudder / right: no table gives the modulus of 3x7 cable: measure the stiffness on the aircraft" in cold.refusal
    )
    assert "read it at 70 F, or use the aircraft's own chart" in cold.refusal
    assert left(*three(35, cable_temperature_degF=69.0)).limits is None


def test_a_cable_of_unknown_stiffness_is_refused_in_its_own_words(bench, left):
    bench.bend(bench.sheet, "left: {size: 1/8,", "left: {size: 1/32, construction: 3x7,")
    run = left(at_degF=60.0)
    assert run.refusal == "no table gives the modulus of 3x7 cable: measure the stiffness on the aircraft"


def test_a_loop_in_which_no_tension_can_stand_moves_no_limits(bench, left):
    # both cables on the same side of the horn: it is pulled one way only
    bench.bend(bench.sheet, "to: horn -", "to: horn +")
    assert left(*three(35)).word is Word.IN
    assert "no tension can stand in this circuit" in left(*three(35, structure_degF=50.0)).refusal


def test_a_chart_of_the_aircraft_is_not_moved_through_the_circuit():
    rig = load_rig(EXAMPLES / "harbour" / "sheet.yaml")
    rudder = [r for r in check(rig, [], TODAY, 54.0).runs if r.run.circuit == "rudder"]
    for r in rudder:
        same = limits_from_chart(rig.chart, "rudder", Condition(54.0, rig.file.thermometer_half_width_degF), 70.0)
        assert r.limits == same


def test_each_circuit_is_made_once_for_limits_and_comparison_both(bench, monkeypatch):
    made = []
    real = circuit.circuit_model
    monkeypatch.setattr(circuit, "circuit_model", lambda rig, name: made.append(name) or real(rig, name))
    result = check(load_rig(bench.sheet), [*three(35), *three(35, run="right")], TODAY)
    assert result.comparison.in_balance_lbf and all(r.limits for r in result.runs)
    assert made == ["rudder"]


def test_every_job_moves_limits_alike(bench):
    bench.bend(bench.sheet, "from: pedals -, to: horn -,", ALONG_SPRUCE)
    bench.bend(bench.sheet, "airframe: {", "temperatures: {coldest: 50F, hottest: 70F}\nairframe: {")
    bench.bend(bench.sheet, "{size: 1/8,", "{size: 1/8, turnbuckle: {thread: 10-32},")
    rig = load_rig(bench.sheet)
    readings = [r for run in ("left", "right") for r in three(35, run=run, structure_degF=50.0)]
    checked = {r.run.name: (r.limits.low_lbf, r.limits.high_lbf) for r in check(rig, readings, TODAY).runs}
    assert plan(rig, "rudder", readings, TODAY).limits_lbf == checked
    drawn = envelope(rig).circuits[0]
    cold = drawn.temperatures_degF.index(50.0)
    for r in drawn.runs:
        assert (r.limits.low_lbf[cold], r.limits.high_lbf[cold]) == checked[r.run.name]
        assert r.limits.slope_lbf_per_degF == pytest.approx(r.slope_lbf_per_degF)
