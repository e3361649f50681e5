"""What an inspection of a cable and its circuit is held to: every limit of the bench once, with its words and its source.

The limit on a fairlead's bend and the smallest primary cable stand in the table of control limits, threads showing in
``turnbuckle``; they are taken from there and not written twice.
"""

from __future__ import annotations

import re
from typing import Final

import msgspec

from rigging import tables
from rigging.hardware import pulley, turnbuckle
from rigging.hardware.cable import Cable
from rigging.source import Basis, Source
from rigging.told import Amount, degF, inches, lbf, told
from rigging.units import size_in


class Limit(msgspec.Struct, frozen=True):
    """One limit of an inspection.

    value, unit: the bound (``share`` is a part of one). words: the rule as a rigger reads it. source: where it comes from.
    """

    value: float
    unit: str
    words: str
    source: Source


class Rule(msgspec.Struct, frozen=True):
    """A rule without a figure of its own, or a caution: words and source."""

    words: str
    source: Source


_AC: Final = "FAA AC 43.13-1B"
_BENCH: Final = Source(Basis.PRACTICE, note="rule of the bench; its printed source was not read")
_MIL_F: Final = Source(Basis.PUBLISHED, "MIL-F-18372", note="own reading of a scan")
_ALIGNMENT: Final = Source(Basis.PUBLISHED, "MIL-F-18372", "3.1.1.17.8", "own reading of a scan")
_WIRE: Final = Source(Basis.PUBLISHED, _AC, "7-180, 7-181")

READING_DISTANCE: Final = Limit(
    6, "in", told("read the tension more than {} from fittings, pulleys and fairleads", inches(6)), Source(Basis.SECOND_HAND, "TO 1-1A-8")
)  # fmt: skip
WORN_SHARE: Final = Limit(
    0.40, "share", "outer wires worn 40 % or more: replace the cable",
    Source(Basis.PUBLISHED, _AC, "7-149g", "printed as 40 to 50 %: the lower end is held"),
)  # fmt: skip
BROKEN_WIRES: Final = Limit(
    1, "count", "one broken wire in a critical fatigue area: replace the cable", Source(Basis.PUBLISHED, _AC, "7-149a")
)  # fmt: skip
FITTING_DISTANCE: Final = Limit(
    12, "in", told("within {} of a swaged fitting is a critical fatigue area", Amount("1 ft", "304.8 mm")),
    Source(Basis.PUBLISHED, _AC, "7-149b"),
)  # fmt: skip
INTERNAL_CORROSION: Final = Rule(
    "corrosion inside the cable: replace the cable", Source(Basis.PUBLISHED, _AC, "7-149i")
)  # fmt: skip
LOOSE_STRANDS: Final = Rule(
    "a popped core or loose strands: replace the cable", Source(Basis.SECOND_HAND, _AC, "7-149d, 7-149e")
)  # fmt: skip
TERMINALS: Final = Rule(
    "a terminal shows no slip, distortion, crack or broken strand, and a swivel moves freely",
    Source(Basis.PUBLISHED, _AC, "7-149k"),
)  # fmt: skip
SPLICE_DISTANCE: Final = Limit(
    2, "in", told("splices stay at least {} from pulleys and fairleads over the full travel", inches(2)),
    Source(Basis.PUBLISHED, _AC, "7-147a"),
)  # fmt: skip
PULLEY_ALIGNMENT_PRIMARY: Final = Limit(
    1, "deg", "a pulley of a primary control is in line with its cable within 1 deg", _ALIGNMENT
)  # fmt: skip
PULLEY_ALIGNMENT_OTHER: Final = Limit(
    2, "deg", "any other pulley is in line with its cable within 2 deg", _ALIGNMENT
)  # fmt: skip
_WIDE_PARTS: Final = re.compile(r"AN ?(219|220|221)(?!\d)", re.IGNORECASE)
_WIDE: Final = "an AN219, AN220 or AN221 pulley, or one on which the cable travels sideways,"
WIDE_ALIGNMENT_PRIMARY: Final = Limit(
    2, "deg", f"{_WIDE} is in line with its cable within 2 deg in a primary control", _ALIGNMENT
)  # fmt: skip
WIDE_ALIGNMENT_OTHER: Final = Limit(
    3, "deg", f"{_WIDE} is in line with its cable within 3 deg in any other control", _ALIGNMENT
)  # fmt: skip
WRAP_LEFT: Final = Limit(10, "deg", "at least 10 deg of wrap are left on a sector at both ends of travel", _MIL_F)
THREADS_SHOWING: Final = Limit(
    turnbuckle.MOST_THREADS_SHOWING, "count",
    f"at most {turnbuckle.MOST_THREADS_SHOWING} threads show at each end of a turnbuckle; "
    f"more: {turnbuckle.REMAKE}",
    turnbuckle.MOST_THREADS_SHOWING_SOURCE,
)  # fmt: skip
THREADS_INSIDE: Final = Limit(
    4, "count", "when first rigged, at most 4 threads lie inside each end of the barrel", Source(Basis.PUBLISHED, _AC, "7-166")
)  # fmt: skip
WIRE_TURNS: Final = Limit(4, "count", "at least 4 turns of safety wire on each shank", _WIRE)
CLIP_FORCE: Final = Limit(
    15, "lbf", told("a locking clip must resist {}", lbf(15, "g")),
    Source(Basis.SECOND_HAND, "MIL-DTL-8878L", note="as quoted; the document was not read here"),
)  # fmt: skip
WIRE_ONCE: Final = Rule("safety wire is not used again", Source(Basis.PUBLISHED, _AC, "7-179"))
WIRE_DOUBLE: Final = Rule("double wrap is preferred", _WIRE)


def fairlead_bend() -> Limit:
    """How far a fairlead may bend a cable at most [deg], from the table of control limits."""
    most = pulley.most_fairlead_bend()
    return Limit(most.value, "deg", f"a fairlead bends the cable by at most {most.value:g} deg", most.source)


def pulley_alignment(primary: bool | None, part: str, side_travel: bool | None) -> Limit:
    """How far a pulley may be out of line with its cable [deg]; the stricter limit holds where nobody says.

    An MS20220 is not taken for an AN220: that the one stands for the other was read nowhere.

    >>> [pulley_alignment(True, part, None).value for part in ("AN220-2A", "MS20220-2", "")]
    [2, 1, 1]
    """
    if side_travel or _WIDE_PARTS.match(part.strip()):
        return WIDE_ALIGNMENT_OTHER if primary is False else WIDE_ALIGNMENT_PRIMARY
    return PULLEY_ALIGNMENT_OTHER if primary is False else PULLEY_ALIGNMENT_PRIMARY


def smallest_primary_cable() -> tuple[str, Source]:
    """The smallest cable of a primary control in certificated aircraft, ``1/8``, with its source."""
    row = tables.load(pulley.LIMITS).find(limit="smallest primary cable")
    return str(row.values["smallest"]), row.source("smallest")


def inspection_limits() -> dict[str, Limit | Rule]:
    """Every limit that a look at a cable is held to, by name."""
    return {
        "worn outer wires": WORN_SHARE,
        "broken wires": BROKEN_WIRES,
        "critical fatigue area": FITTING_DISTANCE,
        "internal corrosion": INTERNAL_CORROSION,
        "loose strands": LOOSE_STRANDS,
        "terminals": TERMINALS,
        "splice": SPLICE_DISTANCE,
        "reading place": READING_DISTANCE,
        "fairlead bend": fairlead_bend(),
        "pulley, primary": PULLEY_ALIGNMENT_PRIMARY,
        "pulley, other": PULLEY_ALIGNMENT_OTHER,
        "wide pulley, primary": WIDE_ALIGNMENT_PRIMARY,
        "wide pulley, other": WIDE_ALIGNMENT_OTHER,
        "wrap left": WRAP_LEFT,
    }


def safetying_limits() -> dict[str, Limit | Rule]:
    """What a turnbuckle's threads and safetying are held to, by name."""
    return {
        "threads showing": THREADS_SHOWING,
        "threads inside": THREADS_INSIDE,
        "turns of wire": WIRE_TURNS,
        "wire used once": WIRE_ONCE,
        "wrap": WIRE_DOUBLE,
        "locking clip": CLIP_FORCE,
    }


def cautions(cable: Cable) -> list[Rule]:
    """What must be kept in view with this size, construction and material."""
    found = [
        Rule("the cable must be the one of the aircraft's drawing: size, construction and material", _BENCH)
    ]  # fmt: skip
    smallest, source = smallest_primary_cable()
    if size_in(cable.size) < size_in(smallest):
        found.append(
            Rule(
                f"{cable.size} is too small for a primary control of a certificated aircraft: {smallest} at least",
                source,
            )
        )
    if cable.construction == "1x19":
        found.append(
            Rule("1x19 is not for use over pulleys", Source(Basis.PUBLISHED, "MIL-DTL-87161", "scope"))
        )  # fmt: skip
    else:
        found.append(
            Rule(
                told(
                    "the cable itself is good from {} to {} bare, to {} jacketed",
                    degF(-65, unit=False),
                    degF(250),
                    degF(200),
                ),
                Source(Basis.PUBLISHED, "MIL-DTL-83420P", "1.1"),
            )
        )
    strength = cable.breaking_strength
    if strength is not None and not strength.source.acceptable:
        found.append(Rule("its breaking strength is from memory: not for sign-off", strength.source))
    found.append(
        Rule("a cable under load can whip: guard it when proof-loading", Source(Basis.PUBLISHED, _AC, "7-146, end"))
    )  # fmt: skip
    return found
