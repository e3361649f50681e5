"""Exit codes, and what is said with them."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
CARD = ("--card", "examples/reedling/card-0417.yaml", "--riser", "2", "--cable", "5/32")


@pytest.mark.parametrize(
    "command",
    [
        ("bogus",),
        ("cable",),
        ("cable", "1/8", "--nonsense"),
        ("sheet",),
        ("pounds", "30"),
        ("pounds", "thirty", *CARD),
        ("pounds", "30,5", *CARD),
        ("dial", *CARD),
        ("limits", "1/8"),
        ("limits", "1/8", "--at", "54F", "--spec", "30..40 lbf @ 70F"),
        ("limits", "1/8", "--at", "54F", "--for", "rudder"),
        ("limits", "1/8", "--at", "54F", "--airframe", "spruce"),
        ("limits", "1/8", "--at", "54F", "--spec", "30..40 lbf @ 70F", "--chart", "examples/harbour/rudder-chart.yaml"),
    ],
    ids=" ".join,
)
def test_wrong_use_is_two_with_empty_stdout(shared, command):
    ran = shared(*command)
    assert (ran.code, ran.out) == (2, "")
    assert ran.err and "Traceback" not in ran.err


CHECK = ("check", "examples/reedling/sheet.yaml", "examples/reedling/readings.csv")


@pytest.mark.parametrize(
    ("command", "option"),
    [
        ((*CHECK, "--on", "2026-11-25", "--on", "2026-11-26"), "--on"),
        ((*CHECK, "--on=2026-11-25", "--json", "--on", "2026-11-25"), "--on"),
        (("limits", "1/8", "--at", "54F", "--at", "60F"), "--at"),
        (("envelope", "examples/reedling/sheet.yaml", "aileron", "-o", "a.svg", "-o", "b.svg"), "--output"),
        (("log", "list", "examples/reedling/sheet.yaml", "--kind", "note", "--kind", "check"), "--kind"),
        (("log", "add", "note", "examples/reedling/sheet.yaml", "--circuit", "rudder", "--circuit", "aileron"), "--circuit"),
    ],
    ids=lambda c: " ".join(c) if isinstance(c, tuple) else "",
)  # fmt: skip
def test_an_option_that_counts_once_is_never_taken_twice(shared, command, option):
    ran = shared(*command)
    assert (ran.code, ran.out) == (2, "")
    assert ran.err == f"{option} stands twice: keep one\n"


def test_what_may_stand_twice_still_may(shared):
    weights = ("--at", "40 lbf: 15 15 15", "--at", "60 lbf: 25 25 26", "--at", "80 lbf: 32 33 33")
    ran = shared("weigh", *CARD, "--on", "2026-11-25", *weights, "--si", "--si")
    assert (ran.code, ran.err) == (1, "")  # a finding of its own: the uncertainty is too wide to decide
    assert shared("limits", "1/8", "--at", "54F", "--at", "60F", "--help").out.startswith("Usage: ")


def test_plain_is_taken_before_and_after_the_command(shared):
    before = shared("--plain", *CHECK, "--on", "2026-11-25")
    assert before.out != shared(*CHECK, "--on", "2026-11-25").out
    for words in ((*CHECK, "--on", "2026-11-25", "--plain"), ("check", "--plain", *CHECK[1:], "--on", "2026-11-25")):
        assert shared(*words) == before


def test_what_stands_behind_two_dashes_is_no_option(shared):
    ran = shared("cable", "--", "--plain")
    assert (ran.code, ran.out) == (2, "")
    assert "'--plain' is not a cable size" in ran.err


QUANTITIES = [
    (("limits", "1/8", "--at", "54"), "'54' has no unit: write 54F or 54C"),
    (("limits", "1/8", "--at", "54lbf"), "is a force, not a temperature: write a temperature in F, C or K"),
    (("limits", "1/8", "--at", "12,5C"), "write decimals with a point (12.5C)"),
    (("limits", "1/8", "--at", "warm"), "'warm' is not a temperature: write it like 12F or 12C"),
    (("limits", "1/8", "--at", "-500F"), "below absolute zero"),
    (("limits", "1/8", "--at", "54F", "--thermometer", "2"), "'2' has no unit"),
    (("limits", "1/8", "--at", "54F", "--reading", "41"), "'41' has no unit: write 41 lbf or 41 N"),
    (("limits", "1/8", "--at", "54F", "--spec", "30..40 @ 70F", "--airframe", "spruce"), "has no unit"),
    (("limits", "1/8", "--at", "54F", "--spec", "40..30 lbf @ 70F", "--airframe", "spruce"), "must lie below the high"),
    (("limits", "1/8", "--at", "54F", "--spec", "30-40 lbf @ 70F", "--airframe", "spruce"), "write 30..40 lbf"),
    (("cable", "0.125"), "like 1/8 or 5/32"),
    (("cable", "eighth"), "like 1/8 or 5/32"),
    (("dial", "40", *CARD), "'40' has no unit: write 40 lbf or 40 N"),
    (("dial", "40lbf", *CARD, "--band", "30"), "is not a tension band"),
    (("pounds", "30", *CARD[:-1], "0.15"), "is not a cable size"),
    (("pounds", "30", *CARD, "--on", "25.11.2026"), "is not a date: write it like 2026-11-25"),
    (("check", "examples/reedling/sheet.yaml", "examples/reedling/readings.csv", "--at", "54"), "write 54F or 54C"),
]


@pytest.mark.parametrize(("command", "way_out"), QUANTITIES, ids=lambda c: " ".join(c) if isinstance(c, tuple) else "")
def test_a_malformed_quantity_on_the_command_line_is_wrong_use(shared, command, way_out):
    ran = shared(*command)
    assert (ran.code, ran.out) == (2, "")
    assert way_out in ran.err
    assert len(ran.err.splitlines()) == 1


@pytest.mark.parametrize(
    ("command", "said"),
    [
        (("cable", "1/7"), "did you mean '1/8'?"),
        (("cable", "1/8", "--material", "gold"), "carbon or stainless"),
        (("cable", "1/8", "--construction", "6x19"), "one of 7x19"),
        (("limits", "1/8", "--at", "500F"), "lies outside -65 to 160 F"),
        (("limits", "1/8", "--at", "-66F"), "lies outside -65 to 160 F"),
        (("limits", "1/8", "--at", "54F", "--spec", "30..40 lbf", "--airframe", "spruce"), "names no temperature"),
        (("limits", "1/8", "--at", "54F", "--spec", "30..40 lbf @ 70F", "--airframe", "sprus"), "did you mean 'spruce'?"),
        (("limits", "1/8", "--at", "54F", "--chart", "examples/harbour/rudder-chart.yaml", "--for", "ruder"), "did you mean 'rudder'?"),
        (("limits", "1/8", "--at", "10F", "--chart", "examples/harbour/rudder-chart.yaml", "--for", "rudder"), "outside the chart"),
        (("tables", "show", "expansions"), "did you mean 'expansion'?"),
    ],
    ids=lambda c: " ".join(c) if isinstance(c, tuple) else "",
)  # fmt: skip
def test_a_clear_question_without_an_honest_figure_is_refused(shared, command, said):
    for options in ((), ("--json",)):
        ran = shared(*command, *options)
        assert (ran.code, ran.out) == (3, "")
        assert said in ran.err
        assert len(ran.err.splitlines()) == 1


def test_an_error_of_our_own_is_two_lines_and_a_file(tmp_path):
    broken = (
        "import sys, rigging.hardware.cable as c\n"
        "def cable(*args): raise ZeroDivisionError('for the test')\n"
        "c.cable = cable\n"
        "sys.argv = ['rigging', 'cable', '1/8']\n"
        "from rigging.cli.main import main\n"
        "main()\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", broken],
        cwd=ROOT,
        env={**os.environ, "TMPDIR": str(tmp_path)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stdout) == (4, "")
    first, second = done.stderr.splitlines()
    assert first == "internal error (ZeroDivisionError): no figure of this run may be used"
    (report,) = tmp_path.iterdir()
    assert str(report) in second
    text = report.read_text()
    assert "Traceback" in text and "for the test" in text and "cable 1/8" in text
