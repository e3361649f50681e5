"""Tables a user writes as CSV: rows by column name, cells read with their checks, every problem of the file together."""

from __future__ import annotations

import csv
import datetime as dt
import io
from collections import Counter
from collections.abc import Sequence

from rigging.clock import parse_day
from rigging.errors import MOST_PROBLEMS, BadFile, Problem, Refusal, UnitError, add_problem, nearest
from rigging.sheet.rig import Rig, Run
from rigging.units import parse, parse_temperature_degF


class Row:
    """One row: its line, its cells by column, and the list that takes its problems."""

    def __init__(self, name: str, line: int, cells: dict[str, str], problems: list[Problem]) -> None:
        self.name, self.line, self.cells, self.problems = name, line, cells, problems

    def __getitem__(self, column: str) -> str:
        return self.cells.get(column, "")

    def note(self, column: str, message: str) -> None:
        """Record a problem of a cell."""
        add_problem(self.problems, Problem(self.name, self.line, column, message))

    def run(self, rig: Rig) -> Run | None:
        """The run that ``circuit`` and ``run`` name."""
        circuit, name = self["circuit"], self["run"]
        run = rig.run(circuit, name)
        if circuit not in rig.file.circuits:
            self.note("circuit", f"no circuit '{circuit}' in the sheet{nearest(circuit, rig.file.circuits)}")
        elif run is None:
            known = rig.file.circuits[circuit].cables
            self.note("run", f"no run '{name}' in circuit {circuit}{nearest(name, known)}")
        return run

    def station(self, run: Run | None) -> str:
        """The station, which must be one of the run's where it names any."""
        station = self["station"]
        if run is not None and run.entry.stations and station not in run.entry.stations:
            self.note("station", f"no station '{station}' on {run.label}{nearest(station, run.entry.stations)}")
        return station

    def temperature_degF(self, column: str) -> float | None:
        """A temperature [degF]; None where the cell is empty or wrong."""
        try:
            return parse_temperature_degF(self[column]) if self[column] else None
        except UnitError as error:
            self.note(column, str(error))
        return None

    def quantity(self, column: str, quantity_name: str) -> float | None:
        """A quantity in the program's unit; None where the cell is empty or wrong."""
        try:
            return parse(quantity_name, self[column]) if self[column] else None
        except UnitError as error:
            self.note(column, str(error))
        return None

    def riser(self) -> int | None:
        """The riser's number."""
        text = self["riser"]
        if text.isascii() and text.isdigit() and len(text) < 4:
            return int(text)
        wrong = f"'{text}' is not a riser number: write it like 2"
        self.note("riser", wrong if text else "the riser is missing: write its number, like 2")
        return None

    def day(self) -> dt.date | None:
        """The day; None where the cell is empty or wrong."""
        try:
            return parse_day(self["day"]) if self["day"] else None
        except UnitError as error:
            self.note("day", str(error))
        return None

    def dial(self) -> float | None:
        """The dial reading."""
        if problem := dial_problem(self["dial"]):
            self.note("dial", problem)
            return None
        return float(self["dial"])

    def serial(self, rig: Rig) -> str | None:
        """The tensiometer's serial, which may be left out where the sheet has one card only."""
        text = self["tensiometer"]
        if not rig.cards:
            self.note(
                "tensiometer", "the sheet names no tensiometer: add its card, like tensiometers: [card-0417.yaml]"
            )
        elif text and text not in rig.cards:
            known = nearest(text, rig.cards)
            self.note("tensiometer", f"no card for tensiometer '{text}' in the sheet{known}: no card may be lent")
        elif not text and len(rig.cards) > 1:
            several = ", ".join(rig.cards)
            self.note(
                "tensiometer",
                f"the sheet has several tensiometers ({several}): add a column 'tensiometer' with the serial",
            )
        else:
            return text or next(iter(rig.cards))
        return None

    def card_column(self, rig: Rig, run: Run | None, serial: str | None, riser: int | None) -> None:
        """Note where the card has no column for this riser and cable."""
        if run is None or serial is None or riser is None:
            return
        try:
            rig.cards[serial].column(riser, run.cable.size)
        except Refusal as error:
            self.note("riser", str(error))


def dial_problem(text: str) -> str:
    """Why a text is no dial reading; empty where it is one."""
    if not text:
        return "the dial reading is missing: leave the whole line out where nothing was read"
    if "," in text:
        return f"'{text}' has a comma: write decimals with a point, like {text.replace(',', '.', 1)}"
    if not text.isascii() or not text.replace(".", "", 1).isdigit() or len(text) > 12:
        return f"'{text}' is not a dial reading: write the figure on the dial without a unit, like 31 or 31.5"
    return ""


def read_rows(
    text: str, name: str, needed: Sequence[str], optional: Sequence[str], problems: list[Problem]
) -> list[Row]:
    """The rows of a CSV below its heading; rows with too many fields are noted in ``problems`` and left out.

    Raises BadFile: empty, separated by semicolons, no CSV, a wrong heading, no row below it.
    """
    known = (*needed, *optional)
    if not text.strip():
        raise BadFile.one(name, "is empty: the first line names the columns, like " + ",".join(known))
    first = text.lstrip("\n").split("\n", 1)[0]
    if ";" in first and "," not in first:
        raise BadFile.one(name, "fields are separated by semicolons: save with commas, and decimals with a point", 1)
    rows = [(number, row) for number, row in _numbered(text, name) if any(cell.strip() for cell in row)]
    if not rows:
        raise BadFile.one(name, "holds no words, only commas: the first line names the columns", 1)
    heading, header = rows[0][0], [cell.strip() for cell in rows[0][1]]
    wrong = _header_problems(header, name, heading, needed, known)
    if wrong:
        raise BadFile(wrong)
    if len(rows) == 1:
        raise BadFile.one(name, "has a heading and no readings: write one reading a line below it", heading)
    found = []
    for line, row in rows[1:]:
        cells = dict(zip(header, [cell.strip() for cell in row] + [""] * (len(header) - len(row)), strict=False))
        made = Row(name, line, cells, problems)
        if len(row) > len(header):
            decimals = "a decimal comma? Write decimals with a point, like 31.5"
            made.note("", f"has {len(row)} fields for {len(header)} columns: {decimals}")
        else:
            found.append(made)
    return found


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


def _header_problems(
    header: list[str], name: str, line: int, needed: Sequence[str], known: Sequence[str]
) -> list[Problem]:
    def problem(message: str) -> Problem:
        return Problem(name, line, "heading", message)

    unknown = [c for c in header if c not in known][: MOST_PROBLEMS + 1]
    problems = [problem(f"unknown column '{c}'{nearest(c, known)}") for c in unknown]
    problems += [problem(f"column '{c}' is missing") for c in needed if c not in header]
    return problems + [problem(f"column '{c}' stands twice") for c, times in Counter(header).items() if times > 1]
