"""What is shown can be read without colour, read aloud, and on a narrow screen: words only where they are asked for."""

from __future__ import annotations

import re

import pytest
from runs import DAY, PLOVER_LINES, REEDLING, WITHOUT_A_LOG, WITHOUT_A_TENSIOMETER, plover, run

from rigging import tables

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
