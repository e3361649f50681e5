"""Side pulls to a tension: uncertainty, stretch, recommendation, and when the figure is too loose."""

import importlib.util
import math
from pathlib import Path

import numpy as np
import pytest

from rigging.bands import parse_band
from rigging.errors import Refusal, UsageError
from rigging.hardware.cable import cable
from rigging.jobs import stretch
from rigging.jobs.best_pull import best_pull
from rigging.jobs.side_pull import Pull, Tools, side_pull
from rigging.sheet.load import load_rig

ROOT = Path(__file__).resolve().parents[2]
_spec = importlib.util.spec_from_file_location("beam", ROOT / "tests" / "validation" / "finite_differences.py")
beam = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(beam)

WIRE = cable("1/8")
RUN = stretch.of_length(WIRE, 168.0)
EXACT = Tools(0.0, 0.0, 0.0, 0.0)


def pulled(tension_lbf, deflection_in, span_in, stiffness_lbf_per_in):
    """The pull on a string by Pythagoras alone."""
    side = math.hypot(span_in / 2, deflection_in)
    return 2 * (tension_lbf + stiffness_lbf_per_in * (2 * side - span_in)) * deflection_in / side


@pytest.mark.slow
def test_of_many_pulls_the_interval_holds_the_truth_in_95_of_100():
    """Readings drawn within what is stated, bending by finite differences, stiffness of the run off by its own u."""
    rng = np.random.default_rng(5)
    held = 0
    for _ in range(1000):
        tension, span = math.exp(rng.uniform(math.log(15), math.log(100))), rng.uniform(48, 120)
        length = rng.uniform(150, 300)
        k_true = 104123 / length * (1 + 0.075 * rng.standard_normal())
        bending = math.exp(rng.uniform(math.log(1), math.log(348)))
        clamped = bool(rng.integers(2))
        measured_span = span + rng.uniform(-0.5, 0.5)
        scale = 1 + rng.uniform(-0.02, 0.02)
        pulls = []
        for share in (0.008, 0.010, 0.012):
            d = share * span
            raised = tension + k_true * 2 * d * d / span
            force = d / beam.deflection(1.0, 0.5, raised, bending, span, [clamped] * 2, points=399)
            pulls.append(Pull(force * scale + rng.uniform(-0.1, 0.1), d + rng.uniform(-1 / 32, 1 / 32)))
        found = side_pull(pulls, measured_span, stretch.of_length(WIRE, length))
        held += abs(found.tension_lbf - tension) <= found.uncertainty_lbf
    assert held >= 950, held


def test_several_pulls_tell_the_stretch_from_the_tension():
    known, unknown = stretch.of_length(WIRE, 168.0), stretch.of_span(WIRE, 60.0)
    pulls = [Pull(pulled(35.0, d, 60.0, known.stiffness_lbf_per_in), d) for d in (0.3, 0.6, 0.9, 1.2)]
    one, four = side_pull(pulls[1:2], 60.0, unknown, EXACT), side_pull(pulls, 60.0, unknown, EXACT)
    of_one, of_four = (
        next(c.standard_uncertainty for c in f.combined.components if c.why.startswith("stretch")) for f in (one, four)
    )
    assert of_four < 0.02 * of_one
    # bending stiffness of anything up to a solid rod takes 10 % off at most
    assert 0.8 * 35 < four.tension_lbf < 35


def test_every_contribution_grows_with_what_it_stands_for():
    pulls = [Pull(1.7, 0.6)]
    base = side_pull(pulls, 60.0, RUN, EXACT)
    for tools in (Tools(0.02, 0, 0, 0), Tools(0, 0.2, 0, 0), Tools(0, 0, 1 / 32, 0), Tools(0, 0, 0, 0.5)):
        assert side_pull(pulls, 60.0, RUN, tools).uncertainty_lbf > base.uncertainty_lbf
    # 2 % of the reading, rectangular, is somewhat more than 2 % of the tension for the stretch is taken off afterwards
    found = side_pull(pulls, 60.0, RUN, Tools(0.02, 0, 0, 0))
    part = next(c.standard_uncertainty for c in found.combined.components if c.why.startswith("spring scale"))
    assert part == pytest.approx(0.02 / math.sqrt(3) * (found.tension_lbf + found.rises_lbf[0]), rel=0.1)


def test_pulls_that_do_not_agree_are_told():
    found = side_pull([Pull(1.7, 0.6), Pull(5.0, 0.7)], 60.0, RUN)
    assert found.odd and not found.good
    assert not side_pull([Pull(1.7, 0.6), Pull(1.75, 0.61)], 60.0, RUN).odd


def test_too_loose_is_half_a_band_or_a_fifth():
    rough = Tools(0.02, 1.0, 1 / 8, 0.5)
    assert "more than 20 %" in side_pull([Pull(1.7, 0.6)], 60.0, RUN, rough).too_loose
    fine = side_pull([Pull(1.7, 0.6)], 60.0, RUN, band=parse_band("20..60 lbf"))
    assert not fine.too_loose and fine.verdict.word.value in ("in", "re-measure")
    narrow = side_pull([Pull(1.7, 0.6)], 60.0, RUN, band=parse_band("33..35 lbf"))
    assert "half the width" in narrow.too_loose and not narrow.good


@pytest.mark.parametrize(
    ("pulls", "span", "error", "words"),
    [
        ([], 60.0, UsageError, "at least one pull"),
        ([Pull(0.0, 0.6)], 60.0, Refusal, "above zero"),
        ([Pull(1.0, -0.6)], 60.0, Refusal, "above zero"),
        ([Pull(1.0, math.nan)], 60.0, Refusal, "above zero"),
        ([Pull(1.0, 6.0)], 60.0, Refusal, "too steep"),
        ([Pull(0.1, 1.2)], 60.0, Refusal, "explains the whole pull"),
        ([Pull(1.0, 0.6)], 200.0, Refusal, "longer than its span"),
    ],
)
def test_what_no_figure_can_be_made_of(pulls, span, error, words):
    with pytest.raises(error, match=words):
        side_pull(pulls, span, RUN)


def test_pulled_too_near_an_end():
    with pytest.raises(Refusal, match="middle three fifths"):
        side_pull([Pull(1.0, 0.2)], 60.0, RUN, at_in=5.0)


def test_an_instrument_cannot_be_better_than_exact():
    with pytest.raises(UsageError):
        Tools(scale_share=-0.1)


def test_the_recommended_pull_does_what_it_says():
    best = best_pull(35.0, RUN, target=0.15)
    assert best.reaches
    found = side_pull([Pull(best.force_lbf, best.deflection_in)] * 3, best.span_in, RUN)
    assert found.relative <= 0.15
    # bending is taken half-way in the recommendation, and over its whole width in the answer
    assert found.tension_lbf == pytest.approx(35.0, rel=0.05)
    shorter = best_pull(35.0, RUN, span_in=36.0, target=0.15)
    assert not shorter.reaches and shorter.relative > best.relative


def test_a_looser_target_takes_a_shorter_span():
    spans = [best_pull(40.0, RUN, target=t).span_in for t in (0.11, 0.15, 0.25)]
    assert spans == sorted(spans, reverse=True) and spans[0] > spans[-1]


def test_no_recommendation_for_no_tension_or_no_target():
    for tension, target in ((0.0, 0.1), (-1.0, 0.1), (35.0, 0.0)):
        with pytest.raises(Refusal):
            best_pull(tension, RUN, target=target)


def test_stretch_of_a_circuit_is_softer_than_of_its_run():
    rig = load_rig(ROOT / "examples" / "reedling" / "sheet.yaml")
    run = stretch.find_run(rig, "aileron/left")
    circuit = stretch.of_circuit(rig, run)
    # left 14 ft, balance 18 ft and right 14 ft of the same cable in one loop with equal arms: springs in series
    assert circuit.stiffness_lbf_per_in == pytest.approx(run.cable.stiffness.value / (46 * 12), rel=1e-9)
    assert circuit.give_in_per_lbf == pytest.approx(46 * 12 / run.cable.stiffness.value, rel=1e-9)
    assert circuit.length_in == pytest.approx(168)


@pytest.mark.parametrize(("text", "error"), [("aileron", UsageError), ("/left", UsageError), ("aileron/up", Refusal)])
def test_a_run_must_be_named_and_known(text, error):
    rig = load_rig(ROOT / "examples" / "reedling" / "sheet.yaml")
    with pytest.raises(error):
        stretch.find_run(rig, text)


def test_a_length_of_nothing_stretches_nothing():
    with pytest.raises(Refusal, match="above zero"):
        stretch.of_length(WIRE, 0.0)
