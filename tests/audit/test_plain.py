"""What is shown can be read without colour, read aloud, and on a narrow screen: words only where they are asked for."""

from __future__ import annotations

import re
import shutil

import pytest
from runs import DAY, PLOVER_LINES, REEDLING, ROOT, WITHOUT_A_LOG, WITHOUT_A_TENSIOMETER, plover, run

from rigging import tables

pytestmark = pytest.mark.slow

DRAWN = re.compile("[\u2500-\u257f\u2580-\u25ff\u2713\u2717\u00b7\x1b]|={3,}|-{3,}|\\|")
LINES = [
    *WITHOUT_A_LOG, *WITHOUT_A_TENSIOMETER, "tables list", "tables check", *(f"tables show {name}" for name in tables.table_ids()),
]  # fmt: skip
CHECK = f"check {REEDLING}/sheet.yaml {REEDLING}/readings.csv --on {DAY}"
ESCAPE = re.compile(r"\x1b\[[0-9;]*m")


def widest(text: str) -> int:
    return max(map(len, text.splitlines()))


@pytest.mark.parametrize("line", LINES)
def test_plain_is_words_in_eighty_columns(line):
    usual, ran = run(line), run(f"--plain {line}")
    assert ran.code == usual.code
    assert not DRAWN.search(ran.out), DRAWN.search(ran.out)
    assert 0 < widest(ran.out + ran.err) <= 80
    assert widest(usual.out + usual.err) <= 80


@pytest.mark.parametrize("line", PLOVER_LINES)
def test_plain_words_of_an_aircraft_in_limits(line, tmp_path):
    ran = run(f"--plain {line}", folder=plover(tmp_path))
    assert not DRAWN.search(ran.out)
    assert widest(ran.out) <= 80


LOG = (
    f"check sheet.yaml readings.csv --on {DAY} --log --who 'A. Finch'",
    "log add pins sheet.yaml --who 'A. Finch' --circuit elevator --inserted yes", "status sheet.yaml", "sign sheet.yaml --who 'A. Finch'",
    f"session sheet.yaml --circuit elevator --who 'A. Finch' --script session.txt --on {DAY} --log-at job.riglog",
    "log list job.riglog", "log show job.riglog 31 --recompute", "log verify job.riglog", "log kinds", "status sheet.yaml --log-at job.riglog",
)  # fmt: skip


def test_plain_words_of_a_log(tmp_path):
    shutil.copytree(ROOT / REEDLING, tmp_path, ignore=shutil.ignore_patterns("*.riglog*"), dirs_exist_ok=True)
    for line in LOG:
        ran = run(f"--plain {line}", folder=tmp_path)
        assert ran.code in (0, 1, 3), line
        assert not DRAWN.search(ran.out + ran.err), line
        assert 0 < widest(ran.out + ran.err) <= 80, line


def test_a_list_says_of_every_row_what_it_is_of():
    """A table leaves out what stands above; read aloud, every row names its cable."""
    lines = run(f"--plain loads {REEDLING}/sheet.yaml aileron").out.replace("\n    ", " ").splitlines()
    rows = [line.strip() for line in lines if "F coldest:" in line]
    # three cables at rest, pulled both ways, and at most with one surface alone; two more figures for both ways
    assert len(rows) == 16
    names = ["tension of left, lbf"] * 4 + ["tension of balance, lbf"] * 4 + ["tension of right, lbf"] * 4
    names += ["first slack from, lbf at the hand"] * 2 + ["turns by, deg"] * 2
    assert [row.split(";")[0] for row in rows] == names


def test_a_list_of_the_year_names_tension_and_limits():
    text = run(f"--plain envelope {REEDLING}/sheet.yaml elevator").out
    assert "\nin limits: up\n  at -20 F: tension 61.6 +-9.8, limits 54.1..69.1\n" in text
    assert "\n  at 70 F, where it is set: tension 37.5, limits 30.0..45.0\n" in text


def test_a_dash_is_read_as_none():
    words = run("--plain tables show typical-chart-points").out.replace("\n    ", " ")
    assert "low lbf: none; high lbf: none" in words and ": -;" not in words


def test_a_field_that_was_left_empty_is_not_read_out(tmp_path):
    shutil.copytree(ROOT / REEDLING, tmp_path, ignore=shutil.ignore_patterns("*.riglog*"), dirs_exist_ok=True)
    run(LOG[4], folder=tmp_path)
    assert (
        "run up, tensiometer 0417, riser 1, dial 18 and 18 and 18"
        in run("log list job.riglog --json", folder=tmp_path).out
    )


def test_words_beside_the_answer_fit_a_narrow_screen(terminal):
    ran = terminal("sheet", "check", "examples/harbour/sheet.yaml", columns=60).end()
    assert widest(ran.out) <= 60


def test_the_search_finds_what_is_drawn():
    for line in (CHECK, f"envelope {REEDLING}/sheet.yaml", "cable 1/8"):
        assert DRAWN.search(run(line).out), line


def test_every_figure_of_a_table_is_in_its_plain_words():
    figures = re.compile(r"\d+(?:[.,]\d+)*")
    for line in (CHECK, "cable 1/8", f"loads {REEDLING}/sheet.yaml aileron", "tables show expansion", f"plan {REEDLING}/sheet.yaml aileron {REEDLING}/droop.csv --on {DAY}"):  # fmt: skip
        table, words = ({f.strip(".,") for f in figures.findall(run(each).out)} for each in (line, f"--plain {line}"))
        # what a column too narrow for a long word has broken in two is whole among the words
        assert {figure for figure in table - words if not any(figure in word for word in words)} == set(), line


def test_each_run_begins_with_its_verdict():
    text = run(f"--plain {CHECK}").out
    for heading in ("in: aileron / left at wing root", "out, low: elevator / up", "re-measure, high: rudder / right at cabin",
                    "refused: trim / nose up"):  # fmt: skip
        assert f"\n{heading}\n" in text


@pytest.mark.parametrize("how", [{"RIGGING_PLAIN": "1"}, {"TERM": "dumb"}], ids=lambda how: next(iter(how)))
def test_the_environment_asks_for_it_too(rigging, how):
    words = rigging("--plain", *CHECK.split()).out
    assert rigging(*CHECK.split(), **how).out == words
    assert rigging(*CHECK.split(), RIGGING_PLAIN="0").out != words


def test_plain_at_a_terminal(terminal):
    ran = terminal("--plain", *CHECK.split()).end()
    assert not DRAWN.search(ran.out)
    assert ran.code == 1


@pytest.mark.parametrize(
    "line", [CHECK, "cable 1/8", f"envelope {REEDLING}/sheet.yaml aileron", f"loads {REEDLING}/sheet.yaml aileron"]
)
def test_colour_says_nothing_that_words_do_not(terminal, line):
    coloured, without = terminal(*line.split()).end().out, terminal(*line.split(), NO_COLOR="1").end().out
    assert "\x1b" in coloured and "\x1b" not in without
    # a picture is drawn in the same characters, and styles pad no line
    assert [x.rstrip() for x in ESCAPE.sub("", coloured).splitlines()] == [x.rstrip() for x in without.splitlines()]


@pytest.mark.parametrize("columns", [40, 60, 75])
def test_a_narrow_screen_gets_a_list(terminal, columns):
    text = terminal(*CHECK.split(), columns=columns, NO_COLOR="1").end().out
    assert widest(text) <= columns
    assert "✓ in: aileron / left at wing root" in text.replace("\n  ", " ")
    assert "  tension 41.1 +-1.8 lbf\n" in text


def test_from_seventy_six_columns_on_there_is_a_table(terminal):
    text = terminal(*CHECK.split(), columns=80, NO_COLOR="1").end().out
    assert "where it lies" in text
