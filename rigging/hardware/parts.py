"""Parts whose temperature a rigger waits for, and how fast they follow still air."""

from __future__ import annotations

from typing import Final

import msgspec

from rigging import tables
from rigging.source import Basis, Source, resting_on

TIME_CONSTANTS: Final = "time-constants-still-air"

MANUALS: Final = "aircraft manuals seen ask for 1 to 4 hours at a steady temperature; this aircraft's own comes first"
MANUALS_SOURCE: Final = Source(Basis.PRACTICE, note="manuals of several types, each for its own")


class Part(msgspec.Struct, frozen=True):
    """A part by its trade word. time_constant_h [h]: usual in still air; longest_h [h]: its slow end, to wait by."""

    name: str
    what: str
    time_constant_h: float
    longest_h: float
    source: Source


def parts() -> dict[str, Part]:
    """The parts of the table by name, in its order."""
    return {
        str(row.values["part"]): Part(
            str(row.values["part"]),
            str(row.values["what"]),
            row.figure("usual").value / 60,
            row.figure("longest").value / 60,
            # worked out from a density and a specific heat that were only recalled
            resting_on(row.source("longest"), row.source("density"), row.source("specific_heat")),
        )
        for row in tables.load(TIME_CONSTANTS).rows
    }
