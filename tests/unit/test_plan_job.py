"""Plans for a circuit of a sheet: what is read, what is inferred, what is refused, what turns given before teach."""

from __future__ import annotations

import datetime as dt
import io
import math
from pathlib import Path

import pytest
from rich.console import Console

from rigging.errors import Refusal, UsageError
from rigging.jobs.plan import plan
from rigging.jobs.plan_parts import PlanResult, Turned
from rigging.report.text.plan import show_plan
from rigging.sheet.load import load_rig
from rigging.sheet.readings import Reading
from rigging.sheet.rig import Rig

TODAY = dt.date(2026, 11, 25)
CARD = """tensiometer_card: 1
serial: "77"
calibrated: 2026-01-02
due: 2027-01-02
accuracy: 2%
source: invented for this test
columns: [{riser: 1, cable: 1/8, points: [[0, 0], [100, 100]]}]
"""
# one pound a division, so that a dial reading is the tension
SHEET = """rig_sheet: 1
aircraft: {{name: test}}
reference_temperature: 70F
airframe: steel tube
tensiometers: [card.yaml]
circuits:
  aileron:
    sectors: {{stick: {{arm: 3 in}}, left: {{arm: {arm} in}}, right: {{arm: 3 in}}}}
    hold: [stick]
    cables:
      left: {{size: 1/8, length: 15 ft, from: stick +, to: left +, limits: {limits}, turnbuckle: {{thread: 10-32, threads_showing: {showing}}}}}
      balance: {{size: 1/8, length: 15 ft, from: left -, to: right +, limits: {limits}, turnbuckle: {{thread: 10-32, threads_showing: [1, 1]}}}}
      right: {{size: 1/8, length: 15 ft, from: right -, to: stick -, limits: {limits}, turnbuckle: {{thread: 10-32, threads_showing: [1, 1]}}}}
"""


def rig(folder: Path, limits: str = "30..40 lbf @ 70F", showing: str = "[1, 1]", arm: str = "3") -> Rig:
    (folder / "card.yaml").write_text(CARD)
    (folder / "sheet.yaml").write_text(SHEET.format(limits=limits, showing=showing, arm=arm))
    return load_rig(folder / "sheet.yaml")


def read(**dials: float) -> list[Reading]:
    return [
        Reading("aileron", run, "", 1, dial, f"{dial:g}", "77", structure_degF=70.0)
        for run, dial in dials.items()
        for _ in range(3)
    ]


def turns(result: PlanResult) -> dict[str, int]:
    given: dict[str, int] = {}
    for step in result.steps:
        given[step.turnbuckle] = given.get(step.turnbuckle, 0) + step.half_turns
    return given


def test_nothing_is_turned_where_everything_is_right(tmp_path: Path) -> None:
    result = plan(rig(tmp_path), "aileron", read(left=35, balance=35, right=35), TODAY)
    assert result.met
    assert result.steps == ()


def test_a_loose_loop_is_tightened_by_hand_reckoning(tmp_path: Path) -> None:
    # the loop is one length of 45 ft between the two sides of the held stick: half a turn of 10-32 takes up 1/32 in,
    # so it gains EA / (540 in) / 32; EA of 1/8 7x19 carbon is 104 123 lbf (computed, R11)
    per_half_turn = 104_123 / 540 / 32
    result = plan(rig(tmp_path), "aileron", read(left=20, balance=20, right=20), TODAY)
    assert result.met
    given = sum(turns(result).values())
    assert given == sum(abs(n) for n in turns(result).values())
    for end in result.end_lbf.values():
        assert end == pytest.approx(20 + given * per_half_turn, rel=1e-4)
        assert 30 <= end <= 40


def test_a_drooped_aileron_is_raised_without_losing_tension(tmp_path: Path) -> None:
    # take-up of the left cable by t turns the left bellcrank by about t / 3 in while the balance cable gives as much
    off_deg = math.degrees(2 / 32 / 3)
    result = plan(
        rig(tmp_path),
        "aileron",
        read(left=35, balance=35, right=35),
        TODAY,
        neutral_deg={"left": off_deg, "right": 0.0},
    )
    assert result.met
    assert turns(result) == {"left": 2, "balance": -2}
    assert abs(result.end_deg["left"]) < 0.5
    # loosen first: tightening first would pass the high limit
    assert result.steps[0].turnbuckle == "balance"


@pytest.mark.parametrize(("dial", "said"), [(31.0, "1 half turn on "), (22.0, "2 half turns on ")])
def test_one_half_turn_is_told_as_one(tmp_path: Path, dial: float, said: str) -> None:
    # half a turn is worth 5.8 lbf in this loop
    out = Console(file=io.StringIO(), width=80)
    show_plan(out, plan(rig(tmp_path), "aileron", read(left=dial, balance=dial, right=dial), TODAY))
    assert isinstance(out.file, io.StringIO)
    assert out.file.getvalue().startswith(f"aileron: {said}")


def test_the_threads_run_out(tmp_path: Path) -> None:
    # 3 threads show on the left: not one half turn may be loosened there, and the loop is far too tight only there to mend
    result = plan(
        rig(tmp_path, showing="[3, 3]"), "aileron", read(left=35, balance=35, right=35), TODAY,
        neutral_deg={"left": -3.0, "right": 0.0},
    )  # fmt: skip
    assert not result.met
    assert any("remake the cable" in words for words in result.stopped_by)


def test_half_turns_too_coarse_are_named(tmp_path: Path) -> None:
    # half a turn is worth 5.8 lbf in this loop: a band of 1 lbf need not hold any
    result = plan(rig(tmp_path, limits="34.5..35.5 lbf @ 70F"), "aileron", read(left=32, balance=32, right=32), TODAY)
    assert not result.met
    assert any("too coarse" in words for words in result.stopped_by)


def test_a_cable_that_was_not_read_follows_from_the_others(tmp_path: Path) -> None:
    result = plan(rig(tmp_path), "aileron", read(left=35, right=35), TODAY)
    assert result.start_lbf["balance"] == pytest.approx(35)
    assert any("balance" in note for note in result.notes)


def test_unequal_arms_are_no_contradiction(tmp_path: Path) -> None:
    # the left bellcrank has one arm of 3.3 in for both cables, so tensions stay equal
    result = plan(rig(tmp_path, arm="3.3"), "aileron", read(left=35, balance=35, right=35), TODAY)
    assert result.met


def test_readings_that_contradict_each_other_are_refused(tmp_path: Path) -> None:
    with pytest.raises(Refusal, match="contradict each other"):
        plan(rig(tmp_path), "aileron", read(left=35, balance=60, right=35), TODAY)


def test_no_reading_at_all_names_what_to_read(tmp_path: Path) -> None:
    with pytest.raises(Refusal, match="read left and balance and right first"):
        plan(rig(tmp_path), "aileron", [], TODAY, at_degF=70.0)


def test_a_slack_cable_is_refused(tmp_path: Path) -> None:
    with pytest.raises(Refusal, match="hangs slack"):
        plan(rig(tmp_path), "aileron", read(left=0, balance=0, right=0), TODAY)


@pytest.mark.parametrize(
    ("neutral", "words"),
    [({"lefft": 1.0}, "did you mean 'left'"), ({"stick": 1.0}, "held by its rig pin")],
)
def test_neutrals_of_unknown_or_held_sectors_are_refused(tmp_path: Path, neutral: dict[str, float], words: str) -> None:
    with pytest.raises(Refusal, match=words):
        plan(rig(tmp_path), "aileron", read(left=35, balance=35, right=35), TODAY, neutral_deg=neutral)


@pytest.mark.parametrize("wrong", [math.nan, math.inf, -math.inf])
def test_what_is_no_number_is_refused(tmp_path: Path, wrong: float) -> None:
    readings = read(left=35, balance=35, right=35)
    with pytest.raises(Refusal, match=f"left: {wrong} is no angle"):
        plan(rig(tmp_path), "aileron", readings, TODAY, neutral_deg={"left": wrong})
    with pytest.raises(UsageError, match="teach nothing"):
        plan(rig(tmp_path), "aileron", readings, TODAY, turned=[Turned("left", 2, wrong)])
    with pytest.raises(Refusal, match=f"temperature {wrong}"):
        bare = [Reading("aileron", r.run, "", 1, 35.0, "35", "77") for r in readings]
        plan(rig(tmp_path), "aileron", bare, TODAY, at_degF=wrong)


def test_an_unknown_circuit_is_refused_with_the_nearest(tmp_path: Path) -> None:
    with pytest.raises(Refusal, match="did you mean 'aileron'"):
        plan(rig(tmp_path), "ailerons", [], TODAY)


def test_stiffness_learned_from_turns_replaces_the_table(tmp_path: Path) -> None:
    by_table = 2 * 104_123 / 540 / 32
    result = plan(
        rig(tmp_path), "aileron", read(left=35, balance=35, right=35), TODAY, turned=[Turned("left", 2, 0.8 * by_table)]
    )
    assert result.stiffness_scale == pytest.approx(0.8, rel=1e-3)
    # two readings of +-1 lbf each, rectangular, against the gain
    assert result.stiffness_uncertainty == pytest.approx(math.sqrt(2) / math.sqrt(3) / (0.8 * by_table), rel=1e-6)


@pytest.mark.parametrize(
    ("turned", "error", "words"),
    [
        (Turned("left", 2, -6.0), UsageError, "tightening must gain"),
        (Turned("left", 0, 6.0), UsageError, "teach nothing"),
        (Turned("left", 1, 500.0), Refusal, r"left: \+1 half turn should gain .* beyond belief"),
        (Turned("left", -1, 6.0), UsageError, r"left: -1 half turn with \+6.0 lbf can teach nothing"),
        (Turned("middle", 1, 5.0), Refusal, "no cable 'middle'"),
    ],
)
def test_turns_that_teach_nothing_are_refused(
    tmp_path: Path, turned: Turned, error: type[Exception], words: str
) -> None:
    with pytest.raises(error, match=words):
        plan(rig(tmp_path), "aileron", read(left=35, balance=35, right=35), TODAY, turned=[turned])


def test_predicted_uncertainty_grows_with_what_is_changed(tmp_path: Path) -> None:
    still = plan(rig(tmp_path), "aileron", read(left=35, balance=35, right=35), TODAY)
    moved = plan(rig(tmp_path), "aileron", read(left=20, balance=20, right=20), TODAY)
    assert moved.uncertainty_lbf["left"] > still.uncertainty_lbf["left"] * 0.9
    change = moved.end_lbf["left"] - moved.start_lbf["left"]
    assert moved.uncertainty_lbf["left"] >= 2 * 0.075 * change


def test_a_turnbuckle_with_too_many_threads_showing_is_remade_and_never_tightened_on(tmp_path: Path) -> None:
    for showing in ("[5, 5]", "[6, 2]"):
        with pytest.raises(Refusal, match="remake the cable: never tighten on"):
            plan(rig(tmp_path, showing=showing), "aileron", read(left=20, balance=20, right=20), TODAY)


def test_drag_and_figures_that_are_not_for_sign_off_come_first(tmp_path: Path) -> None:
    drags = plan(rig(tmp_path), "aileron", read(left=38, balance=34, right=34), TODAY)
    assert any("friction explains" in finding for finding in drags.findings)
    expired = plan(rig(tmp_path), "aileron", read(left=35, balance=35, right=35), dt.date(2028, 1, 1))
    assert any("card 77 is out of date" in finding for finding in expired.findings)
    assert plan(rig(tmp_path), "aileron", read(left=35, balance=35, right=35), TODAY).findings == ()


def test_cables_read_at_different_temperatures_are_not_planned_together(tmp_path: Path) -> None:
    cold = [Reading("aileron", "right", "", 1, 35.0, "35", "77", structure_degF=50.0) for _ in range(3)]
    with pytest.raises(Refusal, match="different temperatures"):
        plan(rig(tmp_path), "aileron", read(left=35, balance=35) + cold, TODAY)


def test_a_sector_pulled_one_way_only_is_named(tmp_path: Path) -> None:
    where = rig(tmp_path)
    path = tmp_path / "sheet.yaml"
    path.write_text(path.read_text().replace("from: left -", "from: left +").replace("from: right -", "from: right +"))
    with pytest.raises(Refusal, match="pulled one way only"):
        plan(load_rig(path), "aileron", read(left=35, balance=35, right=35), TODAY)
    assert where.cards


def test_a_plan_that_cannot_be_met_never_ends_above_a_high_limit(tmp_path: Path) -> None:
    result = plan(
        rig(tmp_path), "aileron", read(left=35, balance=35, right=35), TODAY, neutral_deg={"left": -12.0, "right": 12.0}
    )
    assert not result.met
    assert all(t <= 40 + 1e-6 for step in result.steps for t in step.tensions_lbf.values())
