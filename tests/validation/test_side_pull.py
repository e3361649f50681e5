"""Side pull against statics and against a tensioned beam solved on a grid.

References: a physics exercise, recomputed: 70 kg in the middle of a span of 460 m that dips by 1.5 m makes
T = W / (2 sin a) = 5.26e4 N. The tensioned beam: finite_differences.py beside this file.
"""

import importlib.util
import math
from pathlib import Path

import pytest

from rigging.physics.side_pull import path_growth_in, pull_force_lbf, pulled_tension_lbf, string_share

_spec = importlib.util.spec_from_file_location("beam", Path(__file__).with_name("finite_differences.py"))
beam = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(beam)

N_PER_LBF, M_PER_IN = 4.4482216152605, 0.0254


def test_the_published_exercise():
    tension_lbf = pulled_tension_lbf(70 * 9.81 / N_PER_LBF, 1.5 / M_PER_IN, 460 / M_PER_IN, 230 / M_PER_IN)
    assert tension_lbf * N_PER_LBF == pytest.approx(5.26e4, abs=0.005e4)


@pytest.mark.parametrize("xi", [2.0, 10.0, 30.0, 100.0, 200.0])
@pytest.mark.parametrize("place", [0.5, 0.25, 0.7])
@pytest.mark.parametrize("ends", ["pinned", "clamped"])
def test_bending_correction_against_finite_differences(xi, place, ends):
    tension, span = 35.0, 60.0
    bending = tension * span**2 / xi**2
    deflection = beam.deflection(1.0, place, tension, bending, span, [ends == "clamped"] * 2)
    string = place * (1 - place) * span / tension
    # the grid itself is good to some 1e-4 at xi 200
    assert string_share(tension, span, place * span, bending, ends) == pytest.approx(deflection / string, rel=1e-3)


@pytest.mark.parametrize("ends", ["pinned", "clamped"])
def test_tension_comes_back_from_a_grid(ends):
    deflection = beam.deflection(1.5, 0.5, 35.0, 200.0, 60.0, [ends == "clamped"] * 2)
    # the slope is small enough for sine and tangent to be one
    assert pulled_tension_lbf(1.5, deflection, 60.0, 30.0, 200.0, ends) == pytest.approx(35.0, rel=2e-3)


@pytest.mark.parametrize(("ends", "share"), [("pinned", 48), ("clamped", 192)])
def test_without_tension_it_is_the_beam_of_the_textbooks(ends, share):
    """F L^3 / (48 EI) and / (192 EI)."""
    tension, span, bending = 1e-6, 24.0, 300.0
    string = span / (4 * tension)
    assert string * string_share(tension, span, span / 2, bending, ends) == pytest.approx(
        span**3 / share / bending, rel=1e-6
    )


def test_the_way_grows_by_pythagoras():
    assert path_growth_in(8.0, 4.0, 3.0) == pytest.approx(2.0)
    assert path_growth_in(17.0, 5.0, 12.0) == pytest.approx(13 - 5 + math.hypot(12, 12) - 12)
    assert pull_force_lbf(40.0, 3.0, 48.0, 24.0, 0.0) == pytest.approx(2 * 40 * 3 / math.hypot(24, 3))
