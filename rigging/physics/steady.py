"""How a part follows the air around it: a lumped body, whose difference to the air dies away.

theta - theta_air = (theta_0 - theta_air) exp(-t / tau),        tau = (V / A) rho c / h
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Final, NamedTuple

from rigging.errors import Refusal
from rigging.physics.bounds import above_zero, all_finite, finite, not_below_zero
from rigging.told import degF_apart, told

LARGEST_BIOT: Final = 0.1  # usual bound of the lumped model: beyond it the inside lags behind the surface
_NORMAL_95: Final = 1.959964


class Approach(NamedTuple):
    """A time constant from readings [h], with its 95 % interval by the thermometer; high_h may be infinite."""

    time_constant_h: float
    low_h: float
    high_h: float


def time_constant_s(
    volume_per_area_m: float, density_kg_per_m3: float, heat_capacity_J_per_kgK: float, film_W_per_m2K: float,
    conductivity_W_per_mK: float = math.inf,
) -> float:  # fmt: skip
    """Time constant [s] of a body of one temperature in air or liquid.

    ``tau = (V / A) rho c / h``

    volume_per_area_m: volume over the surface in the air [m] > 0: half the thickness of a plate, a quarter of the
    diameter of a wire, a sixth of that of a ball. density_kg_per_m3: rho [kg/m3] > 0. heat_capacity_J_per_kgK: c
    [J/(kg K)] > 0. film_W_per_m2K: h [W/(m2 K)] > 0, heat passed per area and degree; still air 8 to 10.
    conductivity_W_per_mK: of the body [W/(m K)] > 0, to hold it to the bound; taken as ample where left out.
    Raises Refusal for a figure that is not above zero, and where ``h (V/A) / k`` is beyond 0.1.
    Validity: metal in air, by far; not wood or foam thicker than a skin, whose inside lags behind.

    A 20 mm steel ball with h 1000:

    >>> round(time_constant_s(0.020 / 6, 7800.0, 500.0, 1000.0), 1)
    13.0

    Reference: the lumped-capacitance model of any text on heat transfer; bound on the Biot number as usual there.
    """
    figures = {
        "volume over area [m]": volume_per_area_m,
        "density [kg/m3]": density_kg_per_m3,
        "heat capacity [J/(kg K)]": heat_capacity_J_per_kgK,
        "film coefficient [W/(m2 K)]": film_W_per_m2K,
    }
    for what, value in figures.items():
        above_zero(what, value)
    if not conductivity_W_per_mK > 0:
        raise Refusal(f"a conductivity of {conductivity_W_per_mK:g} W/(m K): it must be above zero")
    biot = film_W_per_m2K * volume_per_area_m / conductivity_W_per_mK
    if biot > LARGEST_BIOT:
        raise Refusal(
            f"h (V/A) / k is {biot:.2g}, beyond {LARGEST_BIOT:g}: the inside lags behind the surface, "
            "and one time constant does not hold (usual bound of the lumped model)"
        )
    return volume_per_area_m * density_kg_per_m3 * heat_capacity_J_per_kgK / film_W_per_m2K


def difference_left_degF(difference_degF: float, time_h: float, time_constant_h: float) -> float:
    """What is left of a difference to the air [degF] after a time [h] >= 0: ``difference exp(-t / tau)``.

    Raises Refusal for a time below zero or a time constant that is not above zero.

    >>> round(difference_left_degF(16.0, 0.2, 0.2), 2)
    5.89
    """
    _need_time_constant(time_constant_h)
    not_below_zero("a time [h]", time_h)
    finite("a difference", difference_degF, degF_apart)
    return difference_degF * math.exp(-time_h / time_constant_h)


def wait_h(difference_degF: float, within_degF: float, time_constant_h: float) -> float:
    """How long [h] until a part lies within a band of steady air: ``tau ln(|difference| / within)``, 0 inside it.

    difference_degF [degF]: part less air, now. within_degF [degF] > 0. time_constant_h [h] > 0.
    Raises Refusal outside. Validity: the air stays as it is.

    >>> round(60 * wait_h(16.0, 2.0, 0.2), 1)
    25.0
    """
    _need_time_constant(time_constant_h)
    finite("a difference", difference_degF, degF_apart)
    if not 0 < within_degF < math.inf:
        raise Refusal(told("within {}: nothing comes closer than that, give more than zero", degF_apart(within_degF)))
    return max(0.0, time_constant_h * math.log(max(abs(difference_degF), within_degF) / within_degF))


def fit_time_constant(
    times_h: Sequence[float], differences_degF: Sequence[float], half_width_degF: float
) -> Approach | None:  # fmt: skip
    """Time constant [h] from readings of one part in steady air: the straight line through the logs of its differences.

    ``ln|theta - theta_air| = const - t / tau``, each weighted by its difference squared, since a thermometer's error
    weighs most on a small one.

    times_h [h]: rising. differences_degF [degF]: part less air, all of one sign. half_width_degF [degF] >= 0: of the
    thermometer, rectangular, for the interval. Returns None where the part does not come nearer.
    Raises Refusal: fewer than two readings, times that do not rise, a difference of zero or of another sign.

    >>> found = fit_time_constant([0.0, 0.5], [16.0, 8.0], 0.0)
    >>> round(found.time_constant_h * math.log(2), 3)
    0.5
    """
    if len(times_h) < 2 or len(times_h) != len(differences_degF):
        raise Refusal("two readings or more, each with its time, are needed to tell how fast a part follows")
    all_finite("a time [h]", times_h)
    all_finite("a difference", differences_degF, degF_apart)
    not_below_zero("how far a thermometer may be off", half_width_degF, degF_apart)
    if any(not later > earlier for earlier, later in pairwise(times_h)):
        raise Refusal("the readings must be in the order of their times, each later than the one before")
    if not (all(d > 0 for d in differences_degF) or all(d < 0 for d in differences_degF)):
        raise Refusal("the readings lie on both sides of the air's temperature: they tell no time constant")
    weights = [d * d for d in differences_degF]
    total = math.fsum(weights)
    middle_h = math.fsum(w * t for w, t in zip(weights, times_h, strict=True)) / total
    spread = math.fsum(w * (t - middle_h) ** 2 for w, t in zip(weights, times_h, strict=True))
    logs = [math.log(abs(d)) for d in differences_degF]
    rate = -math.fsum(w * (t - middle_h) * y for w, t, y in zip(weights, times_h, logs, strict=True)) / spread
    if not rate > 0:
        return None
    off = _NORMAL_95 * half_width_degF / math.sqrt(3) / math.sqrt(spread)
    return Approach(1 / rate, 1 / (rate + off), 1 / (rate - off) if rate > off else math.inf)


def _need_time_constant(time_constant_h: float) -> None:
    above_zero("a time constant [h]", time_constant_h)
