"""Dial readings from a CSV file, checked against the sheet; every problem of the file together."""

from __future__ import annotations

import csv
import io
from pathlib import Path
from typing import Final, Protocol

import msgspec

from rigging.errors import BadFile, Problem, Refusal, UnitError, nearest
from rigging.sheet.rig import Rig
from rigging.units import parse_temperature_degF
from rigging.yamlfile import read_text

NEEDED: Final = ("circuit", "run", "riser", "dial")
OPTIONAL: Final = ("station", "air", "structure", "cable_temperature", "tensiometer", "state", "note")


class Reading(msgspec.Struct, frozen=True):
    """One dial reading.

    dial: as read; typed: the digits as typed. air_degF, structure_degF, cable_temperature_degF [degF]:
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


def load_readings(path: Path, rig: Rig) -> list[Reading]:
    """Read a CSV of readings. Raises BadFile with every problem in it."""
    return parse_readings(read_text(path), str(path), rig)


def parse_readings(text: str, name: str, rig: Rig) -> list[Reading]:
    """The same for a text; ``name`` stands in the messages."""
    if not text.strip():
        raise BadFile.one(name, "is empty: the first line names the columns, like " + ",".join((*NEEDED, *OPTIONAL)))
    first = text.lstrip("\n").split("\n", 1)[0]
    if ";" in first and "," not in first:
        raise BadFile.one(name, "fields are separated by semicolons: save with commas, and decimals with a point", 1)
    rows = [(number, row) for number, row in _numbered(text, name) if any(cell.strip() for cell in row)]
    if not rows:
        raise BadFile.one(name, "holds no words, only commas: the first line names the columns", 1)
    heading, header = rows[0][0], [cell.strip() for cell in rows[0][1]]
    problems = _header_problems(header, name, heading)
    if problems:
        raise BadFile(problems)
    if len(rows) == 1:
        raise BadFile.one(name, "has a heading and no readings: write one dial reading a line below it", heading)
    readings = []
    for line, row in rows[1:]:
        reading = _reading(name, line, header, row, rig, problems)
        if reading is not None:
            readings.append(reading)
    if problems:
        raise BadFile(problems)
    return readings


def _numbered(text: str, name: str) -> list[tuple[int, list[str]]]:
    reader = csv.reader(io.StringIO(text), strict=True)
    rows, before = [], 0
    try:
        for row in reader:
            rows.append((before + 1, row))
            before = reader.line_num
    except csv.Error as error:
        raise BadFile.one(name, f"is not CSV: {error}", before + 1) from None
    return rows


def _header_problems(header: list[str], name: str, line: int) -> list[Problem]:
    known = (*NEEDED, *OPTIONAL)
    problems = [
        Problem(name, line, "heading", f"unknown column '{column}'{nearest(column, known)}")
        for column in header
        if column not in known
    ]
    problems += [Problem(name, line, "heading", f"column '{c}' is missing") for c in NEEDED if c not in header]
    problems += [
        Problem(name, line, "heading", f"column '{c}' stands twice")
        for c in dict.fromkeys(header)
        if header.count(c) > 1
    ]
    return problems


def _reading(
    name: str, line: int, header: list[str], row: list[str], rig: Rig, problems: list[Problem]
) -> Reading | None:
    before = len(problems)

    def note(column: str, message: str) -> None:
        problems.append(Problem(name, line, column, message))

    if len(row) > len(header):
        note(
            "",
            f"has {len(row)} fields for {len(header)} columns: a decimal comma? Write decimals with a point, like 31.5",
        )
        return None
    cells = dict(zip(header, [cell.strip() for cell in row] + [""] * (len(header) - len(row)), strict=True))
    run = rig.run(cells["circuit"], cells["run"])
    if cells["circuit"] not in rig.file.circuits:
        note("circuit", f"no circuit '{cells['circuit']}' in the sheet{nearest(cells['circuit'], rig.file.circuits)}")
    elif run is None:
        known = rig.file.circuits[cells["circuit"]].cables
        note("run", f"no run '{cells['run']}' in circuit {cells['circuit']}{nearest(cells['run'], known)}")
    station = cells.get("station", "")
    if run is not None and run.entry.stations and station not in run.entry.stations:
        note("station", f"no station '{station}' on {run.label}{nearest(station, run.entry.stations)}")
    riser = _whole(cells["riser"], note)
    dial = _dial(cells["dial"], note)
    temperatures: dict[str, float | None] = {}
    for column in ("air", "structure", "cable_temperature"):
        try:
            temperatures[column] = parse_temperature_degF(cells[column]) if cells.get(column) else None
        except UnitError as error:
            note(column, str(error))
    serial = _serial(cells.get("tensiometer", ""), rig, note)
    if riser is not None and serial is not None and run is not None:
        try:
            rig.cards[serial].column(riser, run.cable.size)
        except Refusal as error:
            note("riser", str(error))
    if len(problems) > before or riser is None or dial is None or serial is None:
        return None
    return Reading(
        circuit=cells["circuit"],
        run=cells["run"],
        station=station,
        riser=riser,
        dial=dial,
        typed=cells["dial"],
        tensiometer=serial,
        air_degF=temperatures["air"],
        structure_degF=temperatures["structure"],
        cable_temperature_degF=temperatures["cable_temperature"],
        state=cells.get("state", ""),
        note=cells.get("note", ""),
        line=line,
    )


class _Note(Protocol):
    """The signature of the function that records a problem of the current row."""

    def __call__(self, column: str, message: str) -> None: ...


def _whole(text: str, note: _Note) -> int | None:
    if text.isascii() and text.isdigit() and len(text) < 4:
        return int(text)
    note(
        "riser",
        f"'{text}' is not a riser number: write it like 2"
        if text
        else "the riser is missing: write its number, like 2",
    )
    return None


def dial_problem(text: str) -> str:
    """Why a text is no dial reading; empty where it is one."""
    if not text:
        return "the dial reading is missing: leave the whole line out where nothing was read"
    if "," in text:
        return f"'{text}' has a comma: write decimals with a point, like {text.replace(',', '.', 1)}"
    if not text.isascii() or not text.replace(".", "", 1).isdigit() or len(text) > 12:
        return f"'{text}' is not a dial reading: write the figure on the dial without a unit, like 31 or 31.5"
    return ""


def _dial(text: str, note: _Note) -> float | None:
    if problem := dial_problem(text):
        note("dial", problem)
        return None
    return float(text)


def _serial(text: str, rig: Rig, note: _Note) -> str | None:
    if not rig.cards:
        note("tensiometer", "the sheet names no tensiometer: add its card, like tensiometers: [card-0417.yaml]")
        return None
    if text:
        if text in rig.cards:
            return text
        note(
            "tensiometer",
            f"no card for tensiometer '{text}' in the sheet{nearest(text, rig.cards)}: no card may be lent",
        )
        return None
    if len(rig.cards) == 1:
        return next(iter(rig.cards))
    note(
        "tensiometer",
        f"the sheet has several tensiometers ({', '.join(rig.cards)}): add a column 'tensiometer' with the serial",
    )
    return None
