"""Temperatures with their times, as a rigger writes them."""

import pytest

from rigging.errors import UnitError, UsageError
from rigging.measure.timed import (
    Time,
    Timed,
    need_one_clock,
    parse_air,
    parse_own_part,
    parse_part_reading,
    parse_time,
)


@pytest.mark.parametrize(
    ("text", "hours", "by_clock"),
    [("08:20", 8 + 1 / 3, True), ("8:05", 8 + 1 / 12, True), ("24:20", 24 + 1 / 3, True), ("0:00", 0, True),
     ("08:59", 8 + 59 / 60, True), ("47:30", 47.5, True),
     ("20min", 1 / 3, False), ("20 min", 1 / 3, False), ("1.5 h", 1.5, False), ("0min", 0, False)],
)  # fmt: skip
def test_a_time(text, hours, by_clock):
    assert parse_time(text) == Time(pytest.approx(hours), by_clock)


@pytest.mark.parametrize("text", ["8", "08:60", "48:00", "8.20", "08:20:00", "-5min", "noon", "", "nan h", "5 lbf"])
def test_no_time(text):
    with pytest.raises(UnitError):
        parse_time(text)


# 12 C is 12 x 1.8 + 32 F, and 285.15 K is 12 C
@pytest.mark.parametrize(
    ("text", "part", "hours", "temperature"),
    [("cap 08:00 66F", "cap", 8, 66), ("lower  spar cap 20 min 12C", "lower spar cap", 1 / 3, 53.6),
     ("rib 4 1 h 285.15 K", "rib 4", 1, 53.6), ("cap 8:30 -5 F", "cap", 8.5, -5)],
)  # fmt: skip
def test_a_reading_of_a_part(text, part, hours, temperature):
    found = parse_part_reading(text)
    assert found.part == part
    assert found.time.time_h == pytest.approx(hours)
    assert found.temperature_degF == pytest.approx(temperature)


@pytest.mark.parametrize("text", ["cap 66F", "cap 08:00", "08:00 66F", "cap", "", "cap 66F 08:00"])
def test_no_reading_of_a_part(text):
    with pytest.raises(UsageError):
        parse_part_reading(text)


def test_a_reading_without_its_unit():
    with pytest.raises(UnitError, match="has no unit: write 66F or 66C"):
        parse_part_reading("cap 08:00 66")


def test_the_air():
    assert parse_air("54F") == Timed("", None, 54.0)
    assert parse_air("08:00 54F") == Timed("", Time(8.0, True), 54.0)
    with pytest.raises(UnitError):
        parse_air("54")
    with pytest.raises(UsageError, match="alone"):
        parse_air("hangar 08:00 54F")


def test_a_part_of_ones_own():
    assert parse_own_part("spar wood = 20min") == ("spar wood", pytest.approx(1 / 3))
    assert parse_own_part("cap") == ("cap", None)
    assert parse_own_part("hull=1000h") == ("hull", 1000.0)


@pytest.mark.parametrize("text", ["=20min", "spar=0min", "spar=-1h", "spar=20", "spar=2000h", "spar=fast"])
def test_no_part(text):
    with pytest.raises(UsageError):
        parse_own_part(text)


def test_clock_and_count_are_not_mixed():
    assert need_one_clock([Time(8, True), None]) is True
    assert need_one_clock([Time(8, False)]) is False
    assert need_one_clock([None]) is False
    with pytest.raises(UsageError, match="some times are by the clock"):
        need_one_clock([Time(8, True), Time(1, False)])
