"""What every figure that goes into a model is held to first: a number, and on the right side of zero.

A NaN compares false with everything, so that ``value <= 0`` lets it in: all of these are written the other way round.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable

from rigging.errors import Refusal
from rigging.told import told

Tell = Callable[[float], object]
"""How a value is told, with its unit: ``told.lbf`` and the like."""


def _plain(value: float) -> str:
    return f"{value:g}"


def finite(what: str, value: float, tell: Tell = _plain) -> None:
    """Raises Refusal for a value that is not a number or infinite; what: with its article, ``a tension``.

    >>> finite("a tension", -3.0)
    """
    if not math.isfinite(value):
        raise Refusal(told("{} of {}: it must be a number", what, tell(value)))


def all_finite(what: str, values: Iterable[float], tell: Tell = _plain) -> None:
    """Raises Refusal for the first of several that ``finite`` refuses."""
    for value in values:
        finite(what, value, tell)


def above_zero(what: str, value: float, tell: Tell = _plain) -> None:
    """Raises Refusal for a value that is not a number, infinite, or not above zero."""
    if not 0 < value < math.inf:
        raise Refusal(told("{} of {}: it must be above zero", what, tell(value)))


def not_below_zero(what: str, value: float, tell: Tell = _plain) -> None:
    """Raises Refusal for a value that is not a number, infinite, or below zero."""
    if not 0 <= value < math.inf:
        raise Refusal(told("{} of {}: it cannot be below zero", what, tell(value)))
