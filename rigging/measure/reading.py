"""Several dial readings at one place become one tension with its uncertainty (JCGM 100)."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from statistics import NormalDist
from typing import Final

import msgspec

from rigging.errors import UsageError
from rigging.hardware.cable import Cable, strongest
from rigging.measure.card import Card, CardColumn, dial_to_lbf, interpolation_error_lbf, local_slope_lbf
from rigging.measure.uncertainty import Combined, Component, combine, mean_and_deviation, rectangular
from rigging.told import lbf, told

HAND_DOF: Final = 5  # as how many readings beyond the first the usual scatter of a hand counts (practice)


class Tension(msgspec.Struct, frozen=True):
    """A measured tension.

    tension_lbf [lbf]: mean of the readings. combined: its uncertainty [lbf]. spread_lbf [lbf]: highest
    less lowest reading. notes: what the person should know about these readings.
    """

    dials: tuple[float, ...]
    readings_lbf: tuple[float, ...]
    tension_lbf: float
    combined: Combined
    spread_lbf: float
    column: CardColumn
    card: Card
    card_in_date: bool
    notes: tuple[str, ...]

    @property
    def uncertainty_lbf(self) -> float:
        """U at 95 % [lbf]."""
        return self.combined.expanded()

    @property
    def scatter(self) -> Combined:
        """Its uncertainty without the instrument's own error, which is the same every time it is read."""
        return combine(c for c in self.combined.components if c.part != "instrument")


def read_tension(
    card: Card, riser: int, size: str, dials: Sequence[float], today: dt.date, cable: Cable | None = None
) -> Tension:
    """Convert dial readings taken at one place with one riser.

    cable: what was read; where None, the strongest there is of this size.
    Raises Refusal: riser or size not on the card, a dial outside its points, a tension above the proof load of the
    cable. Raises UsageError: no readings.
    """
    if not dials:
        raise UsageError("give at least one dial reading")
    column = card.column(riser, size)
    readings = tuple(dial_to_lbf(column, dial) for dial in dials)
    mean_lbf, deviation_lbf = mean_and_deviation(readings)
    mean_dial, _ = mean_and_deviation(dials)
    if (read := cable or strongest(size)) is not None:
        read.check_rigging_load(mean_lbf, f"a tension at dial {mean_dial:.4g}")
    lbf_per_division = local_slope_lbf(column, mean_dial) * card.division
    resolution_lbf = rectangular(0.5 * lbf_per_division)
    hand_lbf = rectangular(lbf_per_division)
    parts = [
        Component(
            f"accuracy of tensiometer {card.serial}, {card.accuracy:.2g} of reading",
            rectangular(card.accuracy * mean_lbf),
            part="instrument",
        ),
        Component("dial resolution, half a division", resolution_lbf),
        Component("card between its points", rectangular(interpolation_error_lbf(column, mean_dial)), part="card"),
    ]
    parts.append(repeatability(deviation_lbf, hand_lbf, len(dials)))
    notes = []
    if len(dials) == 1:
        notes.append("one reading only: three show whether it repeats")
    elif deviation_lbf > math.hypot(resolution_lbf, hand_lbf) * math.sqrt(
        _chi_square_95(len(dials) - 1) / (len(dials) - 1)
    ):
        notes.append(
            told(
                "readings spread {}, more than the instrument explains: worn or dirty cable, riser not seated, or too near a fitting?",
                lbf(max(readings) - min(readings)),
            )
        )
    in_date = card.in_date(today)
    if not in_date:
        when = f"was due on {card.due}" if today > card.due else f"is dated {card.calibrated}, after today"
        notes.append(f"card {card.serial} {when}: figure shown, not for sign-off")
    if not card.source.acceptable:
        notes.append(f"card {card.serial} is from {card.source.basis.value}: figure shown, not for sign-off")
    return Tension(
        dials=tuple(dials),
        readings_lbf=readings,
        tension_lbf=mean_lbf,
        combined=combine(parts),
        spread_lbf=max(readings) - min(readings),
        column=column,
        card=card,
        card_in_date=in_date,
        notes=tuple(notes),
    )


def repeatability(deviation_lbf: float, hand_lbf: float, count: int) -> Component:
    """Repeatability of a mean [lbf]: the readings' own scatter pooled with what a hand does (GUM 4.2.4).

    deviation_lbf [lbf]: their experimental standard deviation, nan for one reading. hand_lbf [lbf, k=1]: one division.
    Two or three readings say little of their scatter: equal ones would claim none, unequal ones a wild
    one. One division, rectangular, is taken to be known as if from HAND_DOF readings more (practice).
    """
    own = count - 1
    variance = HAND_DOF * hand_lbf**2 + (own * deviation_lbf**2 if own else 0.0)
    pooled_lbf = math.sqrt(variance / (HAND_DOF + own))
    readings = "one reading" if count == 1 else f"{count} readings"
    why = f"repeatability of {readings}, pooled with one division (practice)"
    return Component(why, pooled_lbf / math.sqrt(count), HAND_DOF + own)


def _chi_square_95(degrees_of_freedom: int) -> float:
    """95 % point of chi-square by Wilson and Hilferty; within 1 % from 2 degrees of freedom, 3 % at 1."""
    c = 2 / (9 * degrees_of_freedom)
    return degrees_of_freedom * (1 - c + NormalDist().inv_cdf(0.95) * math.sqrt(c)) ** 3
