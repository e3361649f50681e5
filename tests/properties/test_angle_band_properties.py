"""What must hold for every band of angles: what is written is what is read, and the other way round."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rigging.bands import parse_angle_band, parse_band
from rigging.errors import UnitError

pytestmark = pytest.mark.slow

# hundredths are what a data sheet prints
HUNDREDTHS = st.integers(-18000, 18000)
UNITS = st.sampled_from(["deg", " deg", "°", " °"])


@given(edges=st.tuples(HUNDREDTHS, HUNDREDTHS).filter(lambda e: e[0] < e[1]), unit=UNITS)
def test_a_written_range_is_read_back(edges, unit):
    low, high = (e / 100 for e in edges)
    band = parse_angle_band(f"{low}..{high}{unit}")
    assert (band.low_deg, band.high_deg) == (low, high)


@given(edges=st.tuples(HUNDREDTHS, HUNDREDTHS).filter(lambda e: e[0] < e[1]))
def test_a_band_written_from_what_was_read_is_the_same_band(edges):
    band = parse_angle_band(f"{edges[0] / 100} to {edges[1] / 100} deg")
    again = parse_angle_band(f"{band.low_deg!r}..{band.high_deg!r} deg")
    assert again[:2] == band[:2]


@given(middle=st.integers(-9000, 9000), width=st.integers(1, 9000))
def test_a_tolerance_lies_alike_on_both_sides(middle, width):
    band = parse_angle_band(f"{middle / 100} +-{width / 100} deg")
    assert band.low_deg == pytest.approx((middle - width) / 100, abs=1e-9)
    assert band.high_deg == pytest.approx((middle + width) / 100, abs=1e-9)


@given(edges=st.tuples(HUNDREDTHS, HUNDREDTHS).filter(lambda e: e[0] < e[1]))
def test_a_surface_that_turns_the_other_way_has_the_mirrored_band(edges):
    low, high = edges[0] / 100, edges[1] / 100
    there, back = parse_angle_band(f"{low}..{high} deg"), parse_angle_band(f"{-high}..{-low} deg")
    assert (there.low_deg, there.high_deg) == (-back.high_deg, -back.low_deg)


@given(edges=st.tuples(HUNDREDTHS, HUNDREDTHS).filter(lambda e: e[0] >= e[1]))
def test_a_reversed_or_empty_band_is_never_read(edges):
    with pytest.raises(UnitError, match="low edge must lie below"):
        parse_angle_band(f"{edges[0] / 100}..{edges[1] / 100} deg")


@given(edges=st.tuples(st.integers(0, 18000), st.integers(0, 18000)).filter(lambda e: e[0] < e[1]), text=st.data())
def test_both_kinds_of_band_share_one_grammar(edges, text):
    how = text.draw(
        st.sampled_from(["{} .. {} {}", "{}..{}{}", "{} to {} {}", "{2}", "{}-{} {}", "{} +-{} {}", "{}, {} {}"])
    )

    def outcome(parse, unit):
        try:
            found = parse(how.format(edges[0] / 100, edges[1] / 100, unit))
        except UnitError as error:
            return "beyond" if "beyond" in str(error) or "cannot push" in str(error) else "refused"
        return found[:2]

    angle, tension = outcome(parse_angle_band, "deg"), outcome(parse_band, "lbf")
    # each has one bound of its own: half a turn, and no push
    assert angle == tension or "beyond" in (angle, tension)


@given(text=st.text(max_size=40))
def test_any_text_is_a_band_or_refused_in_one_line(text):
    try:
        band = parse_angle_band(text)
    except UnitError as error:
        assert str(error)
    else:
        assert -180 <= band.low_deg < band.high_deg <= 180
