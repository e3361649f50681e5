"""Every command as a person or a script calls it: text, JSON, CSV, SI, and the keys that scripts rely on."""

import csv
import io
import json

import pytest

DAY = "2026-11-25"
REEDLING = "examples/reedling"
CARD = ("--card", f"{REEDLING}/card-0417.yaml", "--riser", "2", "--cable", "5/32", "--on", DAY)
CHECK = ("check", f"{REEDLING}/sheet.yaml", f"{REEDLING}/readings.csv", "--on", DAY)
SPEC = ("--spec", "30..40 lbf @ 70F", "--airframe", "spruce")
LIMITS = ("limits", "1/8", "--at", "54F", *SPEC)
DIAL = ("dial", "40lbf", *CARD, "--band", "35..45 lbf")
POUNDS = ("pounds", "30", "31", "29", *CARD)
PLAN = (
    "plan",
    f"{REEDLING}/sheet.yaml",
    "aileron",
    f"{REEDLING}/droop.csv",
    "--neutral",
    "left bellcrank=1.4deg",
    "--on",
    DAY,
)
CHART = ("limits", "1/8", "--at", "54F", "--chart", "examples/harbour/rudder-chart.yaml", "--for", "rudder")

# the contract, typed from the design; a key may be added, none may go
KEYS = {
    ("cable", "1/8"): "size_in construction material breaking_strength_lbf proof_load_lbf stiffness_lbf "
    "expansion_per_degF sources",
    LIMITS: "temperature_degF low_lbf target_lbf high_lbf slope_lbf_per_degF basis source direction usable_for_sign_off",
    CHART: "temperature_degF low_lbf target_lbf high_lbf slope_lbf_per_degF basis source direction usable_for_sign_off",
    ("limits", "1/8", "--at", "54F"): "temperature_degF low_lbf target_lbf high_lbf slope_lbf_per_degF basis source "
    "direction usable_for_sign_off",
    POUNDS: "readings tension_lbf uncertainty_lbf coverage_factor spread_lbf card_serial card_in_date",
    DIAL: "dial window",
    CHECK: "verdict runs",
    PLAN: "steps tensions_lbf neutral_deg thread_window",
    ("sheet", "check", f"{REEDLING}/sheet.yaml"): "sheet sha256 runs tensiometers problems",
    ("tables", "list"): "tables",
    ("tables", "show", "turnbuckle-threads"): "id title basis source read sha256 columns rows decisions",
    ("tables", "check"): "tables problems",
}  # fmt: skip
RUN_KEYS = (
    "circuit run station tension_lbf uncertainty_lbf temperature_degF low_lbf high_lbf tension_at_reference_lbf "
    "reference_degF verdict side probability_in_limits basis action reasons"
)
TEXT = [*KEYS, ("tables", "show", "expansion"), ("sheet", "new"), ("sheet", "schema")]
SI = [("cable", "1/8"), LIMITS, CHART, POUNDS, DIAL, CHECK, PLAN]
CODES = {CHECK: 1}


def words(command):
    return " ".join(command[:2]) if command[0] in ("sheet", "tables") else command[0]


@pytest.mark.parametrize("command", KEYS, ids=words)
def test_json_is_one_document_with_the_agreed_keys(shared, command):
    ran = shared(*command, "--json")
    assert ran.code == CODES.get(command, 0)
    assert set(KEYS[command].split()) <= set(ran.json)
    assert ran.err == ""


@pytest.mark.parametrize("command", KEYS, ids=words)
def test_a_quantity_in_json_names_its_unit_in_its_key(shared, command):
    # counts and shares
    without_unit = {"coverage_factor", "degrees_of_freedom", "dial", "stiffness_scale"}
    units = ("_lbf", "_in", "_degF", "_per_degF", "_per_100ft")
    for key, value in shared(*command, "--json").json.items():
        if isinstance(value, float):
            assert key in without_unit or "_relative_" in key or key.endswith(units), key


def test_json_of_a_cable_gives_every_figure_its_source(shared):
    found = shared("cable", "1/8", "--json").json
    assert found["breaking_strength_lbf"] == 2000  # AC 43.13-1B table 7-3
    assert found["proof_load_lbf"] == pytest.approx(1200)  # 60 %
    assert found["size_in"] == 0.125
    for key in ("breaking_strength_lbf", "proof_load_lbf", "stiffness_lbf", "expansion_per_degF"):
        figure = found["sources"][key]
        assert {"value", "basis", "source"} <= set(figure)
        assert figure["value"] == found[key]
        assert figure["basis"] and figure["source"]
    assert found["sources"]["breaking_strength_lbf"]["basis"] == "published"
    assert shared("cable", "1/8", "--material", "stainless", "--json").json["breaking_strength_lbf"] == 1760


def test_json_of_a_check_has_the_agreed_keys_in_every_run(shared):
    runs = shared(*CHECK, "--json").json["runs"]
    assert len(runs) == 9
    for run in runs:
        assert set(RUN_KEYS.split()) <= set(run)
        assert run["verdict"] in ("in", "out", "re-measure", "not measured")
        assert run["side"] in ("low", "high", None)


def test_json_of_a_plan_has_the_agreed_keys_in_every_step(shared):
    found = shared(*PLAN, "--json").json
    assert found["steps"]
    for step in found["steps"]:
        assert {"turnbuckle", "half_turns", "direction"} <= set(step)
    for key in ("tensions_lbf", "neutral_deg", "thread_window"):
        assert isinstance(found[key], dict) and found[key]


def test_limits_move_by_the_difference_of_expansion(shared):
    found = shared(*LIMITS, "--json").json
    cable = shared("cable", "1/8", "--json").json
    # EA (a_s - a_c) dT with 4.45e-6/C for spruce and 11.7e-6/C for the cable
    shift = cable["stiffness_lbf"] * (4.45e-6 - 11.7e-6) / 1.8 * (54 - 70)
    assert found["low_lbf"] == pytest.approx(30 + shift)
    assert found["target_lbf"] == pytest.approx(35 + shift)
    assert found["high_lbf"] == pytest.approx(40 + shift)
    assert found["slope_lbf_per_degF"] == pytest.approx(shift / -16)
    assert found["direction"] == "warmer is looser"
    assert found["basis"] == "aircraft"
    assert found["usable_for_sign_off"] is True
    assert shared(*LIMITS, "--reading", "41 lbf", "--json").json["tension_at_reference_lbf"] == pytest.approx(
        41 - shift
    )


def test_limits_of_a_chart_lie_on_its_lines(shared):
    found = shared(*CHART, "--json").json
    # between (50 F, 20..28) and (70 F, 25..33), a fifth of the way
    assert (found["low_lbf"], found["high_lbf"]) == (pytest.approx(21), pytest.approx(29))
    assert found["slope_lbf_per_degF"] == pytest.approx(0.25)


def test_without_a_spec_the_typical_chart_is_an_illustration(shared):
    command = ("limits", "1/8", "--at", "54F")
    assert shared(*command, "--json").json["usable_for_sign_off"] is False
    text = " ".join(shared(*command).out.split())
    assert "not usable for sign-off" in text
    assert "an illustration" in text


def test_pounds_and_dial_lie_on_the_card(shared):
    # column riser 2, 5/32: [29, 70], [33, 80] and [15, 40]
    found = shared(*POUNDS, "--json").json
    assert [r["tension_lbf"] for r in found["readings"]] == pytest.approx([72.5, 75, 70])
    assert found["tension_lbf"] == pytest.approx(72.5)
    assert found["spread_lbf"] == pytest.approx(5)
    assert found["uncertainty_lbf"] > 0.02 * 72.5
    assert (found["card_serial"], found["card_in_date"]) == ("0417", True)
    aimed = shared(*DIAL, "--json").json
    assert aimed["dial"] == pytest.approx(15)
    # 35 lbf is dial 12.5, 45 lbf dial 17.5
    assert aimed["window"] == {"low": 13, "high": 17}


@pytest.mark.parametrize("command", TEXT, ids=words)
def test_text_ends_well_and_says_something(shared, command):
    ran = shared(*command)
    assert ran.code == CODES.get(command, 0)
    assert ran.out or ran.err
    assert "Traceback" not in ran.err


@pytest.mark.parametrize(
    "command", [POUNDS, CHECK, PLAN, ("tables", "list"), ("tables", "show", "expansion")], ids=words
)
def test_csv_has_a_heading_and_rows_of_its_length(shared, command):
    ran = shared(*command, "--csv")
    assert ran.code == CODES.get(command, 0)
    assert ran.err == ""
    rows = list(csv.reader(io.StringIO(ran.out)))
    assert len(rows) > 1
    assert {len(row) for row in rows} == {len(rows[0])}


def test_csv_of_a_plan_has_one_figure_in_a_cell(shared):
    rows = list(csv.DictReader(io.StringIO(shared(*PLAN, "--csv").out)))
    steps = shared(*PLAN, "--json").json["steps"]
    expected = []
    for i, step in enumerate(steps, 1):
        turn = [str(i), step["turnbuckle"], str(step["half_turns"]), step["direction"]]
        expected += [[*turn, name, value, "", ""] for name, value in step["tensions_lbf"].items()]
        expected += [[*turn, "", "", name, value] for name, value in step["neutral_deg"].items()]
    assert list(rows[0]) == [
        "step",
        "turnbuckle",
        "half_turns",
        "direction",
        "run",
        "tension_lbf",
        "sector",
        "neutral_deg",
    ]
    found = [[float(v) if k in ("tension_lbf", "neutral_deg") and v else v for k, v in row.items()] for row in rows]
    assert found == expected
    # the two turns of the example, after each of which three runs and two bellcranks are told
    assert len(rows) == 2 * (3 + 2)


def dials_in(node):
    """All that stands under a key ``dial`` or ``dials``, however deep."""
    if isinstance(node, list):
        return [dial for one in node for dial in dials_in(one)]
    if not isinstance(node, dict):
        return []
    own = [v for key in ("dial", "dials") for v in [node.get(key)] if v is not None]
    return [*own, *(dial for key, value in node.items() if key not in ("dial", "dials") for dial in dials_in(value))]


def test_a_dial_is_a_number_in_every_json(shared, rigging, tmp_path):
    """A dial of the example readings: 24, never "24"; the digits as typed stay in the log under a name of their own."""
    log = tmp_path / "job.riglog"
    written = rigging(*CHECK, "--log", "--who", "A. Finch", "--log-at", log, "--json").json
    shown = rigging("log", "show", log, written["log_entry"], "--json").json
    record = rigging("report", f"{REEDLING}/sheet.yaml", "--log-at", log, "-o", tmp_path / "r.html", "--json").json
    for found in (written, shown, record, shared(*PLAN, "--json").json, shared(*POUNDS, "--json").json):
        values = [v for dial in dials_in(found) for v in (dial if isinstance(dial, list) else [dial])]
        assert values or found is record
        assert all(type(value) in (int, float) for value in values)
    assert {type(r["typed"]) for r in shown["given"]["readings"]} == {str}


# how a column of a table ends, by the unit that the table file gives it; typed by hand
ENDS = {
    "lbf": "_lbf", "in": "_in", "F": "_degF", "deg": "_deg", "GPa": "_GPa", "%": "_percent", "mm": "_mm", "min": "_minutes",
    "1e-6/C": "_microstrain_per_degC", "1e-6/%": "_microstrain_per_percent", "lb/100ft": "_lb_per_100ft", "in-lbf": "_in_lbf",
    "kg/m3": "_kg_per_m3", "J/kgK": "_J_per_kgK", "Mpsi": "_mpsi", "1e-5 %/psi": "_percent_per_100ksi",
}  # fmt: skip


def test_columns_of_a_table_end_in_their_unit(shared):
    names = [table["id"] for table in shared("tables", "list", "--json").json["tables"]]
    met = set()
    for name in names:
        found = shared("tables", "show", name, "--json").json
        for key, column in found["columns"].items():
            if column["unit"] in ENDS:
                met.add(column["unit"])
                assert key.endswith(ENDS[column["unit"]]), (name, key)
            else:
                assert column["unit"] in ("text", "size", "1", "count", "dial"), (name, key)
        for row in found["rows"]:
            assert list(row) == [*found["columns"], "sources"] and set(row["sources"]) <= set(found["columns"])
        heading = shared("tables", "show", name, "--csv").out.splitlines()[0]
        assert next(csv.reader([heading])) == list(found["columns"])
    assert met == set(ENDS)
    # AC 43.13-1B table 7-3 and the pitch of 28 threads to the inch
    rows = shared("tables", "show", "cable-flexible-ac43131b-7-3", "--json").json["rows"]
    assert next(r for r in rows if (r["size"], r["construction"]) == ("1/8", "7x19"))["carbon_lbf"] == 2000
    rows = shared("tables", "show", "turnbuckle-threads", "--json").json["rows"]
    assert next(r for r in rows if r["thread"] == "1/4-28")["pitch_in"] == pytest.approx(1 / 28, abs=1e-4)


def test_csv_of_a_check_says_the_same_as_its_json(shared):
    rows = list(csv.DictReader(io.StringIO(shared(*CHECK, "--csv").out)))
    for row, run in zip(rows, shared(*CHECK, "--json").json["runs"], strict=True):
        assert set(RUN_KEYS.split()) <= set(row)
        for key in ("circuit", "run", "station", "verdict"):
            assert row[key] == run[key]
        for key in ("tension_lbf", "low_lbf", "high_lbf"):
            assert row[key] == ("" if run[key] is None else str(run[key]))


@pytest.mark.parametrize("command", [POUNDS, CHECK, ("tables", "list")], ids=words)
def test_two_formats_at_once_are_wrong_use(shared, command):
    ran = shared(*command, "--json", "--csv")
    assert (ran.code, ran.out) == (2, "")
    assert "ask for one" in ran.err


@pytest.mark.parametrize("command", SI, ids=words)
def test_si_shows_newton_and_celsius(shared, command):
    text = shared(*command, "--si").out
    assert " N" in text or "N/C" in text
    assert shared(*command).out != text


def test_si_figures_are_the_same_tension(shared):
    assert "322 N" in shared(*POUNDS, "--si").out  # 72.5 x 4.448
    text = shared(*LIMITS, "--si").out
    assert "12.2 C" in text and "21.1 C" in text
    assert "163..208 N" in text  # 36.7 and 46.7 lbf
    table = shared(*CHECK, "--si").out
    assert "183 +-8" in table and "163..208" in table and "at 21.1 C" in table
    assert " F " not in table.split("Why")[0]


def test_json_stays_in_us_units_with_si(shared):
    assert shared(*LIMITS, "--si", "--json") == shared(*LIMITS, "--json")


def test_schema_is_one_json_document(shared):
    assert json.loads(shared("sheet", "schema").out)["$schema"].startswith("https://json-schema.org/")


def test_talk_of_a_clean_sheet_goes_to_stderr(shared):
    ran = shared("sheet", "check", f"{REEDLING}/sheet.yaml")
    assert (ran.code, ran.out) == (0, "")
    assert "nothing wrong" in ran.err


def test_runs_without_limits_are_named_when_a_sheet_is_checked(shared):
    assert "trim / nose down" in shared("sheet", "check", "examples/harbour/sheet.yaml").err


def test_sheet_check_tells_worn_out_threads_and_limits_without_a_source(shared, rigging, bench):
    told = shared("sheet", "check", "examples/harbour/sheet.yaml").err
    assert "more than 3 threads show on elevator / up: remake the cable: never tighten on" in told
    assert "limits_source" not in told
    assert "no limits_source is given for rudder / left, rudder / right" in rigging("sheet", "check", bench.sheet).err
