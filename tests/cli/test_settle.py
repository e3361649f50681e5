"""``rigging settle`` as a person or a script calls it."""

from __future__ import annotations

import csv
import io
import xml.etree.ElementTree as ET

import pytest

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
        "half turns on up",
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
    text = (tmp_path / "one.svg").read_text()
    ET.fromstring(text)
    for words in ("readings", "limits", "half turns on up", "time, h"):
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
