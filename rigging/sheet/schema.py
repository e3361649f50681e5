"""The rig sheet as it is written: one struct per block, its keys, kinds and rules."""

from __future__ import annotations

from typing import Literal

import msgspec

from rigging.schema import Angle, Expansion, Force, Length, Share, Size, Temperature, TemperatureDifference, TensionBand
from rigging.source import Basis


class AirframeEntry(msgspec.Struct, frozen=True):
    """The airframe's material; its own expansion beats the table's and needs a source."""

    material: str
    expansion_per_degF: Expansion | None = msgspec.field(default=None, name="expansion")
    half_width_per_degF: Expansion | None = msgspec.field(default=None, name="expansion_half_width")
    basis: Basis = Basis.AIRCRAFT
    source: str = ""

    def __post_init__(self) -> None:
        if self.expansion_per_degF is not None and not self.source:
            raise ValueError("an expansion of your own needs a source: say where it comes from")
        if self.expansion_per_degF is not None and self.half_width_per_degF is None:
            raise ValueError(
                "an expansion of your own needs expansion_half_width: how far it may be off, like 0.5e-6/C"
            )
        if self.expansion_per_degF is None and self.half_width_per_degF is not None:
            raise ValueError("expansion_half_width stands without expansion")


class TurnbuckleEntry(msgspec.Struct, frozen=True):
    """A turnbuckle: thread as drawn, threads showing at each end now."""

    thread: str
    threads_showing: tuple[int, int] | None = None

    def __post_init__(self) -> None:
        if self.threads_showing and min(self.threads_showing) < 0:
            raise ValueError("threads showing cannot be negative")


class PathPiece(msgspec.Struct, frozen=True):
    """A length of the run along one airframe material."""

    length_in: Length = msgspec.field(name="length")
    airframe: AirframeEntry | str


class PulleyEntry(msgspec.Struct, frozen=True):
    """A pulley on the run: wrap angle and bearing."""

    wrap_deg: Angle = msgspec.field(name="wrap")
    bearing: Literal["ball", "plain"] = "ball"
    name: str = ""


class FairleadEntry(msgspec.Struct, frozen=True):
    """A fairlead on the run: bend angle."""

    bend_deg: Angle = msgspec.field(name="bend")
    name: str = ""


class CableEntry(msgspec.Struct, frozen=True):
    """One cable of a circuit: what it is, where it runs, what it should be tensioned to."""

    size: Size
    length_in: Length = msgspec.field(name="length")
    from_end: str = msgspec.field(name="from")
    to_end: str = msgspec.field(name="to")
    construction: str = "7x19"
    material: Literal["carbon", "stainless"] = "carbon"
    turnbuckle: TurnbuckleEntry | None = None
    limits: TensionBand | None = None
    chart: str | None = None
    limits_basis: Basis = Basis.AIRCRAFT
    limits_source: str = ""
    path: list[PathPiece] = []
    pulleys: list[PulleyEntry] = []
    fairleads: list[FairleadEntry] = []
    stations: list[str] = []
    stiffness_lbf: Force | None = msgspec.field(default=None, name="stiffness")
    stiffness_uncertainty: Share | None = None

    def __post_init__(self) -> None:
        if (self.stiffness_lbf is None) != (self.stiffness_uncertainty is None):
            raise ValueError("a measured 'stiffness' and its 'stiffness_uncertainty' (like 5%) belong together")
        if self.limits is not None and self.chart is not None:
            raise ValueError("'limits' and 'chart' both say what the tension should be: keep one")
        if len(set(self.stations)) != len(self.stations):
            raise ValueError("a station is named twice")


class SectorEntry(msgspec.Struct, frozen=True):
    """A sector, quadrant or bellcrank: its arm, or one arm for each side."""

    arm_in: Length | None = msgspec.field(default=None, name="arm")
    arm_plus_in: Length | None = msgspec.field(default=None, name="arm_plus")
    arm_minus_in: Length | None = msgspec.field(default=None, name="arm_minus")

    def __post_init__(self) -> None:
        both = (self.arm_plus_in, self.arm_minus_in)
        if (self.arm_in is None) == (None in both) or (self.arm_in is not None and any(b is not None for b in both)):
            raise ValueError("give 'arm', or both 'arm_plus' and 'arm_minus'")


class CircuitEntry(msgspec.Struct, frozen=True):
    """One control circuit: sectors joined by cables, some sectors held by rig pins."""

    sectors: dict[str, SectorEntry]
    cables: dict[str, CableEntry]
    hold: list[str] = []


class AircraftEntry(msgspec.Struct, frozen=True):
    """Which aircraft this sheet is for."""

    name: str
    registration: str = "none"


class TemperatureRange(msgspec.Struct, frozen=True):
    """The coldest and hottest structure the aircraft will meet."""

    coldest_degF: Temperature = msgspec.field(name="coldest")
    hottest_degF: Temperature = msgspec.field(name="hottest")

    def __post_init__(self) -> None:
        if not self.coldest_degF < self.hottest_degF:
            raise ValueError("coldest must lie below hottest")


class SheetFile(msgspec.Struct, frozen=True):
    """A rig sheet: the aircraft, its airframe and every cable with its limits."""

    rig_sheet: Literal[1]
    aircraft: AircraftEntry
    reference_degF: Temperature = msgspec.field(name="reference_temperature")
    airframe: AirframeEntry | str
    circuits: dict[str, CircuitEntry]
    temperatures: TemperatureRange | None = None
    thermometer_half_width_degF: TemperatureDifference = msgspec.field(default=2.0, name="thermometer")
    tensiometers: list[str] = []
    chart: str | None = None
