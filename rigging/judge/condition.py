"""What was seen on a cable, its pulleys and fairleads, against the rules of the bench; each fault with its source."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final, Literal

import msgspec

from rigging.errors import Refusal
from rigging.hardware import inspection
from rigging.schema import AngleFromZero, LengthFromZero, ShareFromZero
from rigging.source import Basis, Source
from rigging.told import Amount, inches, told
from rigging.units import show_angle

REPLACE: Final = "replace the cable"

_BENCH: Final = Source(Basis.PRACTICE, note="rule of the bench")


class CableCondition(msgspec.Struct, frozen=True):
    """What was seen; what is left out was not looked at, which is not the same as nothing found.

    broken_wires: how many. in_fatigue_area: whether one of them lies where the cable bends, rubs or works.
    broken_wire_to_fitting_in [in]: from the nearest of them to a swaged fitting. broken_wires_allowed_by: the aircraft's
    own data that allow broken wires elsewhere. worn: share of the outer wires that is worn away, at its worst.
    splice_to_bend_in [in]: from the nearest splice to a pulley or fairlead, over the full travel. fairlead_bend_deg,
    misalignment_deg [deg]: at the worst fairlead and pulley. primary: a primary control; where nobody says, its stricter
    limit holds. pulley_part: its part number, where the sheet does not name it. side_travel: whether the cable travels
    sideways on it. wrap_left_deg [deg]: on a sector, at the end of travel that leaves least. reading_place_in [in]: from
    where tension is read to the nearest fitting, pulley or fairlead.
    """

    broken_wires: int | None = None
    in_fatigue_area: bool | None = None
    broken_wire_to_fitting_in: LengthFromZero | None = msgspec.field(default=None, name="broken_wire_to_fitting")
    broken_wires_allowed_by: str = ""
    worn: ShareFromZero | None = None
    internal_corrosion: bool | None = None
    splice_to_bend_in: LengthFromZero | None = msgspec.field(default=None, name="splice_to_bend")
    fairlead_bend_deg: AngleFromZero | None = msgspec.field(default=None, name="fairlead_bend")
    misalignment_deg: AngleFromZero | None = msgspec.field(default=None, name="misalignment")
    primary: bool | None = None
    pulley_part: str = ""
    side_travel: bool | None = None
    wrap_left_deg: AngleFromZero | None = msgspec.field(default=None, name="wrap_left")
    pulley_turns: bool | None = None
    flange_damaged: bool | None = None
    reading_place_in: LengthFromZero | None = msgspec.field(default=None, name="reading_place")


_NAMES: Final = {
    "broken_wires": "broken wires",
    "worn": "worn wires",
    "internal_corrosion": "internal corrosion",
    "splice_to_bend_in": "splices",
    "fairlead_bend_deg": "fairlead bend",
    "misalignment_deg": "pulley alignment",
    "wrap_left_deg": "wrap left on the sector",
    "pulley_turns": "pulley turning",
    "flange_damaged": "pulley flanges",
    "reading_place_in": "reading place",
}
_FIGURES: Final = (
    "broken_wires",
    "broken_wire_to_fitting_in",
    "worn",
    "splice_to_bend_in",
    "fairlead_bend_deg",
    "misalignment_deg",
    "wrap_left_deg",
    "reading_place_in",
)


class Fault(msgspec.Struct, frozen=True):
    """One thing that is wrong. words: what was seen and the rule. source: of the rule. action: what it asks for."""

    words: str
    source: Source
    action: Literal["replace", "put right", "look up"]


def faults(condition: CableCondition) -> list[Fault]:
    """Every fault in what was seen, those of the cable itself first; empty where nothing seen is wrong.

    Raises Refusal for a figure that is below zero or no number.

    >>> [str(fault.source.basis) for fault in faults(CableCondition(misalignment_deg=1.5))]
    ['published']
    >>> faults(CableCondition(misalignment_deg=1.5, primary=False))
    []
    """
    for name in _FIGURES:
        value = getattr(condition, name)
        if value is not None and not (math.isfinite(value) and value >= 0):
            raise Refusal(f"{_NAMES.get(name, 'distance to a fitting')} of {value:g}: it cannot be below zero")
    return [*_of_the_cable(condition), *_of_its_way(condition)]


def held_to(seen: CableCondition) -> list[Source]:
    """The sources of the rules that what was seen is held to, in the order of the rules."""
    near_fitting = None if not seen.broken_wires else seen.broken_wire_to_fitting_in
    rules = (
        (seen.internal_corrosion, inspection.INTERNAL_CORROSION),
        (seen.worn, inspection.WORN_SHARE),
        (seen.broken_wires, inspection.BROKEN_WIRES),
        (near_fitting, inspection.FITTING_DISTANCE),
        (seen.splice_to_bend_in, inspection.SPLICE_DISTANCE),
        (seen.fairlead_bend_deg, inspection.fairlead_bend()),
        (seen.misalignment_deg, _alignment(seen)),
        (seen.wrap_left_deg, inspection.WRAP_LEFT),
        (seen.reading_place_in, inspection.READING_DISTANCE),
    )
    return [rule.source for value, rule in rules if value is not None]


def not_looked_at(condition: CableCondition) -> list[str]:
    """The names of what was not looked at, in the order of the rules."""
    left = []
    for name, words in _NAMES.items():
        if getattr(condition, name) is None:
            left.append(words)
        if name == "broken_wires" and _place(condition) == "unknown":
            left.append("where the broken wires lie")
    return left


def _of_the_cable(seen: CableCondition) -> Iterator[Fault]:
    if seen.internal_corrosion:
        yield Fault(inspection.INTERNAL_CORROSION.words, inspection.INTERNAL_CORROSION.source, "replace")
    if seen.worn is not None and _rounded(seen.worn) >= inspection.WORN_SHARE.value:
        worn = f"{100 * seen.worn:.3g} % worn: {inspection.WORN_SHARE.words}"
        yield Fault(worn, inspection.WORN_SHARE.source, "replace")
    count = f"{seen.broken_wires} broken wire{'' if seen.broken_wires == 1 else 's'}"
    place = _place(seen)
    if place == "near a fitting":
        away = _length(seen.broken_wire_to_fitting_in or 0.0)
        words = told("{}, {} from a swaged fitting: {}: {}", count, away, inspection.FITTING_DISTANCE.words, REPLACE)
        yield Fault(words, inspection.FITTING_DISTANCE.source, "replace")
    elif place == "critical":
        yield Fault(f"{count}: {inspection.BROKEN_WIRES.words}", inspection.BROKEN_WIRES.source, "replace")
    elif place == "unknown":
        words = (
            f"{count}, and not where: taken to lie in a critical fatigue area until 'in_fatigue_area' says: {REPLACE}"
        )
        yield Fault(words, inspection.BROKEN_WIRES.source, "replace")
    elif place == "elsewhere" and not seen.broken_wires_allowed_by.strip():
        words = (
            f"{count} outside the critical fatigue areas: look up what the aircraft's own data allow and name them in "
            "'broken_wires_allowed_by'; where they say nothing, replace the cable"
        )
        yield Fault(words, _BENCH, "look up")


def _place(seen: CableCondition) -> Literal["none", "near a fitting", "critical", "unknown", "elsewhere"]:
    """Where the broken wires lie; a distance alone clears only the fittings, not the bends."""
    if not seen.broken_wires:
        return "none"
    away_in = seen.broken_wire_to_fitting_in
    if away_in is not None and _rounded(away_in) <= inspection.FITTING_DISTANCE.value:
        return "near a fitting"
    if seen.in_fatigue_area is None:
        return "unknown"
    return "critical" if seen.in_fatigue_area else "elsewhere"


def _alignment(seen: CableCondition) -> inspection.Limit:
    return inspection.pulley_alignment(seen.primary, seen.pulley_part, seen.side_travel)


def _of_its_way(seen: CableCondition) -> Iterator[Fault]:
    """Splices, fairleads, pulleys, sectors, and where it is read."""
    splice, bend, place = inspection.SPLICE_DISTANCE, inspection.fairlead_bend(), inspection.READING_DISTANCE
    if seen.splice_to_bend_in is not None and _rounded(seen.splice_to_bend_in) < splice.value:
        near = told("a splice comes to {}: {}", _length(seen.splice_to_bend_in), splice.words)
        yield Fault(near, splice.source, "put right")
    if seen.fairlead_bend_deg is not None and _rounded(seen.fairlead_bend_deg) > bend.value:
        yield Fault(f"bent by {show_angle(seen.fairlead_bend_deg)}: {bend.words}", bend.source, "put right")
    line = _alignment(seen)
    if seen.misalignment_deg is not None and _rounded(seen.misalignment_deg) > line.value:
        unsaid = "; 'primary: false' if it is another control" if seen.primary is None else ""
        if not seen.pulley_part and seen.side_travel is None:
            unsaid += "; 'pulley_part' or 'side_travel' if a wider limit holds for it"
        words = f"out of line by {show_angle(seen.misalignment_deg)}: {line.words}{unsaid}"
        yield Fault(words, line.source, "put right")
    wrap = inspection.WRAP_LEFT
    if seen.wrap_left_deg is not None and _rounded(seen.wrap_left_deg) < wrap.value:
        yield Fault(f"{show_angle(seen.wrap_left_deg)} of wrap left: {wrap.words}", wrap.source, "put right")
    if seen.pulley_turns is False:
        yield Fault(
            "the pulley does not turn with the cable: free or replace it, and look at the cable there",
            _BENCH,
            "put right",
        )
    if seen.flange_damaged:
        yield Fault(
            "a flange of the pulley is damaged: replace the pulley, and look at the cable there", _BENCH, "put right"
        )
    if seen.reading_place_in is not None and _rounded(seen.reading_place_in) <= place.value:
        read = told("read at {}: {}", _length(seen.reading_place_in), place.words)
        yield Fault(read, place.source, "put right")


def _length(length_in: float) -> Amount:
    """A length as ``show_length`` tells it."""
    return inches(round(length_in, 3))


def _rounded(value: float) -> float:
    # 304.8 mm are 1 ft, whatever the last bit says
    return round(value, 6)
