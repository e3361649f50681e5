"""How long to make a cable, and how many threads then show at its turnbuckle.

    L (1 + s) (1 + T/EA) (1 + a_c d) + (B + 2 n p) (1 + a_c d) = P (1 + a_s d)

The cable, stretched, and the turnbuckle, with n threads of pitch p showing at each end, fill the pin to
pin distance; the structure and the steel each grow with the temperature.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from rigging.errors import Refusal
from rigging.physics.bounds import finite
from rigging.told import degF_apart, inches, told


class Assembly(NamedTuple):
    """A cable with one turnbuckle between two pins.

    pin_to_pin_in: P [in] > 0, at neutral, at the temperature where changes are counted from.
    turnbuckle_in: B [in] >= 0, from its own pin to the end of the cable, terminals flush with the barrel.
    pitch_in: p [in] > 0, of the thread; one turn of the barrel takes up 2 p.
    stiffness_lbf: EA [lbf] > 0. structure_expansion_per_degF, cable_expansion_per_degF: a_s, a_c [1/degF].
    """

    pin_to_pin_in: float
    turnbuckle_in: float
    pitch_in: float
    stiffness_lbf: float
    structure_expansion_per_degF: float
    cable_expansion_per_degF: float


def cut_length_in(assembly: Assembly, threads_showing: float, tension_lbf: float, change_degF: float = 0.0) -> float:
    """Finished length of the cable [in], unloaded, at the temperature where changes are counted from.

    ``L = ( P (1 + a_s d) / (1 + a_c d) - B - 2 n p ) / (1 + T/EA)``

    threads_showing: n at each end [count], below zero inside the barrel. tension_lbf: T [lbf] >= 0 wanted
    after a change of temperature change_degF: d [degF] of structure and cable together.
    Returns L [in] > 0. Raises Refusal where the turnbuckle leaves no room for a cable, or a figure of the
    assembly is not above zero.
    Validity: elastic cable, below proof load; rigid structure of one material; the turnbuckle stretches
    nothing and grows like the cable; both ends of the barrel run alike.

    >>> reach = Assembly(171.0, 8.0, 1 / 28, 104123.0, 4.45e-6 / 1.8, 11.7e-6 / 1.8)
    >>> round(cut_length_in(reach, 3.0, 35.0), 3)
    162.731

    Reference: statics and thermal growth, exact for this model.
    """
    _check(assembly, tension_lbf, change_degF)
    finite("a count of threads", threads_showing)
    room_in = _reach_in(assembly, change_degF) - assembly.turnbuckle_in - 2 * threads_showing * assembly.pitch_in
    if not room_in > 0:
        raise Refusal(
            told(
                "a turnbuckle of {} with {} threads showing leaves no cable between pins {} apart",
                inches(assembly.turnbuckle_in, ".4g"),
                f"{threads_showing:g}",
                inches(assembly.pin_to_pin_in, ".4g"),
            )
        )
    return room_in / (1.0 + tension_lbf / assembly.stiffness_lbf)


def threads_showing(
    assembly: Assembly, length_in: float, tension_lbf: float, change_degF: float = 0.0, bedding_in_share: float = 0.0
) -> float:
    """Threads that show at each end [count] once this cable is set to a tension; below zero they are inside.

    ``n = ( P (1 + a_s d) / (1 + a_c d) - B - L (1 + s) (1 + T/EA) ) / 2 p``

    length_in: L [in] > 0, finished and unloaded. tension_lbf: T [lbf] >= 0 set after a change of temperature
    change_degF: d [degF]. bedding_in_share: s [1] >= 0, how much longer the cable has become for good.
    Raises Refusal and holds within the validity of ``cut_length_in``, whose inverse it is.

    >>> reach = Assembly(171.0, 8.0, 1 / 28, 104123.0, 4.45e-6 / 1.8, 11.7e-6 / 1.8)
    >>> round(threads_showing(reach, cut_length_in(reach, 3.0, 35.0), 35.0, bedding_in_share=0.001), 2)
    0.72
    """
    _check(assembly, tension_lbf, change_degF)
    if not (0 < length_in < math.inf and 0 <= bedding_in_share < math.inf):
        raise Refusal("a cable has a length above zero, and bedding-in makes it no shorter")
    stretched_in = length_in * (1.0 + bedding_in_share) * (1.0 + tension_lbf / assembly.stiffness_lbf)
    left_in = _reach_in(assembly, change_degF) - assembly.turnbuckle_in - stretched_in
    return left_in / (2.0 * assembly.pitch_in)


def _reach_in(assembly: Assembly, change_degF: float) -> float:
    """Pin to pin after a change of temperature, in lengths of the steel as it was before."""
    structure = 1.0 + assembly.structure_expansion_per_degF * change_degF
    return assembly.pin_to_pin_in * structure / (1.0 + assembly.cable_expansion_per_degF * change_degF)


def _check(assembly: Assembly, tension_lbf: float, change_degF: float) -> None:
    for name, value in (
        ("pin to pin distance", assembly.pin_to_pin_in),
        ("pitch", assembly.pitch_in),
        ("stiffness", assembly.stiffness_lbf),
    ):
        if not 0 < value < math.inf:
            raise Refusal(f"the {name} must be above zero, not {value:g}")
    if not (0 <= assembly.turnbuckle_in < math.inf and 0 <= tension_lbf < math.inf):
        raise Refusal("a turnbuckle's length and a tension cannot be below zero")
    finite("a change of temperature", change_degF, degF_apart)
    finite("an expansion of the structure per degree", assembly.structure_expansion_per_degF)
    finite("an expansion of the cable per degree", assembly.cable_expansion_per_degF)
    if not 1.0 + assembly.cable_expansion_per_degF * change_degF > 0:
        raise Refusal("a cable cannot shrink to nothing: check its expansion and the change of temperature")
