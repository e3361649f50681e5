"""Where the sheet states no give, the structure counts as rigid and moves a tension most: said once wherever one is moved."""

import datetime as dt

import pytest

from rigging.jobs.check import check
from rigging.judge.limits import RIGID
from rigging.report.text.console import console
from rigging.report.text.session import show_verdicts
from rigging.sheet.load import load_rig
from rigging.sheet.readings import load_readings

DAY = ("--on", "2026-11-25")
PLAN = ("plan", "sheet.yaml", "rudder", "readings.csv", "--neutral", "horn=0deg", *DAY)
OTHERS = [
    ("check", "sheet.yaml", "readings.csv", *DAY),
    PLAN,
    ("envelope", "sheet.yaml"),
    ("envelope", "sheet.yaml", "rudder"),
    ("loads", "sheet.yaml", "rudder"),
]


def times(text):
    """How often the line stands in a text, wherever it was broken."""
    return " ".join(text.split()).count(RIGID)


@pytest.fixture
def cold(bench):
    """The small aircraft 16 F below its reference, with days and a pilot, and its two cables read at 30 lbf."""
    bench.bend(bench.sheet, "airframe:", "temperatures: {coldest: 40F, hottest: 90F}\nairframe:")
    bench.bend(
        bench.sheet, "    cables:\n",
        "    pilot: {sector: pedals, lever: 10 in, surfaces: [horn], force: 20 lbf, travel: 40 deg}\n    cables:\n",
    )  # fmt: skip
    bench.bend(bench.sheet, "size: 1/8,", "size: 1/8, turnbuckle: {thread: 10-32, threads_showing: [1, 1]},")
    bench.bend(bench.readings, ",70F", ",54F")
    return bench


def stated(bench, *which):
    """The give stated for these cables, an invented one."""
    for end in which:
        bench.bend(bench.sheet, f"to: horn {end},", f"to: horn {end}, give: 0.0005 in/lbf,")


@pytest.mark.parametrize("command", OTHERS, ids=lambda c: " ".join(c[:3]))
def test_it_is_said_once_where_temperature_moves_a_tension(cold, rigging, command):
    assert times(rigging(*command, cwd=cold.folder).out) == 1
    # one of two cables is not enough: the loop answers as a whole
    stated(cold, "+")
    assert times(rigging(*command, cwd=cold.folder).out) == 1
    stated(cold, "-")
    assert times(rigging(*command, cwd=cold.folder).out) == 0


def test_nothing_is_said_where_nothing_moves(bench):
    assert times(bench.check().out) == 0


def test_limits_of_a_cable_alone_and_of_the_typical_chart(shared):
    moved = shared("limits", "1/8", "--at", "54F", "--spec", "30..40 lbf @ 70F", "--airframe", "spruce")
    assert times(moved.out) == times(shared("limits", "1/8", "--at", "54F").out) == 1
    # the aircraft's own chart moves nothing by a model
    chart = ("--chart", "examples/harbour/rudder-chart.yaml", "--for", "rudder")
    assert times(shared("limits", "1/8", "--at", "54F", *chart).out) == 0


def test_json_has_it_among_the_assumptions(cold, rigging, shared):
    def asked(*command):
        return rigging(*command, "--json", cwd=cold.folder).json

    assert all(RIGID in run["assumptions"] for run in asked(*OTHERS[0])["runs"])
    assert all(RIGID in run["assumptions"] for run in asked(*PLAN)["runs"])
    assert RIGID in asked("envelope", "sheet.yaml")["circuits"][0]["assumptions"]
    assert RIGID in asked("loads", "sheet.yaml", "rudder")["assumptions"]
    limits = ("limits", "1/8", "--at", "54F", "--spec", "30..40 lbf @ 70F", "--airframe", "spruce", "--json")
    assert shared(*limits).json["assumptions"].count(RIGID) == 1
    stated(cold, "+", "-")
    assert not any(RIGID in run["assumptions"] for run in asked(*OTHERS[0])["runs"])


def test_the_verdicts_of_a_session_say_it(cold, capsys):
    def shown():
        rig = load_rig(cold.sheet)
        result = check(rig, load_readings(cold.readings, rig), dt.date(2026, 11, 25))
        show_verdicts(console(), result, "rudder")
        return capsys.readouterr().out

    assert times(shown()) == 1
    stated(cold, "+", "-")
    assert times(shown()) == 0
