"""Loads on a loop, its cable and its pulleys under the pilot's hand; the whole circuit is in ``circuit``."""

from __future__ import annotations

import math
from typing import Final, NamedTuple

from rigging.errors import Refusal
from rigging.physics.bounds import above_zero, not_below_zero
from rigging.told import Amount, lbf, told

ULTIMATE_FACTOR: Final = 1.5


class Loop(NamedTuple):
    """The two sides of a closed loop [lbf], and whether the second hangs slack."""

    tight_lbf: float
    slack_lbf: float
    is_slack: bool


def loop_under_force(rigging_lbf: float, cable_force_lbf: float) -> Loop:
    """Both sides of a loop of two like cables while a force pulls at one end and the other end is held.

    ``T0 + F/2`` and ``T0 - F/2`` while F <= 2 T0; beyond that ``F`` and ``0``, at half the stiffness.

    rigging_lbf: T0 [lbf] >= 0, tension at rest. cable_force_lbf: F [lbf] >= 0, the pull at the cable: stick
    force times lever over arm. Raises Refusal for a negative one.
    Validity: equal arms, cables of equal stiffness, no friction; anything else is for ``circuit``.

    >>> loop_under_force(35.0, 30.0)
    Loop(tight_lbf=50.0, slack_lbf=20.0, is_slack=False)
    >>> loop_under_force(35.0, 100.0)
    Loop(tight_lbf=100.0, slack_lbf=0.0, is_slack=True)

    Reference: statics, exact.
    """
    not_below_zero("a rigging tension", rigging_lbf, _lbf)
    not_below_zero("a cable force", cable_force_lbf, _lbf)
    if cable_force_lbf >= slack_force_lbf(rigging_lbf):
        return Loop(cable_force_lbf, 0.0, True)
    return Loop(rigging_lbf + cable_force_lbf / 2, rigging_lbf - cable_force_lbf / 2, False)


def slack_force_lbf(rigging_lbf: float) -> float:
    """The cable force [lbf] at which the slack side of such a loop reaches zero: ``2 T0``.

    >>> slack_force_lbf(35.0)
    70.0
    """
    not_below_zero("a rigging tension", rigging_lbf, _lbf)
    return 2.0 * rigging_lbf


def strength_margin(strength_lbf: float, limit_load_lbf: float, ultimate_factor: float = ULTIMATE_FACTOR) -> float:
    """Margin of safety [1] on breaking strength: ``strength / (factor x limit load) - 1``; below zero it breaks.

    strength_lbf [lbf] > 0. limit_load_lbf [lbf] >= 0; without load the margin is infinite.
    Raises Refusal for a strength that is not above zero or a negative load.

    >>> strength_margin(2000.0, 1000.0)
    0.33333333333333326
    """
    if not 0 < strength_lbf < math.inf:
        raise Refusal(told("a breaking strength above zero is needed, not {}", lbf(strength_lbf, "g")))
    not_below_zero("a limit load", limit_load_lbf, _lbf)
    above_zero("an ultimate factor", ultimate_factor)
    if limit_load_lbf == 0:
        return math.inf
    return strength_lbf / (ultimate_factor * limit_load_lbf) - 1.0


def pulley_load_lbf(tension_lbf: float, wrap_deg: float) -> float:
    """Load on the pin of a pulley [lbf]: ``2 T sin(wrap / 2)``, both sides at the same tension.

    tension_lbf: T [lbf] >= 0. wrap_deg [deg]: the angle the cable turns through, 0 to 360.
    Raises Refusal outside these.

    >>> round(pulley_load_lbf(100.0, 90.0), 1)
    141.4
    """
    not_below_zero("a tension", tension_lbf, _lbf)
    if not 0 <= wrap_deg <= 360:
        raise Refusal(f"a wrap of {wrap_deg:g} deg lies outside 0 to 360")
    return 2.0 * tension_lbf * math.sin(math.radians(wrap_deg) / 2)


def _lbf(force_lbf: float) -> Amount:
    return lbf(force_lbf, "g")
