"""Bands as data sheets print them: tensions ``30..40 lbf @ 70F``, ``35 +-10% lbf``; angles ``18..22 deg``, ``0 +-0.5 deg``."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Final, NamedTuple

from rigging.errors import UnitError
from rigging.told import Amount, force, temperature
from rigging.units import number, parse, tidy, with_article

MOST_ANGLE_DEG: Final = 180.0  # no surface turns further: beyond it a unit or a point has slipped

_N = r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)"
_RANGE = re.compile(rf"^({_N})\s*([A-Za-z°]*)\s*(?:\.\.|\bto\b)\s*({_N})\s*([A-Za-z°]*)$", re.ASCII)
_TOLERANCE = re.compile(rf"^({_N})\s*([A-Za-z°]*)\s*(?:\+-|\+/-)\s*({_N})\s*(%?)\s*([A-Za-z°]*)$", re.ASCII)
_DASH = re.compile(rf"^({_N})\s*-\s*({_N})\s*([A-Za-z°]*)$", re.ASCII)


class Band(NamedTuple):
    """A tension band at a reference temperature.

    low_lbf, high_lbf [lbf]: the edges, 0 <= low < high. target_lbf [lbf]: the figure to aim for, the
    middle unless the text names it. reference_degF [degF]: where the edges hold; None where the text
    names no temperature. text: as typed.
    """

    low_lbf: float
    high_lbf: float
    target_lbf: float
    reference_degF: float | None
    text: str

    @property
    def told(self) -> Amount:
        """As typed; its edges and temperature in SI."""
        edges = f"{force(self.low_lbf, unit=False).si}..{force(self.high_lbf).si}"
        at = "" if self.reference_degF is None else f" @ {temperature(self.reference_degF).si}"
        return Amount(self.text, f"{edges}{at}")


class AngleBand(NamedTuple):
    """A band of angles: low_deg, high_deg [deg], low < high, either may be negative. text: as typed."""

    low_deg: float
    high_deg: float
    text: str


class _Words(NamedTuple):
    """How bands of one quantity are called and written in a message."""

    quantity: str
    name: str
    unit: str
    examples: str
    with_unit: str


_TENSION: Final = _Words(
    "force", "tension band", "lbf",
    "30..40 lbf @ 70F, 35 +-5 lbf @ 70F or 35 +-10% lbf @ 70F", "30..40 lbf @ 70F or 130..180 N @ 21C",
)  # fmt: skip
_ANGLE: Final = _Words(
    "angle", "angle band", "deg", "18..22 deg, 20 +-2 deg or -0.5..0.5 deg", "18..22 deg or 20 +-2 deg"
)


def parse_band(text: object) -> Band:
    """A tension band from its text. Raises UnitError: no unit, reversed or equal edges, an edge below zero."""
    raw = tidy(text)
    body, at, temperature = raw.partition("@")
    reference_degF = parse("temperature", temperature) if at else None
    low_lbf, target_lbf, high_lbf = _edges(body.strip(), raw, _TENSION)
    if low_lbf < 0:
        raise UnitError(f"'{raw}': the low edge lies below zero, and a cable cannot push")
    _in_order(low_lbf, high_lbf, raw)
    return Band(low_lbf, high_lbf, target_lbf, reference_degF, raw)


def parse_angle_band(text: object) -> AngleBand:
    """An angle band from its text. Raises UnitError: no unit, reversed or equal edges, an edge beyond half a turn.

    >>> parse_angle_band("0 +-0.5 deg")
    AngleBand(low_deg=-0.5, high_deg=0.5, text='0 +-0.5 deg')
    """
    raw = tidy(text)
    low_deg, _, high_deg = _edges(raw, raw, _ANGLE)
    _in_order(low_deg, high_deg, raw)
    if max(abs(low_deg), abs(high_deg)) > MOST_ANGLE_DEG:
        raise UnitError(
            f"'{raw}': an edge lies beyond {MOST_ANGLE_DEG:g} deg, further than a surface turns: check the unit"
        )
    return AngleBand(low_deg, high_deg, raw)


def _edges(body: str, raw: str, words: _Words) -> tuple[float, float, float]:
    """Low edge, the figure between and high edge of a band, in the program's unit and as they stand."""

    def value(digits: str, unit: str) -> float:
        if not unit:
            raise UnitError(f"'{raw}' has no unit: write it like {words.with_unit}")
        return parse(words.quantity, f"{digits} {unit}")

    if found := _RANGE.match(body):
        return _range(found, value)
    if found := _TOLERANCE.match(body):
        return _tolerance(found, value)
    if found := _DASH.match(body):
        unit = found[3] or words.unit
        raise UnitError(f"'{raw}': a dash can be read as a minus: write {found[1]}..{found[2]} {unit}")
    raise UnitError(f"'{raw}' is not {with_article(words.name)}: write it like {words.examples}")


def _range(found: re.Match[str], value: Callable[[str, str], float]) -> tuple[float, float, float]:
    low_text, low_unit, high_text, high_unit = found.groups()
    unit = high_unit or low_unit
    low, high = value(low_text, low_unit or unit), value(high_text, unit)
    return low, (low + high) / 2, high


def _tolerance(found: re.Match[str], value: Callable[[str, str], float]) -> tuple[float, float, float]:
    middle_text, middle_unit, tolerance_text, percent, unit = found.groups()
    unit = unit or middle_unit
    middle = value(middle_text, middle_unit or unit)
    width = abs(middle) * number(tolerance_text) / 100 if percent else value(tolerance_text, unit)
    return middle - width, middle, middle + width


def _in_order(low: float, high: float, raw: str) -> None:
    if not low < high:
        raise UnitError(f"'{raw}': the low edge must lie below the high one")
