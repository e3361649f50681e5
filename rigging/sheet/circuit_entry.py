"""A control circuit in the rig sheet as it is written: its sectors, springs, surfaces and what the pilot pulls at."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from typing import Final

import msgspec

from rigging import tables
from rigging.errors import nearest
from rigging.schema import AngleRange, Force, Length, PositiveAngle, Rate, TensionBand
from rigging.sheet.cable_entry import CableEntry
from rigging.source import Basis
from rigging.yamlfile import Path_

PILOT_FORCES: Final = "pilot-forces-14cfr23-397"


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

    force: by 14 CFR 23.397(b), before amendment 64, where the sheet gives none: name the control. travel: from stop to
    stop; travel_plus, travel_minus: from neutral each way, + the way that tightens the cables on the + side.
    """

    sector: str
    lever_in: Length = msgspec.field(name="lever")
    surfaces: list[str]
    force_lbf: Force | None = msgspec.field(default=None, name="force")
    control: str = ""
    travel_deg: PositiveAngle | None = msgspec.field(default=None, name="travel")
    travel_plus_deg: PositiveAngle | None = msgspec.field(default=None, name="travel_plus")
    travel_minus_deg: PositiveAngle | None = msgspec.field(default=None, name="travel_minus")

    def __post_init__(self) -> None:
        if (self.force_lbf is None) == (not self.control):
            raise ValueError(
                "give 'force', or 'control' (like elevator stick) to take the limit force of 14 CFR 23.397(b), before amendment 64"
            )
        both = (self.travel_plus_deg, self.travel_minus_deg)
        if (None in both and any(both)) or (self.travel_deg is not None and any(both)):
            raise ValueError(
                "give both 'travel_plus' and 'travel_minus', from neutral each way, or 'travel', stop to stop"
            )
        if not self.surfaces:
            raise ValueError("name the sectors of the surfaces under 'surfaces'")


def pilot_problems(pilot: PilotEntry, sectors: Collection[str]) -> Iterator[tuple[Path_, str]]:
    """Place and message of all that is wrong in a ``pilot:`` block beside its own shape."""
    for path, name in ((("sector",), pilot.sector), *((("surfaces", i), n) for i, n in enumerate(pilot.surfaces))):
        if name not in sectors:
            yield path, f"no sector '{name}' in this circuit{nearest(name, sectors)}"
    for i, name in enumerate(pilot.surfaces):
        if name == pilot.sector:
            yield (
                ("surfaces", i),
                f"'{name}' is the pilot's own sector: name the sectors at the surfaces, which it moves",
            )
        elif name in pilot.surfaces[:i]:
            yield ("surfaces", i), f"'{name}' is named twice: keep one"
    controls = [str(row.values["control"]) for row in tables.load(PILOT_FORCES).rows]
    if pilot.control and pilot.control not in controls:
        said = f"no limit force is printed for '{pilot.control}'{nearest(pilot.control, controls)}"
        yield ("control",), f"{said}: name one of these, or give 'force' with its own figure"


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
