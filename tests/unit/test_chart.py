"""The aircraft's own chart: temperature, low and high."""

import math

import pytest

from rigging.errors import BadFile, Refusal
from rigging.judge.chart import check_chart, limits_from_chart
from rigging.judge.temperatures import Condition
from rigging.tables import load_file

CHART = """\
table: 1
kind: chart
title: Rudder cable tension against temperature
source: {basis: aircraft, document: maintenance manual, place: figure 6-2}
columns:
  for: {unit: text}
  temperature: {unit: F}
  low: {unit: lbf}
  high: {unit: lbf}
rows:
  - [rudder, 20, 14, 22]
  - [rudder, 50, 20, 28]
  - [rudder, 70, 25, 33]
  - [elevator, 40, 30, 40]
  - [elevator, 80, 50, 70]
"""


@pytest.fixture
def chart_of(tmp_path):
    def load(old="", new=""):
        assert old in CHART
        path = tmp_path / "chart.yaml"
        path.write_text(CHART.replace(old, new) if old else CHART, encoding="utf-8")
        table = load_file(path)
        check_chart(table)
        return table

    return load


def at(table, degF, name="rudder", reference=70.0):
    return limits_from_chart(table, name, Condition(degF), reference)


@pytest.mark.parametrize(
    ("degF", "low", "high"), [(20, 14, 22), (35, 17, 25), (50, 20, 28), (60, 22.5, 30.5), (70, 25, 33)]
)
def test_straight_between_the_printed_points(chart_of, degF, low, high):
    found = at(chart_of(), degF)
    assert (found.low_lbf, found.high_lbf) == pytest.approx((low, high))
    assert found.target_lbf == pytest.approx((low + high) / 2)
    assert (found.reference_low_lbf, found.reference_high_lbf) == (25, 33)


def test_a_reading_is_brought_to_reference_along_the_middle(chart_of):
    # its middle is 18 at 20 F and 29 at 70 F
    found = at(chart_of(), 20)
    assert found.shift_lbf == pytest.approx(-11)
    assert found.at_reference_lbf(18) == pytest.approx(29)


@pytest.mark.parametrize("degF", [19.9, 70.1])
def test_no_figure_outside_the_charts_own_lines(chart_of, degF):
    with pytest.raises(Refusal, match=r"outside the chart \(chart, rudder: 20 to 70 F\)"):
        at(chart_of(), degF)


def test_nor_for_a_reference_temperature_outside_them(chart_of):
    with pytest.raises(Refusal, match="at reference temperature: 20 to 70 F"):
        at(chart_of(), 50, reference=75)


@pytest.mark.parametrize("degF", [-65.1, 160.1])
def test_nor_outside_the_bounds_of_all_figures(chart_of, degF):
    with pytest.raises(Refusal, match="outside -65 to 160 F"):
        at(chart_of(), degF)


def test_an_unknown_name_is_asked_about(chart_of):
    with pytest.raises(Refusal, match=r"no lines for 'ruder' \(did you mean 'rudder'\?\)"):
        at(chart_of(), 50, "ruder")


def test_the_thermometer_counts_by_the_slope_of_the_line(chart_of):
    # 30 F raise the middle by 6 lbf
    (component,) = at(chart_of(), 35).components
    assert component.standard_uncertainty == pytest.approx(0.2 * 2 / math.sqrt(3))


def test_the_sign_in_words(chart_of):
    assert at(chart_of(), 35).direction == "warmer is tighter"
    assert at(chart_of("[rudder, 50, 20, 28]", "[rudder, 50, 10, 18]"), 35).direction == "warmer is looser"


def test_the_aircrafts_own_chart_may_be_signed_for(chart_of):
    assert at(chart_of(), 35).usable_for_sign_off is True


@pytest.mark.parametrize("row", [1, 2, 3])
@pytest.mark.parametrize("column", ["temperature", "low", "high"])
def test_a_line_with_one_remembered_figure_may_not(chart_of, row, column):
    table = chart_of("rows:", f"cells:\n  - {{row: {row}, column: {column}, basis: memory}}\nrows:")
    assert at(table, 35).usable_for_sign_off is False
    assert at(table, 50, "elevator").usable_for_sign_off is True


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("kind: chart\n", "", "'kind: chart' is needed"),
        ("low: {unit: lbf}", "low: {unit: in}", "a column 'low' in lbf is needed"),
        ("  temperature: {unit: F}", "  temperature: {unit: C}", "a column 'temperature' in F is needed"),
        ("[rudder, 20, 14, 22]", "[rudder, 20, 22, 14]", "low 22 must lie above zero and below high 14"),
        ("[rudder, 20, 14, 22]", "[rudder, 20, 14, 14]", "must lie above zero and below high"),
        ("[rudder, 20, 14, 22]", "[rudder, 20, 0, 22]", "must lie above zero"),
        ("[rudder, 50, 20, 28]", "[rudder, 20, 20, 28]", "temperatures of 'rudder' must rise down the page"),
        ("[rudder, 50, 20, 28]", "[rudder, 50, null, 28]", "no blank cells"),
        ("  - [elevator, 80, 50, 70]\n", "", "'elevator' has a single temperature: two are needed"),
    ],
)
def test_a_chart_that_cannot_be_right_is_not_read(chart_of, old, new, words):
    with pytest.raises(BadFile, match=words):
        chart_of(old, new)


@pytest.mark.parametrize("row", [1, 3])
def test_the_source_is_that_of_the_first_row(chart_of, row):
    table = chart_of("rows:", f"cells:\n  - {{row: {row}, column: low, basis: memory}}\nrows:")
    assert (at(table, 60).source.basis.value == "memory") is (row == 1)


def test_a_chart_whose_temperatures_fall_down_the_page_is_not_read(chart_of):
    with pytest.raises(BadFile, match="temperatures of 'rudder' must rise down the page"):
        chart_of("[rudder, 50, 20, 28]", "[rudder, 10, 20, 28]")
