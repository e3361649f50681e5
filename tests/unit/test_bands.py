import pytest

from rigging.bands import parse_angle_band, parse_band
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


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("18..22 deg", 18, 22),
        ("18 deg..22 deg", 18, 22),
        ("18 deg .. 22", 18, 22),
        ("18 to 22 deg", 18, 22),
        ("18°..22°", 18, 22),
        ("20 +-2 deg", 18, 22),
        ("20 ± 2°", 18, 22),
        ("20 deg +/- 2", 18, 22),
        ("20 +-10% deg", 18, 22),
        ("-0.5..0.5 deg", -0.5, 0.5),
        ("−0.5..+0.5 deg", -0.5, 0.5),
        ("0 +-0.5 deg", -0.5, 0.5),
        ("-10..-5 deg", -10, -5),
        ("-10 +-20% deg", -12, -8),
        ("-180..180 deg", -180, 180),
        ("0.5..1 rad", 28.6478898, 57.2957795),  # 180/pi degrees to the radian
    ],
)
def test_bands_of_angles(text, low, high):
    band = parse_angle_band(text)
    assert (band.low_deg, band.high_deg) == pytest.approx((low, high), rel=1e-8)


def test_the_text_of_an_angle_band_is_kept_as_typed():
    assert parse_angle_band(" 18..22 deg ").text == "18..22 deg"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("18..22", r"has no unit: write it like 18\.\.22 deg or 20 \+-2 deg$"),
        ("20 +-2", "has no unit"),
        ("20 +-10%", "has no unit"),
        ("22..18 deg", "low edge must lie below"),
        ("18..18 deg", "low edge must lie below"),
        ("0 +-0 deg", "low edge must lie below"),
        ("0 +-10% deg", "low edge must lie below"),
        ("20 +- -2 deg", "low edge must lie below"),
        ("-5..-10 deg", "low edge must lie below"),
        ("18-22 deg", r"a dash can be read as a minus: write 18\.\.22 deg"),
        ("18 - 22", r"write 18\.\.22 deg"),
        ("20 deg", r"is not an angle band: write it like 18\.\.22 deg"),
        ("18..22 deg @ 70F", "is not an angle band"),
        ("18,5..22 deg", "is not an angle band"),
        ("nan..22 deg", "is not an angle band"),
        ("", "is not an angle band"),
        (20, "is not an angle band"),
        (None, "is not an angle band"),
        ("18..22 lbf", "is a force, not an angle"),
        ("18..22 F", "is a temperature, not an angle"),
        ("18..180.1 deg", "beyond 180 deg"),
        ("-180.1..0 deg", "beyond 180 deg"),
        ("18..22 rad", "beyond 180 deg"),
        ("3" * 200, "characters long"),
    ],
)
def test_an_angle_band_is_refused_with_the_reason(text, words):
    with pytest.raises(UnitError, match=words):
        parse_angle_band(text)
