"""A recording of a plucked span becomes its modes, and the modes a tension."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import msgspec

from rigging.bands import Band
from rigging.errors import Refusal
from rigging.hardware.cable import Cable
from rigging.jobs.pluck import Pluck, pluck
from rigging.jobs.pluck_modes import with_sag
from rigging.measure.peaks import Peak, spectrum_peaks
from rigging.measure.series import FEWEST_MODES, HIGHEST_SEARCHED, find_series
from rigging.physics.bending import bending_range
from rigging.physics.pluck import Mode, fitted_tension, mass_lbf_s2_per_in2, mode_frequency_Hz
from rigging.source import Figure

if TYPE_CHECKING:
    from rigging.measure.wav import Sound

# what light aircraft were seen rigged to runs from 5 to 190 lbf (practice)
USUAL_LBF: Final = (5.0, 200.0)
HIGHEST_HEARD_Hz: Final = 2000.0
_MARGIN: Final = 1.1  # on both ends of the expected tension
_COARSE: Final = 12
_FINE: Final = 12
_GOLDEN: Final = (math.sqrt(5) - 1) / 2
_ODD: Final = 9.0  # chi-square of a single mode at which it is taken for a stranger


class Heard(msgspec.Struct, frozen=True):
    """What a recording told. peaks: all that stood out; modes of ``pluck`` are those of the cable. low_lbf, high_lbf
    [lbf]: the tensions looked for."""

    file: str
    rate_Hz: float
    duration_s: float
    peaks: tuple[Peak, ...]
    low_lbf: float
    high_lbf: float
    expected: bool
    pluck: Pluck

    @property
    def usable(self) -> bool:
        """Whether a verdict may rest on it: not where nobody said about what tension to expect, since modes 2, 4, 6 heard
        alone pass for 1, 2, 3 of a cable four times as tight."""
        return self.expected and self.pluck.usable


def listen(
    sound: Sound, span_in: float, cable: Cable, weight: Figure, span_within_in: float = 0.5,
    expected_lbf: tuple[float, float] | None = None, band: Band | None = None,
) -> Heard:  # fmt: skip
    """Find the modes of the span in a recording and make a tension of them.

    expected_lbf [lbf]: lowest and highest tension to look for, 5 to 200 where None. Raises Refusal: no series of three
    modes stands out, two do, or what stands out is no single span; and as ``pluck``.
    """
    low_lbf, high_lbf = expected_lbf or USUAL_LBF
    if not 0 < low_lbf < high_lbf:
        raise Refusal("the lowest tension to look for must lie above zero and below the highest")
    cable.check_rigging_load(high_lbf, "a tension to look for")
    mass = mass_lbf_s2_per_in2(weight.value)
    solid_lbf_in2 = bending_range(cable.diameter_in, cable.construction).solid_lbf_in2
    lowest_Hz = mode_frequency_Hz(1, low_lbf / _MARGIN, span_in, mass)
    highest_Hz = mode_frequency_Hz(1, high_lbf * _MARGIN, span_in, mass, solid_lbf_in2, "clamped")
    spectrum = spectrum_peaks(sound, 0.8 * lowest_Hz, min(HIGHEST_SEARCHED * highest_Hz, HIGHEST_HEARD_Hz))
    # B = pi^2 EI / (T L^2) and T = 4 m L^2 f1^2, half as much again for clamped ends
    stiffest_Hz2 = 1.5 * math.pi**2 * solid_lbf_in2 / (4 * mass * span_in**4)
    series = find_series(spectrum, lowest_Hz, highest_Hz, stiffest_Hz2)
    modes = [Mode(m.number, m.peak.frequency_Hz, m.peak.standard_uncertainty_Hz) for m in series.members]
    felt = _without_strangers(list(with_sag(modes, span_in, cable, weight)), span_in, cable, mass)
    numbers = {m.number for m in felt}
    found = pluck([m for m in modes if m.number in numbers], span_in, cable, weight, span_within_in, band)
    return Heard(
        sound.file, sound.rate_Hz, sound.duration_s, spectrum.peaks, low_lbf, high_lbf, expected_lbf is not None, found
    )


def _without_strangers(modes: list[Mode], span_in: float, cable: Cable, mass: float) -> list[Mode]:
    """The modes less those that the others, taken as one stiff span, do not bear out. Raises Refusal where few remain."""
    bending = bending_range(cable.diameter_in, cable.construction)
    low, high = math.sqrt(bending.loose_lbf_in2), math.sqrt(bending.solid_lbf_in2)

    def chi_square(some: list[Mode]) -> float:
        def at(root: float) -> float:
            # which ends does not matter here: a little more EI does what clamping does
            return fitted_tension(some, span_in, mass, root**2, "clamped").chi_square

        step = (high - low) / _COARSE
        best = min((low + i * step for i in range(_COARSE + 1)), key=at)
        # golden section: many modes fix EI far closer than the coarse steps
        left, right = max(low, best - step), min(high, best + step)
        inner, outer = right - _GOLDEN * (right - left), left + _GOLDEN * (right - left)
        at_inner, at_outer = at(inner), at(outer)
        for _ in range(_FINE):
            if at_inner < at_outer:
                right, outer, at_outer = outer, inner, at_inner
                inner = right - _GOLDEN * (right - left)
                at_inner = at(inner)
            else:
                left, inner, at_inner = inner, outer, at_outer
                outer = left + _GOLDEN * (right - left)
                at_outer = at(outer)
        return min(at_inner, at_outer)

    whole = chi_square(modes)
    while len(modes) > FEWEST_MODES:
        left = [chi_square(modes[:i] + modes[i + 1 :]) for i in range(len(modes))]
        best = min(range(len(modes)), key=left.__getitem__)
        if whole - left[best] < _ODD:
            break
        whole, modes = left[best], modes[:best] + modes[best + 1 :]
    return modes
