"""Tension bands as data sheets print them: ``30..40 lbf @ 70F``, ``35 +-5 lbf @ 70F``, ``35 +-10% lbf``."""

from __future__ import annotations

import re
from typing import NamedTuple

from rigging.errors import UnitError
from rigging.units import number, parse, tidy

_N = r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)"
_RANGE = re.compile(rf"^({_N})\s*([A-Za-z]*)\s*(?:\.\.|\bto\b)\s*({_N})\s*([A-Za-z]*)$", re.ASCII)
_TOLERANCE = re.compile(rf"^({_N})\s*([A-Za-z]*)\s*(?:\+-|\+/-)\s*({_N})\s*(%?)\s*([A-Za-z]*)$", re.ASCII)
_DASH = re.compile(rf"^({_N})\s*-\s*({_N})\s*([A-Za-z]*)$", re.ASCII)


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


def parse_band(text: object) -> Band:
    """A band from its text. Raises UnitError: no unit, reversed or equal edges, an edge below zero."""
    raw = tidy(text)
    body, at, temperature = raw.partition("@")
    body = body.strip()
    reference_degF = parse("temperature", temperature) if at else None
    if found := _RANGE.match(body):
        low_text, low_unit, high_text, high_unit = found.groups()
        unit = high_unit or low_unit
        low_lbf = _force(low_text, low_unit or unit, raw)
        high_lbf = _force(high_text, unit, raw)
        target_lbf = (low_lbf + high_lbf) / 2
    elif found := _TOLERANCE.match(body):
        middle_text, middle_unit, tolerance_text, percent, unit = found.groups()
        unit = unit or middle_unit
        target_lbf = _force(middle_text, middle_unit or unit, raw)
        width_lbf = target_lbf * number(tolerance_text) / 100 if percent else _force(tolerance_text, unit, raw)
        low_lbf, high_lbf = target_lbf - width_lbf, target_lbf + width_lbf
    elif found := _DASH.match(body):
        raise UnitError(f"'{raw}': a dash can be read as a minus: write {found[1]}..{found[2]} {found[3] or 'lbf'}")
    else:
        raise UnitError(
            f"'{raw}' is not a tension band: write it like 30..40 lbf @ 70F, 35 +-5 lbf @ 70F or 35 +-10% lbf @ 70F"
        )
    if low_lbf < 0:
        raise UnitError(f"'{raw}': the low edge lies below zero, and a cable cannot push")
    if not low_lbf < high_lbf:
        raise UnitError(f"'{raw}': the low edge must lie below the high one")
    return Band(low_lbf, high_lbf, target_lbf, reference_degF, raw)


def _force(digits: str, unit: str, raw: str) -> float:
    if not unit:
        raise UnitError(f"'{raw}' has no unit: write it like 30..40 lbf @ 70F or 130..180 N @ 21C")
    return parse("force", f"{digits} {unit}")
