"""The modes of one cable among the peaks of a recording: a series of near-multiples, with gaps and strangers.

    f_n = n f_1 sqrt(1 + B n^2)

B, from bending stiffness, stretches the series upward. Every peak is tried as every mode with several B; a series
counts by the peaks it explains, weighed by how far they stand out, less the modes that should be there and are not.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, NamedTuple

from rigging.errors import Refusal
from rigging.measure.peaks import Peak, Spectrum

HIGHEST_SEARCHED: Final = 12
FEWEST_MODES: Final = 3
CLEAR_BY: Final = 0.7  # another series with this share of the best one's score leaves it open which is the cable
MORE_CLEAR_BY: Final = 0.4  # the same for one that explains all its peaks and others too, as half of it may
SAME_WITHIN: Final = 0.03
_STIFFENINGS: Final = 10
_MISSING: Final = 0.5  # of what a mode that is there brings on average: half and double of a series then count half
_NEAR: Final = 0.006  # of the frequency, by which a mode may lie off the plain law above


class Member(NamedTuple):
    """A mode of the series: its number and its peak."""

    number: int
    peak: Peak


class Series(NamedTuple):
    """A series: f_1 as first guessed [Hz], B [1], its score, its modes by number."""

    first_Hz: float
    stiffening: float
    score: float
    members: tuple[Member, ...]


def find_series(spectrum: Spectrum, low_Hz: float, high_Hz: float, stiffest_Hz2: float) -> Series:
    """The series that explains the peaks best, its first mode between two frequencies [Hz].

    stiffest_Hz2: B f_1^2 of the cable as a solid rod [Hz2], the most there can be. Peaks on a multiple of 50 or 60 Hz count for
    nothing, neither for a series nor against it.
    Raises Refusal: no series of at least three modes stands out, or two do.
    """
    usable = [p for p in spectrum.peaks if p.mains is None]
    found = sorted(_candidates(usable, spectrum, low_Hz, high_Hz, stiffest_Hz2), key=lambda s: -s.score)
    strong = [s for s in found if len(s.members) >= FEWEST_MODES and s.score > 0]
    heard = ", ".join(f"{p.frequency_Hz:.1f}" for p in sorted(usable, key=lambda p: -p.strength)[:6])
    if not strong:
        raise Refusal(
            f"no series of modes stands out between {spectrum.low_Hz:.1f} and {spectrum.high_Hz:.0f} Hz "
            f"(heard: {f'{heard} Hz' if heard else 'nothing'}): pluck again, the telephone held to the cable, nothing "
            "else ringing; or give the modes with --mode"
        )
    best = strong[0]
    for other in strong[1:]:
        if other.score < MORE_CLEAR_BY * best.score:
            break
        shared = {m.peak for m in other.members} & {m.peak for m in best.members}
        more = len(other.members) > len(best.members) <= len(shared) + 1
        if other.score < CLEAR_BY * best.score and not more:
            continue
        if abs(other.first_Hz / best.first_Hz - 1) > SAME_WITHIN:
            raise Refusal(
                f"two series stand out, from {best.first_Hz:.1f} Hz and from {other.first_Hz:.1f} Hz: hold the other cable "
                "still and pluck again, or say what tension to expect (--expect)"
            )
    return best


def _candidates(
    peaks: Sequence[Peak], spectrum: Spectrum, low_Hz: float, high_Hz: float, stiffest_Hz2: float
) -> list[Series]:
    found = []
    for peak in peaks:
        for number in range(1, HIGHEST_SEARCHED + 1):
            plain_Hz = peak.frequency_Hz / number
            for i in range(_STIFFENINGS):
                b = stiffest_Hz2 / plain_Hz**2 * (i / (_STIFFENINGS - 1)) ** 2
                first_Hz = plain_Hz / math.sqrt((1 + b * number**2) / (1 + b))
                if low_Hz <= first_Hz <= high_Hz:
                    found.append(_series(first_Hz, b, peaks, spectrum))
    return found


def _series(first_Hz: float, stiffening: float, peaks: Sequence[Peak], spectrum: Spectrum) -> Series:
    members: list[Member] = []
    there = missing = waiting = 0.0
    for number in range(1, HIGHEST_SEARCHED + 1):
        expected_Hz = number * first_Hz * math.sqrt((1 + stiffening * number**2) / (1 + stiffening))
        if expected_Hz > spectrum.high_Hz:
            break
        width_Hz = max(0.5 * spectrum.resolution_Hz, _NEAR * expected_Hz)
        near = [p for p in peaks if abs(p.frequency_Hz - expected_Hz) < width_Hz]
        if near:
            peak = max(near, key=lambda p: p.strength * math.exp(-(((p.frequency_Hz - expected_Hz) / width_Hz) ** 2)))
            off = (peak.frequency_Hz - expected_Hz) / width_Hz
            # what stands out a thousand times is not a hundred times surer than what stands out ten times
            there += math.log10(peak.strength) * math.exp(-2 * off * off)
            missing, waiting = missing + waiting, 0.0
            members.append(Member(number, peak))
        elif not _on_mains(expected_Hz, width_Hz):
            # counted once a higher mode is there: a series may end anywhere
            waiting += 1
    score = there * (1 - _MISSING * missing / len(members)) if members else 0.0
    return Series(first_Hz, stiffening, score, tuple(members))


def _on_mains(frequency_Hz: float, width_Hz: float) -> bool:
    return any(abs(frequency_Hz - m * round(frequency_Hz / m)) < width_Hz for m in (50.0, 60.0) if frequency_Hz > m / 2)
