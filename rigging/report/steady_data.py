"""Waiting for a steady temperature, as JSON and CSV."""

from __future__ import annotations

import math
from typing import Any

from rigging.hardware.parts import MANUALS, MANUALS_SOURCE
from rigging.jobs.steady import Following, Steady, in_words

ROW_COLUMNS = [
    "part", "state", "difference_degF", "time_constant_min", "basis", "wait_min", "note",
]  # fmt: skip

ASSUMPTIONS = (
    "each part is of one temperature and in still air that stays as it is: the difference dies away as exp(-t / tau)",
    "by the table a wait counts the slow end of still air, 8 W/m2K; bare metal in a closed wing may be slower still, and "
    "two readings of the part show it; the longer of both is taken",
    "wood and foam lag behind inside: their surface is steady before they are",
)


def row(f: Following) -> dict[str, Any]:
    """One part; times in minutes."""
    fitted = f.fitted
    return {
        "part": f.name,
        "state": f.state,
        "difference_degF": f.difference_degF,
        "time_constant_min": None if f.time_constant_h is None else 60 * f.time_constant_h,
        "basis": f.basis,
        "wait_min": None if f.wait_h is None else 60 * f.wait_h,
        "from_readings": None
        if fitted is None
        else {
            "time_constant_min": 60 * fitted.time_constant_h,
            "low_min": 60 * fitted.low_h,
            "high_min": None if math.isinf(fitted.high_h) else 60 * fitted.high_h,
        },
        "from_table": None
        if f.table is None
        else {
            "what": f.table.what,
            "usual_min": 60 * f.table.time_constant_h,
            "longest_min": 60 * f.table.longest_h,
            "source": str(f.table.source),
        },
        "note": f.note,
    }


def steady(result: Steady) -> dict[str, Any]:
    """The whole answer; ``wait_min`` is null where waiting alone does not help."""
    return {
        "steady": result.steady,
        "in_words": in_words(result),
        "wait_min": None if result.wait_h is None else 60 * result.wait_h,
        "slowest": result.slowest.name,
        "air_degF": result.air_degF,
        "air_steady": result.air_steady,
        "lag_degF": result.lag_degF,
        "within_degF": result.question.within_degF,
        "thermometer_half_width_degF": result.question.half_width_degF,
        "parts": [row(f) for f in result.following],
        "slower_parts_not_looked_at": [part.name for part in result.slower],
        "basis": "computed",
        "manuals": {"words": MANUALS, "basis": MANUALS_SOURCE.basis.value, "source": MANUALS_SOURCE.note},
        "assumptions": ASSUMPTIONS,
    }
