"""The typical chart says of every figure that it is an illustration, and how it came about."""

import pytest

from rigging.errors import Refusal
from rigging.judge.temperatures import Condition
from rigging.judge.typical_chart import point_at_85F, typical_limits
from rigging.source import Basis

SIZES = ["1/16", "3/32", "1/8", "5/32", "3/16", "7/32", "1/4"]


@pytest.mark.parametrize("size", SIZES)
def test_never_usable_for_sign_off(size):
    found = typical_limits(size, Condition(85.0))
    assert found.usable_for_sign_off is False
    assert "an illustration" in found.cautions[0]
    assert "never for sign-off" in found.cautions[0]


@pytest.mark.parametrize(
    ("size", "basis"),
    [("1/8", Basis.PUBLISHED), ("3/16", Basis.SECOND_HAND)]
    + [(size, Basis.COMPUTED) for size in ("1/16", "3/32", "5/32", "7/32", "1/4")],
)
def test_the_status_of_each_size(size, basis):
    assert point_at_85F(size).source.basis is basis


@pytest.mark.parametrize(("size", "degF"), [("1/8", 85.0), ("3/16", 80.0)])
def test_away_from_its_known_point_a_figure_is_computed(size, degF):
    assert typical_limits(size, Condition(degF)).source.basis is not Basis.COMPUTED
    assert typical_limits(size, Condition(degF + 1)).source.basis is Basis.COMPUTED


@pytest.mark.parametrize(
    ("size", "step"), [("5/32", "between the chart's two known points"), ("1/4", "extrapolated beyond")]
)
def test_each_step_says_so_with_its_width(size, step):
    text = " ".join(typical_limits(size, Condition(85.0)).assumptions)
    assert step in text
    assert ("+-10 %" if size == "5/32" else "+-25 %") in text


@pytest.mark.parametrize("size", SIZES)
def test_tension_rises_with_temperature(size):
    low, high = (typical_limits(size, Condition(t)).target_lbf for t in (80.0, 100.0))
    assert low < high


def test_tension_rises_with_size():
    tensions = [point_at_85F(size).tension_lbf for size in SIZES]
    assert tensions == sorted(tensions)


@pytest.mark.parametrize("size", ["1/32", "3/64", "9/32", "5/16", "11/32", "3/8"])
def test_sizes_beyond_the_chart_are_refused_with_the_way_out(size):
    with pytest.raises(Refusal, match=f"no line for {size} .*use the aircraft's own data"):
        typical_limits(size, Condition(85.0))


@pytest.mark.parametrize(("degF", "given"), [(160.0, True), (160.1, False), (-65.1, False)])
def test_the_range_of_the_chart(degF, given):
    if given:
        assert typical_limits("3/16", Condition(degF)).temperature_degF == degF
        return
    with pytest.raises(Refusal, match="outside -65 to 160 F"):
        typical_limits("3/16", Condition(degF))


def test_no_slack_is_printed_in_the_cold():
    with pytest.raises(Refusal, match=r"no limit is given|larger than the tension itself"):
        typical_limits("1/8", Condition(-60.0))


@pytest.mark.parametrize(("size", "degF"), [("1/8", 84.0), ("3/16", 79.0)])
def test_below_its_known_point_a_figure_is_computed_too(size, degF):
    assert typical_limits(size, Condition(degF)).source.basis is Basis.COMPUTED
