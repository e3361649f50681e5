"""What must hold for every loop through the seasons, whatever it is rigged to and made of."""

from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rigging.jobs.envelope import envelope
from rigging.jobs.envelope_parts import Asked
from rigging.sheet.load import load_rig

pytestmark = pytest.mark.slow

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
RIGS = {name: load_rig(EXAMPLES / name / "sheet.yaml") for name in ("harbour", "reedling", "quill")}
LOOPS = [(name, circuit) for name, rig in RIGS.items() for circuit in rig.file.circuits]
TENSION = st.floats(min_value=5.0, max_value=120.0)


def of(loop, tension):
    return envelope(RIGS[loop[0]], loop[1], Asked(set_lbf=tension)).circuits[0]


@settings(deadline=None, max_examples=40)
@given(loop=st.sampled_from(LOOPS), tension=TENSION)
def test_at_reference_it_is_what_was_set(loop, tension):
    circuit = of(loop, tension)
    here = circuit.temperatures_degF.index(circuit.reference_degF)
    for run in circuit.runs:
        assert run.tensions_lbf[here] == pytest.approx(tension)
        assert run.rigged_lbf == run.tensions_lbf[here]


@settings(deadline=None, max_examples=40)
@given(loop=st.sampled_from(LOOPS), tension=TENSION)
def test_tension_goes_one_way_and_never_below_zero(loop, tension):
    circuit = of(loop, tension)
    assert list(circuit.temperatures_degF) == sorted(set(circuit.temperatures_degF))
    for run in circuit.runs:
        shown = run.tensions_lbf if run.direction == "warmer is tighter" else run.tensions_lbf[::-1]
        assert all(later >= earlier - 1e-9 for earlier, later in pairwise(shown))
        assert min(run.tensions_lbf) >= 0.0
        assert len(run.tensions_lbf) == len(run.uncertainties_lbf) == len(circuit.temperatures_degF)


@settings(deadline=None, max_examples=40)
@given(loop=st.sampled_from(LOOPS), tension=TENSION)
def test_where_it_becomes_slack_its_slope_has_used_up_what_was_set(loop, tension):
    circuit = of(loop, tension)
    for side in (circuit.slack_below_degF, circuit.slack_above_degF):
        if side is not None:
            slope = circuit.runs[0].slope_lbf_per_degF
            assert tension + slope * (side - circuit.reference_degF) == pytest.approx(0.0, abs=1e-4)
    assert circuit.slack_below_degF is None or circuit.slack_above_degF is None


@settings(deadline=None, max_examples=20)
@given(
    loop=st.sampled_from(LOOPS),
    force=st.floats(min_value=1.0, max_value=60.0),
    margin=st.floats(min_value=0.1, max_value=30.0),
)
def test_a_tension_above_the_low_edge_keeps_every_day_tight(loop, force, margin):
    low = envelope(RIGS[loop[0]], loop[1], Asked(pilot_force_lbf=force)).circuits[0].window.low
    circuit = of(loop, max(low.tensions_lbf.values()) + margin)
    assert circuit.slack_below_degF is None and circuit.slack_above_degF is None
