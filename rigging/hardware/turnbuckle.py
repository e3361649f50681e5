"""Turnbuckles: what one turn takes up, how many threads may show, and how the barrel is locked."""

from __future__ import annotations

from typing import Final, Literal

from rigging import tables
from rigging.source import Basis, Figure, Source
from rigging.told import Amount, join, told
from rigging.units import in_to_mm, size_in

WireMaterial = Literal[
    "copper", "brass", "stainless", "Monel", "K-Monel", "galvanized steel", "tinned steel", "soft iron"
]  # fmt: skip
Wrap = Literal["single", "double"]

THREADS: Final = "turnbuckle-threads"
LOCKING_WIRE: Final = "locking-wire-ac43131b-7-8"

MOST_THREADS_SHOWING: Final = 3
MOST_THREADS_SHOWING_SOURCE: Final = Source(Basis.PUBLISHED, "FAA AC 43.13-1B", "7-166, 7-179")
MOST_HALF_TURNS: Final = 40  # more than any turnbuckle has
NOTE_1_MATERIALS: Final = ("galvanized steel", "tinned steel", "soft iron")
NOTE_1: Final = "galvanized or tinned steel or soft iron wire also accepted (1)"
REMAKE: Final = "remake the cable: never tighten on"


def pitch(thread: str) -> Figure:
    """Pitch [in] of a thread such as ``1/4-28``. Raises Refusal for one not in the table."""
    return tables.load(THREADS).find(thread=thread).figure("pitch")


def takeup_per_turn_in(thread: str) -> float:
    """Length taken up by one turn of the barrel [in]: two pitches, since both ends move."""
    return 2.0 * pitch(thread).value


def too_many_threads(threads_showing: tuple[float, float]) -> bool:
    """Whether more threads show at an end than AC 43.13-1B 7-166 allows."""
    return max(threads_showing) > MOST_THREADS_SHOWING


def locking_wire(size: str) -> list[tables.Row]:
    """The rows of the locking wire table for a cable size; empty below the smallest size in the table."""
    label = "5/32 and up" if size_in(size) >= size_in("5/32") else size
    return [row for row in tables.load(LOCKING_WIRE).rows if row.values["cable"] == label]


def locking_wire_source() -> Source:
    """Where the table of safety wires is printed."""
    return tables.load(LOCKING_WIRE).file.source


def wire_size(diameter_in: float) -> Amount:
    """The diameter of a wire in words, in mm to a hundredth."""
    return Amount(f"{diameter_in:.4g} in", f"{in_to_mm(diameter_in):.2f} mm")


def accepted_wires(size: str) -> str:
    """The wires of the table for a cable size in words; empty where it has none."""
    return join(
        "; ",
        [
            told(
                "{} {} {} or thicker",
                row.values["wrap"],
                ", ".join([str(row.values["material"]), *(NOTE_1_MATERIALS if row.values["note_1"] else ())]),
                wire_size(row.figure("wire").value),
            )
            for row in locking_wire(size)
        ],
    )


def row_for_wire(size: str, wrap: Wrap, diameter_in: float, material: WireMaterial) -> tables.Row | None:
    """The row of the table by which a wire secures the turnbuckle of a cable; None where it has none.

    A wire that is enough in single wrap is enough in double wrap, which is preferred (7-180, 7-181).

    >>> row_for_wire("1/8", "single", 0.040, "copper") is None
    True
    >>> row_for_wire("1/8", "double", 0.040, "copper").label
    '1/8 double 0.04'
    """
    for row in locking_wire(size):
        materials = [*str(row.values["material"]).split(", "), *(NOTE_1_MATERIALS if row.values["note_1"] else ())]
        wrapped = row.values["wrap"] == wrap or wrap == "double"
        # 1.016 mm are 0.040 in, whatever the last bit says
        if material in materials and wrapped and round(diameter_in - row.figure("wire").value, 6) >= 0:
            return row
    return None
