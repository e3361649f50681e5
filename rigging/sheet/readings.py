"""Dial readings from a CSV file, checked against the sheet; every problem of the file together."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from pathlib import Path
from typing import Final

import msgspec

from rigging.errors import BadFile, Problem, Refusal
from rigging.judge.temperatures import Condition
from rigging.sheet.cells import Row, read_rows
from rigging.sheet.rig import Rig
from rigging.told import degF, told
from rigging.yamlfile import read_text

NEEDED: Final = ("circuit", "run", "riser", "dial")
OPTIONAL: Final = ("station", "air", "structure", "cable_temperature", "tensiometer", "state", "note", "day")


class Reading(msgspec.Struct, frozen=True):
    """One dial reading.

    dial: as read; typed: the digits as typed. day: on which it was read, None where that is not said. air_degF, structure_degF, cable_temperature_degF [degF]:
    None where not noted. tensiometer: serial. line: in its file, None where typed at a prompt.
    """

    circuit: str
    run: str
    station: str
    riser: int
    dial: float
    typed: str
    tensiometer: str
    air_degF: float | None = None
    structure_degF: float | None = None
    cable_temperature_degF: float | None = None
    state: str = ""
    note: str = ""
    line: int | None = None
    day: dt.date | None = None


def load_readings(path: Path, rig: Rig) -> list[Reading]:
    """Read a CSV of readings. Raises BadFile with every problem in it."""
    return parse_readings(read_text(path), str(path), rig)


def parse_readings(text: str, name: str, rig: Rig) -> list[Reading]:
    """The same for a text; ``name`` stands in the messages."""
    problems: list[Problem] = []
    made = [_reading(row, rig) for row in read_rows(text, name, NEEDED, OPTIONAL, problems)]
    if not problems and len(days := sorted({r.day for r in made if r is not None}, key=str)) > 1:
        each = " and ".join(str(d or "none") for d in days[:2])
        problems.append(
            Problem(name, None, "day", f"readings of one day belong together, these say {each}: a file for each day")
        )
    if problems:
        raise BadFile(problems)
    return [reading for reading in made if reading is not None]


def last_day(readings: Sequence[Reading]) -> dt.date:
    """The last day of readings that say theirs. Raises Refusal where none does."""
    days = [r.day for r in readings if r.day is not None]
    if not days:
        raise Refusal("nothing was read on a day that is known: read it again")
    return max(days)


def _reading(row: Row, rig: Rig) -> Reading | None:
    before = len(row.problems)
    run = row.run(rig)
    station = row.station(run)
    riser, dial = row.riser(), row.dial()
    air, structure, cable = (row.temperature_degF(c) for c in ("air", "structure", "cable_temperature"))
    serial, day = row.serial(rig), row.day()
    row.card_column(rig, run, serial, riser)
    if len(row.problems) > before or riser is None or dial is None or serial is None:
        return None
    return Reading(
        circuit=row["circuit"],
        run=row["run"],
        station=station,
        riser=riser,
        dial=dial,
        typed=row["dial"],
        tensiometer=serial,
        air_degF=air,
        structure_degF=structure,
        cable_temperature_degF=cable,
        state=row["state"],
        note=row["note"],
        line=row.line,
        day=day,
    )


def condition_of(readings: Sequence[Reading], at_degF: float | None, half_width_degF: float) -> Condition:
    """The temperatures of the readings at one station, ``at_degF`` [degF] where they name none for the structure.

    Raises Refusal where there is none at all, or where they lie too far apart to be one.
    """
    structure = _one("structure", [r.structure_degF for r in readings], half_width_degF)
    structure = at_degF if structure is None else structure
    if structure is None:
        raise Refusal("no structure temperature: fill the column 'structure' or give --at; air alone is not enough")
    air = _one("air", [r.air_degF for r in readings], half_width_degF)
    cable = _one("cable", [r.cable_temperature_degF for r in readings], half_width_degF)
    return Condition(structure, half_width_degF, cable, air)


def _one(what: str, temperatures: Sequence[float | None], half_width_degF: float) -> float | None:
    known = [t for t in temperatures if t is not None]
    if not known:
        return None
    if max(known) - min(known) > 2 * half_width_degF:
        raise Refusal(
            told(
                "{} temperatures from {} to {} at one station: wait until it is steady and read again",
                what,
                degF(min(known), unit=False),
                degF(max(known)),
            )
        )
    return math.fsum(known) / len(known)
