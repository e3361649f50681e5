"""A series of modes among peaks written by hand: its score can be worked out on paper."""

import math

import pytest

from rigging.errors import Refusal
from rigging.measure.peaks import Peak, Spectrum
from rigging.measure.series import find_series

RESOLUTION_Hz = 0.5


def spectrum(*frequencies, strength=100.0, high_Hz=None, mains=()):
    """Peaks that stand out a hundred times, each worth log10(100) = 2; the band ends just above the last of them."""
    peaks = [Peak(f, 0.05, strength, None) for f in frequencies] + [Peak(f, 0.05, strength, 50.0) for f in mains]
    peaks.sort(key=lambda peak: peak.frequency_Hz)
    return Spectrum(tuple(peaks), RESOLUTION_Hz, 5.0, high_Hz or peaks[-1].frequency_Hz + 1)


def numbers(series):
    return [member.number for member in series.members]


def test_a_full_series_scores_what_its_peaks_are_worth():
    found = find_series(spectrum(10.3, 20.6, 30.9, 41.2), 8.0, 15.0, 0.0)
    assert (found.first_Hz, found.stiffening, numbers(found)) == (pytest.approx(10.3), 0.0, [1, 2, 3, 4])
    assert found.score == pytest.approx(4 * 2)
    assert [m.peak.frequency_Hz for m in found.members] == [10.3, 20.6, 30.9, 41.2]


def test_a_mode_that_is_missing_costs_half_of_what_one_brings():
    # three of four: 3 x 2 (1 - 0.5 x 1 / 3)
    found = find_series(spectrum(10.3, 30.9, 41.2), 8.0, 15.0, 0.0)
    assert (found.score, numbers(found)) == (pytest.approx(5.0), [1, 3, 4])
    # three of five: 3 x 2 (1 - 0.5 x 2 / 3)
    found = find_series(spectrum(10.3, 20.6, 51.5), 8.0, 15.0, 0.0)
    assert (found.score, numbers(found)) == (pytest.approx(4.0), [1, 2, 5])


def test_modes_above_the_last_one_heard_are_not_missing():
    found = find_series(spectrum(10.3, 20.6, 30.9, high_Hz=120.0), 8.0, 15.0, 0.0)
    assert found.score == pytest.approx(6.0)


def test_a_mode_hidden_by_the_mains_is_not_missing():
    # 25.02 Hz: the second lies on 50 Hz, the fourth on 100 Hz
    found = find_series(spectrum(25.02, 75.06, 125.1, mains=(50.0, 100.0)), 20.0, 30.0, 0.0)
    assert (found.score, numbers(found)) == (pytest.approx(6.0), [1, 3, 5])
    # and just under it
    found = find_series(spectrum(24.95, 74.85, 124.75, mains=(49.9, 99.8)), 20.0, 30.0, 0.0)
    assert (found.score, numbers(found)) == (pytest.approx(6.0), [1, 3, 5])
    # 60 Hz and its multiples as well, whether they are heard or not: 20.02 Hz, third and sixth
    found = find_series(spectrum(20.02, 40.04, 80.08, 100.1, 140.14), 18.0, 22.0, 0.0)
    assert numbers(found) == [1, 2, 4, 5, 7]
    assert found.score == pytest.approx(10.0)


def test_a_peak_on_the_mains_is_never_a_mode():
    found = find_series(spectrum(12.5, 25.0, 37.5, 62.5, mains=(50.0,)), 11.0, 14.0, 0.0)
    assert numbers(found) == [1, 2, 3, 5]


def test_a_peak_beside_its_place_is_worth_less():
    # the width at 41.2 Hz is half a resolution, 0.25 Hz; 0.1 Hz beside it: 2 exp(-2 x 0.4^2)
    found = find_series(spectrum(10.3, 20.6, 30.9, 41.3), 10.29, 10.31, 0.0)
    assert found.score == pytest.approx(6 + 2 * math.exp(-0.32))
    # and further off than the width it is another one's
    assert numbers(find_series(spectrum(10.3, 20.6, 30.9, 41.46), 10.29, 10.31, 0.0)) == [1, 2, 3]


def test_higher_up_six_thousandths_of_the_frequency_count_as_near():
    # 12 x 10 Hz: 0.72 Hz
    near = find_series(spectrum(10.0, 20.0, 30.0, 120.7), 9.99, 10.01, 0.0)
    assert numbers(near) == [1, 2, 3, 12]
    assert numbers(find_series(spectrum(10.0, 20.0, 30.0, 120.74), 9.99, 10.01, 0.0)) == [1, 2, 3]


def test_of_two_peaks_near_a_place_the_nearer_one_is_taken_if_both_stand_out_alike():
    found = find_series(spectrum(10.3, 20.6, 30.9, 41.2, 41.4), 10.29, 10.31, 0.0)
    assert found.members[3].peak.frequency_Hz == 41.2
    found = find_series(spectrum(10.3, 20.6, 30.9, 41.0, 41.2), 10.29, 10.31, 0.0)
    assert found.members[3].peak.frequency_Hz == 41.2


def test_a_peak_further_from_its_place_is_taken_where_it_stands_out_far_more():
    # 41.4 Hz lies 0.8 of the width beside the place: it counts exp(-0.64) = 0.53 of what it stands out
    for strength, taken_Hz in ((110.0, 41.2), (180.0, 41.2), (200.0, 41.4)):
        three = spectrum(10.3, 20.6, 30.9, 41.2, high_Hz=45.0)
        heard = three._replace(peaks=(*three.peaks, Peak(41.4, 0.05, strength, None)))
        assert find_series(heard, 10.29, 10.31, 0.0).members[3].peak.frequency_Hz == taken_Hz


@pytest.mark.parametrize(("modes", "strength"), [((1, 2, 9), 100.0), ((1, 2, 12), 100.0), ((1, 2, 12), 1.2)])
def test_a_series_that_is_missing_more_than_it_has_is_none(modes, strength):
    # three modes with six missing: 3 (1 - 0.5 x 6 / 3) = 0 of what one is worth; with nine missing below zero
    with pytest.raises(Refusal, match="no series"):
        find_series(spectrum(*(10.3 * n for n in modes), strength=strength), 10.2, 10.4, 0.0)


def test_no_mode_above_the_twelfth():
    found = find_series(spectrum(*(10.3 * n for n in range(1, 15))), 10.2, 10.4, 0.0)
    assert numbers(found) == list(range(1, 13))


@pytest.mark.parametrize("heard", [(1, 2, 3, 4), (2, 3, 4, 5), (3, 4, 5)])
def test_a_stiff_cable_by_the_law_of_the_beam(heard):
    # f_n = n f_1 sqrt((1 + B n^2) / (1 + B)) with B = 0.02 and f_1 = 10 Hz; the stiffest there can be is just that
    b, modes = 0.02, [n * 10 * math.sqrt((1 + 0.02 * n * n) / 1.02) for n in heard]
    plain_Hz = modes[0] / heard[0]
    found = find_series(spectrum(*modes), 9.5, 10.5, b * plain_Hz**2)
    assert numbers(found) == list(heard)
    assert found.first_Hz == pytest.approx(10.0, rel=2e-3)
    missing = heard[0] - 1
    assert found.score == pytest.approx(2 * len(heard) * (1 - 0.5 * missing / len(heard)), rel=0.02)


@pytest.mark.parametrize("first_Hz", [9.7, 10.9])
def test_the_first_mode_lies_where_it_is_looked_for(first_Hz):
    with pytest.raises(Refusal, match="no series"):
        find_series(spectrum(*(first_Hz * n for n in (1, 2, 3))), 9.8, 10.8, 0.0)
    assert find_series(spectrum(*(first_Hz * n for n in (1, 2, 3))), 9.6, 11.0, 0.0).score == pytest.approx(6.0)


def test_two_modes_are_no_series():
    with pytest.raises(Refusal, match="no series"):
        find_series(spectrum(10.3, 20.6), 10.0, 10.5, 0.0)


def test_the_refusal_names_the_six_that_stand_out_most_loudest_first():
    loud = [Peak(f, 0.05, s, None) for f, s in ((11.0, 20), (17.3, 70), (23.9, 60), (31.7, 50), (45.1, 40), (71.3, 30))]
    quiet = (Peak(90.7, 0.05, 10.0, None),)
    heard = Spectrum((*loud, *quiet), RESOLUTION_Hz, 5.0, 100.0)
    with pytest.raises(Refusal, match=r"between 5.0 and 100 Hz \(heard: 17.3, 23.9, 31.7, 45.1, 71.3, 11.0 Hz\)"):
        find_series(heard, 200.0, 300.0, 0.0)
    with pytest.raises(Refusal, match=r"\(heard: nothing\)"):
        find_series(Spectrum((), RESOLUTION_Hz, 5.0, 100.0), 8.0, 20.0, 0.0)


def test_another_series_nearly_as_good_leaves_it_open():
    # 10 Hz: four modes, 8; 13.7 Hz: three modes, 6, which is more than 0.7 of 8
    both = spectrum(10.0, 20.0, 30.0, 40.0, 13.7, 27.4, 41.1)
    with pytest.raises(Refusal, match=r"two series stand out, from 10.0 Hz and from 13.7 Hz"):
        find_series(both, 8.0, 15.0, 0.0)
    # five modes, 10: 6 is less than 0.7 of that, and the weaker one explains no more peaks
    clear = spectrum(10.0, 20.0, 30.0, 40.0, 50.5, 13.7, 27.4, 41.1)
    clear = Spectrum(
        tuple(p._replace(strength=1e4) if p.frequency_Hz in (10.0, 20.0) else p for p in clear.peaks), 0.5, 5.0, 60.0
    )
    assert find_series(clear, 8.0, 15.0, 0.0).first_Hz == pytest.approx(10.0, rel=1e-3)


def test_a_lower_series_that_explains_one_peak_more_leaves_it_open():
    # six modes of 22.6 Hz, each worth 4; with a faint peak at 11.3 Hz they are modes 2, 4 .. 12 of that: seven, of which five
    # are missing: (24 + 1.3) (1 - 0.5 x 5 / 7) = 16.3, less than 0.7 of 24, but it leaves nothing over
    six = [Peak(22.6 * n, 0.05, 1e4, None) for n in range(1, 7)]
    alone = Spectrum(tuple(six), RESOLUTION_Hz, 5.0, 137.0)
    assert find_series(alone, 8.0, 40.0, 0.0).first_Hz == pytest.approx(22.6)
    with pytest.raises(Refusal, match=r"two series stand out, from 22\.6 Hz and from 11\.3 Hz"):
        find_series(alone._replace(peaks=(Peak(11.3, 0.05, 20.0, None), *six)), 8.0, 40.0, 0.0)
    # a third cable that scores between the two, 5 x 3.3 = 16.5, and explains none of these does not hide it
    third = [Peak(13.7 * n, 0.05, 10**3.3, None) for n in range(1, 6)]
    all_of_them = sorted([Peak(11.3, 0.05, 20.0, None), *six, *third])
    with pytest.raises(Refusal, match=r"two series stand out, from 22\.6 Hz and from 11\.3 Hz"):
        find_series(alone._replace(peaks=tuple(all_of_them)), 8.0, 40.0, 0.0)


def test_a_faint_cable_with_more_modes_of_its_own_does_not():
    # 20 Hz: four modes worth 4 each; 13.7 Hz: five worth 1.6 each, half as much
    own = [Peak(20.0 * n, 0.05, 1e4, None) for n in range(1, 5)]
    other = [Peak(13.7 * n, 0.05, 40.0, None) for n in range(1, 6)]
    found = find_series(Spectrum(tuple(sorted([*own, *other])), RESOLUTION_Hz, 5.0, 81.0), 8.0, 40.0, 0.0)
    assert (found.first_Hz, numbers(found)) == (pytest.approx(20.0, rel=1e-3), [1, 2, 3, 4])


def test_a_lower_series_that_misses_one_peak_of_the_better_one_leaves_it_open_too():
    # seven modes of 22.6 Hz worth 4 each: 28. Of 11.3 Hz they are modes 2 to 12 and a fourteenth, which is not looked for; with
    # two faint ones at modes 1 and 3 that makes eight: (24 + 2 x 0.18) (1 - 0.5 x 4 / 8) = 18.3, between 0.4 and 0.7 of 28
    seven = [Peak(22.6 * n, 0.05, 1e4, None) for n in range(1, 8)]
    faint = [Peak(11.3, 0.05, 1.5, None), Peak(33.9, 0.05, 1.5, None)]
    with pytest.raises(Refusal, match=r"two series stand out, from 22\.6 Hz and from 11\.3 Hz"):
        find_series(Spectrum(tuple(sorted([*faint, *seven])), RESOLUTION_Hz, 5.0, 160.0), 8.0, 40.0, 0.0)


def test_a_lower_series_that_is_mostly_missing_does_not():
    # 23.1 Hz: four modes worth 4 each, 16. Of 7.7 Hz they are modes 3, 6, 9, 12; with a faint one at the first that makes five,
    # and seven are missing: (16 + 1) (1 - 0.5 x 7 / 5) = 5.1, less than 0.4 of 16
    four = [Peak(23.1 * n, 0.05, 1e4, None) for n in range(1, 5)]
    heard = Spectrum((Peak(23.1 / 3, 0.05, 10.0, None), *four), RESOLUTION_Hz, 5.0, 93.0)
    assert find_series(heard, 7.6, 7.8, 0.0).score == pytest.approx(5.1)
    assert find_series(heard, 7.6, 40.0, 0.0).first_Hz == pytest.approx(23.1)


def test_its_even_modes_alone_do_not_leave_a_series_open():
    # 22.6 Hz: modes 1, 2, 4, 6, 8, the first worth 6, the others 1 each, three missing: 10 (1 - 0.5 x 3 / 5) = 7. The even ones
    # are a whole series of 45.2 Hz: 4, between 0.4 and 0.7 of that, but it explains less
    first = Peak(22.6, 0.05, 1e6, None)
    others = (Peak(22.6 * n, 0.05, 10.0, None) for n in (2, 4, 6, 8))
    found = find_series(Spectrum((first, *others), RESOLUTION_Hz, 5.0, 182.0), 20.0, 50.0, 0.0)
    assert (found.first_Hz, found.score) == (pytest.approx(22.6), pytest.approx(7.0))


def test_a_lower_series_that_misses_two_peaks_of_the_better_one_does_not():
    # eight modes of 22.6 Hz, 32, of which two lie beyond the twelfth mode of 11.3 Hz; with three faint ones that has nine modes:
    # (24 + 3 x 0.18) (1 - 0.5 x 3 / 9) = 20.4, between 0.4 and 0.7 of 32
    eight = [Peak(22.6 * n, 0.05, 1e4, None) for n in range(1, 9)]
    faint = [Peak(11.3 * n, 0.05, 1.5, None) for n in (1, 3, 5)]
    heard = Spectrum(tuple(sorted([*faint, *eight])), RESOLUTION_Hz, 5.0, 182.0)
    assert find_series(heard, 8.0, 40.0, 0.0).first_Hz == pytest.approx(22.6)


def test_a_faint_series_with_many_modes_missing_is_still_one():
    # modes 1, 2 and 8, worth log10(16) = 1.204 each, five missing: 3.612 (1 - 0.5 x 5 / 3) = 0.602
    found = find_series(spectrum(10.3, 20.6, 82.4, strength=16.0), 10.2, 10.4, 0.0)
    assert (found.score, numbers(found)) == (pytest.approx(0.602, abs=5e-4), [1, 2, 8])
