"""The handbook's typical rigging chart for aluminium airframes: an illustration, never an approval.

Two points of it are known. Curves through them come from the thermal model; sizes between and beyond
follow a power law in breaking strength through the same two points. Each step says so with its width.
"""

from __future__ import annotations

import math
from typing import Final, NamedTuple

import msgspec

from rigging import tables
from rigging.bands import Band
from rigging.errors import Refusal
from rigging.hardware.airframe import airframe
from rigging.hardware.cable import cable
from rigging.judge.limits import Limits, limits_today, run_pieces
from rigging.judge.temperatures import Condition
from rigging.physics import thermal
from rigging.source import Basis, Source
from rigging.told import degF, told

POINTS: Final = "typical-chart-points"
ANCHOR_DEGF: Final = 85.0
ILLUSTRATION: Final = (
    "typical chart for aluminium airframes: an illustration, about twice what most light types want; never for sign-off"
)


class Point(NamedTuple):
    """A point of the chart at 85 F: tension [lbf], half-width as a share, and the step that gave it."""

    tension_lbf: float
    width: float
    source: Source


EXTRAPOLATED: Final = ("1/16", "3/32", "7/32", "1/4")


def point_at_85F(size: str) -> Point:
    """The chart's tension at 85 F for a 7x19 carbon cable. Raises Refusal for sizes the chart cannot reach."""
    eighth, three_sixteenths = _known("1/8"), _known("3/16")
    if size == "1/8":
        return Point(eighth.value, 0.10, eighth.source)
    at_85_lbf = three_sixteenths.value + _slope("3/16") * (ANCHOR_DEGF - 80.0)
    if size == "3/16":
        return Point(at_85_lbf, 0.10, three_sixteenths.source)
    if size != "5/32" and size not in EXTRAPOLATED:
        raise Refusal(
            f"the typical chart has no line for {size} and its two known points do not reach so far: use the aircraft's own data"
        )
    power = math.log(at_85_lbf / eighth.value) / math.log(_strength("3/16") / _strength("1/8"))
    tension_lbf = eighth.value * (_strength(size) / _strength("1/8")) ** power
    step, width = ("between", 0.10) if size == "5/32" else ("extrapolated beyond", 0.25)
    note = f"{step} the chart's two known points by breaking strength, power {power:.2f}, +-{100 * width:.0f} %"
    return Point(tension_lbf, width, Source(Basis.COMPUTED, note=note))


def typical_limits(
    size: str, condition: Condition, construction: str | None = None, material: str = "carbon"
) -> Limits:
    """The chart's band for a cable in an aluminium airframe, moved by the thermal model; never usable for sign-off.

    Raises Refusal: a size beyond the chart, another airframe's question, a temperature outside -65..160 F.
    """
    point = point_at_85F(size)
    wanted = cable(size, construction, material)
    width_lbf = point.width * _width_base_lbf(size, point)
    band = Band(
        point.tension_lbf - width_lbf, point.tension_lbf + width_lbf, point.tension_lbf, ANCHOR_DEGF, f"typical chart, {size}"
    )  # fmt: skip
    limits = limits_today(band, point.source, wanted, [(1.0, airframe("aluminium"))], condition)
    known_degF = 80.0 if size == "3/16" else ANCHOR_DEGF
    source = point.source if condition.structure_degF == known_degF else Source(
        Basis.COMPUTED, note=told('point at {} ({}), moved by the thermal model', degF(known_degF, 'g'), point.source)
    )  # fmt: skip
    note = point.source.note
    return msgspec.structs.replace(
        limits, source=source, assumptions=(told("point: {}{}", point.source, f"; {note}" if note else ""), *limits.assumptions),
        cautions=(ILLUSTRATION,), figures_acceptable=False,
    )  # fmt: skip


def _width_base_lbf(size: str, point: Point) -> float:
    # 130 +-10 % is stated at 80 F: there the band is 117 to 143, and the thermal model moves both edges alike
    return _known("3/16").value if size == "3/16" else point.tension_lbf


class _Known(NamedTuple):
    value: float
    source: Source


def _known(size: str) -> _Known:
    points = (r for r in tables.load(POINTS).rows if r.values["cable"] == size and r.source("tension").acceptable)
    row = next(points, None)
    if row is None:
        raise Refusal(f"the typical chart has no point for {size} that is more than recalled")
    return _Known(row.figure("tension").value, row.source("tension"))


def _slope(size: str) -> float:
    return thermal.slope_lbf_per_degF(run_pieces(cable(size, "7x19"), [(1.0, airframe("aluminium"))]))


def _strength(size: str) -> float:
    figure = cable(size, "7x19").breaking_strength
    if figure is None:
        raise Refusal(f"no breaking strength is known for {size} 7x19")
    return figure.value
