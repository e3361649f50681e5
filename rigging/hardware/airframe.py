"""What the airframe is made of: how far it moves with temperature, and what else moves it."""

from __future__ import annotations

import math
from typing import Final

import msgspec

from rigging import tables
from rigging.errors import Refusal, nearest
from rigging.hardware.cable import EXPANSION, expansion_figure
from rigging.source import Figure, Source

# Everyday names for rows of the expansion table.
ALIASES: Final = {
    "aluminium": "aluminium 2024",
    "aluminum": "aluminium 2024",
    "steel": "steel tube",
    "glass": "glass quasi-isotropic",
    "carbon": "carbon quasi-isotropic",
}
_CABLES: Final = ("carbon cable", "stainless cable")
_WOODS: Final = ("wood", "spruce", "fir", "pine", "ash", "birch", "oak", "mahogany", "timber")

WOOD_CAUTION: Final = (
    "wood also moves with moisture: 33 to 100 microstrain along the grain per 1 % (computed from FPL report 1093), "
    "which can outweigh temperature"
)


class Airframe(msgspec.Struct, frozen=True):
    """A material by the name the user gave, with its expansion per degF and that figure's source."""

    name: str
    expansion: Figure

    @property
    def caution(self) -> str:
        """What besides temperature moves this material; empty where nothing is known to."""
        return WOOD_CAUTION if any(part.endswith(_WOODS) for part in self.name.split()) else ""


def material_names() -> list[str]:
    """All names that ``airframe`` takes."""
    return sorted({row.values["material"] for row in tables.load(EXPANSION).rows} - set(_CABLES) | set(ALIASES))


def airframe(name: str) -> Airframe:
    """A material from the table by name or everyday name. Raises Refusal for an unknown one."""
    key = " ".join(name.lower().split())
    key = ALIASES.get(key, key)
    known = material_names()
    if key not in known:
        raise Refusal(
            f"unknown airframe material '{name}'{nearest(key, known)}: without its expansion no limit can be moved; "
            "a material of your own goes into the rig sheet with its expansion and source"
        )
    return Airframe(key, expansion_figure(tables.load(EXPANSION).find(material=key)))


def own_airframe(name: str, expansion_per_degF: float, half_width_per_degF: float, source: Source) -> Airframe:
    """A material whose expansion the user brings: value and rectangular half-width [1/degF], with the source."""
    return Airframe(name, Figure(expansion_per_degF, "/degF", source, half_width_per_degF / math.sqrt(3)))
