"""Settling of a run on a sheet: turns, temperature and instruments in one story, and what is answered."""

from __future__ import annotations

import datetime as dt
import io
import math
import re
from pathlib import Path

import msgspec
import pytest
from rich.console import Console

from rigging.errors import Refusal
from rigging.jobs.settle import Refused, Settled, check_span, settle
from rigging.jobs.settling_story import story
from rigging.physics.settling_state import least_step_lbf
from rigging.report import settle_data
from rigging.report.text.settle import show_settled
from rigging.sheet.history import parse_history
from rigging.sheet.load import load_rig
from rigging.sheet.rig import Rig

pytestmark = pytest.mark.slow

HEAD = "time,circuit,run,station,state,riser,dial,structure,cycles,half_turns,tensiometer,air\n"
CARD = """tensiometer_card: 1
serial: "{serial}"
calibrated: 2026-01-02
due: 2027-01-02
accuracy: 2%
source: invented for this test
columns: [{{riser: 1, cable: 1/8, points: [[0, 0], [100, 100]]}}]
"""
# one pound a division, so that a dial reading is the tension
SHEET = """rig_sheet: 1
aircraft: {{name: test}}
reference_temperature: 70F
airframe: {airframe}
tensiometers: [one.yaml, two.yaml]
circuits:
  elevator:
    sectors: {{stick: {{arm: 3 in}}, horn: {{arm: 3 in}}}}
    hold: [stick]
    cables:
      up: {{size: 1/8, length: 15 ft, from: stick +, to: horn +, limits: 30..50 lbf @ 70F, history: {history}, turnbuckle: {{thread: 10-32}}}}
      down: {{size: 1/8, length: 15 ft, from: stick -, to: horn -, limits: 30..50 lbf @ 70F, history: {other}, turnbuckle: {{thread: 10-32}}}}
"""


def rig(folder: Path, airframe: str = "steel tube", history: str = "new", other: str | None = None) -> Rig:
    for name, serial in (("one", "1"), ("two", "2")):
        (folder / f"{name}.yaml").write_text(CARD.format(serial=serial))
    (folder / "sheet.yaml").write_text(SHEET.format(airframe=airframe, history=history, other=other or history))
    return load_rig(folder / "sheet.yaml")


def row(
    hours: float, dial: object = "", structure: str = "70F", run: str = "up", half_turns: object = "", **more: str
) -> str:
    day, hour = divmod(hours, 24)
    time = f"2026-11-{2 + int(day):02d}T{int(hour):02d}:{round(hour % 1 * 60):02d}"
    riser, serial = (more.get("riser", "1"), more.get("serial", "1")) if dial != "" else ("", "")
    shown = structure if dial != "" else ""
    return f"{time},elevator,{run},{more.get('station', '')},{more.get('state', '')},{riser},{dial},{shown},{more.get('cycles', '')},{half_turns},{serial},{more.get('air', '')}\n"


def text_of(found: Settled) -> str:
    """What the terminal shows of it."""
    out = Console(file=io.StringIO(), width=120, markup=False, highlight=False, emoji=False)
    show_settled(out, found, "test")
    assert isinstance(out.file, io.StringIO)
    return out.file.getvalue()


def answer(where: Rig, *rows: str, **options: str) -> Settled:
    (found,) = settle(where, parse_history(HEAD + "".join(rows), "h.csv", where), **options)  # type: ignore[arg-type]
    assert isinstance(found, Settled)
    return found


def test_half_turns_become_take_up_of_the_run(tmp_path: Path) -> None:
    where = rig(tmp_path)
    events = parse_history(
        HEAD + row(0, 50) + row(10, 45, half_turns=2) + row(11, 56) + row(12, half_turns=1, run="down") + row(20, 60),
        "h.csv",
        where,
    )
    told = story(where, where.runs[0], events, None, None, "hours", None)
    # one pitch of 10-32 for each half turn; in a loop of equal arms a turn on the other cable tightens this one as much
    assert told.history.takeup_in.tolist() == pytest.approx([0, 0, 2 / 32, 3 / 32])
    # two cables of 15 ft in one loop: EA / 30 ft, EA 104 123 lbf (computed, R11)
    assert told.prior.stiffness_lbf_per_in == pytest.approx(104_123 / 360, rel=1e-4)
    assert told.takeup_in() == pytest.approx(3 / 32)
    assert told.takeup_in(10.0) == 0.0


def test_readings_come_to_the_reference_by_the_run_s_own_slope(tmp_path: Path) -> None:
    where = rig(tmp_path, airframe="spruce")
    told = story(
        where,
        where.runs[0],
        parse_history(HEAD + row(0, 40, "50F") + row(5, 38, "90F"), "h.csv", where),
        None,
        None,
        "hours",
        None,
    )
    # -0.42 lbf/F for carbon cable in wood (R11)
    assert [p.at_reference_lbf for p in told.points] == pytest.approx([40 - 0.42 * 20, 38 + 0.42 * 20], abs=0.1)


def test_a_reading_that_hangs_slack_at_reference_is_told_as_slack(tmp_path: Path) -> None:
    # 130 F in spruce are 50 lbf and more (R11), and 20 are read
    found = answer(rig(tmp_path, airframe="spruce"), row(0, 60, "70F"), row(300, 20, "-60F"))
    assert [p.at_reference_lbf for p in found.story.points] == [pytest.approx(60), 0.0]
    points = settle_data.settled(found)["points"]
    assert [p["slack_at_reference"] for p in points] == [False, True]
    text = text_of(found)
    assert re.search(r"2026-11-14 12:00 .* 20\.0 lbf +slack", text) and not re.search(r"\s-\d+(\.\d+)? lbf(?!/)", text)
    assert "ends slack at 70 F" in text


def test_what_to_set_at_a_temperature_where_it_hangs_slack_is_no_figure(tmp_path: Path) -> None:
    # a cable rigged far too tight is read 110 F below the reference: there its target is 110 slopes less, below zero
    found = answer(rig(tmp_path, airframe="aluminium", history="in-service"), row(0, 99, "70F"), row(300, 30, "-40F"))
    assert found.set_now is not None and 0 < found.set_now.tension_lbf <= 50
    assert (found.set_today_lbf, found.dial) == (0.0, None)
    assert settle_data.settled(found)["set_now_today_slack"] is True
    assert "that is slack at -40 F: set it at a temperature nearer to the reference" in " ".join(text_of(found).split())


def test_what_to_set_where_it_stays_tight_is_a_figure(tmp_path: Path) -> None:
    found = answer(rig(tmp_path), row(0, 40, "60F"), row(300, 38, "60F"))
    assert found.set_now is not None and found.set_today_lbf is not None and found.dial is not None
    # carbon cable in steel tube: 12.3 against 11.7e-6/C (R5), a few tenths of a pound over 10 F
    assert found.set_today_lbf == pytest.approx(found.set_now.tension_lbf, abs=1.0)
    assert settle_data.settled(found)["set_now_today_slack"] is False


def test_the_first_day_of_a_new_cable_is_settling_and_no_fault(tmp_path: Path) -> None:
    # a few pounds lost in the first day of moving the controls is normal (practice)
    found = answer(rig(tmp_path), row(0, 45), row(3, 43), row(8, 42), row(24, 41))
    assert not found.anomalous
    assert not found.settled
    assert found.remaining_lbf > 0
    assert found.final_interval_lbf[0] < found.final_lbf < found.final_interval_lbf[1] < 45


def test_a_run_that_stands_still_for_weeks_is_settled_where_it_stands(tmp_path: Path) -> None:
    rows = [row(0, 40), *(row(24.0 * d, 40) for d in (1, 2, 4, 7, 11, 16, 22, 27))]
    found = answer(rig(tmp_path, history="in-service"), *rows)
    assert found.settled
    assert found.final_lbf == pytest.approx(40, abs=1.0)
    assert found.next_check is None
    assert found.ends_inside
    assert not found.finding


def test_half_the_loss_is_the_hangar_getting_colder(tmp_path: Path) -> None:
    """Aluminium at +0.65 lbf/F: 20 F colder reads 13 lbf less, and nothing is lost at reference."""
    cold = [70 - 20 * (1 - math.exp(-d / 5)) for d in range(0, 27, 3)]
    rows = [
        row(24.0 * d, round(40 + 0.65 * (t - 70), 1), f"{t:.1f}F") for d, t in zip(range(0, 27, 3), cold, strict=True)
    ]
    found = answer(rig(tmp_path, airframe="aluminium", history="in-service"), *rows)
    assert found.story.points[-1].tension_lbf < 30
    assert found.final_lbf == pytest.approx(40, abs=2.5)
    assert not found.anomalous


def test_a_step_with_no_turn_noted_is_no_settling(tmp_path: Path) -> None:
    steady = [row(24.0 * d, dial) for d, dial in ((0, 45), (1, 42), (2, 41), (4, 40.5), (7, 40), (11, 40), (15, 40))]
    found = answer(rig(tmp_path), *steady, row(24.0 * 20, 31), row(24.0 * 24, 31))
    assert found.anomaly.kind == "drop"
    assert found.anomaly.reading == 7
    assert found.anomaly.size_lbf == pytest.approx(31 - 40, abs=1.5)
    assert found.finding
    noted = [row(24.0 * 19, half_turns=-1), row(24.0 * 20, 31), row(24.0 * 24, 31)]
    assert not answer(rig(tmp_path), *steady, *noted).anomalous


def test_what_to_set_ends_on_target_and_never_passes_the_high_limit(tmp_path: Path) -> None:
    found = answer(rig(tmp_path), row(0, 45), row(3, 43), row(8, 42), row(24, 41))
    assert found.set_now is not None
    # above the target of 40, the middle of the limits, by what is still to be lost; 50 is the high limit
    assert 40 < found.set_now.tension_lbf <= 50 - found.visible_lbf + 1e-9
    # one pound a division: the dial shows the tension of today's temperature, which is the reference here
    assert found.dial == pytest.approx(found.set_now.tension_lbf)


@pytest.mark.parametrize(
    ("what", "options", "words"),
    [
        ("state", {}, "several states"),
        ("state", {"state": "flying"}, "no reading of state 'flying'"),
        ("cycles", {"by": "cycles"}, "not every reading has its cycles"),
    ],
)
def test_what_must_not_be_mixed_is_asked_for(tmp_path: Path, what: str, options: dict[str, str], words: str) -> None:
    rows = [row(0, 45, state="pins in"), row(5, 43, state="tied down" if what == "state" else "pins in")]
    with pytest.raises(Refusal, match=words):
        answer(rig(tmp_path), *rows, **options)
    assert len(answer(rig(tmp_path), *rows, state="pins in").story.points) >= 1


def test_two_instruments_are_told_and_carried_apart(tmp_path: Path) -> None:
    found = answer(rig(tmp_path), row(0, 45, serial="1"), row(5, 44, serial="2"), row(20, 43, serial="2"))
    assert found.story.history.instrument.tolist() == [0, 1, 1]
    assert any("2 tensiometers (1, 2)" in note for note in found.story.notes)


def test_control_cycles_may_stand_for_hours(tmp_path: Path) -> None:
    rows = [row(h, d, cycles=str(c)) for h, d, c in ((0, 45, 0), (1, 43, 50), (30, 42.5, 60), (31, 41, 400))]
    found = answer(rig(tmp_path), *rows, by="cycles")
    assert [p.elapsed for p in found.story.points] == [0, 50, 60, 400]


def test_an_expired_card_is_no_sign_off(tmp_path: Path) -> None:
    where = rig(tmp_path)
    path = tmp_path / "one.yaml"
    path.write_text(path.read_text().replace("due: 2027-01-02", "due: 2026-02-02"))
    where = load_rig(tmp_path / "sheet.yaml")
    found = answer(where, *(row(24.0 * d, 40) for d in (0, 3, 9, 20)))
    assert not found.story.usable_for_sign_off
    assert found.finding


def test_an_unknown_run_and_a_run_without_readings_are_refused(tmp_path: Path) -> None:
    for run, words in (("elevator/sideways", "no run"), ("elevator/down", "nothing was read")):
        with pytest.raises(Refusal, match=words):
            answer(rig(tmp_path), row(0, 45), run=run)


FIRST_DAYS = ((0, 45), (6, 42.5), (24, 41), (72, 39.5), (168, 38.5), (336, 38))


def test_a_new_cable_in_the_loop_takes_from_an_old_one_too(tmp_path: Path) -> None:
    """One tension in a loop of equal arms: what the new cable loses is no fault of the old one."""
    rows = [row(hours, dial) for hours, dial in FIRST_DAYS]
    mixed = answer(rig(tmp_path, history="in-service", other="new"), *rows)
    assert not mixed.anomalous and not mixed.settled
    # half of what two new cables of the same length are expected to lose
    both = answer(rig(tmp_path), *rows)
    assert mixed.story.prior.drop_high_lbf == pytest.approx(both.story.prior.drop_high_lbf / 2, rel=0.05)
    assert mixed.story.history_words == "up in-service, down new"


def test_what_is_not_settling_is_not_settled_and_nothing_is_to_be_set(tmp_path: Path) -> None:
    steady = [row(24.0 * d, dial) for d, dial in ((0, 45), (1, 42), (2, 41), (4, 40.5), (7, 40), (11, 40), (15, 40))]
    found = answer(rig(tmp_path), *steady, row(24.0 * 20, 31), row(24.0 * 24, 31))
    assert found.anomalous
    assert (found.settled, found.set_now, found.dial, found.next_check) == (False, None, None, 0.0)


def test_the_year_is_counted_from_the_last_reading(tmp_path: Path) -> None:
    """Otherwise a run read shortly before its annual has next to nothing left to lose, and is called settled."""
    where = rig(tmp_path)
    old = [row(0, 45), row(24, 43)]
    late = [f"2027-10-{day:02d}T09:00,elevator,up,,,1,{dial},70F,,,1,\n" for day, dial in ((20, 41), (31, 40))]
    found = answer(where, *old, *late)
    assert found.story.prior.horizon == pytest.approx(found.story.points[-1].elapsed + 8760)


def test_without_limits_or_with_recalled_ones_there_is_something_left_to_do(tmp_path: Path) -> None:
    rows = [row(24.0 * d, 40) for d in (0, 1, 2, 4, 7, 11, 16, 22, 27)]
    assert not answer(rig(tmp_path, history="in-service"), *rows).finding
    sheet = tmp_path / "sheet.yaml"
    for limits in ("", "limits: 30..50 lbf @ 70F, limits_basis: memory, "):
        sheet.write_text(
            SHEET.format(airframe="steel tube", history="in-service", other="in-service").replace(
                "horn +, limits: 30..50 lbf @ 70F, ", f"horn +, {limits}"
            )
        )
        found = answer(load_rig(sheet), *rows)
        assert found.settled and found.finding and not found.usable_for_sign_off


def test_a_cable_off_the_structure_s_temperature_is_less_sure_and_no_sooner_settled(tmp_path: Path) -> None:
    where = rig(tmp_path, history="in-service")
    same, apart = (answer(where, *(row(24.0 * d, 40, air=air) for d in (0, 2, 6, 12, 20))) for air in ("70F", "30F"))
    # EA 11.7e-6/C is 0.677 lbf/F in a loop of one material; 40 F, rectangular
    u = 0.677 * 40 / math.sqrt(3)
    first = apart.story.points[0]
    assert first.standard_uncertainty_lbf == pytest.approx(math.hypot(first.scatter_lbf, u), rel=0.01)
    assert apart.visible_lbf == same.visible_lbf
    assert apart.final_interval_lbf[0] < same.final_interval_lbf[0]


def test_the_dial_is_that_of_the_riser_read_with(tmp_path: Path) -> None:
    where = rig(tmp_path)
    for name in ("one", "two"):
        path = tmp_path / f"{name}.yaml"
        path.write_text(
            path.read_text().replace("100]]}]", "100]]}, {riser: 2, cable: 1/8, points: [[0, 0], [50, 100]]}]")
        )
    where = load_rig(tmp_path / "sheet.yaml")
    found = answer(where, *(row(h, d, riser="2") for h, d in ((0, 22.5), (10, 21.5), (30, 21))))
    assert found.set_today_lbf is not None
    assert found.dial == pytest.approx(found.set_today_lbf / 2)


def test_turns_without_a_count_of_cycles_stand_where_the_last_reading_stood(tmp_path: Path) -> None:
    rows = (row(0, 45, cycles="0"), row(10, 42, cycles="100"), row(11, half_turns=1), row(12, 60, cycles="110"))
    found = answer(rig(tmp_path), *rows, by="cycles")
    assert [t.elapsed for t in found.story.turns] == [100]
    assert found.story.takeup_in(100) == 0 < found.story.takeup_in(110)


def test_one_run_that_is_refused_does_not_stop_the_others(tmp_path: Path) -> None:
    where = rig(tmp_path)
    rows = (row(0, 45), row(0, 45, run="down", state="pins in"), row(5, 44, run="down", state="tied down"))
    first, second = settle(where, parse_history(HEAD + "".join(rows), "h.csv", where))
    assert isinstance(first, Settled)
    assert isinstance(second, Refused) and "several states" in second.reason


@pytest.mark.parametrize(
    ("minutes", "span"), [(2, "4 minutes"), (5, "10 minutes"), (10, "20 minutes"), (0.2, "less than a minute")]
)
def test_readings_minutes_apart_are_too_soon_to_tell(tmp_path: Path, minutes: float, span: str) -> None:
    """Bedding-in takes an hour at least (practice): three readings within minutes are the prior, and no finding."""
    where = rig(tmp_path)
    start = dt.datetime(2026, 11, 2, 9)
    rows = [
        f"{(start + i * dt.timedelta(minutes=minutes)).isoformat()},elevator,up,,,1,{dial},70F,,,1,\n"
        for i, dial in enumerate((45, 44.8, 44.6))
    ]
    with pytest.raises(
        Refusal, match=f"too soon to tell: its 3 readings span {span} .* from 1 to 500 h; read again 1 h"
    ):
        answer(where, *rows)
    # the same story an hour later has an answer
    assert not answer(where, *rows, row(10.5, 43)).settled


def test_a_fault_is_told_however_soon(tmp_path: Path) -> None:
    where = rig(tmp_path)
    found = answer(where, row(0, 45), row(2 / 60, 45), row(4 / 60, 45), row(6 / 60, 20))
    assert found.anomaly.kind == "drop"


def test_too_soon_by_control_cycles_and_by_the_sheet_s_own_times(tmp_path: Path) -> None:
    rows = [row(h, d, cycles=str(c)) for h, d, c in ((0, 45, 10), (100, 44.8, 12), (200, 44.7, 14))]
    with pytest.raises(Refusal, match=r"span 4 control cycles .* from 5 to 5000 control cycles; read again 5 control"):
        answer(rig(tmp_path), *rows, by="cycles")
    assert not answer(rig(tmp_path), *rows).anomalous
    where = rig(tmp_path)
    told = story(where, where.runs[0], parse_history(HEAD + "".join(rows), "h.csv", where), None, None, "hours", None)
    check_span(told)
    with pytest.raises(Refusal, match="span 200 h and say"):
        check_span(msgspec.structs.replace(told, prior=told.prior._replace(elapsed_low=400.0, elapsed_high=900.0)))


def test_what_is_said_of_slips(tmp_path: Path) -> None:
    """The size before the last reading is the one of the physics, and none is told of one reading alone."""
    rows = (row(0, 45), row(3, 43), row(8, 42), row(24, 41))
    found = answer(rig(tmp_path), *rows)
    assert found.least_step_lbf == least_step_lbf(found.fit, 3)
    assert answer(rig(tmp_path), row(0, 45)).least_step_lbf is None
