"""A tensiometer's own calibration card: dial to pounds and back.

A card belongs to one instrument. Each column holds for one riser and one cable size; between its
points the card is a straight line, outside them there is no figure.
"""

from __future__ import annotations

import datetime as dt
import math
from bisect import bisect_right
from itertools import pairwise
from pathlib import Path
from typing import Final, Literal

import msgspec

from rigging.errors import BadFile, Problem, Refusal, UnitError
from rigging.schema import Share, Size, read
from rigging.source import Basis, Source
from rigging.told import lbf, told
from rigging.units import parse
from rigging.yamlfile import load as load_yaml

FINEST_DIVISION: Final = 0.001  # of a dial; no instrument is read to less


class CardColumn(msgspec.Struct, frozen=True):
    """Dial against tension for one riser and one cable size; points are [dial, tension]."""

    riser: int
    cable: Size
    points: list[tuple[float, float]]

    def __post_init__(self) -> None:
        if len(self.points) < 2:
            raise ValueError("a column needs at least two points")
        for (dial, tension), (dial2, tension2) in pairwise(self.points):
            if not (dial2 > dial and tension2 > tension):
                raise ValueError(
                    f"points must rise in dial and tension: [{dial:g}, {tension:g}] is followed by [{dial2:g}, {tension2:g}]"
                )
        if self.points[0][0] < 0 or self.points[0][1] < 0:
            raise ValueError("a dial reading or a tension below zero makes no sense")

    @property
    def label(self) -> str:
        """``riser 2, cable 5/32``."""
        return f"riser {self.riser}, cable {self.cable}"


class CardFile(msgspec.Struct, frozen=True):
    """A tensiometer's calibration card."""

    tensiometer_card: Literal[1]
    serial: str
    calibrated: dt.date
    due: dt.date
    accuracy: Share
    columns: list[CardColumn]
    division: float = 1.0
    unit: Literal["lbf", "N", "daN", "kgf"] = "lbf"
    basis: Basis = Basis.MEASURED
    source: str = ""

    def __post_init__(self) -> None:
        if self.due <= self.calibrated:
            raise ValueError(f"due {self.due} must lie after calibrated {self.calibrated}")
        if not self.division >= FINEST_DIVISION:
            raise ValueError(
                f"division, the step of the dial, is {self.division:g}: no dial is finer than {FINEST_DIVISION:g}"
            )
        if self.accuracy > 0.5:
            raise ValueError("accuracy beyond 50 % is no measurement: check the figure")
        seen = set()
        for column in self.columns:
            if (column.riser, column.cable) in seen:
                raise ValueError(f"two columns for {column.label}: keep one")
            seen.add((column.riser, column.cable))
        if not self.columns:
            raise ValueError("a card without columns says nothing")


class Card(msgspec.Struct, frozen=True):
    """A card as read from its file; tensions in lbf whatever the card's own unit."""

    serial: str
    calibrated: dt.date
    due: dt.date
    accuracy: float
    division: float
    columns: tuple[CardColumn, ...]
    source: Source
    file: str
    sha256: str

    def column(self, riser: int, size: str) -> CardColumn:
        """The column for a riser and a cable size. Raises Refusal naming what the card has."""
        for column in self.columns:
            if column.riser == riser and column.cable == size:
                return column
        have = "; ".join(c.label for c in self.columns)
        raise Refusal(f"card {self.serial} has no column for riser {riser}, cable {size} (it has {have})")

    def risers(self, size: str) -> list[int]:
        """The risers for which the card has this cable size."""
        return [c.riser for c in self.columns if c.cable == size]

    def in_date(self, today: dt.date) -> bool:
        """Whether the card may be used for sign-off on this day."""
        return self.calibrated <= today <= self.due

    def need_serial(self, serial: str) -> None:
        """Raises Refusal where the instrument in hand is not the card's."""
        if serial != self.serial:
            raise Refusal(
                f"the card is for tensiometer {self.serial}, the one in hand is {serial}: no card may be lent"
            )


def load_card(path: Path) -> Card:
    """Read a card file. Raises BadFile with every problem."""
    document = load_yaml(path)
    file = read(document, CardFile)
    try:
        factor = parse("force", f"1 {file.unit}")
        columns = tuple(
            msgspec.structs.replace(c, points=[(dial, tension * factor) for dial, tension in c.points])
            for c in file.columns
        )
        source = Source(
            file.basis, file.source or f"card of tensiometer {file.serial}", f"calibrated {file.calibrated}"
        )
    except (UnitError, ValueError) as error:
        raise BadFile([Problem(document.name, None, "", str(error))]) from None
    return Card(
        file.serial, file.calibrated, file.due, file.accuracy, file.division, columns, source, str(path), document.sha256
    )  # fmt: skip


def dial_to_lbf(column: CardColumn, dial: float) -> float:
    """Tension [lbf] at a dial reading, linear between the points. Raises Refusal outside them."""
    i = _segment([p[0] for p in column.points], dial, column, "dial")
    (d0, t0), (d1, t1) = column.points[i], column.points[i + 1]
    # rounding must not leave the card
    return t1 if dial == d1 else min(t1, t0 + (dial - d0) * (t1 - t0) / (d1 - d0))


def lbf_to_dial(column: CardColumn, tension_lbf: float) -> float:
    """Dial reading at a tension [lbf]: the inverse of ``dial_to_lbf``. Raises Refusal outside the points."""
    i = _segment([p[1] for p in column.points], tension_lbf, column, "tension")
    (d0, t0), (d1, t1) = column.points[i], column.points[i + 1]
    return d1 if tension_lbf == t1 else min(d1, d0 + (tension_lbf - t0) * (d1 - d0) / (t1 - t0))


def dial_window(column: CardColumn, low_lbf: float, high_lbf: float, division: float) -> tuple[float, float]:
    """The dial divisions whose tension lies inside the band, cut inward to whole divisions.

    Raises Refusal where an edge lies outside the card or no division falls inside.
    """
    slack = 1e-9  # a division exactly on an edge belongs to the band
    low = math.ceil(lbf_to_dial(column, low_lbf) / division - slack) * division
    high = math.floor(lbf_to_dial(column, high_lbf) / division + slack) * division
    if low > high:
        raise Refusal(
            told(
                "no division of the dial falls inside {}..{}: too narrow for this instrument",
                lbf(low_lbf, unit=False),
                lbf(high_lbf),
            )
        )
    return low, high


def local_slope_lbf(column: CardColumn, dial: float) -> float:
    """Tension per unit of dial [lbf] at a reading inside the points."""
    i = _segment([p[0] for p in column.points], dial, column, "dial")
    (d0, t0), (d1, t1) = column.points[i], column.points[i + 1]
    return (t1 - t0) / (d1 - d0)


def interpolation_error_lbf(column: CardColumn, dial: float) -> float:
    """How far the true card may bend away from the chord at a reading [lbf].

    The error of a chord is at most f''/2 (x - x0)(x1 - x); f'' is taken from the change of slope to
    the neighbouring chords, the larger one. Zero at the card's own points.
    """
    points = column.points
    i = _segment([p[0] for p in points], dial, column, "dial")
    slopes = [(t1 - t0) / (d1 - d0) for (d0, t0), (d1, t1) in pairwise(points)]
    bend = 0.0
    for j in (i - 1, i):
        if j >= 0 and j + 1 < len(slopes):
            bend = max(bend, abs(slopes[j + 1] - slopes[j]) / ((points[j + 2][0] - points[j][0]) / 2))
    return bend / 2 * (dial - points[i][0]) * (points[i + 1][0] - dial)


def _segment(xs: list[float], x: float, column: CardColumn, what: str) -> int:
    if not xs[0] <= x <= xs[-1]:
        figures = (
            (lbf(x, ".4g"), lbf(xs[0], "g", unit=False), lbf(xs[-1], "g"))
            if what == "tension"
            else (f"{x:.4g}", f"{xs[0]:g}", f"{xs[-1]:g}")
        )
        raise Refusal(
            told(
                "{} {} lies outside the card's points for {} ({} to {}): no figure is given beyond them",
                what, figures[0], column.label, *figures[1:],
            )
        )  # fmt: skip
    return min(bisect_right(xs, x), len(xs) - 1) - 1
