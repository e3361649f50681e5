"""Checking a tensiometer with hanging weights: what its card reads less what hangs on the cable, and how sure that is.

A weight of a known mass, hung on a cable that is led over nothing, pulls with that mass times local gravity.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Final, Literal

import msgspec

from rigging.errors import Refusal, UnitError, UsageError
from rigging.measure.card import Card, CardColumn, local_slope_lbf
from rigging.measure.reading import Tension, read_tension, repeatability
from rigging.measure.uncertainty import Combined, Component, combine, mean_and_deviation, rectangular
from rigging.told import lbf, told
from rigging.units import number, parse_force_lbf, tidy

FEWEST_LOADS: Final = 3
LARGEST_SHARE: Final = 0.2  # weights known no better than this check nothing

# A pound hung on a cable pulls one pound-force where gravity is standard. At sea level it runs from 9.780 m/s2 at the
# equator to 9.832 at the poles (computed: up to 0.27 % off).
STANDARD_GRAVITY: Final = 9.80665
GRAVITY_SHARE: Final = max(STANDARD_GRAVITY - 9.780, 9.832 - STANDARD_GRAVITY) / STANDARD_GRAVITY
# Air of 1.2 kg/m3 bears iron of 7850 kg/m3 up by 0.015 %, lead less, a can of water by 0.12 %: told and not counted.
BUOYANCY_SHARE: Final = 1.2 / 7850


class Load(msgspec.Struct, frozen=True):
    """What was hung on [lbf] and what the dial showed, as often as it was read."""

    load_lbf: float
    dials: tuple[float, ...]
    text: str


class Weighing(msgspec.Struct, frozen=True):
    """One load on one instrument.

    tension: what its card makes of the dial. outside: where the dial left the card, and the card's end stands in for it:
    the tension is then ``under`` or ``over`` the one given. difference_lbf [lbf]: reading less load. combined: its
    uncertainty [lbf] without the instrument's stated accuracy, which is what it is held to.
    """

    load: Load
    tension: Tension
    outside: Literal["under", "over"] | None
    combined: Combined

    @property
    def difference_lbf(self) -> float:
        """What the card reads less what hangs there [lbf]."""
        return self.tension.tension_lbf - self.load.load_lbf

    @property
    def share(self) -> float:
        """The difference as a share of the load."""
        return self.difference_lbf / self.load.load_lbf

    @property
    def uncertainty_lbf(self) -> float:
        """U of the difference at 95 % [lbf]."""
        return self.combined.expanded()

    @property
    def mean_dial(self) -> float:
        """Mean of the dial readings, on the card or not."""
        return mean_and_deviation(self.load.dials)[0]


def parse_load(text: str) -> Load:
    """``30 lbf: 27 27 28``: the load with its unit, then the dial readings. Raises UnitError or UsageError."""
    raw = tidy(text)
    weight, colon, dials = raw.partition(":")
    if not colon or not dials.split():
        raise UsageError(f"'{raw}': write the load and what the dial showed, like '30 lbf: 27 27 28'")
    load_lbf = parse_force_lbf(weight)
    if not 0 < load_lbf <= 1e6:
        raise UnitError(f"'{weight.strip()}' is no load to hang on a cable: it must be more than zero")
    if "," in dials:
        raise UnitError(f"'{raw}' has a comma: part the dial readings by blanks, write decimals with a point")
    readings = tuple(number(word) for word in dials.split())
    if min(readings) < 0:
        raise UnitError(f"'{raw}': a dial does not read below zero")
    return Load(load_lbf, readings, raw)


def need_loads(loads: Sequence[Load]) -> list[Load]:
    """The loads from light to heavy. Raises Refusal for fewer than three, UsageError where one is given twice."""
    ordered = sorted(loads, key=lambda load: load.load_lbf)
    for load, next_load in pairwise(ordered):
        if math.isclose(load.load_lbf, next_load.load_lbf, rel_tol=1e-6):
            raise UsageError(f"'{load.text}' and '{next_load.text}' are one load: put all its readings into one --at")
    if len(ordered) < FEWEST_LOADS:
        raise Refusal(
            f"{len(ordered)} load{'' if len(ordered) == 1 else 's'} cannot check an instrument: "
            f"hang {FEWEST_LOADS} or more, around the tension that matters"
        )
    return ordered


def load_parts(load_lbf: float, weight_accuracy: float) -> list[Component]:
    """Uncertainty [lbf, k=1] of a hung load: the weights, known within a share of themselves, and local gravity."""
    return [
        Component(f"weights within {100 * weight_accuracy:g} %", rectangular(weight_accuracy * load_lbf)),
        Component(
            f"local gravity, within {100 * GRAVITY_SHARE:.2f} % anywhere on earth", rectangular(GRAVITY_SHARE * load_lbf)
        ),
    ]  # fmt: skip


def weigh(card: Card, riser: int, size: str, load: Load, weight_accuracy: float, today: dt.date) -> Weighing:
    """Compare what the card makes of the dial with what hangs there.

    weight_accuracy: how far the weights may be off, as a share. Of the uncertainty of a reading the stated accuracy is
    left out, and what the card may bend between its points: an instrument is judged with its card, by the figure it gives.
    A dial beyond the card is taken at the card's end. Raises Refusal: no such column, or dials beyond both ends.
    """
    column = card.column(riser, size)
    low, high = column.points[0][0], column.points[-1][0]
    under, over = min(load.dials) < low, max(load.dials) > high
    if under and over:
        raise Refusal(f"'{load.text}': the dial lies beyond both ends of the card: read it again")
    tension = read_tension(card, riser, size, [min(max(dial, low), high) for dial in load.dials], today)
    own = [c for c in tension.combined.components if not c.part]
    combined = combine([*load_parts(load.load_lbf, weight_accuracy), *own])
    return Weighing(load, tension, "under" if under else "over" if over else None, combined)


def measured_column(riser: int, size: str, loads: Sequence[Load]) -> CardColumn:
    """A card's column from the loads themselves, light to heavy: mean dial against load.

    Raises Refusal where the dial does not rise with the load.
    """
    points = [(round(mean_and_deviation(load.dials)[0], 3), round(load.load_lbf, 3)) for load in loads]
    for (dial, load_lbf), (dial2, load2_lbf) in pairwise(points):
        if not dial2 > dial:
            raise Refusal(
                told(
                    "no card can be made: the dial shows {} at {} and {} at {}; does the instrument stick, or are two loads mixed up?",
                    f"{dial:g}",
                    lbf(load_lbf, "g"),
                    f"{dial2:g}",
                    lbf(load2_lbf, "g"),
                )
            )
    return CardColumn(riser, size, points)


def column_accuracy(
    column: CardColumn, loads: Sequence[Load], division: float, weight_accuracy: float, stated: float
) -> float:
    """The accuracy a measured column may claim, as a share of the reading, rounded up to 0.1 %.

    The half-width that stands for the worst of its points (weights, gravity, dial), and never better than what was
    stated of the instrument before: one day's weights do not show how it drifts.
    """
    worst = stated
    for load in loads:
        mean, deviation = mean_and_deviation(load.dials)
        slope_lbf = local_slope_lbf(column, min(max(mean, column.points[0][0]), column.points[-1][0]))
        hand_lbf = rectangular(slope_lbf * division)
        parts = [
            *load_parts(load.load_lbf, weight_accuracy),
            Component("dial", rectangular(0.5 * slope_lbf * division)),
            repeatability(slope_lbf * deviation, hand_lbf, len(load.dials)),
        ]
        worst = max(worst, math.sqrt(3) * combine(parts).standard_uncertainty / load.load_lbf)
    return math.ceil(1000 * worst - 1e-9) / 1000
