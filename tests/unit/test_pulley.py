"""Pulleys and fairleads: friction with its source, ratings by part number, limits."""

import math

import pytest

from rigging.errors import Refusal
from rigging.hardware import pulley
from rigging.physics.loads import pulley_load_lbf
from rigging.source import Basis


# Wire Rope Users Manual, 4th edition, p. 88: 1.04 and 1.09 over 180 degrees; by hand ln 1.04 / pi and ln 1.09 / pi
@pytest.mark.parametrize(("bearing", "factor", "rounded"), [("ball", 1.04, 0.0125), ("plain", 1.09, 0.0274)])
def test_friction_of_a_pulley_gives_its_printed_factor_back(bearing, factor, rounded):
    found = pulley.pulley_friction(bearing)
    assert found.value == pytest.approx(rounded, abs=5e-5)
    assert math.exp(found.value * math.pi) == pytest.approx(factor)
    assert found.source.basis is Basis.COMPUTED
    assert found.source.document == "Wire Rope Users Manual, 4th edition"


def test_friction_of_a_fairlead_is_from_memory():
    found = pulley.fairlead_friction()
    assert found.value == pytest.approx((0.1 + 0.3) / 2)
    assert found.standard_uncertainty == pytest.approx(0.1 / math.sqrt(3))
    assert found.source.basis is Basis.MEMORY
    assert not found.source.acceptable


@pytest.mark.parametrize(
    ("part", "load_lbf"), [("MS20220-1", 500), ("MS20220-2", 1680), ("MS20220-3", 2500), ("MS20220-4", 2500)]
)
def test_ratings(part, load_lbf):
    found = pulley.pulley_rating(part)
    assert (found.value, found.unit, found.source.basis) == (load_lbf, "lbf", Basis.SECOND_HAND)


def test_a_blank_or_unknown_rating_is_refused():
    with pytest.raises(Refusal, match="blank for MS20219-1"):
        pulley.pulley_rating("MS20219-1")
    with pytest.raises(Refusal, match="no part 'MS20220-9'"):
        pulley.pulley_rating("MS20220-9")
    assert pulley.known_part("MS20219-1")
    assert not pulley.known_part("MS20220-9")
    assert not pulley.known_part("")


@pytest.mark.parametrize(
    ("part", "size", "fits"),
    [
        ("MS20219-1", "3/32", True),
        ("MS20219-1", "1/8", False),
        ("MS20220-2", "1/8", True),
        ("MS20220-2", "1/16", False),
    ],
)
def test_a_pulley_is_made_for_certain_cables(part, size, fits):
    assert pulley.fits_cable(part, size) is fits


def test_limits_have_their_rules():
    bend, stretch = pulley.most_fairlead_bend(), pulley.most_control_stretch()
    assert (bend.value, bend.unit) == (3, "deg")
    assert "23.689, before amendment 64" in bend.source.document
    assert (stretch.value, stretch.source.document) == (25, "AMC 22.411(a)")


@pytest.mark.parametrize(("wrap_deg", "share"), [(0, 0), (60, 1), (90, math.sqrt(2)), (180, 2), (360, 0)])
def test_load_on_a_pulley_is_the_sum_of_two_forces(wrap_deg, share):
    # as vectors: one side pulls along x, the other turned by the wrap
    turned = math.radians(wrap_deg)
    assert pulley_load_lbf(100.0, wrap_deg) == pytest.approx(100 * share, abs=1e-9)
    assert pulley_load_lbf(100.0, wrap_deg) == pytest.approx(
        100 * math.hypot(1 - math.cos(turned), math.sin(turned)), abs=1e-9
    )


@pytest.mark.parametrize(("tension_lbf", "wrap_deg"), [(-1, 90), (100, -1), (100, 361), (math.nan, 90)])
def test_a_load_that_cannot_be_is_refused(tension_lbf, wrap_deg):
    with pytest.raises(Refusal):
        pulley_load_lbf(tension_lbf, wrap_deg)
