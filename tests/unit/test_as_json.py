"""JSON views: documents that any reader can read, with every figure's basis."""

import datetime as dt
import json
import math

import pytest

from rigging.hardware.cable import cable
from rigging.jobs.check import check
from rigging.measure.card import load_card
from rigging.measure.reading import read_tension
from rigging.measure.uncertainty import Combined, Component
from rigging.report import as_json
from rigging.sheet.load import load_rig
from rigging.sheet.readings import load_readings

TODAY = dt.date(2026, 11, 25)


def round_trip(value):
    def refuse(word):
        raise AssertionError(f"{word} is no JSON")

    return json.loads(as_json.dumps(value), parse_constant=refuse)


@pytest.mark.parametrize("value", [math.inf, -math.inf, math.nan])
def test_what_json_cannot_say_becomes_null(value):
    assert round_trip({"x": value}) == {"x": None}


def test_dates_and_words_become_text():
    assert round_trip({"day": TODAY, "name": "Möwe [lbf] \u2028"}) == {"day": "2026-11-25", "name": "Möwe [lbf] \u2028"}


def test_a_figure_that_no_table_has_is_null_and_says_why():
    found = round_trip(as_json.cable(cable("11/32", None, "stainless")))
    assert found["breaking_strength_lbf"] is None
    assert found["proof_load_lbf"] is None
    assert set(found["missing"]) >= {"breaking_strength_lbf", "proof_load_lbf"}
    assert "breaking_strength_lbf" not in found["sources"]
    assert found["stiffness_lbf"] == found["sources"]["stiffness_lbf"]["value"]


def test_infinitely_many_degrees_of_freedom_are_null(bench):
    certain = Combined((Component("a limit, not an estimate", 1.0),))
    assert round_trip(as_json.components(certain))[0]["degrees_of_freedom"] is None


def test_a_tension_carries_its_factor_and_its_parts(bench):
    tension = read_tension(load_card(bench.card), 1, "1/8", [35.0], TODAY)
    found = round_trip(as_json.pounds(tension))
    assert found["degrees_of_freedom"] > 5
    assert 1.96 < found["coverage_factor"] < 2.57
    assert found["readings"] == [{"dial": 35, "tension_lbf": 35}]
    assert found["uncertainty_lbf"] == pytest.approx(found["coverage_factor"] * found["standard_uncertainty_lbf"])
    squares = sum(c["standard_uncertainty_lbf"] ** 2 for c in found["components"])
    assert found["standard_uncertainty_lbf"] == pytest.approx(math.sqrt(squares))
    assert (found["card_serial"], found["card_due"], found["basis"]) == ("0007", "2027-01-15", "measured")


def test_a_window_is_null_where_no_band_was_given():
    found = round_trip(as_json.dial("riser 1, cable 1/8", "0007", True, 35.0, None, 35.0, "measured", "measured"))
    assert (found["dial"], found["window"]) == (35, None)
    found = round_trip(as_json.dial("riser 1, cable 1/8", "0007", True, None, (30, 40), None, "measured", "measured"))
    assert (found["dial"], found["window"]) == (None, {"low": 30, "high": 40})


def test_a_check_has_its_dials_as_numbers_and_names_what_it_rests_on(bench):
    bench.bend(bench.readings, "left,1,35,70F\nrudder,left,1,35,", "left,1,35.0,70F\nrudder,left,1,035,")
    rig = load_rig(bench.sheet)
    found = round_trip(as_json.check(check(rig, load_readings(bench.readings, rig), TODAY)))
    left = found["runs"][0]
    assert left["dials"] == [35.0, 35.0] and all(type(dial) is float for dial in left["dials"])
    assert (left["basis"], left["source"]) == ("aircraft", "aircraft: rig sheet of Test bed")
    assert any("EA" in line for line in left["assumptions"])
    assert found["cautions"]


def test_a_run_that_was_not_read_has_nulls_and_no_missing_keys(bench):
    rig = load_rig(bench.sheet)
    read, unread = (as_json.check(check(rig, r, TODAY))["runs"][0] for r in (load_readings(bench.readings, rig), []))
    assert set(read) == set(unread)
    found = round_trip(unread)
    assert found["verdict"] == "not measured"
    for key in ("tension_lbf", "uncertainty_lbf", "low_lbf", "side", "probability_in_limits", "refusal"):
        assert found[key] is None
    assert found["usable_for_sign_off"] is False
    assert found["dials"] == found["reasons"] == []
