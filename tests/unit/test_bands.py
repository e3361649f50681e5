import pytest

from rigging.bands import parse_band
from rigging.errors import UnitError


@pytest.mark.parametrize(
    ("text", "low", "high", "target", "reference"),
    [
        ("30..40 lbf @ 70F", 30, 40, 35, 70),
        ("30 .. 40 lbf@70F", 30, 40, 35, 70),
        ("30 lbf..40 lbf @ 70F", 30, 40, 35, 70),
        ("30 lbf..40 @ 70F", 30, 40, 35, 70),
        ("30 to 40 lbf @ 21.1111111111C", 30, 40, 35, 70),
        ("30..40 lbf", 30, 40, 35, None),
        ("35 +-5 lbf @ 70F", 30, 40, 35, 70),
        ("35 ± 5 lbf", 30, 40, 35, None),
        ("35 +/- 5 lbf", 30, 40, 35, None),
        ("35 lbf +-5", 30, 40, 35, None),
        ("35 +-10% lbf @ 70F", 31.5, 38.5, 35, 70),
        ("35 lbf +- 10 % @ 70F", 31.5, 38.5, 35, 70),
        ("130 +-10% lbf @ 80F", 117, 143, 130, 80),
        ("0..40 lbf", 0, 40, 20, None),
        ("35 +-100% lbf", 0, 70, 35, None),
        ("1.5..2.5 lbf", 1.5, 2.5, 2, None),
        ("130..180 N @ 21C", 29.2251626, 40.4656098, 34.8453862, 69.8),
        ("100 N..40 lbf", 22.4808943, 40, 31.2404472, None),
    ],
)
def test_bands_as_data_sheets_print_them(text, low, high, target, reference):
    band = parse_band(text)
    assert (band.low_lbf, band.high_lbf, band.target_lbf) == pytest.approx((low, high, target), rel=1e-8)
    assert band.reference_degF == (None if reference is None else pytest.approx(reference))


def test_the_text_is_kept_as_typed():
    assert parse_band(" 30..40 lbf @ 70F ").text == "30..40 lbf @ 70F"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("30..40", "has no unit"),
        ("30..40 @ 70F", "has no unit"),
        ("35 +-5", "has no unit"),
        ("35 +-10%", "has no unit"),
        ("40..30 lbf", "low edge must lie below"),
        ("30..30 lbf", "low edge must lie below"),
        ("35 +-0 lbf", "low edge must lie below"),
        ("35 +- -5 lbf", "low edge must lie below"),
        ("-5..40 lbf", "cannot push"),
        ("5 +-6 lbf", "cannot push"),
        ("35 +-101% lbf", "cannot push"),
        ("30-40 lbf", r"a dash can be read as a minus: write 30\.\.40 lbf"),
        ("30 - 40", r"write 30\.\.40 lbf"),
        ("35 lbf", "is not a tension band: write it like"),
        ("35", "is not a tension band"),
        ("", "is not a tension band"),
        ("30,5..40 lbf", "is not a tension band"),
        ("nan..40 lbf", "is not a tension band"),
        ("30..inf lbf", "is not a tension band"),
        ("30..40 mm", "is a length, not a force"),
        ("30..40 lbf @ 70", "has no unit: write 70F or 70C"),
        ("30..40 lbf @", "is not a temperature"),
        ("30..40 lbf @ 5 lbf", "is a force, not a temperature"),
        ("30..40 lbf @ 70F @ 80F", "unknown unit"),
        ("30..40 lbf @ -500F", "absolute zero"),
        ("35 lbf +-٣%", "is not a tension band"),
        ("3" * 200, "characters long"),
        (35, "is not a tension band"),
        (None, "is not a tension band"),
    ],
)
def test_refusals_say_why(text, words):
    with pytest.raises(UnitError, match=words):
        parse_band(text)
