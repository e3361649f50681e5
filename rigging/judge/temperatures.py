"""Temperatures at the moment of a reading: structure, cable and air."""

from __future__ import annotations

from typing import Final

import msgspec

from rigging.measure.uncertainty import rectangular
from rigging.physics.thermal import check_temperature
from rigging.told import degF, told

TEMPERATURE_HALF_WIDTH_DEGF: Final = 2.0  # of a thermometer reading, where the user states none


class Condition(msgspec.Struct, frozen=True):
    """Temperatures at the moment of the reading.

    structure_degF [degF]. half_width_degF [degF]: of the thermometer. cable_degF [degF]: where it was
    measured on the cable itself. air_degF [degF]: where known; without a cable temperature, a cable
    lies somewhere between structure and air.
    """

    structure_degF: float
    half_width_degF: float = TEMPERATURE_HALF_WIDTH_DEGF
    cable_degF: float | None = None
    air_degF: float | None = None

    def check(self) -> None:
        """Raises Refusal for a temperature outside -65..160 degF."""
        check_temperature(self.structure_degF, "structure temperature")
        if self.cable_degF is not None:
            check_temperature(self.cable_degF, "cable temperature")
        if self.air_degF is not None:
            check_temperature(self.air_degF, "air temperature")

    @property
    def cable_lag(self) -> tuple[float, float]:
        """How much warmer the cable is than the structure [degF], and the standard uncertainty of that."""
        if self.cable_degF is not None:
            return self.cable_degF - self.structure_degF, 0.0
        if self.air_degF is None:
            return 0.0, 0.0
        # unknown: anywhere between structure and air, so no shift is applied and the whole gap is carried
        return 0.0, rectangular(abs(self.air_degF - self.structure_degF))

    @property
    def cautions(self) -> tuple[str, ...]:
        """What to know about air and structure that differ."""
        air, structure = self.air_degF, self.structure_degF
        if air is None or self.cable_degF is not None or abs(air - structure) <= self.half_width_degF:
            return ()
        return (
            told(
                "air {} and structure {} differ: the cable follows the air in minutes, the structure in an hour; wait until they "
                "agree, or measure the cable itself",
                degF(air),
                degF(structure),
            ),
        )
