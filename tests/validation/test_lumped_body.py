"""A body of one temperature that follows the air around it.

Reference: the lumped-capacitance exercise of university courses on heat transfer: a steel ball of 20 mm in a bath with a
film coefficient of 1000 W/m2K has a time constant of 13 s; with the usual round figures of steel, 7800 kg/m3 and
500 J/kgK, V/A of a ball is a sixth of its diameter. Time constants in still air, computed for the trade: cable and thin
skin 3 min, 6 mm cap 12 min, 25 mm fitting about 50 min.
"""

import math

import pytest

from rigging import tables
from rigging.errors import Refusal
from rigging.hardware.parts import parts
from rigging.physics.steady import difference_left_degF, fit_time_constant, time_constant_s, wait_h
from rigging.source import Basis

TABLE = "time-constants-still-air"
STILL_AIR = 10.0, 8.0  # W/m2K: usual, low end


def test_the_steel_ball():
    assert time_constant_s(0.020 / 6, 7800, 500, 1000) == pytest.approx(13, abs=0.1)


@pytest.mark.parametrize(
    ("part", "minutes", "within"), [("cable", 3, 0.5), ("skin", 3, 0.5), ("cap", 12, 0.5), ("fitting", 50, 1)]
)
def test_the_figures_of_the_trade(part, minutes, within):
    assert 60 * parts()[part].time_constant_h == pytest.approx(minutes, abs=within)


@pytest.mark.parametrize("part", ["cable", "skin", "cap", "fitting"])
def test_every_row_of_the_table_is_the_formula_with_its_own_figures(part):
    row = tables.load(TABLE).find(part=part)
    body = row.values["volume_per_area"] / 1000, row.values["density"], row.values["specific_heat"]
    for column, film in zip(("usual", "longest"), STILL_AIR, strict=True):
        assert row.values[column] == pytest.approx(math.prod(body) / film / 60, abs=0.05)
        assert row.values[column] == pytest.approx(time_constant_s(*body, film) / 60, abs=0.05)
        assert row.source(column).basis is Basis.COMPUTED
    for recalled in ("density", "specific_heat"):
        assert row.source(recalled).basis is Basis.MEMORY


def test_volume_over_area_is_the_geometry_of_the_part():
    column = {row.values["part"]: row.values["volume_per_area"] for row in tables.load(TABLE).rows}
    assert column["cable"] == pytest.approx(
        0.585 * 25.4 / 8 / 4, abs=5e-5
    )  # a wire: a quarter of its diameter, 0.585 of it metal
    assert (column["skin"], column["cap"], column["fitting"]) == (0.8, 6 / 2, 25 / 2)


def stepped_h(difference, within, time_constant_h, steps_per_constant=20_000):
    """When a part comes within, by small steps of its rate of cooling: a second method."""
    step_h, time_h = time_constant_h / steps_per_constant, 0.0
    while abs(difference) > within:
        middle = difference - difference / 2 / steps_per_constant
        difference -= middle / steps_per_constant
        time_h += step_h
    return time_h


@pytest.mark.parametrize(("difference", "within", "time_constant_h"), [(16, 2, 0.2), (-30, 2, 50 / 60), (2.5, 2, 0.05)])
def test_the_wait_against_small_steps(difference, within, time_constant_h):
    found = wait_h(difference, within, time_constant_h)
    assert found == pytest.approx(stepped_h(difference, within, time_constant_h), rel=1e-3)
    assert abs(difference_left_degF(difference, found, time_constant_h)) == pytest.approx(within)


def test_two_readings_by_hand():
    # 12 F off, then 6 F twenty minutes later: it halves in 20 min
    found = fit_time_constant([8.0, 8.0 + 1 / 3], [12.0, 6.0], 2.0)
    assert 60 * found.time_constant_h == pytest.approx(20 / math.log(2))
    # ln d is off by u/d; u = 2/sqrt(3)
    rate, u = math.log(2) / 20, 2 / math.sqrt(3) * math.hypot(1 / 12, 1 / 6) / 20
    weighted = (
        2 / math.sqrt(3) / math.sqrt(144 * 4**2 + 36 * 16**2)
    )  # the mean time by weight lies 4 min after the first
    assert u == pytest.approx(weighted)
    assert 60 * found.low_h == pytest.approx(1 / (rate + 1.96 * u), rel=1e-4)
    assert 60 * found.high_h == pytest.approx(1 / (rate - 1.96 * u), rel=1e-4)


def test_many_readings_against_a_weighted_line():
    import numpy as np

    times, differences = np.array([0, 0.1, 0.25, 0.5, 0.9]), np.array([-20, -16.3, -11.8, -7.1, -3.0])
    slope = np.polyfit(times, np.log(-differences), 1, w=-differences)[0]  # weights of numpy multiply the residual
    assert fit_time_constant(times, differences, 2.0).time_constant_h == pytest.approx(-1 / slope)


def test_a_thick_piece_of_wood_is_no_lumped_body():
    with pytest.raises(Refusal, match=r"the inside lags behind the surface"):
        time_constant_s(0.0125, 500, 1700, 10, conductivity_W_per_mK=0.12)
    assert time_constant_s(0.0125, 2780, 875, 10, conductivity_W_per_mK=120) > 0
