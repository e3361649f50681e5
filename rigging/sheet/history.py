"""The story of a new cable: readings with their times, and the turns given in between, from a CSV file."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Sequence
from pathlib import Path
from typing import Final

import msgspec

from rigging.errors import BadFile, Problem, Refusal
from rigging.hardware.turnbuckle import MOST_HALF_TURNS
from rigging.physics.thermal import check_temperature
from rigging.sheet.cells import Row, read_rows
from rigging.sheet.rig import Rig
from rigging.yamlfile import read_text

NEEDED: Final = ("time", "circuit", "run")
OPTIONAL: Final = (
    "station", "riser", "dial", "tension", "uncertainty", "air", "structure", "tensiometer", "cycles", "half_turns", "state", "note",
)  # fmt: skip

MOST_ROWS: Final = 5000  # one a day for thirteen years, and answered in a few seconds
# a day alone would make one moment of the morning's reading and the evening's
_TIME: Final = re.compile(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d(:\d\d)?(Z|[+-]\d\d:\d\d)?", re.ASCII)
_COUNT: Final = re.compile(r"[+-]?\d{1,7}", re.ASCII)


class Event(msgspec.Struct, frozen=True):
    """A reading, turns given, or both: the reading was taken before the turns.

    dial or tension_lbf [lbf]: what was read; None in both where only turns were given. uncertainty_lbf
    [lbf]: U at 95 % of a tension that did not come from a dial. half_turns: on this run's turnbuckle,
    tightening positive. cycles: stop to stop so far.
    """

    time: dt.datetime
    circuit: str
    run: str
    station: str
    state: str
    half_turns: int
    riser: int | None = None
    dial: float | None = None
    tensiometer: str = ""
    tension_lbf: float | None = None
    uncertainty_lbf: float | None = None
    structure_degF: float | None = None
    air_degF: float | None = None
    cycles: float | None = None
    line: int | None = None

    @property
    def is_reading(self) -> bool:
        """Whether something was read."""
        return self.dial is not None or self.tension_lbf is not None


def load_history(path: Path, rig: Rig) -> list[Event]:
    """Read a CSV of a history. Raises BadFile with every problem in it."""
    return parse_history(read_text(path), str(path), rig)


def parse_history(text: str, name: str, rig: Rig) -> list[Event]:
    """The same for a text; events come back in the file's order, which must be that of time on every run."""
    problems: list[Problem] = []
    rows = read_rows(text, name, NEEDED, OPTIONAL, problems)
    if len(rows) > MOST_ROWS:
        raise BadFile.one(
            name, f"holds {len(rows)} rows, {MOST_ROWS} at most: keep those that tell the story of these cables"
        )
    made = [event for row in rows if (event := _event(row, rig)) is not None]
    problems += _clock_problems(made, name) or _order_problems(made, name)
    if problems:
        raise BadFile(problems)
    if not any(event.is_reading for event in made):
        raise BadFile.one(
            name, "holds turns and no reading: fill 'dial' and 'riser', or 'tension', where something was read"
        )
    return [msgspec.structs.replace(e, time=e.time.replace(tzinfo=None)) for e in made]


def _event(row: Row, rig: Rig) -> Event | None:
    before = len(row.problems)
    time = _time(row)
    run = row.run(rig)
    half_turns = _count(row, "half_turns") if row["half_turns"] else 0
    if half_turns and abs(half_turns) > MOST_HALF_TURNS:
        row.note(
            "half_turns", f"{half_turns:+d} half turns are more than a turnbuckle has: count half turns of its barrel"
        )
    if half_turns and run is not None and run.entry.turnbuckle is None:
        row.note("half_turns", f"{run.label} has no turnbuckle in the sheet: add 'turnbuckle: {{thread: ...}}'")
    cycles = _count(row, "cycles") if row["cycles"] else None
    if cycles is not None and cycles < 0:
        row.note("cycles", "a count of cycles cannot be negative")
    read = bool(row["dial"] or row["tension"])
    if row["dial"] and row["tension"]:
        row.note("tension", "'dial' and 'tension' both say what was read: keep one")
    elif not read and not half_turns:
        row.note("", "nothing was read and nothing turned: fill 'dial' and 'riser', 'tension', or 'half_turns'")
    structure, air = _temperature(row, "structure"), _temperature(row, "air")
    if read and not row["structure"]:
        row.note("structure", "the structure's temperature is missing: without it settling and cooling look alike")
    station = row.station(run) if read else row["station"]
    riser = dial = tension = uncertainty = serial = None
    if row["dial"]:
        riser, dial, serial = row.riser(), row.dial(), row.serial(rig)
        row.card_column(rig, run, serial, riser)
    elif row["tension"]:
        tension, uncertainty = row.quantity("tension", "force"), row.quantity("uncertainty", "force")
        if tension is not None and not tension > 0:
            row.note("tension", f"'{row['tension']}' is no tension: a cable that hangs slack tells nothing of settling")
        elif tension is not None and run is not None:
            try:
                run.cable.check_rigging_load(tension, "a tension")
            except Refusal as error:
                row.note("tension", str(error))
        if not row["uncertainty"]:
            row.note("uncertainty", "a tension that is not from a dial needs its uncertainty, U at 95 %, like 2 lbf")
        elif uncertainty is not None and not uncertainty > 0:
            row.note("uncertainty", "an uncertainty must be more than zero")
    if len(row.problems) > before or time is None:
        return None
    return Event(
        time, row["circuit"], row["run"], station, row["state"], half_turns or 0, riser, dial, serial or row["tensiometer"],
        tension, uncertainty, structure, air, cycles, row.line,
    )  # fmt: skip


def _time(row: Row) -> dt.datetime | None:
    text = row["time"]
    try:
        found = dt.datetime.fromisoformat(text) if _TIME.fullmatch(text) else None
        found = found if found is None or found.tzinfo is None else found.astimezone(dt.UTC)
    except (ValueError, OverflowError):  # no such day, or one that lies outside the calendar in UTC
        found = None
    if found is None:
        row.note("time", f"'{text}' is not a day and a time of day: write it like 2026-11-03T09:00")
    return found


def _temperature(row: Row, column: str) -> float | None:
    """A temperature [degF] inside the range of the models."""
    found = row.temperature_degF(column)
    try:
        if found is not None:
            check_temperature(found, f"{column} temperature")
    except Refusal as error:
        row.note(column, str(error))
    return found


def _count(row: Row, column: str) -> int | None:
    text = row[column]
    if _COUNT.fullmatch(text):
        return int(text)
    row.note(column, f"'{text}' is not a whole number: write it like 2 or -2")
    return None


def _clock_problems(events: Sequence[Event], name: str) -> list[Problem]:
    """Times with an offset from UTC beside times without: nobody knows how far they lie apart."""
    zoned = [event.time.tzinfo is not None for event in events]
    return [
        Problem(
            name, event.line, "time", "has no offset from UTC, as other times of the file have: give it to all or none"
        )
        for event, is_zoned in zip(events, zoned, strict=True)
        if any(zoned) and not is_zoned
    ]


def _order_problems(events: Sequence[Event], name: str) -> list[Problem]:
    problems = []
    last: dict[tuple[str, str], Event] = {}
    counted: dict[tuple[str, str], Event] = {}
    for event in events:
        key = (event.circuit, event.run)
        before = last.get(key)
        if before is not None and event.time < before.time:
            where = f"{event.circuit} / {event.run}"
            message = f"lies before line {before.line} of {where}: put rows in order"
            problems.append(Problem(name, event.line, "time", message))
        if before is not None and event.time == before.time and before.half_turns and event.is_reading:
            message = f"is that of the turns in line {before.line}, and a row's turns follow its reading: write when it was read"
            problems.append(Problem(name, event.line, "time", message))
        if event.cycles is not None:
            earlier = counted.get(key)
            if earlier is not None and event.cycles < (earlier.cycles or 0):
                message = f"is less than in line {earlier.line}: count from the first on"
                problems.append(Problem(name, event.line, "cycles", message))
            counted[key] = event
        last[key] = event
    return problems
