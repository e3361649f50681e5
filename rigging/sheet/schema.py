"""The rig sheet as it is written: the aircraft, its circuits and the work that comes again. One struct per block."""

from __future__ import annotations

import re
from typing import Final, Literal

import msgspec

from rigging.hardware.cable import ProofRule
from rigging.schema import Temperature, TemperatureDifference
from rigging.sheet.cable_entry import AirframeEntry
from rigging.sheet.circuit_entry import CircuitEntry

_PASSWORD: Final = re.compile(r"^[^:/]+://[^@/]*:[^@/]+@|.*[?&]password=", re.IGNORECASE)


class TaskEntry(msgspec.Struct, frozen=True):
    """Work that comes again: after so many months, hours in the air, or in a season, as its source says.

    circuit: the one it is about; left out where it is about the whole aircraft.
    """

    task: str
    circuit: str = ""
    every_months: int | None = None
    every_hours: float | None = None
    season: str = ""
    source: str = ""

    def __post_init__(self) -> None:
        if not self.task.strip():
            raise ValueError("say in 'task' what is to be done")
        if self.every_months is None and self.every_hours is None and not self.season.strip():
            raise ValueError(
                "say when it comes again: 'every_months: 12', 'every_hours: 100' or 'season: before winter'"
            )
        if (self.every_months is not None and self.every_months < 1) or (
            self.every_hours is not None and not 0 < self.every_hours < float("inf")
        ):
            raise ValueError("every_months and every_hours count upward from the last time: they are more than zero")


class AircraftEntry(msgspec.Struct, frozen=True):
    """Which aircraft this sheet is for.

    kind: a rule for sailplanes alone is guidance for others; left out, it is held to such rules too.
    formerly: how the log named it before its name or registration changed, like [Dabchick] or ["Dabchick, X-ABC"].
    """

    name: str
    registration: str = "none"
    kind: Literal["airplane", "sailplane"] | None = None
    formerly: list[str] = []


class TemperatureRange(msgspec.Struct, frozen=True):
    """The coldest and hottest structure the aircraft will meet."""

    coldest_degF: Temperature = msgspec.field(name="coldest")
    hottest_degF: Temperature = msgspec.field(name="hottest")

    def __post_init__(self) -> None:
        if not self.coldest_degF < self.hottest_degF:
            raise ValueError("coldest must lie below hottest")


class SheetFile(msgspec.Struct, frozen=True):
    """A rig sheet: the aircraft, its airframe and every cable with its limits.

    proof_rule: whose rule says how far a new cable is pulled. log: a file beside the sheet or the address of a database; left
    out, it lies beside the sheet under its name.
    """

    rig_sheet: Literal[1]
    aircraft: AircraftEntry
    reference_degF: Temperature = msgspec.field(name="reference_temperature")
    airframe: AirframeEntry | str
    circuits: dict[str, CircuitEntry]
    temperatures: TemperatureRange | None = None
    thermometer_half_width_degF: TemperatureDifference = msgspec.field(default=2.0, name="thermometer")
    tensiometers: list[str] = []
    chart: str | None = None
    programme: list[TaskEntry] = []
    proof_rule: ProofRule = "AC 43.13-1B"
    log: str | None = None

    def __post_init__(self) -> None:
        if self.log is not None and not self.log.strip():
            raise ValueError("'log' is empty: name a file or a database, or leave it out")
        # a sheet is copied into the log with every check, and into what is exported from it
        if self.log is not None and _PASSWORD.match(self.log):
            raise ValueError("'log' holds a password: leave it out of the sheet, which is copied into every record")
