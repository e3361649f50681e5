"""Circuits that springs keep: what readings and springs say of each other, and a circuit without a rig pin."""

import datetime as dt
import math

import pytest

from rigging.errors import BadFile, Refusal
from rigging.jobs.check import check
from rigging.jobs.plan import plan
from rigging.judge.verdict import Word
from rigging.report import as_json
from rigging.sheet.circuit import circuit_model
from rigging.sheet.load import load_rig
from rigging.sheet.readings import parse_readings

DAY = dt.date(2026, 11, 25)
# Both pedals free at 5 in, the rudder held at its horn; a spring behind each pedal pulls 12 lbf at neutral and 5 more an inch.
SHEET = """\
rig_sheet: 1
aircraft: {name: Dabchick, registration: none}
reference_temperature: 70F
airframe: {material: aluminium}
tensiometers: [card.yaml]
circuits:
  rudder:
    sectors:
      left pedal: {arm: 5 in}
      right pedal: {arm: 5 in}
      horn: {arm: 4 in}
    hold: [horn]
    springs:
      left return: {from: left pedal -, rate: 5 lbf/in, pull: 12 lbf}
      right return: {from: right pedal -, rate: 5 lbf/in, pull: 12 lbf}
    cables:
      left: {size: 1/8, length: 12 ft, from: left pedal +, to: horn +, limits: 10..14 lbf @ 70F,
             turnbuckle: {thread: 1/4-28, threads_showing: [1, 1]}}
      right: {size: 1/8, length: 12 ft, from: right pedal +, to: horn -, limits: 10..14 lbf @ 70F,
              turnbuckle: {thread: 1/4-28, threads_showing: [1, 1]}}
"""


@pytest.fixture
def sprung(bench):
    bench.sheet.write_text(SHEET, encoding="utf-8")
    return bench


def read(rig, **dials):
    rows = "".join(f"rudder,{run},1,{dial},70F\n" for run, dial in dials.items() for _ in range(3))
    return parse_readings("circuit,run,riser,dial,structure\n" + rows, "here", rig)


def checked(bench, **dials):
    rig = load_rig(bench.sheet)
    return check(rig, read(rig, **dials), DAY)


def planned(bench, neutral_deg=None, **dials):
    rig = load_rig(bench.sheet)
    return plan(rig, "rudder", read(rig, **dials), DAY, neutral_deg=neutral_deg)


def test_a_spring_that_the_readings_contradict_is_named(sprung):
    """Equal arms: what the cable reads, its spring must pull. 28.3 is not 12, and nothing lies between them."""
    result = checked(sprung, left=28.3, right=28.3)
    assert [(d.first, d.second, d.spring) for d in result.comparison.drag] == [
        ("left", "left return", True), ("right", "right return", True),
    ]  # fmt: skip
    for drag in result.comparison.drag:
        assert drag.difference_lbf == pytest.approx(12 - 28.3)
        assert drag.friction_lbf == 0
        # 5 % of the spring, half a degree at 5 in and 5 lbf/in, and the reading
        tension = result.runs[0].tension
        half_a_degree_lbf = 5 * 5 * math.radians(0.5)
        assert drag.uncertainty_lbf == pytest.approx(math.hypot(0.6, half_a_degree_lbf, tension.uncertainty_lbf))
    words = result.comparison.drag[0].words
    assert "spring left return and the readings disagree" in words
    assert "it would have to pull 28.3 lbf; by the sheet it pulls 12.0 lbf" in words
    # 16.3 lbf are 3.26 in of spring, at 5 in 37.4 deg; tightening the + cable turns the pedal to -
    assert "-37.4 deg more would explain it" in words


def test_no_figure_and_no_turn_comes_of_a_contradiction(sprung):
    result = checked(sprung, left=28.3, right=28.3)
    assert result.comparison.in_balance_lbf == {}
    for run in result.runs:
        assert (run.word, run.verdict.side) == (Word.OUT, "high")
        assert run.action.startswith("turn nothing yet: left return and right return and the readings disagree")
    with pytest.raises(Refusal, match="spring left return and the readings disagree") as refused:
        planned(sprung, left=28.3, right=28.3)
    assert "arm" not in str(refused.value).replace("harm", "")


def test_json_and_rows_say_it(sprung):
    found = as_json.check(checked(sprung, left=28.3, right=28.3))
    assert [(r["in_balance_lbf"], r["action"][:16]) for r in found["runs"]] == [(None, "turn nothing yet")] * 2
    assert [d.second for d in found["drag"] if d.spring] == ["left return", "right return"]


@pytest.mark.parametrize(("dial", "disagrees"), [(12, False), (12.6, False), (13.5, True), (10.5, True)])
def test_a_spring_agrees_within_what_is_known(sprung, dial, disagrees):
    # U of the difference: 0.6 of the spring, 0.2 of its place, and what three readings alike leave; 0.6 is within it, 1.5 is not
    result = checked(sprung, left=dial, right=dial)
    assert bool(result.comparison.drag) is disagrees
    assert bool(result.comparison.in_balance_lbf) is not disagrees


def test_one_reading_is_enough_to_contradict_a_spring(sprung):
    assert [d.second for d in checked(sprung, left=28.3).comparison.drag] == ["left return"]


def test_friction_between_reading_and_pedal_is_allowed_for(sprung):
    """Four plain pulleys at 180 degrees hold back 1.09 each, 1.41 in all: 16.9 of 12 lbf."""
    sprung.bend(
        sprung.sheet, "left: {size: 1/8,",
        "left: {size: 1/8, pulleys: [" + ", ".join(["{wrap: 180 deg, bearing: plain}"] * 4) + "],",
    )  # fmt: skip
    assert checked(sprung, left=16, right=12).comparison.drag == ()


def test_unequal_arms_and_two_springs_on_one_lever(sprung):
    # the cable at 5 in, springs at 2.5 in of 12 and 8 lbf: it must read 10
    sprung.bend(sprung.sheet, "left pedal: {arm: 5 in}", "left pedal: {arm_plus: 5 in, arm_minus: 2.5 in}")
    sprung.bend(
        sprung.sheet,
        "    springs:\n",
        "    springs:\n      second: {from: left pedal -, rate: 5 lbf/in, pull: 8 lbf}\n",
    )
    assert checked(sprung, left=10, right=12).comparison.drag == ()
    (drag,) = checked(sprung, left=20, right=12).comparison.drag
    # 20 x 5 in less 8 x 2.5 leave 80 in lbf to the stronger one, 32 lbf at 2.5 in
    assert (drag.second, drag.difference_lbf) == ("left return", pytest.approx(12 - 32))


def test_a_cable_that_would_have_its_spring_push(sprung):
    sprung.bend(sprung.sheet, "left return: {from: left pedal -", "left return: {from: left pedal +")
    words = checked(sprung, left=28.3, right=12).comparison.drag[0].words
    assert "it would have to push 28.3 lbf" in words


def test_where_a_pedal_stands_may_explain_it(sprung):
    """The cables are too short by 0.8 in: the springs, longer by as much, pull 16 lbf. Half a turn gives 1/28 in."""
    off_deg = -math.degrees(0.8 / 5)
    with pytest.raises(Refusal, match="disagree"):
        planned(sprung, left=16, right=16)
    found = planned(sprung, {"left pedal": off_deg, "right pedal": off_deg}, left=16, right=16)
    assert found.start_lbf == pytest.approx({"left": 16, "right": 16})
    assert all(step.direction == "loosen" for step in found.steps)
    # 0.8 in over 1/28 in are 22.4 half turns
    assert any("-22 half turns are needed" in why for why in found.stopped_by)
    assert not any("disagree" in finding for finding in found.findings)
    with pytest.raises(Refusal, match="disagree"):
        planned(sprung, {"left pedal": -off_deg, "right pedal": -off_deg}, left=16, right=16)


def test_springs_alone_may_keep_a_circuit(sprung):
    sprung.bend(sprung.sheet, "hold: [horn]", "hold: []")
    result = checked(sprung, left=12, right=12)
    assert [run.word for run in result.runs] == [Word.IN, Word.IN]
    assert result.comparison.in_balance_lbf == pytest.approx({("rudder", "left"): 12, ("rudder", "right"): 12})
    model = circuit_model(load_rig(sprung.sheet), "rudder")
    assert model.circuit.held == ()
    # 12 lbf by 5 in all round: at 5 in and 4 in on either side of the horn
    assert model.circuit.solve(model.stretch_in([12.0, 12.0])).tension_lbf == pytest.approx([12.0] * 4)


def test_without_the_key_too(sprung):
    sprung.bend(sprung.sheet, "    hold: [horn]\n", "")
    assert checked(sprung, left=12, right=12).word is Word.IN


def test_cables_to_the_airframe_may_keep_a_circuit(sprung):
    text = sprung.sheet.read_text(encoding="utf-8")
    text = "".join(line for line in text.splitlines(True) if "return:" not in line and "springs:" not in line)
    text = text.replace("hold: [horn]", "hold: []").replace("from: left pedal +", "from: airframe")
    text = text.replace("from: right pedal +", "from: airframe")
    text = "".join(line for line in text.splitlines(True) if "pedal:" not in line)
    sprung.sheet.write_text(text, encoding="utf-8")
    assert checked(sprung, left=12, right=12).word is Word.IN


def test_what_nothing_restrains_is_refused_once_with_the_way_out(sprung):
    sprung.bend(sprung.sheet, "hold: [horn]", "hold: []")
    text = sprung.sheet.read_text(encoding="utf-8")
    text = "".join(line for line in text.splitlines(True) if "return:" not in line and "springs:" not in line)
    sprung.sheet.write_text(text, encoding="utf-8")
    with pytest.raises(BadFile) as refused:
        load_rig(sprung.sheet)
    (problem,) = refused.value.problems
    assert "nothing restrains left pedal and right pedal and horn" in str(problem)
    assert "hold: [left pedal], or the springs that keep this circuit under 'springs'" in str(problem)


def test_a_spring_on_one_side_alone_keeps_nothing(sprung):
    """It pulls the circuit over until something stops it: the other pedal has only its cable."""
    sprung.bend(sprung.sheet, "hold: [horn]", "hold: []")
    sprung.bend(sprung.sheet, "      right return: {from: right pedal -, rate: 5 lbf/in, pull: 12 lbf}\n", "")
    with pytest.raises(BadFile, match="nothing restrains right pedal: name the sector"):
        load_rig(sprung.sheet)
