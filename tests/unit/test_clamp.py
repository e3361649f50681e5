"""What clamping a gauge adds: by Pythagoras, by beams of the textbooks, and how each thing measured makes it uncertain."""

import math

import pytest

from rigging.errors import Refusal
from rigging.hardware.cable import cable
from rigging.jobs import stretch
from rigging.jobs.clamp import clamp_effect
from rigging.physics.bending import BendingRange, bending_range
from rigging.physics.clamp import NEAREST_IN, clamped, gauge_rise, gauge_share, gauge_way_in

LIMP = BendingRange(0.0, 0.0)
EIGHTH = bending_range(0.125, "7x19")
RUN = stretch.of_length(cable("1/8"), 168.0)


def limp(deflection_in, span_in, stiffness, *stated, **named):
    """A cable without bending stiffness, so taut that nothing it gains counts."""
    return clamped(deflection_in, span_in, stiffness, 1e9, LIMP, 30.0, *stated, **named)


def test_the_way_over_the_riser_by_pythagoras():
    # on each side 4 in along and 1 in across: 2 sqrt(16 + 1) - 8
    found = limp(1.0, 8.0, 1000.0)
    assert found.path_in == pytest.approx(2 * math.sqrt(17) - 8)
    assert found.raise_lbf == pytest.approx(1000 * (2 * math.sqrt(17) - 8))
    assert found.rise == pytest.approx([found.raise_lbf] * 3)


def test_what_is_known_exactly_leaves_nothing_open():
    nothing = {"deflection": 0.0, "anvils": 0.0, "stiffness": 0.0, "bending": 0.0}
    assert limp(0.06, 3.0, 2000.0).contributions_lbf == pytest.approx(nothing, abs=1e-9)


# by differences of the raise itself
@pytest.mark.parametrize("bending", [LIMP, EIGHTH], ids=["limp", "stiff"])
@pytest.mark.parametrize(
    ("name", "stated", "moved"),
    [
        ("deflection", {"deflection_uncertainty_in": 1e-4}, (0.6 + 1e-4, 8.0, 1000.0)),
        ("anvils", {"span_uncertainty_in": 1e-4}, (0.6, 8.0 + 1e-4, 1000.0)),
        ("stiffness", {"stiffness_uncertainty_lbf_per_in": 1e-2}, (0.6, 8.0, 1000.0 + 1e-2)),
    ],
)
def test_each_contribution_is_what_the_raise_changes_by(name, stated, moved, bending):
    rest = (400.0, bending, 30.0)
    found = clamped(0.6, 8.0, 1000.0, *rest, **stated)
    changed = abs(clamped(*moved, *rest).raise_lbf - found.raise_lbf)
    assert found.contributions_lbf[name] == pytest.approx(changed, rel=1e-3)
    others = {key for key, value in found.contributions_lbf.items() if value > 1e-9}
    assert others == {name, *(["bending"] if bending is EIGHTH else [])}


# force between the ends of a simple beam with a force in its middle: d = F s^3 / (48 EI), clamped d = F s^3 / (192 EI);
# of a string d = F s / (4 T) (textbooks). A run beyond that is pinned right at the anvil lets it turn, a clamped one not
@pytest.mark.parametrize(("ends", "beam"), [("pinned", 48), ("clamped", 192)])
def test_between_anvils_with_nothing_beyond_it_is_the_beam_of_the_textbooks(ends, beam):
    tension, span, bending = 0.01, 3.0, 300.0
    expected = span**3 / (beam * bending) / (span / (4 * tension))
    assert gauge_share(tension, span, 1e-4, bending, ends) == pytest.approx(expected, rel=1e-3)


def test_a_slack_cable_on_long_runs_bends_over_them():
    # a simple beam with a force in its middle stands at 3 d / s at its ends (textbooks); from there a run of many
    # r = sqrt(EI/T) falls away as slope exp(-x / r), whose way is slope^2 r / 4; within the gauge that of the beam, 6/5
    # of the way over straight flanks. The moment of the run bends the beam back by r-less shares, here 5 % at most
    tension, span, bending, d = 0.5, 3.0, 348.0, 0.06
    reach = math.sqrt(bending / tension)
    expected = 2 * (3 * d / span) ** 2 * reach / 4 + 1.2 * 2 * d * d / span
    assert gauge_way_in(d, span, tension, 400.0, bending) == pytest.approx(expected, rel=0.05)


def test_a_taut_cable_comes_down_to_a_string():
    ways = [gauge_way_in(0.06, 3.0, t, 30.0, 348.0) for t in (5.0, 50.0, 500.0, 1e5, 1e7)]
    assert ways == sorted(ways, reverse=True)
    assert ways[-1] == pytest.approx(2 * (math.hypot(1.5, 0.06) - 1.5), rel=5e-3)


def test_the_figure_is_the_middle_and_the_whole_range_is_carried():
    found = clamped(0.06, 3.0, 500.0, 40.0, EIGHTH, 80.0)
    string, least, most = found.rise
    assert string < least < found.raise_lbf < most
    assert found.raise_lbf == pytest.approx((least + most) / 2)
    # rectangular (JCGM 100, 4.3.7)
    assert found.contributions_lbf["bending"] == pytest.approx((most - least) / 2 / math.sqrt(3))


def test_a_cable_cannot_push():
    # no gauge adds more than is read with it on; where even loose wires would, the reading is refused
    found = clamped(0.06, 3.0, 2000.0, 12.0, EIGHTH, 39.0)
    assert found.rise.most_raise_lbf == 12.0 and found.raise_lbf < 12.0
    with pytest.raises(Refusal, match="hangs slack"):
        clamped(0.06, 3.0, 2000.0, 5.0, EIGHTH, 39.0)


@pytest.mark.parametrize("value", [0.0, -1.0, math.inf, math.nan])
def test_a_deflection_and_a_distance_are_above_zero(value):
    with pytest.raises(Refusal, match="a deflection of"):
        limp(value, 3.0, 2000.0)
    with pytest.raises(Refusal, match="distance between the anvils of"):
        limp(0.06, value, 2000.0)


@pytest.mark.parametrize("stiffness", [-0.1, math.inf, math.nan])
def test_a_stiffness_is_not_below_zero(stiffness):
    with pytest.raises(Refusal, match="cannot be negative"):
        limp(0.06, 3.0, stiffness)


def test_a_circuit_that_gives_freely_is_not_raised():
    assert limp(0.06, 3.0, 0.0).raise_lbf == 0.0


def test_at_most_an_eighth_of_the_distance():
    assert limp(0.375, 3.0, 1.0).raise_lbf > 0
    with pytest.raises(Refusal, match="no tensiometer's"):
        limp(0.376, 3.0, 1.0)


def test_six_inches_are_left_beyond_the_anvils():
    assert gauge_rise(0.06, 3.0, 500.0, 40.0, EIGHTH, NEAREST_IN).most_raise_lbf > 0
    with pytest.raises(Refusal, match="at least 6 in"):
        gauge_rise(0.06, 3.0, 500.0, 40.0, EIGHTH, 5.99)
    # 3 in between the anvils and 6 in on either side
    assert clamp_effect(0.06, 3.0, stretch.of_length(cable("1/8"), 15.0), 400.0).raise_lbf > 0
    with pytest.raises(Refusal, match="too short"):
        clamp_effect(0.06, 3.0, stretch.of_length(cable("1/8"), 14.9), 400.0)


def test_a_cable_of_no_stated_bending_stiffness_has_none():
    assert gauge_way_in(0.06, 3.0, 20.0, 30.0) == pytest.approx(2 * math.hypot(1.5, 0.06) - 3.0, rel=1e-9)


@pytest.mark.parametrize("beyond_in", [0.0, -0.5, -30.0, math.nan])
def test_a_run_beyond_the_anvils_is_above_zero(beyond_in):
    with pytest.raises(Refusal, match="beyond the anvils: it must be above zero"):
        gauge_share(20.0, 3.0, beyond_in, 348.0, "pinned")


def test_a_run_beyond_the_anvils_has_an_end_where_a_range_of_runs_is_asked_for():
    with pytest.raises(Refusal, match="read at least"):
        gauge_rise(0.06, 3.0, 500.0, 40.0, EIGHTH, math.inf)


def test_no_run_beyond_the_longest_counts():
    # 0.5 lbf straightens such a cable over 26 in only: the longer the run beyond, the longer its way
    tension, bending, longest_in = 0.5, 348.0, 20.0
    found = gauge_rise(0.06, 3.0, 1.0, tension, BendingRange(bending, bending), longest_in)
    ways = [
        gauge_way_in(0.06, 3.0, tension, NEAREST_IN + i / 200 * (longest_in - NEAREST_IN), bending, ends)
        for i in range(201)
        for ends in ("pinned", "clamped")
    ]
    assert max(ways) == pytest.approx(gauge_way_in(0.06, 3.0, tension, longest_in, bending, "pinned"), rel=1e-12)
    assert (found.least_raise_lbf, found.most_raise_lbf) == pytest.approx((min(ways), max(ways)), rel=1e-6)


@pytest.mark.parametrize("lengths", [50.0, 699.0, 701.0, 5000.0])
def test_a_taut_cable_loses_three_quarters_of_a_length_at_either_side(lengths):
    # anvils many sqrt(EI/T) apart, a long run beyond: 3/4 of such a length goes at either side of the riser
    tension = 348.0 * (lengths / 1.5) ** 2
    assert gauge_share(tension, 3.0, 30.0, 348.0, "pinned") == pytest.approx(1 - 1.5 / lengths, rel=1e-9)


def test_a_cable_that_its_tension_does_not_straighten_is_refused():
    # half the distance, 1.5 in, is a thousandth of sqrt(EI/T) at 348 / 1500^2 lbf
    loose_lbf = 348.0 / 1500.0**2
    assert 0 < gauge_share(1.01 * loose_lbf, 3.0, 30.0, 348.0, "pinned") < 1e-3
    with pytest.raises(Refusal, match="hangs loose"):
        gauge_share(0.99 * loose_lbf, 3.0, 30.0, 348.0, "pinned")


def test_a_cable_whose_length_or_wires_nobody_knows_is_refused():
    with pytest.raises(Refusal, match="length"):
        clamp_effect(0.06, 3.0, stretch.of_span(cable("1/8"), 60.0), 40.0)
    with pytest.raises(Refusal, match="wire count"):
        bending_range(0.125, "6x19")


def test_where_it_counts_is_where_the_most_it_may_add_is_the_accuracy():
    found = clamp_effect(0.06, 3.0, RUN, 40.0)
    assert found.counts
    at = clamp_effect(0.06, 3.0, RUN, found.counts_below_lbf)
    assert at.clamped.rise.most_raise_lbf == pytest.approx(0.02 * found.counts_below_lbf, rel=1e-6)
    assert not clamp_effect(0.06, 3.0, RUN, 1.001 * found.counts_below_lbf).counts
    # without a reading the rise is told there
    assert clamp_effect(0.06, 3.0, RUN).at_lbf == found.counts_below_lbf


def test_the_gauge_may_hide_a_slack_cable():
    assert clamp_effect(0.06, 3.0, RUN, 3.0).maybe_slack
    assert not clamp_effect(0.06, 3.0, RUN, 40.0).maybe_slack


def test_a_reading_that_is_too_high_makes_the_rise_too_small_as_well():
    found = clamp_effect(0.06, 3.0, RUN, 40.0, accuracy=0.04)
    plain = 0.04 * 40.0 / math.sqrt(3)
    higher = clamp_effect(0.06, 3.0, RUN, 40.4).free_lbf - clamp_effect(0.06, 3.0, RUN, 40.0).free_lbf
    assert found.gauge_lbf == pytest.approx(plain * higher / 0.4, rel=0.01)
    assert found.gauge_lbf > plain
