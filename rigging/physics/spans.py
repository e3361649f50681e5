"""Where a quantity that runs in straight pieces against temperature lies below zero, and where something changes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import NamedTuple

from rigging.errors import Refusal
from rigging.physics.bounds import all_finite
from rigging.told import degF, lbf

HALVINGS = 60  # brings 225 degF down to rounding


class Span(NamedTuple):
    """From one temperature [degF] to a higher one [degF]."""

    from_degF: float
    to_degF: float


def below_zero(temperatures_degF: Sequence[float], margins_lbf: Sequence[float | None]) -> list[Span]:
    """The spans in which a margin lies below zero, each crossing straight between its two neighbours.

    temperatures_degF [degF]: rising. margins_lbf [lbf]: one for each temperature; None where there is
    none, and no span reaches into a piece with an open end. Without two temperatures there is no span. Raises Refusal for
    two lists of two lengths, temperatures that do not rise, or what is no number.

    >>> below_zero([0.0, 10.0, 20.0], [-5.0, 5.0, None])
    [Span(from_degF=0.0, to_degF=5.0)]
    """
    if len(temperatures_degF) != len(margins_lbf):
        raise Refusal(f"{len(margins_lbf)} margins are given for {len(temperatures_degF)} temperatures")
    all_finite("a temperature", temperatures_degF, degF)
    all_finite("a margin", (m for m in margins_lbf if m is not None), lbf)
    if any(later < earlier for earlier, later in pairwise(temperatures_degF)):
        raise Refusal("the temperatures of a line must rise")
    spans: list[Span] = []
    ends = list(zip(temperatures_degF, margins_lbf, strict=True))
    for (t0, m0), (t1, m1) in pairwise(ends):
        if m0 is None or m1 is None or min(m0, m1) >= 0.0:
            continue
        crossing = t0 + (t1 - t0) * m0 / (m0 - m1) if m0 * m1 < 0 else None
        start = crossing if crossing is not None and m0 > 0 else t0
        end = crossing if crossing is not None and m1 > 0 else t1
        if spans and spans[-1].to_degF == start:
            spans[-1] = Span(spans[-1].from_degF, end)
        else:
            spans.append(Span(start, end))
    return spans


def last_alike(near_degF: float, far_degF: float, alike: Callable[[float], bool]) -> float:
    """The last temperature [degF], on the way from ``near`` to ``far``, at which ``alike`` still holds.

    alike: true at ``near_degF``, false at ``far_degF``, with one change between; found by halving. Raises Refusal for a
    temperature that is no number.
    """
    all_finite("a temperature", (near_degF, far_degF), degF)
    for _ in range(HALVINGS):
        middle = (near_degF + far_degF) / 2
        if alike(middle):
            near_degF = middle
        else:
            far_degF = middle
    return near_degF
