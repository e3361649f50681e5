"""``rigging settle`` as a person or a script calls it."""

from __future__ import annotations

import csv
import io
import xml.etree.ElementTree as ET

import pytest

pytestmark = pytest.mark.slow

SHEET, HISTORY = "examples/reedling/sheet.yaml", "examples/reedling/settling.csv"
SETTLE = ("settle", SHEET, "elevator/up", "--readings", HISTORY)
KEYS = "settled probability_settled final_tension_lbf final_interval_lbf remaining_drop_lbf set_now_lbf next_check_hours anomalous"


def test_json_has_the_agreed_keys_at_top_and_under_runs(shared):
    ran = shared(*SETTLE, "--json")
    assert (ran.code, ran.err) == (1, "")
    assert set(KEYS.split()) <= set(ran.json)
    (run,) = ran.json["runs"]
    assert set(KEYS.split()) <= set(run)
    low, high = run["final_interval_lbf"]
    assert low < run["final_tension_lbf"] < high
    assert run["set_now_lbf"] <= 45


def test_text_answers_in_words_first(shared):
    ran = shared(*SETTLE)
    text = " ".join(ran.out.split())
    assert ran.code == 1
    for words in (
        "still settling:",
        "to go (",
        "ends at",
        "at 70 F",
        "look again after about",
        "practice",
        "half turn on up",
    ):
        assert words in text
    assert max(map(len, ran.out.splitlines())) <= 80
    assert "\x1b" not in ran.out


@pytest.mark.parametrize("options", [("--si",), ("--by", "cycles"), ("--horizon", "2000h")])
def test_other_ways_of_asking(shared, options):
    ran = shared(*SETTLE, *options)
    assert (ran.code, ran.err) == (1, "")
    assert max(map(len, ran.out.splitlines())) <= 80


def test_csv_is_one_row_a_run(shared):
    rows = list(csv.DictReader(io.StringIO(shared(*SETTLE, "--csv").out)))
    assert [(r["circuit"], r["run"], r["settled"]) for r in rows] == [("elevator", "up", "False")]


def test_pictures_are_written_whole(rigging, tmp_path):
    for name in ("one.svg", "one.png"):
        ran = rigging(*SETTLE, "-o", tmp_path / name)
        assert ran.code == 1
        assert "written" in ran.err
        again = rigging(*SETTLE, "-o", tmp_path / name)
        assert (again.code, again.out) == (2, "")
        assert "exists: choose another name, or --replace it; nothing was written" in again.err
    assert rigging(*SETTLE, "-o", tmp_path / "one.svg", "--replace").code == 1
    text = (tmp_path / "one.svg").read_text()
    ET.fromstring(text)
    for words in ("readings", "limits", "half turn on up", "time, h"):
        assert words in text
    assert (tmp_path / "one.png").read_bytes().startswith(b"\x89PNG")


@pytest.mark.parametrize(
    ("command", "code", "words"),
    [
        (("settle", SHEET), 2, "give the history with --readings FILE.csv"),
        ((*SETTLE, "--by", "days"), 2, "hours or cycles"),
        ((*SETTLE, "--horizon", "2000"), 2, "has no unit"),
        ((*SETTLE, "--horizon", "10h"), 3, "must lie after the last reading"),
        ((*SETTLE, "-o", "picture.pdf"), 2, "end the file name"),
        ((*SETTLE, "--json", "--csv"), 2, "ask for one"),
        (("settle", SHEET, "elevator/sideways", "--readings", HISTORY), 3, "no run 'elevator/sideways'"),
        (("settle", SHEET, "--readings", "no-such.csv"), 3, "no-such.csv"),
        (("settle", SHEET, "--readings", "examples/reedling/readings.csv"), 3, "column 'time' is missing"),
    ],
)
def test_bad_input_is_one_clear_line(shared, command, code, words):
    ran = shared(*command)
    assert ran.code == code
    assert words in ran.err
    assert ran.out == ""
    assert "Traceback" not in ran.err


SLIP = "time,circuit,run,station,riser,dial,structure\n" + "".join(
    f"2026-11-{day:02d}T09:00,elevator,up,,1,{dial},70F\n"
    for day, dial in ((1, 32), (2, 30), (4, 29), (8, 29), (12, 28), (16, 28), (20, 20), (24, 20))
)


def test_a_slip_is_no_settling_and_says_what_to_look_for(rigging, tmp_path):
    (tmp_path / "slip.csv").write_text(SLIP)
    ran = rigging("settle", SHEET, "--readings", tmp_path / "slip.csv", "--json")
    assert ran.code == 1
    assert (ran.json["anomalous"], ran.json["kind"], ran.json["settled"]) == (True, "drop", False)
    assert (ran.json["anomaly_line"], ran.json["set_now_lbf"], ran.json["next_check_hours"]) == (8, None, 0)
    text = " ".join(rigging("settle", SHEET, "--readings", tmp_path / "slip.csv").out.split())
    assert "slipped terminal" in text and "cracked bracket" in text
    assert "look again after" not in text and "to end on target set" not in text and "ends at" not in text


def test_bad_files_name_every_line(rigging, tmp_path):
    head, *rows = SLIP.splitlines(keepends=True)
    rows[1] = rows[1].replace("T09:00", "")
    rows[3] = rows[3].replace("70F", "70")
    (tmp_path / "bad.csv").write_text(head + "".join(rows))
    ran = rigging("settle", SHEET, "--readings", tmp_path / "bad.csv")
    assert (ran.code, ran.out) == (3, "")
    assert [line.split("bad.csv:")[1][:3] for line in ran.err.splitlines()] == ["3: ", "5: "]


def test_wood_and_turns_have_their_cautions(shared):
    text = " ".join(shared(*SETTLE).out.split())
    assert "wood also moves with moisture" in text
    assert "After any turn of a turnbuckle" in text


def test_a_cable_that_may_hang_slack_is_told_so_and_no_tension_lies_below_zero(rigging, tmp_path):
    (tmp_path / "one.csv").write_text("".join(SLIP.splitlines(keepends=True)[:2]))
    command = ("settle", SHEET, "--readings", tmp_path / "one.csv")
    assert "(slack to " in rigging(*command).out
    assert min(rigging(*command, "--json").json["final_interval_lbf"]) == 0


def test_how_large_a_slip_would_have_shown_is_said_in_words(shared, rigging, tmp_path):
    text = " ".join(shared(*SETTLE).out.split())
    assert "before the last reading would have shown in 95 of 100 cases; a smaller slip may hide in settling" in text
    # of two readings a day apart the whole loss may be fast bedding-in (up to 100 lbf, more than the cable holds)
    two = tmp_path / "two.csv"
    two.write_text(
        "time,circuit,run,riser,dial,structure,state\n"
        "2026-11-02T10:00,elevator,up,1,33,64F,on wheels\n2026-11-03T10:00,elevator,up,1,31,66F,on wheels\n"
    )
    said = " ".join(rigging("settle", SHEET, "elevator/up", "--readings", two).out.split())
    assert "these readings say nothing of the terminals, look at them" in said
    assert "95 of 100" not in said


def test_readings_minutes_apart_are_refused_in_one_line(rigging, tmp_path):
    soon = tmp_path / "soon.csv"
    soon.write_text(
        "time,circuit,run,riser,dial,structure,state\n"
        "2026-11-02T10:00,elevator,up,1,33,64F,on wheels\n2026-11-02T10:05,elevator,up,1,33,64F,on wheels\n"
    )
    ran = rigging("settle", SHEET, "elevator/up", "--readings", soon)
    assert (ran.code, ran.out) == (3, "")
    assert "too soon to tell: its 2 readings span 5 minutes" in ran.err
    assert ran.err.count("\n") == 1
