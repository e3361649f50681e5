"""Friction where a cable bends over pulleys and fairleads, and the friction of a whole circuit at the hand.

    T2 = T1 exp( sum mu beta )

Every bend holds back a share of the tension, whatever the diameter of the pulley; the shares multiply.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Final, Literal, NamedTuple

from rigging.errors import Refusal
from rigging.told import lbf, told

# of mu beta: beyond, a bend holds back more than any cable breaks at
_MOST: Final = 20.0


class Bend(NamedTuple):
    """A place where a cable turns: friction, the coefficient mu [1] >= 0, and the angle it turns through [deg] >= 0."""

    friction: float
    angle_deg: float


def bend_ratio(friction: float, angle_rad: float) -> float:
    """Tension on the pulled side of one bend over that on the other, once the cable slides.

    ``T2 / T1 = exp(mu beta)``

    friction: mu [1] >= 0. angle_rad: beta [rad] >= 0. Returns the ratio [1] >= 1.
    Raises Refusal where either is negative or not a number, or mu beta beyond 20.
    Validity: a cable that bends easily, sliding or about to, with friction in proportion to the load.

    >>> round(bend_ratio(0.2, math.pi), 3)
    1.874

    Reference: the belt equation of Euler and Eytelwein, exact for that model.
    """
    if not (0 <= friction < math.inf and 0 <= angle_rad < math.inf):
        raise Refusal(
            f"friction needs a coefficient and an angle that are not negative, not {friction:g} and {math.degrees(angle_rad):g} deg"
        )
    if friction * angle_rad > _MOST:
        raise Refusal(
            f"friction of {friction:g} over {math.degrees(angle_rad):g} deg lets nothing slide: check coefficient and angle"
        )
    return math.exp(friction * angle_rad)


def tension_ratio(bends: Iterable[Bend]) -> float:
    """Highest over lowest tension [1] along bends that all hold back the same way: ``exp(sum mu beta)``, 1 without bends.

    Raises Refusal for a negative coefficient or angle.

    >>> round(tension_ratio([Bend(0.2, 90.0), Bend(0.2, 90.0)]), 3)
    1.874
    """
    return math.prod(bend_ratio(bend.friction, math.radians(bend.angle_deg)) for bend in bends)


def spread_lbf(tension_lbf: float, bends: Iterable[Bend]) -> float:
    """How far readings at two stations may differ [lbf] by the friction of the bends between them.

    ``T (exp(sum mu beta) - 1)``

    tension_lbf: the lower of the two readings [lbf] >= 0. A larger difference is drag: a pulley that does
    not turn, a cable that rubs. Raises Refusal for a negative tension, coefficient or angle.

    >>> round(spread_lbf(40.0, [Bend(0.0125, 180.0)]), 1)
    1.6
    """
    if not 0 <= tension_lbf < math.inf:
        raise Refusal(told("a tension of {}: a cable cannot push", lbf(tension_lbf, "g")))
    return tension_lbf * (tension_ratio(bends) - 1.0)


class CircuitFriction(NamedTuple):
    """friction_lbf [lbf]: what opposes motion either way. load_lbf [lbf]: what pulls the one way at rest."""

    friction_lbf: float
    load_lbf: float


def circuit_friction(
    pull_one_lbf: float, pull_other_lbf: float, scale: Literal["same side", "other side"] = "same side"
) -> CircuitFriction:
    """Friction of a circuit [lbf] from two pulls of a spring scale, the control moved slowly one way and the other.

    Scale left on the same side: it shows load + friction on the way up and load - friction on the way
    back, so that ``friction = |one - other| / 2`` and ``load = (one + other) / 2``. Hooked on the other
    side for the way back, the second pull counts as negative: it pulls against the first.

    pull_one_lbf, pull_other_lbf: what the scale shows [lbf] >= 0. Raises Refusal for a negative pull.
    Validity: both pulls at the same place, the same speed and the same position of the control.

    >>> circuit_friction(5.0, 2.0)
    CircuitFriction(friction_lbf=1.5, load_lbf=3.5)

    Reference: RAF A.P. 4309A: friction is half the difference of the two directions.
    """
    if not (0 <= pull_one_lbf < math.inf and 0 <= pull_other_lbf < math.inf):
        raise Refusal("a spring scale only pulls: a pull below zero is none (see --other-side)")
    other_lbf = pull_other_lbf if scale == "same side" else -pull_other_lbf
    return CircuitFriction(abs(pull_one_lbf - other_lbf) / 2, (pull_one_lbf + other_lbf) / 2)


def circuit_friction_lbf(pull_one_lbf: float, pull_other_lbf: float) -> float:
    """Half the difference [lbf] of two spring-scale pulls on the same side (RAF A.P. 4309A).

    >>> circuit_friction_lbf(5.0, 2.0)
    1.5
    """
    return circuit_friction(pull_one_lbf, pull_other_lbf).friction_lbf
