"""Modes to a tension: what is refused, what each uncertainty does, what the modes tell of bending stiffness."""

import math

import pytest

from rigging.bands import parse_band
from rigging.errors import Refusal, UsageError
from rigging.hardware.cable import cable
from rigging.jobs.pluck import pluck
from rigging.jobs.pluck_modes import weight_of
from rigging.physics.pluck import PLUCK_ENDS, Mode, fitted_tension, mode_frequency_Hz, pinned_line, stiff_factor

WIRE = cable("1/8")
WEIGHT = weight_of(WIRE)
OWN = weight_of(WIRE, 2.9)
# 2.9 lb per 100 ft in lbf s2/in2, by hand
MASS = 2.9 / 1200 / 386.0886


def plain(numbers, tension_lbf=35.0, span_in=72.0, u_Hz=0.1):
    """Modes of a string by the schoolbook formula."""
    first = math.sqrt(tension_lbf / MASS) / (2 * span_in)
    return [Mode(n, n * first, u_Hz) for n in numbers]


def test_a_string_gives_its_tension_back():
    found = pluck(plain([1, 2, 3, 4, 5, 6]), 72.0, WIRE, OWN)
    assert abs(found.tension_lbf - 35.0) < 1.0
    assert found.string_lbf == pytest.approx([35.0] * 6, rel=1e-4)
    assert found.bending_high_lbf_in2 < 20  # of 348 for a solid rod
    assert found.line.tension_lbf == pytest.approx(35.0, rel=1e-4)
    assert found.usable and found.good


def test_a_weight_from_memory_never_signs_off():
    found = pluck(plain([1, 2, 3]), 72.0, WIRE, WEIGHT)
    assert not found.usable
    assert any("not for sign-off" in note for note in found.notes)
    part = next(c for c in found.combined.components if c.why.startswith("weight"))
    assert "memory" in part.why
    # +-6 %, rectangular
    assert part.standard_uncertainty == pytest.approx(found.tension_lbf * 0.06 / math.sqrt(3))


def test_more_modes_leave_less_open():
    widths = [pluck(plain(range(1, n + 1)), 72.0, WIRE, OWN).uncertainty_lbf for n in (1, 2, 3, 5, 8)]
    assert widths == sorted(widths, reverse=True)
    assert widths[-1] < 0.5 * widths[0]


@pytest.mark.parametrize("bending", [1.0, 20.0, 120.0, 330.0])
@pytest.mark.parametrize("ends", PLUCK_ENDS)
@pytest.mark.parametrize("numbers", [(1, 2), (1, 2, 3, 4, 5)])
def test_whatever_the_ends_and_the_stiffness_the_interval_holds(bending, ends, numbers):
    modes = [Mode(n, mode_frequency_Hz(n, 35.0, 72.0, MASS, bending, ends), 0.1) for n in numbers]
    found = pluck(modes, 72.0, WIRE, OWN)
    assert abs(found.tension_lbf - 35.0) <= found.uncertainty_lbf
    if len(numbers) == 5 and ends == "pinned":
        assert found.bending_low_lbf_in2 * 0.8 <= bending <= found.bending_high_lbf_in2 * 1.3


def test_a_short_span_is_discounted_and_says_so():
    short, long = (pluck(plain([1, 2, 3], span_in=s), s, WIRE, OWN) for s in (30.0, 90.0))
    assert short.relative > 1.5 * long.relative
    assert any("below 60 in" in note for note in short.notes)


@pytest.mark.parametrize(
    ("modes", "span", "error", "words"),
    [
        ([], 72.0, UsageError, "at least one mode"),
        ([Mode(1, 20.0, 0.1)], 59.0, Refusal, "two modes or more"),
        ([Mode(1, 40.0, 0.1), Mode(2, 80.0, 0.1)], 20.0, Refusal, "too short to pluck"),
        ([Mode(1, 16.0, 0.1), Mode(1, 17.0, 0.1)], 72.0, UsageError, "twice"),
        ([Mode(0, 16.0, 0.1)], 72.0, UsageError, "count from 1"),
        ([Mode(1, 0.0, 0.1)], 72.0, UsageError, "above zero"),
        ([Mode(1, 16.0, 0.0)], 72.0, UsageError, "above zero"),
        ([Mode(1, 16.0, 0.1), Mode(2, 25.0, 0.1), Mode(3, 50.0, 0.1)], 72.0, Refusal, "do not belong to one span"),
        ([Mode(1, 3.0, 0.1)], 120.0, Refusal, "sags too much"),
    ],
)
def test_what_no_figure_can_be_made_of(modes, span, error, words):
    with pytest.raises(error, match=words):
        pluck(modes, span, WIRE, OWN)


def test_one_mode_on_a_long_span_carries_all_of_the_stiffness():
    found = pluck([Mode(1, 16.5, 0.1)], 72.0, WIRE, OWN)
    assert found.line is None and any("one mode only" in note for note in found.notes)
    assert found.relative > 0.1


def test_a_low_first_mode_that_sags_weighs_less():
    """At 10 ft and 20 lbf sag may lift mode 1 by tenths of a hertz; the others must not be dragged along."""
    modes = plain([1, 2, 3, 4], tension_lbf=20.0, span_in=120.0, u_Hz=0.05)
    lifted = [modes[0]._replace(frequency_Hz=modes[0].frequency_Hz * 1.05), *modes[1:]]
    straight, sagging = (pluck(m, 120.0, WIRE, OWN) for m in (modes, lifted))
    assert sagging.tension_lbf == pytest.approx(straight.tension_lbf, rel=0.005)


def test_against_a_band():
    found = pluck(plain([1, 2, 3, 4]), 72.0, WIRE, OWN, band=parse_band("25..45 lbf"))
    assert found.verdict.word.value == "in" and found.good
    high = pluck(plain([1, 2, 3, 4]), 72.0, WIRE, OWN, band=parse_band("60..80 lbf"))
    assert high.verdict.word.value == "out" and not high.good
    assert "half the width" in pluck(plain([1, 2]), 72.0, WIRE, OWN, band=parse_band("34..36 lbf")).too_loose


def test_a_cable_without_a_weight_is_refused():
    with pytest.raises(Refusal, match="--weight"):
        weight_of(cable("9/32"))


def test_a_line_needs_two_modes():
    with pytest.raises(Refusal, match="two different"):
        pinned_line(plain([1]), 72.0, MASS)


@pytest.mark.parametrize(("mode", "xi"), [(0, 10.0), (1, 0.0), (1, -1.0), (1, math.nan)])
def test_no_mode_below_one_and_no_xi_below_zero(mode, xi):
    with pytest.raises(Refusal):
        stiff_factor(mode, xi, "clamped")


def test_very_sharp_frequencies_end_the_search():
    modes = [Mode(n, mode_frequency_Hz(n, 35.0, 72.0, MASS, 50.0, "clamped"), 1e-6) for n in (1, 2, 3)]
    found = pluck(modes, 72.0, WIRE, OWN)
    assert math.isfinite(found.tension_lbf) and found.uncertainty_lbf > 0
    assert fitted_tension(modes, 72.0, MASS, 50.0, "clamped").tension_lbf == pytest.approx(35.0)
