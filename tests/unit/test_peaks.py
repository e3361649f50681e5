"""Peaks of recordings made of tones of known frequency, and what the band, the onset and the mains do to them."""

import numpy as np
import pytest

from rigging.errors import Refusal
from rigging.measure.peaks import spectrum_peaks
from rigging.measure.wav import Sound

RATE = 1000.0


def tone(frequency_Hz, seconds, strength=1.0, dies=0.0, rate=RATE):
    t = np.arange(round(seconds * rate)) / rate
    return strength * np.exp(-dies * t) * np.sin(2 * np.pi * frequency_Hz * t + 0.4)


def sound(samples, noise=0.002, rate=RATE, seed=1):
    samples = np.atleast_2d(samples)
    return Sound("a.wav", rate, 16, samples + noise * np.random.default_rng(seed).standard_normal(samples.shape))


def heard(samples, low_Hz=8.0, high_Hz=150.0, **how):
    return spectrum_peaks(sound(samples, **how), low_Hz, high_Hz)


def loudest(spectrum, count=1):
    """Those that stand out most, by rising frequency: noise may have a peak of its own now and then."""
    return sorted(sorted(spectrum.peaks, key=lambda peak: -peak.strength)[:count])


def frequencies(spectrum):
    return [peak.frequency_Hz for peak in spectrum.peaks]


@pytest.mark.parametrize("true_Hz", [9.37, 23.456, 61.11, 77.73, 143.21])
def test_a_tone_is_found_to_a_hundredth_of_a_hertz(true_Hz):
    # four seconds of a steady tone: lines of the transform lie 1/16 Hz apart, the parabola goes on between them
    (peak,) = loudest(heard(tone(true_Hz, 4.0)))
    assert peak.frequency_Hz == pytest.approx(true_Hz, abs=0.01)


@pytest.mark.parametrize(("seconds", "resolution_Hz"), [(4.0, 0.5), (8.0, 0.25), (12.0, 0.25)])
def test_resolution_is_two_over_the_time_looked_at_eight_seconds_at_most(seconds, resolution_Hz):
    # a steady tone is loudest anywhere; one that dies away begins at the beginning
    assert heard(tone(40.0, seconds, dies=1.0)).resolution_Hz == pytest.approx(resolution_Hz)


def test_the_band_looked_at_is_said_and_nothing_outside_it_told():
    parts = tone(5.0, 4.0) + tone(40.0, 4.0) + tone(170.0, 4.0)
    found = heard(parts, 8.0, 150.0)
    assert (found.low_Hz, found.high_Hz) == (8.0, 150.0)
    assert frequencies(found) == pytest.approx([40.0], abs=0.02)
    assert frequencies(heard(parts, 3.0, 200.0)) == pytest.approx([5.0, 40.0, 170.0], abs=0.02)


def test_the_band_ends_below_half_the_sample_rate():
    assert heard(tone(40.0, 4.0), 8.0, 1e6).high_Hz == pytest.approx(0.45 * RATE)


@pytest.mark.parametrize(("low_Hz", "refused"), [(224.0, False), (225.0, True), (226.0, True)])
def test_a_band_of_less_than_an_octave_is_too_few_samples(low_Hz, refused):
    # 0.45 of 1000 samples per second is 450 Hz
    if refused:
        with pytest.raises(Refusal, match="1000 samples per second are too few"):
            heard(tone(300.0, 4.0), low_Hz, 1e4)
    else:
        assert frequencies(heard(tone(300.0, 4.0), low_Hz, 1e4)) == pytest.approx([300.0], abs=0.02)


@pytest.mark.parametrize(("samples", "refused"), [(997, True), (998, True), (1000, False), (1001, False)])
def test_a_second_after_the_pluck_is_needed(samples, refused):
    short = tone(40.0, samples / RATE, dies=2.0)
    if refused:
        with pytest.raises(Refusal, match=r": 1\.0 s after the pluck: at least 1 s"):
            heard(short)
    else:
        assert frequencies(heard(short)) == pytest.approx([40.0], abs=0.2)


def test_what_was_heard_before_the_pluck_does_not_count():
    # two seconds of a quieter tone, then the pluck
    before, after = tone(33.0, 2.0, strength=0.3), tone(47.0, 4.0, dies=1.0)
    found = heard(np.concatenate([before, after]))
    assert frequencies(found) == pytest.approx([47.0], abs=0.03)
    assert found.resolution_Hz == pytest.approx(0.5)


def test_a_rumble_below_the_band_is_not_taken_for_the_pluck():
    # wind, thirty times louder than the pluck, swells at the start and is over when the cable is plucked
    t = np.arange(2000) / RATE
    wind = 30.0 * np.sin(np.pi * t / 2) ** 2 * np.sin(2 * np.pi * 1.0 * t)
    found = heard(np.concatenate([wind, tone(47.0, 4.0, dies=1.0)]), 20.0)
    assert frequencies(found) == pytest.approx([47.0], abs=0.03)
    assert found.resolution_Hz == pytest.approx(0.5)


def test_a_pluck_at_the_very_end_leaves_the_whole_recording():
    # six seconds that grow louder to their end, where less than two seconds follow
    found = heard(tone(47.0, 6.0, dies=-0.2))
    assert [p.frequency_Hz for p in loudest(found)] == pytest.approx([47.0], abs=0.03)
    assert found.resolution_Hz == pytest.approx(2 / 6)


def test_a_swing_slower_than_half_the_resolution_is_told_where_it_is():
    # eight tenths of a swing in 5.2 s, 0.154 Hz; at this phase its windowed mean is zero, so that it stands apart from 0 Hz
    t = np.arange(520) / 100.0
    swing_Hz = 0.8 / 5.2
    slow = heard(np.sin(2 * np.pi * swing_Hz * t - 1.2009), 0.01, 20.0, noise=1e-4, rate=100.0)
    assert slow.resolution_Hz == pytest.approx(2 / 5.2)
    assert slow.peaks[0].frequency_Hz == pytest.approx(swing_Hz, abs=0.25 * slow.resolution_Hz)
    assert loudest(slow) == [slow.peaks[0]]


@pytest.mark.parametrize(
    ("frequency_Hz", "mains"),
    [
        *((f, 50.0) for f in (50.0, 100.0, 150.0, 300.0, 50.2, 49.8)),
        *((f, 60.0) for f in (60.0, 120.0, 180.0)),
        *((f, None) for f in (25.0, 30.0, 75.0, 90.0, 50.4, 61.0, 110.0)),
    ],
)
def test_multiples_of_the_mains_are_marked(frequency_Hz, mains):
    # four seconds: within half a resolution, 0.25 Hz
    assert [p.mains for p in heard(tone(frequency_Hz, 4.0, dies=0.5), 8.0, 400.0).peaks] == [mains]


def test_high_multiples_of_the_mains_may_lie_off_by_two_thousandths():
    # a grid at 50.08 Hz: its eighth multiple lies 0.64 Hz off 400 Hz, within 0.8 Hz
    assert [p.mains for p in heard(tone(400.64, 4.0, dies=0.5), 8.0, 440.0).peaks] == [50.0]
    assert [p.mains for p in heard(tone(401.2, 4.0, dies=0.5), 8.0, 440.0).peaks] == [None]


def test_channels_add_by_power():
    one = tone(40.0, 4.0, dies=1.0)
    assert frequencies(heard(np.stack([one, -one]))) == pytest.approx([40.0], abs=0.02)
    # two cables, one near each microphone
    both = np.stack([one, tone(63.0, 4.0, dies=1.0)])
    assert frequencies(heard(both)) == pytest.approx([40.0, 63.0], abs=0.02)


def test_a_mean_that_is_not_zero_is_no_frequency():
    assert frequencies(heard(tone(40.0, 4.0) + 5.0, 2.0)) == pytest.approx([40.0], abs=0.02)


def test_louder_stands_out_further():
    found = heard(tone(40.0, 4.0, dies=1.0) + tone(63.0, 4.0, strength=0.1, dies=1.0), noise=0.02)
    loud, soft = (peak.strength for peak in loudest(found, 2))
    # a tenth of the amplitude is a hundredth of the power, over noise that is the same at both
    assert loud / soft == pytest.approx(100, rel=0.5)


def test_uncertainty_is_that_of_the_width_where_a_tone_stands_out_far():
    # a tone that dies away as exp(-2 t) is 2 / pi = 0.64 Hz wide at half its power; a twentieth of that or a little more,
    # for the window widens it
    (peak,) = heard(tone(40.0, 6.0, dies=2.0), noise=1e-5).peaks
    assert 0.05 * 0.6 < peak.standard_uncertainty_Hz < 0.05 * 1.6


def test_noise_makes_a_soft_tone_less_sure():
    (quiet,) = loudest(heard(tone(40.0, 4.0, dies=1.0), noise=1e-3))
    (loud,) = loudest(heard(tone(40.0, 4.0, dies=1.0), noise=0.6))
    assert loud.standard_uncertainty_Hz > 1.2 * quiet.standard_uncertainty_Hz
    assert abs(loud.frequency_Hz - 40.0) < 4 * loud.standard_uncertainty_Hz


@pytest.mark.parametrize("rate", [4000.0, 44100.0])
def test_a_faster_recording_is_thinned_and_says_the_same(rate):
    found = heard(tone(40.0, 4.0, dies=1.0, rate=rate) + tone(133.0, 4.0, dies=1.0, rate=rate), rate=rate)
    assert frequencies(found) == pytest.approx([40.0, 133.0], abs=0.02)
    assert found.resolution_Hz == pytest.approx(2 / 4.0, rel=0.01)


def test_what_lies_above_the_band_does_not_fold_into_it():
    # thinned from 44 100 to 465 samples per second without a low-pass, 500 Hz would stand at 35 Hz
    rate = 44100.0
    found = heard(tone(500.0, 4.0, dies=1.0, rate=rate) + tone(61.3, 4.0, dies=1.0, rate=rate), rate=rate)
    assert frequencies(found) == pytest.approx([61.3], abs=0.02)


def test_noise_alone_has_hardly_a_peak():
    # one in some hundred recordings by chance; these ten are drawn once and for all
    for seed in range(10):
        assert heard(np.zeros(4000), noise=0.1, seed=seed).peaks == ()


def test_noise_that_falls_with_frequency_has_none_either():
    rng = np.random.default_rng(5)
    walk = np.cumsum(rng.standard_normal(6000))
    found = spectrum_peaks(Sound("a.wav", RATE, 16, walk[None]), 8.0, 150.0)
    assert len(found.peaks) <= 1


def test_a_steady_tone_is_as_wide_as_the_window_makes_it():
    # Hann's window is 1.44 / T wide at half power (Harris 1978); the one used rises faster and falls slower over the same T
    (peak,) = heard(tone(40.0, 8.0), noise=1e-5).peaks
    assert peak.standard_uncertainty_Hz == pytest.approx(0.05 * 1.44 / 8, rel=0.2)


def test_without_any_noise_a_tone_is_still_one_peak():
    assert frequencies(heard(tone(40.0, 4.0, dies=1.0), noise=0.0)) == pytest.approx([40.0], abs=0.02)


@pytest.mark.parametrize("loudness", [1e-4, 1e-2, 1e3])
def test_how_loud_a_recording_is_changes_nothing(loudness):
    samples = sound(tone(40.0, 4.0, dies=1.0) + tone(63.0, 4.0, strength=0.2, dies=1.0)).samples
    one = spectrum_peaks(Sound("a.wav", RATE, 16, samples), 8.0, 150.0).peaks
    other = spectrum_peaks(Sound("a.wav", RATE, 16, loudness * samples), 8.0, 150.0).peaks
    assert [p.strength for p in other] == pytest.approx([p.strength for p in one])
    assert [p.frequency_Hz for p in other] == pytest.approx([p.frequency_Hz for p in one])


def test_two_tones_a_little_more_than_the_resolution_apart_are_two():
    found = heard(tone(40.0, 4.0) + tone(40.55, 4.0))
    assert found.resolution_Hz == 0.5
    assert frequencies(found) == pytest.approx([40.0, 40.55], abs=0.1)


def test_of_more_than_forty_peaks_the_strongest_are_kept():
    # 45 tones, five of them twenty times weaker
    faint = range(0, 45, 9)
    parts = [tone(12 + 3.1 * i, 8.0, strength=0.05 if i in faint else 1.0) for i in range(45)]
    kept = frequencies(heard(sum(parts), high_Hz=160.0))
    assert kept == pytest.approx([12 + 3.1 * i for i in range(45) if i not in faint], abs=0.05)


def test_a_mean_that_is_not_zero_is_not_taken_for_the_pluck():
    # switched on with an offset, plucked two seconds later: four of the six seconds count
    found = heard(np.concatenate([np.zeros(2000), tone(47.0, 4.0, dies=1.0)]) + 50.0)
    assert frequencies(found) == pytest.approx([47.0], abs=0.03)
    assert found.resolution_Hz == pytest.approx(0.5)
