"""A history file: what is read, what is refused, and where."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from rigging.errors import BadFile
from rigging.sheet.history import load_history, parse_history
from rigging.sheet.load import load_rig

ROOT = Path(__file__).resolve().parents[2]
RIG = load_rig(ROOT / "examples" / "reedling" / "sheet.yaml")
HEAD = "time,circuit,run,riser,dial,tension,uncertainty,structure,cycles,half_turns\n"
GOOD = "2026-11-02T10:00,elevator,up,1,33,,,64F,0,\n"


def test_the_example_is_read_whole() -> None:
    events = load_history(ROOT / "examples" / "reedling" / "settling.csv", RIG)
    assert len(events) == 8
    assert events[0].time == dt.datetime(2026, 11, 2, 10)
    assert (events[0].dial, events[0].structure_degF, events[0].cycles) == (33.0, 64.0, 0)
    assert [e.half_turns for e in events] == [0, 0, 0, 1, 0, 0, 0, 0]


def test_a_tension_may_stand_for_a_dial_and_turns_may_stand_alone() -> None:
    rows = "2026-11-02T10:00,elevator,up,,,180 N,9 N,18C,,\n2026-11-02T11:00,elevator,up,,,,,,,-2\n"
    reading, turn = parse_history(HEAD + rows, "h.csv", RIG)
    # 180 N / 4.4482216 and 18 C by hand
    assert reading.tension_lbf == pytest.approx(40.466, abs=1e-3)
    assert reading.structure_degF == pytest.approx(64.4)
    assert (turn.is_reading, turn.half_turns) == (False, -2)


@pytest.mark.parametrize(
    ("row", "place", "words"),
    [
        ("yesterday,elevator,up,1,33,,,64F,,", "time", "write it like 2026-11-03T09:00"),
        ("2026-11-02T10:00,elevatr,up,1,33,,,64F,,", "circuit", "did you mean 'elevator'"),
        ("2026-11-02T10:00,elevator,upp,1,33,,,64F,,", "run", "did you mean 'up'"),
        ("2026-11-02T10:00,elevator,up,1,33,,,,,", "structure", "settling and cooling look alike"),
        ("2026-11-02T10:00,elevator,up,1,33,,,64,,", "structure", "has no unit"),
        ("2026-11-02T10:00,elevator,up,1,33,40 lbf,1 lbf,64F,,", "tension", "keep one"),
        ("2026-11-02T10:00,elevator,up,,,40 lbf,,64F,,", "uncertainty", "U at 95 %"),
        ("2026-11-02T10:00,elevator,up,,,40 lbf,-1 lbf,64F,,", "uncertainty", "more than zero"),
        ("2026-11-02T10:00,elevator,up,,,,,64F,,", "", "nothing was read and nothing turned"),
        ("2026-11-02T10:00,elevator,up,1,33,,,64F,,1.5", "half_turns", "not a whole number"),
        ("2026-11-02T10:00,elevator,up,1,33,,,64F,-1,", "cycles", "cannot be negative"),
        ("2026-11-02T10:00,elevator,up,9,33,,,64F,,", "riser", "no column for riser 9"),
        ("2026-11-02,elevator,up,1,33,,,64F,,", "time", "a day and a time of day"),
        ("20261102T1000,elevator,up,1,33,,,64F,,", "time", "a day and a time of day"),
        ("2026-02-30T10:00,elevator,up,1,33,,,64F,,", "time", "a day and a time of day"),
        ("2026-11-02T10:00,elevator,up,1,33,,,640F,,", "structure", "lies outside -65 to 160 F"),
        ("2026-11-02T10:00,elevator,up,,,0 lbf,1 lbf,64F,,", "tension", "hangs slack"),
        ("2026-11-02T10:00,elevator,up,1,33,,,64F,,41", "half_turns", "more than a turnbuckle has"),
        ("2026-11-02T10:00,trim,nose up,1,20,,,64F,,1", "half_turns", "no turnbuckle in the sheet"),
    ],
)
def test_what_cannot_be_read_is_named_with_its_line(row: str, place: str, words: str) -> None:
    with pytest.raises(BadFile) as caught:
        parse_history(HEAD + GOOD + row + "\n", "h.csv", RIG)
    (problem,) = caught.value.problems
    assert (problem.file, problem.line, problem.path) == ("h.csv", 3, place)
    assert words in problem.message


def test_all_problems_come_together_and_time_and_cycles_must_rise() -> None:
    rows = (
        GOOD
        + "2026-11-01T10:00,elevator,up,1,33,,,64F,5,\n"
        + "2026-11-03T10:00,elevator,up,1,32,,,64F,2,\n"
        + "x,elevator,up,1,33,,,64F,,\n"
    )
    with pytest.raises(BadFile) as caught:
        parse_history(HEAD + rows, "h.csv", RIG)
    assert [(p.line, p.path) for p in caught.value.problems] == [(3, "time"), (4, "cycles"), (5, "time")]


def problems(rows: str) -> list[tuple[int | None, str, str]]:
    with pytest.raises(BadFile) as caught:
        parse_history(HEAD + rows, "h.csv", RIG)
    return [(p.line, p.path, p.message) for p in caught.value.problems]


def test_a_reading_at_the_moment_of_turns_is_not_mixed_with_the_one_before_them() -> None:
    ((line, path, message),) = problems(
        "2026-11-02T10:00,elevator,up,1,27,,,64F,,1\n2026-11-02T10:00,elevator,up,1,35,,,64F,,\n"
    )
    assert (line, path) == (3, "time") and "turns in line 2" in message


def test_clocks_with_and_without_an_offset_are_not_mixed() -> None:
    ((line, path, message),) = problems(GOOD + "2026-11-03T10:00+01:00,elevator,up,1,33,,,64F,,\n")
    assert (line, path) == (2, "time") and "offset from UTC" in message
    rows = GOOD.replace("10:00", "10:00Z") + "2026-11-03T10:00+01:00,elevator,up,1,33,,,64F,,\n"
    assert [e.time.hour for e in parse_history(HEAD + rows, "h.csv", RIG)] == [10, 9]


def test_a_count_of_cycles_that_falls_behind_turns_is_seen() -> None:
    rows = "2026-11-02T11:00,elevator,up,,,,,,,1\n2026-11-02T12:00,elevator,up,1,33,,,64F,40,\n"
    ((line, path, _),) = problems(GOOD.replace("64F,0", "64F,90") + rows)
    assert (line, path) == (4, "cycles")


def test_turns_alone_are_no_history() -> None:
    ((line, _, message),) = problems("2026-11-02T11:00,elevator,up,,,,,,,1\n")
    assert line is None and "no reading" in message
