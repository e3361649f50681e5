"""A cable in the rig sheet as it is written: what it is, what it runs along and over, what it should be tensioned to."""

from __future__ import annotations

from typing import Literal

import msgspec

from rigging.schema import AngleFromZero, Expansion, Force, Give, Length, Share, Size, TensionBand, Time
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

    wrap_deg: AngleFromZero = msgspec.field(name="wrap")
    bearing: Literal["ball", "plain"] = "ball"
    at_in: Length | None = msgspec.field(default=None, name="at")
    name: str = ""
    part: str = ""


class FairleadEntry(msgspec.Struct, frozen=True):
    """A fairlead on the run: bend angle, where it sits from the ``from`` end."""

    bend_deg: AngleFromZero = msgspec.field(name="bend")
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


class StrengthEntry(msgspec.Struct, frozen=True):
    """What a part that hangs in the run breaks at, and where that is printed."""

    strength_lbf: Force = msgspec.field(name="strength")
    source: str
    basis: Basis = Basis.AIRCRAFT

    def __post_init__(self) -> None:
        if not self.source.strip():
            raise ValueError("a strength needs a source: say where it is printed")


class StrengthsEntry(msgspec.Struct, frozen=True):
    """Strength of what a run hangs by beside its cable: its weaker terminal, its turnbuckle."""

    terminals: StrengthEntry | None = None
    turnbuckle: StrengthEntry | None = None


class CableEntry(msgspec.Struct, frozen=True):
    """One cable of a circuit: what it is, where it runs, what it should be tensioned to."""

    size: Size
    length_in: Length = msgspec.field(name="length")
    from_end: str = msgspec.field(name="from")
    to_end: str = msgspec.field(name="to")
    construction: str | None = None
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
    strengths: StrengthsEntry = StrengthsEntry()
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
