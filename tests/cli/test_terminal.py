"""What reaches the eye: width, colour, characters, pipes that close early, and readings typed at the prompt."""

import os
import signal
import subprocess
import sys

import pytest

pytestmark = pytest.mark.slow

DAY = "2026-11-25"
REEDLING = "examples/reedling"
CARD = ("--card", f"{REEDLING}/card-0417.yaml", "--riser", "2", "--cable", "5/32", "--on", DAY)
CHECKS = [
    ("check", f"examples/{name}/sheet.yaml", f"examples/{name}/readings.csv", "--on", DAY)
    for name in ("reedling", "harbour", "quill")
]
TEXT = [
    *CHECKS,
    ("cable", "1/8"),
    ("cable", "3/32", "--material", "stainless", "--construction", "7x7"),
    ("limits", "1/8", "--at", "54F", "--spec", "30..40 lbf @ 70F", "--airframe", "spruce", "--reading", "41 lbf"),
    ("limits", "5/32", "--at", "54F"),
    ("limits", "1/8", "--at", "54F", "--chart", "examples/harbour/rudder-chart.yaml", "--for", "rudder"),
    ("pounds", "30", "31", "29", *CARD),
    ("pounds", *["30", "31", "29", "30.5"] * 5, *CARD),
    ("dial", "41lbf", *CARD, "--band", "35..45 lbf @ 70F"),
    (
        "plan",
        f"{REEDLING}/sheet.yaml",
        "aileron",
        f"{REEDLING}/droop.csv",
        "--neutral",
        "left bellcrank=1.4deg",
        "--on",
        DAY,
    ),
    ("tables", "list"),
    ("--help",),
    ("check", "--help"),
]
TABLES = [
    "cable-1x19-memory", "cable-flexible-ac43131b-7-3", "cable-modulus-en1993-1-11", "cable-stretch-rope-maker", "control-limits",
    "expansion", "locking-wire-ac43131b-7-8", "pulleys-ms20219-ms20220", "typical-chart-points", "wood-shrinkage-fpl1093",
]  # fmt: skip


def words(command):
    return " ".join(command[:2]).replace("examples/", "").replace("/sheet.yaml", "")


def widest(text):
    return max(map(len, text.splitlines()))


@pytest.mark.parametrize("command", [*TEXT, *(("tables", "show", t) for t in TABLES)], ids=lambda c: " ".join(c[:3]))
def test_a_pipe_gets_plain_lines_of_eighty_columns_at_most(shared, command):
    text = shared(*command).out
    assert 0 < widest(text) <= 80
    assert "\x1b" not in text


@pytest.mark.parametrize("command", [*CHECKS, ("cable", "1/8"), ("tables", "list")], ids=words)
def test_a_pipe_ignores_a_wide_screen_behind_it(shared, command):
    assert shared(*command, COLUMNS="200") == shared(*command)


@pytest.mark.parametrize("command", TEXT, ids=words)
def test_a_terminal_of_eighty_columns_is_never_overrun(terminal, command):
    ran = terminal(*command, NO_COLOR="1").end()
    assert 0 < widest(ran.out) <= 80
    assert ran.code in (0, 1)


@pytest.mark.parametrize("command", [CHECKS[0], ("cable", "1/8"), ("limits", "1/8", "--at", "54F")], ids=words)
def test_no_color_leaves_no_escape_code(terminal, command):
    assert "\x1b" in terminal(*command).end().out
    assert "\x1b" not in terminal(*command, NO_COLOR="1").end().out
    assert "\x1b" not in terminal(*command, TERM="dumb").end().out


def test_a_verdict_is_a_word_and_a_mark_and_not_only_a_colour(terminal):
    text = terminal(*CHECKS[0], NO_COLOR="1").end().out
    for mark in ("✓ in", "✗ out", "? re-measure", "! refused"):
        assert mark in text


@pytest.mark.parametrize(
    "locale", [{"PYTHONIOENCODING": "ascii", "LC_ALL": "C"}, {"LC_ALL": "C", "LANG": "C"}], ids=["ascii", "C"]
)
@pytest.mark.parametrize("command", [*CHECKS, ("cable", "1/8"), ("tables", "list"), ("check", "--help")], ids=words)
def test_a_plain_locale_is_no_reason_to_stop(shared, command, locale):
    ran = shared(*command, **locale)
    assert ran.code == (1 if command in CHECKS else 0)
    assert ran.err == ""
    if "PYTHONIOENCODING" in locale:
        assert ran.out.isascii()
        assert widest(ran.out) <= 80


def test_an_ascii_screen_gets_the_strip_in_ascii(shared):
    text = shared(*CHECKS[0], PYTHONIOENCODING="ascii", LC_ALL="C").out
    assert "....|--=o=--|...." in text
    for mark in ("+ in", "X out", "? re-measure", "! refused"):
        assert mark in text


def test_a_name_that_an_ascii_screen_cannot_show_does_not_stop_the_check(bench):
    bench.bend(bench.sheet, "Test bed", "Möwe")
    ascii_ran = bench.check(PYTHONIOENCODING="ascii", LC_ALL="C")
    assert (ascii_ran.code, ascii_ran.err) == (0, "")
    assert "M?we" in ascii_ran.out
    assert bench.check("--json", PYTHONIOENCODING="ascii", LC_ALL="C").json["aircraft"] == "Möwe"
    assert "Möwe" in bench.check().out


@pytest.mark.parametrize(
    "command",
    [CHECKS[0], (*CHECKS[0], "--json"), (*CHECKS[0], "--csv"), ("tables", "list"), ("cable", "1/8", "--json"), ("sheet", "schema")],
    ids=" ".join,
)  # fmt: skip
def test_a_reader_that_leaves_early_is_no_error_and_hides_no_finding(command):
    ours, theirs = os.pipe()
    os.close(ours)
    try:
        done = subprocess.run(
            [sys.executable, "-m", "rigging", *command], stdout=theirs, stderr=subprocess.PIPE, text=True, check=False
        )
    finally:
        os.close(theirs)
    assert done.stderr == ""
    assert done.returncode == (1 if command[0] == "check" else 0)


def test_the_first_line_through_head():
    line = f"set -o pipefail; {sys.executable} -m rigging tables show expansion | head -1"
    done = subprocess.run(["bash", "-c", line], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout == "Thermal expansion of structure and cable\n"


# readings at the prompt


def test_readings_are_asked_for_and_a_wrong_answer_is_asked_again(bench, terminal):
    at = terminal("check", "sheet.yaml", "--on", DAY, cwd=bench.folder, NO_COLOR="1")
    at.wait_for("Structure temperature")
    at.type("70")
    at.wait_for("'70' has no unit: write 70F or 70C")
    at.wait_for("Structure temperature")
    at.type("70F")
    at.wait_for("Air temperature")
    at.type("warm")
    at.wait_for("'warm' is not a temperature")
    at.wait_for("Air temperature")
    at.type("")
    at.wait_for("rudder / left")
    at.type("35 35,5 35")
    at.wait_for("'35,5' has a comma: write decimals with a point, like 35.5")
    at.wait_for("rudder / left")
    at.type("35 lbf")
    at.wait_for("without a unit")
    at.wait_for("rudder / left")
    at.type("35 36 35")
    at.wait_for("rudder / right")
    at.type("")
    ran = at.end()
    assert ran.code == 1  # one run was not read
    assert "35.3 +-" in ran.out
    assert "not measured" in ran.out
    assert "Read this run" in ran.out


def test_a_temperature_on_the_command_line_is_not_asked_again(bench, terminal):
    at = terminal("check", "sheet.yaml", "--at", "70F", "--on", DAY, cwd=bench.folder, NO_COLOR="1")
    at.wait_for("Air temperature")
    assert "Structure temperature" not in at.shown
    at.type("70F")
    for run in ("left", "right"):
        at.wait_for(f"rudder / {run}")
        at.type("35 35 35")
    assert at.end().code == 0


def test_questions_go_to_stderr_so_that_stdout_stays_data(bench, terminal):
    at = terminal("check", "sheet.yaml", "--at", "70F", "--on", DAY, "--json", cwd=bench.folder, pipe_stdout=True)
    at.wait_for("Air temperature")
    at.type("")
    for run in ("left", "right"):
        at.wait_for(f"rudder / {run}")
        at.type("35 35 35")
    ran = at.end()
    assert ran.code == 0
    assert [r["dials"] for r in ran.json["runs"]] == [[35, 35, 35]] * 2


def test_which_tensiometer_and_which_riser_is_asked_where_there_are_several(bench, terminal):
    bench.bend(bench.sheet, "[card.yaml]", "[card.yaml, other.yaml]")
    card = bench.card.read_text().replace('"0007"', '"0008"')
    (bench.folder / "other.yaml").write_text(card + "  - {riser: 2, cable: 1/8, points: [[10, 30], [50, 70]]}\n")
    at = terminal("check", "sheet.yaml", "--at", "70F", "--on", DAY, "--json", cwd=bench.folder, pipe_stdout=True)
    at.wait_for("Air temperature")
    at.type("")
    at.wait_for("(0007, 0008)")
    at.type("0009")
    at.wait_for("'0009' is none of 0007, 0008")
    at.type("0008")
    for run in ("left", "right"):
        at.wait_for(f"rudder / {run}, riser (1, 2)")
        at.type("2")
        at.wait_for("dial")
        at.type("15")
    ran = at.end()
    assert {(r["tensiometer"], r["tension_lbf"]) for r in ran.json["runs"]} == {("0008", 35.0)}


def test_a_sheet_without_a_tensiometer_is_refused_before_anything_is_asked(bench, terminal):
    bench.bend(bench.sheet, "tensiometers: [card.yaml]\n", "")
    ran = terminal("check", "sheet.yaml", cwd=bench.folder).end()
    assert ran.code == 2
    assert "names no tensiometer" in ran.out


def test_interrupted_at_the_prompt(bench, terminal):
    at = terminal("check", "sheet.yaml", cwd=bench.folder)
    at.wait_for("Structure temperature")
    at.process.send_signal(signal.SIGINT)
    ran = at.end()
    assert ran.code == 130
    assert "interrupted" in ran.out
    assert "Traceback" not in ran.out


def test_end_of_input_at_the_prompt_is_an_interruption(bench, terminal):
    at = terminal("check", "sheet.yaml", cwd=bench.folder)
    at.wait_for("Structure temperature")
    at.press(b"\x04")
    ran = at.end()
    assert ran.code == 130
    assert "Traceback" not in ran.out


def test_without_a_terminal_and_without_a_file_nothing_is_asked(shared):
    ran = shared("check", f"{REEDLING}/sheet.yaml")
    assert (ran.code, ran.out) == (2, "")
    assert "give the readings as a CSV file" in ran.err
