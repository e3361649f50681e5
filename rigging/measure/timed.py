"""Temperatures with the time they were read at, as a rigger writes them down: ``cap 08:00 66F``, ``54F``, ``20min 60F``."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final

import msgspec

from rigging.errors import UnitError, UsageError
from rigging.units import parse, parse_temperature_degF, tidy

LAST_HOUR: Final = 47  # 24:20 is twenty past midnight of a night's work
_CLOCK = re.compile(r"(\d{1,2}):(\d{2})", re.ASCII)
_TIME = r"\d{1,2}:\d{2}|\d+(?:\.\d*)?\s*(?:min|h|s)\b"
_READING = re.compile(rf"(?:(?P<part>\S.*?)\s+)?(?P<time>{_TIME})\s+(?P<temperature>\S.*)", re.ASCII)


class Time(msgspec.Struct, frozen=True):
    """time_h [h]: since midnight where it is by the clock, else since whatever the rigger counts from."""

    time_h: float
    by_clock: bool


class Timed(msgspec.Struct, frozen=True):
    """One temperature [degF] of a part (empty: the air); time None where none was given."""

    part: str
    time: Time | None
    temperature_degF: float


def parse_time(text: str) -> Time:
    """``08:20`` or ``20min``. Raises UnitError."""
    raw = tidy(text)
    if found := _CLOCK.fullmatch(raw):
        hours, minutes = int(found[1]), int(found[2])
        if hours > LAST_HOUR or minutes > 59:
            raise UnitError(f"'{raw}' is no time of day: write it like 08:20, after midnight like 24:20")
        return Time(hours + minutes / 60, True)
    try:
        time_h = parse("time", raw)
    except UnitError as error:
        raise UnitError(f"'{raw}' is not a time: write it like 08:20 or 20min") from error
    if time_h < 0:
        raise UnitError(f"'{raw}': a time cannot be below zero")
    return Time(time_h, False)


def parse_part_reading(text: str) -> Timed:
    """``cap 08:00 66F``: part, time, temperature. Raises UnitError or UsageError."""
    raw = tidy(text)
    found = _READING.fullmatch(raw)
    if not found or not found["part"]:
        raise UsageError(f"'{raw}': write part, time and temperature, like 'cap 08:00 66F' or 'cap 20min 60F'")
    return Timed(
        " ".join(found["part"].split()), parse_time(found["time"]), parse_temperature_degF(found["temperature"])
    )  # fmt: skip


def parse_air(text: str) -> Timed:
    """``54F`` or ``08:00 54F``. Raises UnitError."""
    raw = tidy(text)
    found = _READING.fullmatch(raw)
    if not found:
        return Timed("", None, parse_temperature_degF(raw))
    if found["part"]:
        raise UsageError(f"'{raw}': write the air's time and temperature alone, like '08:00 54F'")
    return Timed("", parse_time(found["time"]), parse_temperature_degF(found["temperature"]))


def parse_own_part(text: str) -> tuple[str, float | None]:
    """``spar=20min``: a part and its time constant [h]; ``cap`` alone is one of the table. Raises UnitError, UsageError."""
    raw = tidy(text)
    name, equals, constant = raw.partition("=")
    name = " ".join(name.split())
    if not name:
        raise UsageError(f"'{raw}': write a part, like cap, or one of your own with its time constant, like spar=20min")
    if not equals:
        return name, None
    time_constant_h = parse("time", constant)
    if not 0 < time_constant_h <= 1000:
        raise UnitError(f"'{raw}': a time constant lies above zero and below 1000 h")
    return name, time_constant_h


def need_one_clock(times: Iterable[Time | None]) -> bool:
    """Whether all times are by the clock. Raises UsageError where clock times and counted minutes are mixed."""
    kinds = {time.by_clock for time in times if time is not None}
    if len(kinds) > 1:
        raise UsageError("some times are by the clock and some are counted: write all like 08:20, or all like 20min")
    return kinds == {True}
