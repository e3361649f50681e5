"""How stiff a cable is against bending: between loose wires and a solid rod, and nothing tells where.

    EI = E pi d^4 / 64                    solid rod of the cable's diameter
    EI = E n pi w^4 / 64                  n wires of diameter w that slide on each other

Friction between the wires decides, and with it lubrication, age and tension. For 7x19 the two differ by a factor
of 381. ``longer_way`` is what a bent cable needs of its circuit, whichever beam it is.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Final, NamedTuple

from rigging.errors import Refusal
from rigging.physics.bounds import above_zero
from rigging.told import inches, lbf

# 200 GPa, as every handbook has it for steel; stainless wire lies a few per cent below
STEEL_PSI: Final = 200 * 145037.73773

# wires, and cable diameter over wire diameter, by the geometry of round wires that touch
WIRES: Final = {"7x19": (133, 15.0), "7x7": (49, 9.0), "1x19": (19, 5.0), "1x7": (7, 3.0), "3x7": (21, 6.464)}

SLICES: Final = 15  # of the square root of EI: twice as many move no figure by 0.1 %
_STEP: Final = 1e-3  # of ln T, for a difference: good to a millionth, and far above rounding


class BendingRange(NamedTuple):
    """Least and most bending stiffness EI [lbf in2]."""

    loose_lbf_in2: float
    solid_lbf_in2: float

    def slices(self, count: int = SLICES) -> tuple[float, ...]:
        """EI [lbf in2] in the middle of equal slices of its square root, each as likely as the next.

        Its effect on a tension grows with the square root, so the effect is rectangular (JCGM 100, 4.3.7): neither end
        is left out, and in small movements friction holds the wires together and the stiff end is the likely one.

        Raises Refusal for fewer than one, or a range that does not run from zero or more up.

        >>> [round(ei) for ei in BendingRange(0.0, 400.0).slices(2)]
        [25, 225]
        """
        if not 1 <= count < math.inf:
            raise Refusal(f"{count:g} slices of a bending stiffness: one or more")
        if not 0 <= self.loose_lbf_in2 <= self.solid_lbf_in2 < math.inf:
            raise Refusal(
                "a bending stiffness runs from that of loose wires, not below zero, up to that of a solid rod"
            )
        low, high = math.sqrt(self.loose_lbf_in2), math.sqrt(self.solid_lbf_in2)
        return tuple((low + (i + 0.5) / count * (high - low)) ** 2 for i in range(count))


def bending_range(diameter_in: float, construction: str) -> BendingRange:
    """Least and most bending stiffness of a steel cable.

    diameter_in [in] > 0. construction: a key of ``WIRES``. Returns EI [lbf in2] of loose wires and of a solid rod.
    Raises Refusal for a diameter that is not above zero or an unknown construction.
    Validity: round wires of steel; the truth lies between, by an amount that is not known beforehand.

    >>> low, high = bending_range(0.125, "7x19")
    >>> round(low, 2), round(high)
    (0.91, 348)

    Reference: beam theory (EI of a circular section); the wire counts are those of the construction's name.
    """
    above_zero("a cable diameter", diameter_in, inches)
    if construction not in WIRES:
        raise Refusal(f"no wire count is known for {construction} cable (known: {', '.join(WIRES)})")
    count, across = WIRES[construction]
    solid_lbf_in2 = STEEL_PSI * math.pi * diameter_in**4 / 64
    return BendingRange(solid_lbf_in2 * count / across**4, solid_lbf_in2)


def longer_way(share_at: Callable[[float], float], tension_lbf: float) -> float:
    """How much longer the way of a bent cable is than that of a string through the same deflection [1]; 1 for a string.

    ``(share - T dshare/dT) / share^2``

    share_at: for a tension [lbf], what a force deflects the cable by over what it would deflect a string by, all else
    being as it is. tension_lbf: T [lbf] > 0. Returns the ratio of the two ways, each less the straight line.
    Raises Refusal for a tension that is not above zero or a share that is none. Validity: small slopes.

    >>> longer_way(lambda tension_lbf: 1.0, 35.0)
    1.0

    Reference: the way is the integral of w'^2 / 2, and that of w'^2 is ``-F^2 d(w/F)/dT`` for every beam that one force
    deflects, since ``w/F = f K^-1 f`` with dK/dT the stiffness of the slopes (linear statics, exact).
    """
    above_zero("a tension", tension_lbf, lbf)
    share = share_at(tension_lbf)
    if not 0 < share < math.inf:
        raise Refusal(f"{share:g} of a string's deflection: it must be above zero")
    above, below = (share_at(tension_lbf * math.exp(step)) for step in (_STEP, -_STEP))
    return (share - (above - below) / (2 * _STEP)) / share**2
