"""Pulleys and fairleads: how much they hold back, what a pulley may carry, how far a fairlead may bend a cable."""

from __future__ import annotations

import math
from typing import Final, Literal

from rigging import tables
from rigging.errors import Refusal
from rigging.source import Basis, Figure, Source, resting_on
from rigging.units import parse_size

PULLEYS: Final = "pulleys-ms20219-ms20220"
SHEAVES: Final = "sheave-efficiency-wire-rope-users-manual"
LIMITS: Final = "control-limits"

Bearing = Literal["ball", "plain"]
_ROWS: Final[dict[Bearing, str]] = {"ball": "anti-friction", "plain": "plain"}
_SHEAVE_WRAP_RAD: Final = math.pi  # the printed factors hold for a rope turned through 180 degrees

FAIRLEAD_LOW: Final = 0.1
FAIRLEAD_HIGH: Final = 0.3


def pulley_friction(bearing: Bearing) -> Figure:
    """Coefficient mu [1] of a pulley by its bearing: ``ln(factor) / pi`` from the printed factor over 180 degrees."""
    factor = tables.load(SHEAVES).find(bearing=_ROWS[bearing]).figure("factor")
    note = f"ln({factor.value:g})/pi from the {factor.source.basis.value} factor of crane sheaves over 180 deg"
    source = Source(Basis.COMPUTED, factor.source.document, factor.source.place, note)
    return Figure(math.log(factor.value) / _SHEAVE_WRAP_RAD, "1", resting_on(source, factor.source))


def fairlead_friction() -> Figure:
    """Coefficient mu [1] of a fairlead: the middle of 0.1 to 0.3 with its rectangular uncertainty, from memory."""
    half_width = (FAIRLEAD_HIGH - FAIRLEAD_LOW) / 2
    source = Source(Basis.MEMORY, note=f"fairlead, {FAIRLEAD_LOW:g} to {FAIRLEAD_HIGH:g}")
    return Figure((FAIRLEAD_LOW + FAIRLEAD_HIGH) / 2, "1", source, half_width / math.sqrt(3))


def pulley_rating(part: str) -> Figure:
    """The load a pulley may carry on its pin [lbf], by part number. Raises Refusal where no table gives it."""
    return tables.load(PULLEYS).find(part=part).figure("load")


def fits_cable(part: str, size: str) -> bool:
    """Whether a pulley's standard names this cable size. Raises Refusal for an unknown part."""
    sizes = str(tables.load(PULLEYS).find(part=part).values["cables"]).split(",")
    return parse_size(size) in [parse_size(s) for s in sizes]


def need_part(part: str) -> None:
    """Raises Refusal for a part number of a series that the table holds, and which is not in it.

    A part of another maker is none of its business.
    """
    known = [str(row.values["part"]) for row in tables.load(PULLEYS).rows]
    series = part.partition("-")[0].strip().casefold()
    alike = [name for name in known if name.partition("-")[0].casefold() == series]
    if alike and part not in alike:
        raise Refusal(
            f"there is no pulley '{part}' in its table ({', '.join(alike)}): correct the number, or leave 'part' out"
        )


def known_part(part: str) -> bool:
    """Whether the table has a row for this part number."""
    try:
        tables.load(PULLEYS).find(part=part)
    except Refusal:
        return False
    return True


def most_fairlead_bend() -> Figure:
    """How far a fairlead may bend a cable at most [deg]."""
    return tables.load(LIMITS).find(limit="fairlead bend").figure("most_deg")


def most_control_stretch() -> Figure:
    """How far a control may move at most under limit load with its surface held [% of the available movement]."""
    return tables.load(LIMITS).find(limit="control stretch").figure("most_percent")
