"""Frequencies that stand out of a recording, and how well each is known."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final, NamedTuple

from rigging.errors import Refusal
from rigging.measure.wav import Sound

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

SHORTEST_S: Final = 1.0
LONGEST_LOOK_S: Final = 8.0  # a pluck has died away by then, and only noise would be added
STANDS_OUT: Final = 16.0  # power over the noise around it: chance makes one such in some hundred recordings
MOST_PEAKS: Final = 40
MAINS_Hz: Final = (50.0, 60.0)
_PADDING: Final = 4


class Peak(NamedTuple):
    """frequency_Hz [Hz], standard_uncertainty_Hz [Hz, k=1], power over the noise around it [1], mains: a multiple of it."""

    frequency_Hz: float
    standard_uncertainty_Hz: float
    strength: float
    mains: float | None


class Spectrum(NamedTuple):
    """Peaks by rising frequency, the resolution [Hz] with which two would still be told apart, the band looked at [Hz]."""

    peaks: tuple[Peak, ...]
    resolution_Hz: float
    low_Hz: float
    high_Hz: float


def spectrum_peaks(sound: Sound, low_Hz: float, high_Hz: float) -> Spectrum:
    """Peaks between two frequencies [Hz] after the loudest onset.

    One long windowed transform of the time after the pluck, its power held against the median around each frequency.
    Channels are added by power, since their phases may cancel. Raises Refusal: silence, too short, or a sample rate too
    low for the band.
    """
    import numpy as np
    from scipy import signal

    high_Hz = min(high_Hz, 0.45 * sound.rate_Hz)
    if high_Hz <= 2 * low_Hz:
        raise Refusal(
            f"{sound.file}: {sound.rate_Hz:g} samples per second are too few for the frequencies of this span"
        )
    if not np.ptp(sound.samples, axis=1).max() > 0:
        raise Refusal(f"{sound.file}: silence from end to end")
    samples, rate_Hz = _thinned(sound, high_Hz)
    samples = _after_onset(samples, rate_Hz, low_Hz)
    count = samples.shape[1]
    if count < SHORTEST_S * rate_Hz:
        raise Refusal(f"{sound.file}: {count / rate_Hz:.1f} s after the pluck: at least {SHORTEST_S:g} s are needed")
    padded = 2 ** math.ceil(math.log2(_PADDING * count))
    window = _dying_window(count)
    power = (np.abs(np.fft.rfft(samples * window, padded, axis=1)) ** 2).sum(axis=0)
    resolution_Hz, step_Hz = 2 * rate_Hz / count, rate_Hz / padded
    first, last = int(low_Hz / step_Hz), min(len(power) - 2, math.ceil(high_Hz / step_Hz))
    # wide enough that a peak does not lift its own floor, narrow enough to follow a floor that falls with frequency
    floor = _floor(power, round(20 * resolution_Hz / step_Hz))
    level = power / np.maximum(floor, 1e-300 + 1e-14 * power.max())
    apart = max(1, round(0.5 * resolution_Hz / step_Hz))
    places, _ = signal.find_peaks(level[: last + 1], height=STANDS_OUT, distance=apart)
    places = places[places >= max(first, 1)]
    strongest = places[np.argsort(level[places])[::-1][:MOST_PEAKS]]
    # the top of a peak itself, which a sloping floor moves a little
    spans = [(max(0, p - apart + 1), p + apart) for p in strongest.tolist()]
    tops = [start + int(power[start:end].argmax()) for start, end in spans]
    tops = sorted({t for t in tops if t > 0 and power[t] >= power[t - 1] and power[t] > power[t + 1]})
    widths = signal.peak_widths(power, tops, rel_height=0.5)[0] * step_Hz
    found = []
    for place, width_Hz in zip(tops, widths.tolist(), strict=True):
        below, middle, above = np.log(power[place - 1 : place + 2])
        shift = 0.5 * (below - above) / (below - 2 * middle + above)
        frequency_Hz = (place + float(shift)) * step_Hz
        strength = float(level[place])
        # what noise does to a peak of this width; a twentieth of it for what lies unresolved under one peak
        u_Hz = max(width_Hz, 0.5 * resolution_Hz) * math.hypot(0.6 / math.sqrt(strength), 0.05)
        found.append(Peak(frequency_Hz, u_Hz, strength, _mains(frequency_Hz, resolution_Hz)))
    return Spectrum(tuple(found), resolution_Hz, low_Hz, high_Hz)


def _dying_window(count: int) -> Array:
    """A window that rises within a tenth of the time and falls over the rest, as a pluck does."""
    import numpy as np

    rise = max(1, count // 10)
    up = 0.5 - 0.5 * np.cos(np.pi * (np.arange(rise) + 0.5) / rise)
    down = 0.5 + 0.5 * np.cos(np.pi * (np.arange(count - rise) + 0.5) / (count - rise))
    return np.concatenate([up, down])


def _thinned(sound: Sound, high_Hz: float) -> tuple[Array, float]:
    """The samples at a rate that still holds the band, without their mean."""
    from scipy import signal

    samples = sound.samples - sound.samples.mean(axis=1, keepdims=True)
    factor = int(sound.rate_Hz / (3 * high_Hz))
    if factor < 2:
        return samples, sound.rate_Hz
    # a good low-pass is part of it
    return signal.resample_poly(samples, 1, factor, axis=1), sound.rate_Hz / factor


def _after_onset(samples: Array, rate_Hz: float, low_Hz: float) -> Array:
    """From just after the loudest quarter of a second on."""
    import numpy as np
    from scipy import signal

    count = samples.shape[1]
    piece = max(8, round(0.25 * rate_Hz))
    heard = samples
    if count > 100:
        # wind and handling rumble below the band would pass for a pluck
        slopes = signal.butter(2, max(low_Hz, 1e-3 * rate_Hz), "highpass", fs=rate_Hz, output="sos")
        heard = signal.sosfilt(slopes, samples, axis=1)
    energy = np.add.reduceat((heard**2).sum(axis=0), np.arange(0, count, piece))
    start = int(energy.argmax()) * piece
    # a pluck at the very end leaves nothing to look at: then the whole recording is
    if count - start < 2 * SHORTEST_S * rate_Hz:
        start = 0
    return samples[:, start : start + round(LONGEST_LOOK_S * rate_Hz)]


def _floor(power: Array, reach: int) -> Array:
    """Mean noise power around every frequency, from the median over +-reach, which peaks do not lift."""
    import numpy as np
    from scipy import ndimage

    # on every few points: the floor is smooth and the median slow
    thin = max(1, reach // 20)
    coarse = ndimage.median_filter(power[::thin], size=2 * (reach // thin) + 1, mode="nearest")
    whole: Array = np.interp(np.arange(len(power)), np.arange(len(coarse)) * thin, coarse)
    return whole / math.log(2)


def _mains(frequency_Hz: float, resolution_Hz: float) -> float | None:
    """The mains frequency that this is a multiple of, None where it is of neither."""
    for mains in MAINS_Hz:
        nearest = mains * max(1, round(frequency_Hz / mains))
        if abs(frequency_Hz - nearest) <= max(0.5 * resolution_Hz, 0.002 * nearest):
            return mains
    return None
