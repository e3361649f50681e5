"""Turnbuckles: what one turn takes up, how many threads may show, and how the barrel is locked."""

from __future__ import annotations

from typing import Final

from rigging import tables
from rigging.source import Basis, Figure, Source
from rigging.units import size_in

THREADS: Final = "turnbuckle-threads"
LOCKING_WIRE: Final = "locking-wire-ac43131b-7-8"

MOST_THREADS_SHOWING: Final = 3
MOST_THREADS_SHOWING_SOURCE: Final = Source(Basis.PUBLISHED, "FAA AC 43.13-1B", "7-166, 7-179")
MOST_HALF_TURNS: Final = 40  # more than any turnbuckle has
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
