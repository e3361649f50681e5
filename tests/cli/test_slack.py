"""A cable cannot push: where temperature or uncertainty leads to slack it is said in words, and nothing rests on it."""

import csv
import io
import re
from pathlib import Path

import pytest

DAY = "2026-11-25"
RANGE = "temperatures: {coldest: -60F, hottest: 110F}\n"
COLD_SPRUCE = ("--at", "-60F", "--spec", "30..40 lbf @ 70F", "--airframe", "spruce")
FAR = ("limits", "1/8", "--at", "-65F", "--airframe", "aluminium", "--spec")
# a figure below zero, as no tension is; a slope or a temperature may be
NEGATIVE_TENSION = re.compile(r"(?<![\d.+])-\d+(\.\d+)? (lbf|N)\b(?!/)")


@pytest.fixture
def wooden(bench):
    """The small aircraft in spruce, read on a cold day at a tension that its cables would lose until the reference."""
    bench.bend(bench.sheet, "material: aluminium", "material: spruce")
    bench.bend(bench.readings, "35,70F", "20,-60F")
    return bench


@pytest.fixture
def far(bench):
    """The small aircraft in aluminium 135 F below its reference: limits that are moved by tens of pounds."""
    bench.bend(bench.sheet, "limits: 30..40", "limits: 100..220")
    bench.bend(bench.card, "[50, 50]]", "[50, 50], [300, 300]]")
    bench.bend(bench.readings, "35,70F", "72,-65F")
    return bench


def slack(run):
    return run["tension_at_reference_lbf"], run["slack_at_reference"]


# A tension brought to another temperature


@pytest.mark.parametrize(
    ("spec", "reading", "expected", "code"),
    [
        # spruce, 16 F colder: what is read loses 6 to 7 lbf until the reference
        (("30..40 lbf @ 70F", "--airframe", "spruce"), "2lbf", (0.0, True), 1),
        (("30..40 lbf @ 70F", "--airframe", "spruce"), "0lbf", (0.0, True), 1),
        # aluminium gains there, and by how much a slack cable hangs no reading tells
        (("30..40 lbf @ 70F", "--airframe", "aluminium"), "0lbf", (None, None), 1),
    ],
)
def test_limits_say_slack_of_a_reading(shared, spec, reading, expected, code):
    command = ("limits", "1/8", "--at", "54F", "--reading", reading, "--spec", *spec)
    ran = shared(*command, "--json")
    assert (slack(ran.json), ran.code) == (expected, code)
    for si in ((), ("--si",)):
        (line,) = (line for line in shared(*command, *si).out.splitlines() if line.startswith("reading "))
        assert "slack" in line and not NEGATIVE_TENSION.search(line)


def test_a_reading_that_stays_tight_is_a_tension(shared):
    ran = shared("limits", "1/8", "--at", "54F", *("--spec", "30..40 lbf @ 70F", "--airframe", "spruce"), "--reading", "41lbf", "--json")  # fmt: skip
    tension, is_slack = slack(ran.json)
    assert (ran.code, is_slack) == (0, False) and tension == pytest.approx(41 - ran.json["shift_lbf"])


def test_no_reading_below_zero_is_taken(shared):
    ran = shared("limits", "1/8", *COLD_SPRUCE, "--reading", "-5lbf")
    assert (ran.code, ran.out) == (3, "") and "cannot be below zero" in ran.err


def test_check_says_slack_on_screen_and_in_its_documents(wooden):
    ran = wooden.check("--json")
    assert ran.code == 1
    for run in ran.json["runs"]:
        assert slack(run) == (0.0, True)
        assert (run["verdict"], run["side"]) == ("out", "low")
        assert "brought to 70 F it hangs slack" in run["reasons"]
    for row in csv.DictReader(io.StringIO(wooden.check("--csv").out)):
        assert (row["tension_at_reference_lbf"], row["slack_at_reference"]) == ("0.0", "True")
    for columns in ("80", "40"):
        for si in ((), ("--si",)):
            text = wooden.check(*si, COLUMNS=columns).out
            assert "slack" in text and not NEGATIVE_TENSION.search(text)


def test_a_dial_of_nothing_is_slack_and_no_tension_elsewhere(bench):
    bench.bend(bench.card, "[[10, 10]", "[[0, 0], [10, 10]")
    bench.bend(bench.readings, "35,70F", "0,54F")
    run = bench.check("--json").json["runs"][0]
    assert (run["tension_lbf"], *slack(run)) == (0.0, None, None)
    assert any("hangs slack, and by how much no reading tells" in reason for reason in run["reasons"])


def test_the_record_says_slack(wooden, rigging):
    wooden.bend(wooden.sheet, "airframe:", f"{RANGE}airframe:")
    wooden.check("--log", "--who", "A. Finch")
    page = wooden.folder / "record.html"
    ran = rigging("report", "sheet.yaml", "-o", page, cwd=wooden.folder)
    assert ran.code == 1
    text = page.read_text(encoding="utf-8")
    assert "<strong>slack</strong>" in text and "it hangs slack" in text
    assert not NEGATIVE_TENSION.search(re.sub(r"<[^>]*>", "", text))
    circuit = rigging("report", "sheet.yaml", "--json", cwd=wooden.folder).json["circuits"][0]
    assert [(r["at_reference_lbf"], r["slack_at_reference"]) for r in circuit["readings"]] == [(0.0, True)] * 2
    # 20 lbf at -60 F are no cable of 0 lbf at 70 F, which would be tighter in the cold: no picture is drawn of it
    assert circuit["envelope"]["answer"] is None
    assert "left and right hung slack" in circuit["envelope"]["refusal"]


def test_a_plan_holds_the_same(wooden, rigging):
    for side in "+-":
        wooden.bend(wooden.sheet, f"from: pedals {side}", f"turnbuckle: {{thread: 1/4-28}}, from: pedals {side}")
    ran = rigging("plan", "sheet.yaml", "rudder", "readings.csv", "--on", DAY, "--json", cwd=wooden.folder)
    assert [slack(run) for run in ran.json["runs"]] == [(0.0, True)] * 2


# Limits that are moved far


def test_limits_moved_far_say_how_sure_they_are(shared):
    ran = shared(*FAR, "95..115 lbf @ 70F", "--json")
    found, spread = ran.json, ran.json["shift_uncertainty_lbf"]
    assert spread == pytest.approx(1.96 * found["shift_standard_uncertainty_lbf"], rel=1e-4)
    # 15 % of the stiffness alone, and the expansion of the cable beside it
    assert spread > 0.15 * abs(found["shift_lbf"]) > found["low_lbf"] > 0
    assert (found["may_hang_slack"], found["usable_for_sign_off"], ran.code) == (True, False, 1)
    assert any("may hang slack" in gap for gap in found["not_for_sign_off_because"])
    text = " ".join(shared(*FAR, "95..115 lbf @ 70F").out.split())
    assert f"limits {-found['shift_lbf']:.1f} +-{spread:.1f} lbf lower" in text
    assert "not usable for sign-off: at the low limit" in text and "may hang slack" in text
    assert "may hang slack" in " ".join(shared(*FAR, "95..115 lbf @ 70F", "--si").out.split())


def test_limits_surely_above_slack_are_usable(shared):
    ran = shared(*FAR, "195..215 lbf @ 70F", "--json")
    assert (ran.json["may_hang_slack"], ran.json["usable_for_sign_off"], ran.code) == (False, True, 0)
    assert ran.json["not_for_sign_off_because"] == []


def test_a_check_by_such_limits_is_never_accepted(far):
    ran = far.check("--json")
    assert ran.code == 1
    for run in ran.json["runs"]:
        # inside by more than its uncertainty, and yet not accepted
        assert run["low_lbf"] + run["guard_lbf"] < run["tension_lbf"] < run["high_lbf"] - run["guard_lbf"]
        assert (run["verdict"], run["side"], run["may_hang_slack"]) == ("re-measure", None, True)
        assert run["shift_uncertainty_lbf"] > run["low_lbf"] > 0 > run["shift_lbf"]
        assert run["usable_for_sign_off"] is False and "may hang slack" in run["action"]
    text = " ".join(far.check().out.split())
    assert "may hang slack" in text
    assert f"+-{run['shift_uncertainty_lbf']:.1f} lbf lower" in text


def test_it_is_said_of_a_run_that_was_not_read_too(far):
    far.bend(far.readings, "rudder,right,1,72,-65F\n", "")
    run = far.check("--json", "--at", "-65F").json["runs"][1]
    assert run["verdict"] == "not measured"
    assert any("may hang slack" in reason for reason in run["reasons"])


def test_nor_does_it_close_what_the_log_holds_open(far, rigging):
    turn = ("--turnbuckle", "left", "--half-turns", "1", "--circuit", "rudder", "--who", "A. Finch")
    for side in "+-":
        far.bend(far.sheet, f"from: pedals {side}", f"turnbuckle: {{thread: 1/4-28}}, from: pedals {side}")
    rigging("log", "add", "adjustment", "sheet.yaml", *turn, cwd=far.folder)

    def open_tensions(at, dial):
        far.readings.write_text(
            "circuit,run,riser,dial,structure\n"
            + "".join(f"rudder,{run},1,{dial},{at}\n" * 3 for run in ("left", "right"))
        )
        # in force on the day of the turn, whenever that is
        ran = rigging("check", "sheet.yaml", "readings.csv", "--log", "--who", "A. Finch", "--json", cwd=far.folder)
        assert ran.json["runs"][0]["plain"] == "in"
        status = rigging("status", "sheet.yaml", "--json", cwd=far.folder).json
        return [item["of"] for item in status["open"] if item["what"] == "tension"]

    far.bend(far.card, "due: 2027-01-15", "due: 2126-01-15")
    assert open_tensions("-65F", 72) == ["left", "right"]
    assert open_tensions("70F", 160) == []


# Only a way down ends in slack


def test_a_correction_upwards_is_calculated_and_the_envelope_shows_the_same(wooden, rigging):
    wooden.bend(wooden.sheet, "airframe:", f"{RANGE}airframe:")
    found = rigging("limits", "1/8", *COLD_SPRUCE, "--json").json
    assert found["shift_lbf"] > 35  # more than the tension itself
    assert found["low_lbf"] == pytest.approx(30 + found["shift_lbf"])
    checked = rigging("check", "sheet.yaml", "readings.csv", "--on", DAY, "--json", cwd=wooden.folder).json["runs"][0]
    envelope = rigging("envelope", "sheet.yaml", "--json", cwd=wooden.folder).json
    coldest = envelope["temperatures_degF"].index(-60)
    assert envelope["limits_no_result"] == []
    for key in ("low_lbf", "high_lbf"):
        assert envelope["runs"]["left"][key][coldest] == pytest.approx(found[key], abs=1e-6)
        assert checked[key] == pytest.approx(found[key], abs=1e-6)
    assert envelope["runs"]["left"]["tensions_lbf"][coldest] == pytest.approx(found["target_lbf"], abs=1e-6)


def test_downwards_it_is_refused_by_both(bench, rigging):
    bench.bend(bench.sheet, "airframe:", f"{RANGE}airframe:")
    ran = rigging("limits", "1/8", "--at", "-60F", "--spec", "30..40 lbf @ 70F", "--airframe", "aluminium")
    assert (ran.code, ran.out) == (3, "") and "is a slack cable" in ran.err and "nearer to 70 F" in ran.err
    envelope = rigging("envelope", "sheet.yaml", "--json", cwd=bench.folder).json
    assert envelope["runs"]["left"]["low_lbf"][0] is None
    assert all("is a slack cable" in left["reason"] for left in envelope["limits_no_result"])


def test_a_chart_of_the_aircrafts_own_moves_as_far_as_it_says(rigging, tmp_path: Path):
    (tmp_path / "chart.yaml").write_text(
        "table: 1\nkind: chart\ntitle: Plover rudder\nsource: {basis: aircraft, document: Plover notes}\n"
        "columns: {for: {unit: text}, temperature: {unit: F}, low: {unit: lbf}, high: {unit: lbf}}\n"
        "rows:\n  - [rudder, -60, 80, 100]\n  - [rudder, 70, 20, 30]\n"
    )
    ran = rigging("limits", "1/8", "--at", "-60F", "--chart", "chart.yaml", "--for", "rudder", "--reading", "60lbf", "--json", cwd=tmp_path)  # fmt: skip
    # from 90 in the middle to 25: a reading of 60 loses 65
    assert (ran.json["low_lbf"], ran.json["shift_lbf"], *slack(ran.json)) == (80, 65, 0.0, True)


def test_the_typical_chart_moves_up_by_more_than_itself(shared):
    cold, hot = (shared("limits", "1/16", "--at", at, "--json") for at in ("85F", "160F"))
    assert hot.code == 0 and hot.json["low_lbf"] > cold.json["low_lbf"]
