"""The rig sheet as it is written: one struct per block, its keys, kinds and rules."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final, Literal

import msgspec

from rigging.errors import nearest
from rigging.schema import (
    Angle,
    AngleRange,
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

_PASSWORD: Final = re.compile(r"^[^:/]+://[^@/]*:[^@/]+@|.*[?&]password=", re.IGNORECASE)


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


class SurfaceEntry(msgspec.Struct, frozen=True):
    """A surface that a circuit moves: how far each way, where neutral lies, and which way it goes for each input.

    travel: from neutral, by way (up, down, left ...: the user's own words). neutral: where it may rest, from its mark.
    moves: for each input the way the surface itself goes, never how the cables lie. sector: the one that moves it.
    stops: which stop should touch first, in words.
    """

    sector: str = ""
    travel: dict[str, AngleRange] = {}
    neutral: AngleRange | None = None
    moves: dict[str, str] = {}
    stops: str = ""
    basis: Basis = Basis.AIRCRAFT
    source: str = ""

    def __post_init__(self) -> None:
        if not self.travel and not self.moves:
            raise ValueError(
                "a surface needs 'travel', like {up: 18..22 deg}, or 'moves', like {stick left: up, stick right: down}"
            )
        for words in (*self.travel, *self.moves, *self.moves.values()):
            if not words.strip():
                raise ValueError("a way or an input of a surface is left empty: name it, like up or stick left")
        for key, words_of in (("travel", self.travel), ("moves", self.moves)):
            twice = _alike(words_of)
            if twice:
                raise ValueError(
                    f"'{twice[0]}' and '{twice[1]}' under '{key}' differ in capitals or blanks only: keep one"
                )
        for way, band in self.travel.items():
            if not band.high_deg > 0:
                raise ValueError(f"travel {way}, {band.text}: travel counts from neutral and is positive each way")
        for control, way in self.moves.items():
            if self.travel and way not in self.travel:
                raise ValueError(
                    f"'{control}' moves it '{way}', and 'travel' has no such way{nearest(way, self.travel)}"
                )
        if self.moves and _plain_count(self.moves.values()) < 2:
            raise ValueError(
                "'moves' needs at least two inputs that move the surface opposite ways, like {stick left: up, stick right: down}"
            )


def _plain(words: str) -> str:
    return " ".join(words.casefold().split())


def _plain_count(words: Iterable[str]) -> int:
    return len({_plain(w) for w in words})


def _alike(words: Iterable[str]) -> tuple[str, str] | None:
    """Two words that a reader would take for one, None where there are none."""
    seen: dict[str, str] = {}
    for one in words:
        other = seen.setdefault(_plain(one), one)
        if other != one:
            return other, one
    return None


class BridleEntry(msgspec.Struct, frozen=True):
    """The bridle of an autopilot on a circuit: its name and its own limits; it is set after the main circuit."""

    name: str
    limits: TensionBand
    basis: Basis = Basis.AIRCRAFT
    source: str = ""


class CircuitEntry(msgspec.Struct, frozen=True):
    """One control circuit: sectors joined by cables, some sectors held by rig pins, and the surfaces they move.

    friction_limit: the most that friction may hold back at the control, half the difference of two pulls.
    """

    sectors: dict[str, SectorEntry]
    cables: dict[str, CableEntry]
    hold: list[str] = []
    springs: dict[str, SpringEntry] = {}
    pilot: PilotEntry | None = None
    surfaces: dict[str, SurfaceEntry] = {}
    friction_limit_lbf: Force | None = msgspec.field(default=None, name="friction_limit")
    friction_basis: Basis = Basis.AIRCRAFT
    friction_source: str = ""
    bridle: BridleEntry | None = None

    def __post_init__(self) -> None:
        if self.friction_limit_lbf is None and self.friction_source:
            raise ValueError("friction_source stands without friction_limit")


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

    formerly: how the log named it before its name or registration changed, like [Dabchick] or ["Dabchick, X-ABC"].
    """

    name: str
    registration: str = "none"
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

    log: a file beside the sheet or the address of a database; left out, it lies beside the sheet under its name.
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
    log: str | None = None

    def __post_init__(self) -> None:
        if self.log is not None and not self.log.strip():
            raise ValueError("'log' is empty: name a file or a database, or leave it out")
        # a sheet is copied into the log with every check, and into what is exported from it
        if self.log is not None and _PASSWORD.match(self.log):
            raise ValueError("'log' holds a password: leave it out of the sheet, which is copied into every record")
