"""The rig sheet as it is written: one struct per block, its keys, kinds and rules."""

from __future__ import annotations

from typing import Literal

import msgspec

from rigging.schema import (
    Angle,
    Expansion,
    Force,
    Give,
    Length,
    PositiveAngle,
    Rate,
    Share,
    Size,
    Temperature,
    TemperatureDifference,
    TensionBand,
    Time,
)
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
    """A turnbuckle: thread as drawn, threads showing at each end now.

    most_inside: threads the terminals may go in beyond flush; 4 where the sheet gives none, which is
    the limit at first assembly (AC 43.13-1B 7-166). A terminal that is sunk shows a negative count.
    """

    thread: str
    threads_showing: tuple[float, float] | None = None
    most_inside: float = 4

    def __post_init__(self) -> None:
        if self.most_inside < 0:
            raise ValueError("most_inside counts threads beyond flush and cannot be negative")
        if self.threads_showing and min(self.threads_showing) < -self.most_inside:
            raise ValueError(
                f"{min(self.threads_showing):g} threads showing is deeper than the {self.most_inside:g} that may go inside"
            )
        if self.threads_showing and max(self.threads_showing) > 30:
            raise ValueError(f"{max(self.threads_showing):g} threads showing is more than a terminal has")


class PathPiece(msgspec.Struct, frozen=True):
    """A length of the run along one airframe material."""

    length_in: Length = msgspec.field(name="length")
    airframe: AirframeEntry | str


class PulleyEntry(msgspec.Struct, frozen=True):
    """A pulley on the run: wrap angle, bearing, where it sits from the ``from`` end, its part number."""

    wrap_deg: Angle = msgspec.field(name="wrap")
    bearing: Literal["ball", "plain"] = "ball"
    at_in: Length | None = msgspec.field(default=None, name="at")
    name: str = ""
    part: str = ""


class FairleadEntry(msgspec.Struct, frozen=True):
    """A fairlead on the run: bend angle, where it sits from the ``from`` end."""

    bend_deg: Angle = msgspec.field(name="bend")
    at_in: Length | None = msgspec.field(default=None, name="at")
    name: str = ""


class BeddingInEntry(msgspec.Struct, frozen=True):
    """What the builder expects of a new cable: stretch as a share of length and the time it takes, 95 % ranges, with a source."""

    low: Share
    high: Share
    source: str
    fastest_h: Time = msgspec.field(default=1.0, name="fastest")
    slowest_h: Time = msgspec.field(default=500.0, name="slowest")

    def __post_init__(self) -> None:
        if not (self.low < self.high and self.fastest_h < self.slowest_h):
            raise ValueError("low must lie below high, and fastest below slowest")


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
    stations: list[str] | dict[str, Length] = []
    give_in_per_lbf: Give | None = msgspec.field(default=None, name="give")
    bracket_limit_lbf: Force | None = msgspec.field(default=None, name="bracket_limit")
    stiffness_lbf: Force | None = msgspec.field(default=None, name="stiffness")
    stiffness_uncertainty: Share | None = None
    history: Literal["new", "proof-loaded", "in-service"] = "new"
    bedding_in: BeddingInEntry | None = None

    def __post_init__(self) -> None:
        if (self.stiffness_lbf is None) != (self.stiffness_uncertainty is None):
            raise ValueError("a measured 'stiffness' and its 'stiffness_uncertainty' (like 5%) belong together")
        if self.limits is not None and self.chart is not None:
            raise ValueError("'limits' and 'chart' both say what the tension should be: keep one")
        if len(set(self.stations)) != len(self.stations):
            raise ValueError("a station is named twice")
        placed: dict[str, float] = dict(self.stations) if isinstance(self.stations, dict) else {}
        bends: list[PulleyEntry | FairleadEntry] = [*self.pulleys, *self.fairleads]
        placed |= {bend.name or "a pulley": bend.at_in for bend in bends if bend.at_in is not None}
        for name, at_in in placed.items():
            if at_in > self.length_in:
                raise ValueError(f"{name} at {at_in:.4g} in lies beyond the length of the run, {self.length_in:.4g} in")


class SectorEntry(msgspec.Struct, frozen=True):
    """A sector, quadrant or bellcrank: its arm, or one arm for each side.

    positive: what its surface does, in words, when it turns the way that lets the cables of its + side go longer.
    neutral_tolerance: how near to its mark it must rest; half a degree (practice) where the sheet gives none.
    """

    arm_in: Length | None = msgspec.field(default=None, name="arm")
    arm_plus_in: Length | None = msgspec.field(default=None, name="arm_plus")
    arm_minus_in: Length | None = msgspec.field(default=None, name="arm_minus")
    positive: str = ""
    neutral_tolerance_deg: PositiveAngle = msgspec.field(default=0.5, name="neutral_tolerance")

    def __post_init__(self) -> None:
        both = (self.arm_plus_in, self.arm_minus_in)
        if (self.arm_in is None) == (None in both) or (self.arm_in is not None and any(b is not None for b in both)):
            raise ValueError("give 'arm', or both 'arm_plus' and 'arm_minus'")

    def arm(self, side: int) -> float:
        """The arm [in] on the side +1 or -1."""
        own = self.arm_plus_in if side > 0 else self.arm_minus_in
        return float(self.arm_in if self.arm_in is not None else own or 0.0)


class SpringEntry(msgspec.Struct, frozen=True):
    """A spring between a sector and the airframe, or between two sectors; like a cable it only pulls."""

    from_end: str = msgspec.field(name="from")
    rate_lbf_per_in: Rate = msgspec.field(name="rate")
    pull_lbf: Force = msgspec.field(name="pull")
    to_end: str = msgspec.field(default="airframe", name="to")


class PilotEntry(msgspec.Struct, frozen=True):
    """Where the pilot pulls: the sector, the lever from its pivot to the hand, the force, and the surfaces it moves.

    force: by 14 CFR 23.397(b) where the sheet gives none: name the control. travel: from stop to stop.
    """

    sector: str
    lever_in: Length = msgspec.field(name="lever")
    surfaces: list[str]
    force_lbf: Force | None = msgspec.field(default=None, name="force")
    control: str = ""
    travel_deg: PositiveAngle | None = msgspec.field(default=None, name="travel")

    def __post_init__(self) -> None:
        if (self.force_lbf is None) == (not self.control):
            raise ValueError(
                "give 'force', or 'control' (like elevator stick) to take the limit force of 14 CFR 23.397(b)"
            )
        if not self.surfaces:
            raise ValueError("name the sectors of the surfaces under 'surfaces'")


class CircuitEntry(msgspec.Struct, frozen=True):
    """One control circuit: sectors joined by cables, some sectors held by rig pins."""

    sectors: dict[str, SectorEntry]
    cables: dict[str, CableEntry]
    hold: list[str] = []
    springs: dict[str, SpringEntry] = {}
    pilot: PilotEntry | None = None


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
