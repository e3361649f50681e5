"""What a change opens, what closes it, and by whom: the rules of the log, on an aircraft invented here."""

import datetime as dt
import importlib.util
import re
import sqlite3
from pathlib import Path

import pytest

from rigging.errors import BadFile, Refusal, UsageError
from rigging.jobs.circuit_history import history_of
from rigging.jobs.open_items import status
from rigging.jobs.recorded_check import recompute
from rigging.jobs.sign import StillOpen, sign
from rigging.log.entry import Draft
from rigging.report import as_json as view
from rigging.sheet.load import load_rig

pytestmark = pytest.mark.dated

_spec = importlib.util.spec_from_file_location("dabchick", Path(__file__).resolve().parents[1] / "dabchick.py")
_dabchick = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(_dabchick)
ALL_AFTER_A_TURN, Book, CLOSING, INSPECTED = (
    _dabchick.ALL_AFTER_A_TURN, _dabchick.Book, _dabchick.CLOSING, _dabchick.INSPECTED,
)  # fmt: skip
RIGGER, SECOND, SHEET, TURN = _dabchick.RIGGER, _dabchick.SECOND, _dabchick.SHEET, _dabchick.TURN


def test_a_log_without_a_change_asks_for_nothing_but_what_it_found(book):
    book.check()
    assert book.open() == set()
    book.check(left=20, right=20)
    assert book.open() == {"tension of left", "tension of right"}


def test_drag_is_open_by_itself(book):
    book.check(left=36, right=44)
    assert book.open() == {"drag"}
    assert "friction explains" in book.why("drag").why
    book.check()
    assert book.open() == set()


def test_a_turn_opens_the_whole_circuit(book):
    book.add("adjustment", TURN)
    assert book.open() == ALL_AFTER_A_TURN
    assert "the turnbuckle of left was turned 2 half turns (#" in book.why("direction").why


def test_a_new_cable_opens_the_same_and_its_proof_load(book):
    book.add("cable-fitted", {"cable": "left", "assembly": "D-12", "batch": "W1"})
    assert book.open() == ALL_AFTER_A_TURN | {"proof-load of left"}


@pytest.mark.parametrize("kind", CLOSING)
def test_every_item_alone_keeps_the_job_from_being_signed(book, kind):
    book.add("adjustment", TURN)
    book.close_all(but={kind})
    book.add("inspection", INSPECTED, SECOND)
    assert {what.split(" of ")[0] for what in book.open()} == {kind}
    with pytest.raises(StillOpen, match="1 item is open on Dabchick"):
        sign(book.log, book.rig, RIGGER)


def test_all_closed_is_signed_once_and_names_what_closed_it(book):
    book.add("adjustment", TURN)
    book.close_all()
    inspection = book.add("inspection", INSPECTED, SECOND)
    assert book.open() == set()
    signed = sign(book.log, book.rig, RIGGER).payload["given"]
    assert signed["circuits"] == ["rudder"]
    assert signed["closed_by"]["rudder: inspection"] == inspection.sequence
    assert set(signed["closed_by"]) == {f"rudder: {what}" for what in ALL_AFTER_A_TURN | {"threads of left", "drag"}}
    with pytest.raises(Refusal, match="nothing was recorded since #"):
        sign(book.log, book.rig, RIGGER)


def test_a_later_turn_opens_it_again(book):
    book.add("adjustment", TURN)
    book.close_all()
    book.add("inspection", INSPECTED, SECOND)
    book.add("adjustment", {**TURN, "half_turns": -1})
    assert book.open() == ALL_AFTER_A_TURN


def test_the_untouched_turnbuckle_keeps_its_safetying(book):
    book.add("safetying", {**CLOSING["safetying"], "turnbuckle": "right"})
    book.add("adjustment", TURN)
    assert "safetying of right" not in book.open()


def test_the_second_person_is_another_one(book):
    book.add("adjustment", TURN)
    book.close_all()
    with pytest.raises(Refusal, match=r"A\. Finch did the work on rudder"):
        book.add("inspection", INSPECTED, RIGGER)
    # another spelling is no other person
    with pytest.raises(Refusal, match="did the work"):
        book.add("inspection", INSPECTED, " a.  FINCH ")
    assert book.why("inspection").who == "a second person, not A. Finch"


def test_working_alone_is_recorded_as_such(book):
    book.add("adjustment", TURN)
    book.close_all()
    with pytest.raises(BadFile, match="'reason' and the 'pause'"):
        book.add("inspection", {**INSPECTED, "alone": True}, RIGGER)
    alone = {**INSPECTED, "alone": True, "reason": "nobody else on the field", "pause": "12 h"}
    entry = book.add("inspection", alone, RIGGER)
    assert "inspected alone, by A. Finch: nobody else on the field" in entry.payload["judged"]["reasons"]
    assert "a pause of 12 h is stated; 0.0 h lie between" in entry.payload["judged"]["reasons"][-1]
    assert book.status().closed_by["rudder: inspection"].alone
    assert sign(book.log, book.rig, RIGGER).payload["given"]["alone"] == [RIGGER]


def test_an_inspection_before_the_last_securing_does_not_count(book):
    book.add("adjustment", TURN)
    book.close_all(but={"safetying"})
    book.add("inspection", INSPECTED, SECOND)
    book.add("safetying")
    assert book.open() == {"inspection"}


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"seen": {"rudder": {"left pedal": "right", "right pedal": "left"}}}, "REVERSED"),
        ({"seen": {"rudder": {"left pedal": "left"}}}, "right pedal: not looked at"),
        ({"seen": {}}, "not looked at"),
        ({"secured": {"left": True}}, "turnbuckle of right: not looked at"),
        ({"secured": {"left": False, "right": True}}, "turnbuckle of left: NOT secured"),
        ({"tools_removed": False}, "tools and rig pins are not out"),
        ({"free_over_full_travel": False}, "does not move freely"),
    ],
)
def test_an_inspection_that_found_or_left_out_something_closes_nothing(book, change, words):
    book.add("adjustment", TURN)
    book.close_all()
    book.add("inspection", {**INSPECTED, **change}, SECOND)
    assert book.open() == {"inspection"}
    assert words in book.why("inspection").why


def test_a_reversed_control_stays_open_whatever_the_tension(book):
    book.add("adjustment", TURN)
    book.close_all()
    book.add("direction", {"surface": "rudder", "seen": {"left pedal": "right", "right pedal": "left"}})
    assert "direction of rudder" in book.open()
    assert "it must go left: REVERSED" in book.why("direction").why


def test_one_way_alone_is_not_the_travel(book):
    book.add("adjustment", TURN)
    book.add("travel", {"surface": "rudder", "ways": {"left": "24 deg"}, "uncertainty": "0.5 deg"})
    assert "right: not measured" in book.why("travel").why


@pytest.mark.parametrize(("deg", "words"), [("27 deg", "above 26"), ("25.8 deg", "nearer to 26")])
def test_travel_is_judged_like_tension(book, deg, words):
    book.add("travel", {"surface": "rudder", "ways": {"left": deg, "right": "24 deg"}, "uncertainty": "0.5 deg"})
    assert words in book.why("travel").why


def test_an_expired_card_keeps_tension_open(book):
    book.add("adjustment", TURN)
    book.now = dt.datetime(2027, 3, 2, 9, tzinfo=dt.UTC)
    book.check()
    assert "card K-7 is out of date" in book.why("tension of left").why


def test_limits_from_memory_keep_tension_open(tmp_path):
    sheet = SHEET.replace('limits_source: "Dabchick notes, sheet 1"', "limits_basis: memory")
    book = Book(tmp_path, sheet)
    book.check()
    assert book.open() == {"tension of left", "tension of right"}
    assert "memory" in book.why("tension of left").why


def test_a_run_that_was_not_read_stays_open(book):
    book.add("adjustment", TURN)
    book.check(right=None)
    assert {"tension of right"} <= book.open()
    assert "tension of left" not in book.open()


def test_a_rise_that_nobody_logged_is_a_change(book):
    book.check(left=30.5, right=30.5)
    assert book.open() == {"tension of left", "tension of right"}  # too near the limit
    book.check(left=40, right=40)
    assert book.open() == ALL_AFTER_A_TURN - {"tension of left", "tension of right"} | {"safetying of right"}
    assert "rudder reads 9.5 lbf more than in #" in book.why("travel").why


def test_a_rise_out_of_slack_is_counted_from_where_it_hung(tmp_path):
    book = Book(tmp_path, SHEET.replace("material: aluminium", "material: spruce"))
    # EA 104 123 lbf (R11), spruce 4.45 and carbon cable 11.7e-6/C (R5): 130 F are 54.5 lbf; what reads 20 in the cold hangs slack at reference, by 35 lbf
    book.check(left=20, right=20, structure="-60F")
    # 12 lbf there is no more than the uncertainty of that way, 12 lbf out of 35 lbf of slack is
    book.check(left=12, right=12)
    rise = 12 - (20 - 104_123 * (11.7 - 4.45) * 1e-6 / 1.8 * 130)
    (found,) = re.findall(r"rudder reads ([\d.]+) lbf more than in #", book.why("travel").why)
    assert float(found) == pytest.approx(rise, abs=0.06)


def test_a_fall_is_settling_and_no_change(book):
    book.check(left=45, right=45)
    book.check(left=37, right=37)
    assert book.open() == set()


def test_a_rise_with_the_turn_logged_is_no_second_change(book):
    book.check(left=33, right=33)
    turned = book.add("adjustment", TURN)
    book.check(left=40, right=40)
    assert f"(#{turned.sequence})" in book.why("travel").why


def test_a_warmer_day_is_no_rise(book):
    # 2 F/degF of nothing: the same cable at 40 F and 100 F, by its own slope in aluminium (R11: 0.648 lbf/F)
    book.check(left=40 - 19.4, right=40 - 19.4, structure="40F")
    before = book.open()
    book.check(left=40 + 19.4, right=40 + 19.4, structure="100F")
    assert "travel of rudder" not in before | book.open()


def test_a_withdrawn_entry_closes_nothing_and_a_corrected_one_does(book):
    book.add("adjustment", TURN)
    book.close_all()
    book.add("inspection", INSPECTED, SECOND)
    wrong = next(e for e in book.log.entries(kinds={"travel"}))
    book.add("correction", {"corrects": wrong.sequence, "reason": "read on the elevator"}, circuit="")
    assert book.open() == {"travel of rudder"}
    instead = {"surface": "rudder", "ways": {"left": "23 deg", "right": "24 deg"}, "uncertainty": "0.5 deg"}
    book.add("correction", {"corrects": wrong.sequence, "reason": "own sheet", "instead": instead}, circuit="")
    assert book.open() == set()


def test_a_withdrawn_turn_keeps_what_it_opened(book):
    turned = book.add("adjustment", TURN)
    book.add("correction", {"corrects": turned.sequence, "reason": "other aircraft"}, circuit="")
    assert book.open() == ALL_AFTER_A_TURN


def test_a_correction_is_read_like_what_it_corrects(book):
    book.add("travel")
    wrong = next(e for e in book.log.entries(kinds={"travel"}))
    with pytest.raises(BadFile, match="24 m"):
        book.add(
            "correction",
            {"corrects": wrong.sequence, "reason": "x", "instead": {"surface": "rudder", "ways": {"left": "24 m"}}},
            circuit="",
        )
    with pytest.raises(Refusal, match="no entry 99"):
        book.add("correction", {"corrects": 99, "reason": "x"}, circuit="")


def test_a_bad_condition_is_open_until_the_cable_is_replaced(book):
    book.add("condition", {"part": "left", "internal_corrosion": True})
    assert book.open() == {"condition of left", "inspection"}
    # another answer is no new cable
    book.add("condition", {"part": "left", "internal_corrosion": False})
    assert "asks for another cable: fit it and log that, or correct" in book.why("condition").why
    book.add("cable-fitted", {"cable": "left", "assembly": "D-12", "batch": "W1"})
    assert "condition of left" not in book.open()


def test_too_many_threads_showing_stay_open(book):
    book.add("adjustment", {**TURN, "threads_showing": [5, 5]})
    assert "remake the cable" in book.why("threads of left").why


def test_a_circuit_whose_surfaces_the_sheet_does_not_name_cannot_be_closed(tmp_path):
    start = SHEET.index("    surfaces:")
    book = Book(tmp_path, SHEET[:start] + SHEET[SHEET.index("    cables:") :])
    book.add("adjustment", TURN)
    assert "the sheet names no surface of this circuit" in book.why("travel").why


def test_the_bridle_comes_after_the_main_circuit(tmp_path):
    sheet = SHEET.replace(
        "    friction_limit",
        "    bridle: {name: yaw bridle, limits: 12..18 lbf @ 70F, source: notes}\n    friction_limit",
    )
    book = Book(tmp_path, sheet)
    given = {"tension": "15 lbf", "uncertainty": "0.8 lbf", "structure": "70F", "instrument": "K-7"}
    book.add("adjustment", TURN)
    book.add("bridle", given)
    book.check()
    assert "main circuit first" in book.why("bridle").why
    book.add("bridle", {**given, "instrument": "a borrowed one"})
    assert "bridle" not in book.open()
    came = book.log.entry(book.log.head().entries).payload["judged"]
    assert "no card of" in came["reasons"][-1] and came["figures"]["source"] == "notes"
    book.add("bridle", {**given, "structure": "50F"})
    assert "read it there" in book.why("bridle").why


def test_a_circuit_that_left_the_sheet_is_open(book, tmp_path):
    book.add("adjustment", TURN)
    other = load_rig_text(tmp_path, SHEET.replace("  rudder:\n    sectors", "  yaw:\n    sectors"))
    assert "the sheet does not have" in status(other, history_of(book.log, other)).open[0].why


def load_rig_text(folder, text):
    path = folder / "other.yaml"
    path.write_text(text)
    return load_rig(path)


def test_nothing_is_signed_on_a_broken_chain(book, tmp_path):
    book.add("note", {"text": "first"}, circuit="")
    with sqlite3.connect(tmp_path / "sheet.riglog") as raw:
        names = [name for (name,) in raw.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")]
        for name in names:
            raw.execute(f"DROP TRIGGER {name}")
        raw.execute("UPDATE entries SET record = replace(record, 'first', 'other')")
    with pytest.raises(Refusal, match="the log is broken at entry"):
        sign(book.log, book.rig, RIGGER)


def test_a_check_can_be_run_again_without_its_files(book, tmp_path):
    entry = book.check(left=33)
    (tmp_path / "sheet.yaml").write_text("something else")
    (tmp_path / "card.yaml").unlink()
    again = recompute(book.log, entry.sequence, view.check)
    assert again.stands
    assert again.differences == ()


@pytest.mark.parametrize("kind", CLOSING)
def test_every_judged_entry_can_be_run_again(book, kind):
    assert recompute(book.log, book.add(kind).sequence, view.check).stands


def test_a_verdict_that_was_written_falsely_does_not_stand(book):
    entry = book.check(left=20)
    judged = entry.payload["judged"]
    judged["runs"][0]["verdict"] = "in"
    judged["verdict"] = "in"
    false = book.log.append(
        [Draft(RIGGER, "check", book.rig.aircraft, "", entry.payload)], program=entry.program, tables=entry.tables
    )[-1]
    again = recompute(book.log, false.sequence, view.check)
    assert not again.stands
    assert "rudder / left: verdict was in, it is out" in again.differences


def test_files_are_kept_once(book):
    book.check()
    book.check()
    names = [e.payload["name"] for e in book.log.entries(kinds={"document"})]
    assert sorted(names) == ["card.yaml", "sheet.yaml"]


@pytest.mark.parametrize(
    ("kind", "given", "words"),
    [
        ("adjustment", {**TURN, "turnbuckle": "lef"}, "did you mean 'left'"),
        ("travel", {"surface": "ruder", "ways": {"left": "24 deg"}}, "did you mean 'rudder'"),
        ("travel", {"surface": "rudder", "ways": {"leftt": "24 deg"}}, "did you mean 'left'"),
        ("direction", {"surface": "rudder", "seen": {"pedal": "left"}}, "no input 'pedal'"),
        ("bridle", {"tension": "15 lbf", "uncertainty": "1 lbf", "structure": "70F", "instrument": "K"}, "names no bridle"),
        ("condition", {}, "'part' is missing"),
        ("adjustment", {**TURN, "half_turns": 0}, "nothing was turned"),
        ("adjustment", {**TURN, "half_turns": "two"}, "whole number"),
        ("travel", {"surface": "rudder", "ways": {"left": "24"}}, "24"),
        ("note", {"text": " "}, "empty"),
        ("check", {}, "written by rigging check --log"),
        ("signature", {}, "written by rigging sign"),
        ("ajustment", {}, "did you mean 'adjustment'"),
    ],
)  # fmt: skip
def test_what_cannot_be_written_says_why_and_leaves_the_log_as_it_was(book, kind, given, words):
    with pytest.raises((Refusal, BadFile, UsageError), match=words):
        book.add(kind, given)
    assert book.log.head().entries == 0


def test_a_friction_is_held_to_a_limit_whose_source_is_kept(book):
    figures = book.add("friction").payload["judged"]["figures"]
    assert (figures["source"], figures["basis"]) == ("Dabchick notes, sheet 2", "aircraft")


REVERSED = {"surface": "rudder", "seen": {"left pedal": "right", "right pedal": "left"}}


def test_a_reversed_control_that_goes_right_the_next_time_is_for_a_second_person(book):
    book.add("direction", REVERSED)
    book.add("direction")
    assert book.open() == {"inspection"}
    with pytest.raises(Refusal, match="did the work"):
        book.add("inspection", INSPECTED, RIGGER)
    book.add("inspection", INSPECTED, SECOND)
    assert book.open() == set()


def test_a_finding_that_was_signed_for_is_not_found_again(book):
    book.add("direction", REVERSED)
    book.add("direction")
    book.add("inspection", INSPECTED, SECOND)
    sign(book.log, book.rig, RIGGER)
    book.add("direction")
    assert book.open() == set()


def test_a_cable_that_must_be_replaced_by_mistake_is_corrected(book):
    wrong = book.add("condition", {"part": "left", "broken_wires": 6})
    book.add("condition", {"part": "left", "broken_wires": 0})
    assert "condition of left" in book.open()
    instead = {"part": "left", "broken_wires": 0}
    book.add("correction", {"corrects": wrong.sequence, "reason": "another aircraft", "instead": instead}, circuit="")
    assert book.open() == {"inspection"}


@pytest.mark.parametrize(
    ("kind", "given", "open_"),
    [
        ("safetying", {"turnbuckle": "left", "threads_showing": [3, 3]}, True),
        ("safetying", {"turnbuckle": "left", "threads_showing": [1, 1]}, False),
        ("safetying", {"turnbuckle": "left", "threads_showing": [1.5, 1]}, False),
        ("adjustment", {"turnbuckle": "left", "half_turns": 1, "threads_showing": [2.5, 2.5]}, True),
        ("adjustment", {"turnbuckle": "left", "half_turns": -2, "threads_showing": [2, 2]}, False),
    ],
)
def test_threads_that_the_turns_do_not_leave_stay_open(book, kind, given, open_):
    """Two half turns tighter from 2 and 2 leave 1 and 1."""
    book.add("adjustment", {"turnbuckle": "left", "half_turns": 2, "threads_showing": [1, 1]})
    book.add(kind, {**(CLOSING["safetying"] if kind == "safetying" else {}), **given})
    what = "safetying of left" if kind == "safetying" else "threads of left"
    assert (what in book.open()) is open_
    if open_:
        assert "a turn that nobody logged, or a wrong count" in book.why(what).why


def test_what_was_never_recorded_is_named(book):
    book.add("condition", {"part": "left", "worn": "10%"})
    never = book.status().never["rudder"]
    assert {"tension of left", "tension of right", "travel of rudder", "direction of rudder", "friction"} <= set(never)
    entry = sign(book.log, book.rig, RIGGER)
    assert entry.payload["given"]["never_recorded"]["rudder"] == list(never)
    book.check()
    assert not {"tension of left", "tension of right"} & set(book.status().never["rudder"])


def test_a_corrected_count_of_threads_does_not_go_back_behind_later_turns(book):
    first = book.add("adjustment", {"turnbuckle": "left", "half_turns": 2, "threads_showing": [3, 3]})
    instead = {"turnbuckle": "left", "half_turns": 2, "threads_showing": [2, 2]}
    book.add("correction", {"corrects": first.sequence, "reason": "miscounted", "instead": instead}, circuit="")
    turned = book.add("adjustment", {"turnbuckle": "left", "half_turns": 2, "threads_showing": [1, 1]})
    assert "threads of left" not in book.open()
    other = {**instead, "remark": "again"}
    book.add("correction", {"corrects": first.sequence, "reason": "words", "instead": other}, circuit="")
    book.add("safetying", {**CLOSING["safetying"], "threads_showing": [1, 1]})
    assert "safetying of left" not in book.open(), turned
