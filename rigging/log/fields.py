"""The fields of every kind of entry that is written by hand: one struct each, with the units of its fields.

``given`` in an entry holds the fields as they were typed, with their units; these structs read them.
"""

from __future__ import annotations

from typing import Any, Final, Literal

import msgspec

from rigging.hardware.turnbuckle import MOST_HALF_TURNS, WireMaterial, Wrap
from rigging.judge.condition import CableCondition
from rigging.schema import Angle, Force, Length, PositiveAngle, Temperature, Time
from rigging.sheet.cells import dial_problem


class Adjustment(msgspec.Struct, frozen=True):
    """A turnbuckle was turned.

    turnbuckle: the cable it sits in. half_turns: + tightens, - loosens. threads_showing: at each end, afterwards.
    """

    turnbuckle: str
    half_turns: int
    threads_showing: tuple[float, float]
    remark: str = ""

    def __post_init__(self) -> None:
        if self.half_turns == 0:
            raise ValueError("half_turns is zero: nothing was turned")
        if abs(self.half_turns) > MOST_HALF_TURNS:
            raise ValueError(
                f"{self.half_turns:+d} half turns are more than a turnbuckle has: count half turns of its barrel"
            )


class CableFitted(msgspec.Struct, frozen=True):
    """A cable was fitted: the assembly, the batch, its proof load, time and gauge, or the number of the maker's certificate."""

    cable: str
    assembly: str
    batch: str
    proof_load_lbf: Force | None = msgspec.field(default=None, name="proof_load")
    proof_time_h: Time | None = msgspec.field(default=None, name="proof_time")
    gauge: str = ""
    certificate: str = ""
    threads_showing: tuple[float, float] | None = None
    remark: str = ""

    def __post_init__(self) -> None:
        _need_whole_proof(self)


class ProofLoad(msgspec.Struct, frozen=True):
    """The proof load of a cable that is fitted: how far it was pulled, how long, on which gauge, or the maker's certificate."""

    cable: str
    certificate: str = ""
    proof_load_lbf: Force | None = msgspec.field(default=None, name="proof_load")
    proof_time_h: Time | None = msgspec.field(default=None, name="proof_time")
    gauge: str = ""
    remark: str = ""

    def __post_init__(self) -> None:
        if self.proof_load_lbf is None and not self.certificate.strip():
            raise ValueError("give 'proof_load', 'proof_time' and 'gauge', or the number of the maker's 'certificate'")
        _need_whole_proof(self)


class Travel(msgspec.Struct, frozen=True):
    """How far a surface moves each way from neutral; uncertainty: U of the protractor."""

    surface: str
    ways: dict[str, Angle]
    uncertainty_deg: PositiveAngle | None = msgspec.field(default=None, name="uncertainty")
    instrument: str = ""
    remark: str = ""

    def __post_init__(self) -> None:
        if not self.ways:
            raise ValueError("'ways' is empty: write each way with its degrees, like up=20 deg")


class Neutral(msgspec.Struct, frozen=True):
    """Where a surface rests with the control at neutral; + and - as the sheet says."""

    surface: str
    offset_deg: Angle = msgspec.field(name="offset")
    uncertainty_deg: PositiveAngle | None = msgspec.field(default=None, name="uncertainty")
    instrument: str = ""
    remark: str = ""


class Stops(msgspec.Struct, frozen=True):
    """Which stop touches first each way, and the cushion: how far the control goes on after the surface has stopped."""

    surface: str
    touches_first: dict[str, str]
    cushion_in: dict[str, Length] = msgspec.field(default={}, name="cushion")
    remark: str = ""

    def __post_init__(self) -> None:
        if not self.touches_first:
            raise ValueError("'touches_first' is empty: write each way with its stop, like up=surface")
        if any(not stop.strip() for stop in self.touches_first.values()):
            raise ValueError("name the stop that touches first, like up=surface")


class Friction(msgspec.Struct, frozen=True):
    """Two pulls of a spring scale that move the control slowly, one way and the other."""

    pull_one_lbf: Force = msgspec.field(name="pull_one")
    pull_other_lbf: Force = msgspec.field(name="pull_other")
    where: str = ""
    uncertainty_lbf: Force | None = msgspec.field(default=None, name="uncertainty")
    remark: str = ""


class Direction(msgspec.Struct, frozen=True):
    """How a surface was seen to move, for each input: the surface, never how the cables lie."""

    surface: str
    seen: dict[str, str]
    remark: str = ""

    def __post_init__(self) -> None:
        _need_seen(self.seen)


WIRE_NEEDED: Final = "name the wire by 'wire_diameter', 'wire_material' and 'wrap', like 0.040 in, stainless and single"


class Safetying(msgspec.Struct, frozen=True):
    """How a turnbuckle was secured. safe: seen to be secured, witness holes and threads showing looked at.

    wire: words, in entries from before the wire was judged.
    """

    turnbuckle: str
    method: Literal["locking wire", "locking clips", "other"]
    threads_showing: tuple[float, float]
    safe: bool
    wire_diameter_in: Length | None = msgspec.field(default=None, name="wire_diameter")
    wire_material: WireMaterial | None = None
    wrap: Wrap | None = None
    wire: str = ""
    remark: str = ""

    def __post_init__(self) -> None:
        if self.method == "locking wire" and not (self.wire or self.names_wire):
            raise ValueError(WIRE_NEEDED)
        named = (self.wire_diameter_in, self.wire_material, self.wrap)
        if self.method != "locking wire" and any(part is not None for part in named):
            raise ValueError("'wire_diameter', 'wire_material' and 'wrap' go with the method 'locking wire'")
        if self.method == "other" and not self.remark:
            raise ValueError("say in 'remark' how it is secured")

    @property
    def names_wire(self) -> bool:
        """Whether the wire can be judged."""
        return None not in (self.wire_diameter_in, self.wire_material, self.wrap)


class Condition(CableCondition, frozen=True, kw_only=True):
    """What was seen on a cable or pulley; what was not looked at is left out."""

    part: str
    remark: str = ""

    def __post_init__(self) -> None:
        if not self.part:
            raise ValueError("name the 'part' that was looked at, like left or pulley at rib 4")


class Bridle(msgspec.Struct, frozen=True):
    """The tension of the autopilot's bridle, set after the main circuit."""

    tension_lbf: Force = msgspec.field(name="tension")
    uncertainty_lbf: Force = msgspec.field(name="uncertainty")
    structure_degF: Temperature = msgspec.field(name="structure")
    instrument: str
    remark: str = ""


class Inspection(msgspec.Struct, frozen=True):
    """What a second person saw, written down without looking at what the first wrote.

    seen: by surface, the way it moved for each input. secured: by turnbuckle. alone: nobody else was there;
    then reason and pause say why, and how long the one person waited before looking again.
    """

    seen: dict[str, dict[str, str]]
    secured: dict[str, bool]
    free_over_full_travel: bool
    tools_removed: bool
    alone: bool = False
    reason: str = ""
    pause_h: Time | None = msgspec.field(default=None, name="pause")
    remark: str = ""

    def __post_init__(self) -> None:
        if self.alone and not (self.reason.strip() and self.pause_h is not None):
            raise ValueError("working alone needs its 'reason' and the 'pause' before looking again, like 12 h")
        for ways in self.seen.values():
            _need_seen(ways)


class Conditions(msgspec.Struct, frozen=True):
    """The aircraft before it is read: its state, the temperatures, and since when they are steady."""

    state: str
    structure_degF: Temperature = msgspec.field(name="structure")
    steady_since: str
    air_degF: Temperature | None = msgspec.field(default=None, name="air")
    remark: str = ""


class Pins(msgspec.Struct, frozen=True):
    """Whether the rig pins of a circuit are in."""

    inserted: bool
    remark: str = ""


class Reading(msgspec.Struct, frozen=True):
    """Dial readings of one run at one station, as read; ``check`` makes pounds and a verdict of them."""

    run: str
    riser: int
    dial: tuple[str, ...]
    tensiometer: str
    station: str = ""
    remark: str = ""

    def __post_init__(self) -> None:
        if not self.dial:
            raise ValueError("no dial reading is given")
        for text in self.dial:
            if problem := dial_problem(text):
                raise ValueError(problem)


class Cycled(msgspec.Struct, frozen=True):
    """The controls were moved stop to stop, so many times."""

    times: int

    def __post_init__(self) -> None:
        if self.times < 1:
            raise ValueError("the controls were moved at least once")


class TaskDone(msgspec.Struct, frozen=True):
    """A task of the sheet's programme was done; airframe_hours: hours in the air then, where it comes by hours."""

    task: str
    airframe_hours: float | None = None
    remark: str = ""

    def __post_init__(self) -> None:
        if self.airframe_hours is not None and not 0 <= self.airframe_hours < 1e6:
            raise ValueError("airframe_hours are counted from zero upward")


class Note(msgspec.Struct, frozen=True):
    """Words for whoever reads the log."""

    text: str

    def __post_init__(self) -> None:
        if not self.text.strip():
            raise ValueError("the note is empty")


class Correction(msgspec.Struct, frozen=True):
    """An earlier entry is wrong: which, why, and what holds instead (same kind; nothing where it is withdrawn). Flags give the
    fields that differ; a file gives all of them."""

    corrects: int
    reason: str
    instead: dict[str, Any] | None = None

    def __post_init__(self) -> None:
        if not self.reason.strip():
            raise ValueError("say in 'reason' what was wrong")


def _need_whole_proof(proof: CableFitted | ProofLoad) -> None:
    if (proof.proof_load_lbf is None) != (proof.proof_time_h is None):
        raise ValueError("'proof_load' and 'proof_time' (like 3 min) belong together")
    if proof.proof_load_lbf is not None and not proof.gauge:
        raise ValueError("name the 'gauge' the proof load was read on")


def _need_seen(seen: dict[str, str]) -> None:
    if not seen:
        raise ValueError("nothing was seen: write each input with the way the surface went, like stick left=up")
    if any(not way.strip() for way in seen.values()):
        raise ValueError("say for every input which way the surface went")
