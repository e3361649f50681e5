"""What must hold for every quantity and every text, not only for the examples we thought of."""

import math

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from rigging.bands import parse_band
from rigging.errors import BadFile, UnitError
from rigging.units import (
    QUANTITIES,
    degF_to_degC,
    degF_to_degC_difference,
    in_to_mm,
    lbf_to_newton,
    number,
    parse,
    parse_size,
    parse_temperature_degF,
    parse_temperature_difference_degF,
    show_difference,
    show_force,
    show_temperature,
    size_in,
)
from rigging.yamlfile import loads

pytestmark = pytest.mark.slow

LB_PER_100FT = 100 * 0.3048 / 0.45359237  # of 1 kg/m
LBF_PER_N = 1 / (0.45359237 * 9.80665)


def _scale(kelvin_zero):
    """Spellings of F, C, K with slope and offset to degF."""
    units = {"F": (1.0, 0.0), "C": (9 / 5, 32.0), "K": (9 / 5, kelvin_zero)}
    return {s.format(u): units[u] for u in units for s in ("{}", "deg{}", "deg {}", "°{}", "° {}")} | {
        u.lower(): units[u] for u in units
    }


# slope and offset to the program's unit, from the definitions of the units
UNITS = {
    "temperature": _scale(-459.67),
    "temperature difference": {unit: (slope, 0.0) for unit, (slope, _) in _scale(0.0).items()},
    "force": {
        "lbf": (1.0, 0.0), "lb": (1.0, 0.0), "lbs": (1.0, 0.0), "N": (LBF_PER_N, 0.0), "daN": (10 * LBF_PER_N, 0.0),
        "kN": (1000 * LBF_PER_N, 0.0), "kgf": (1 / 0.45359237, 0.0),
    },
    "length": {
        "in": (1.0, 0.0), '"': (1.0, 0.0), "ft": (12.0, 0.0), "'": (12.0, 0.0),
        "mm": (1 / 25.4, 0.0), "cm": (1 / 2.54, 0.0), "m": (1 / 0.0254, 0.0),
    },
    "angle": {"deg": (1.0, 0.0), "°": (1.0, 0.0), "rad": (180 / math.pi, 0.0)},
    "time": {
        "h": (1.0, 0.0), "hour": (1.0, 0.0), "hours": (1.0, 0.0), "min": (1 / 60, 0.0), "s": (1 / 3600, 0.0),
        "d": (24.0, 0.0), "day": (24.0, 0.0), "days": (24.0, 0.0),
    },
    "expansion": {"/F": (1.0, 0.0), "/degF": (1.0, 0.0), "/C": (5 / 9, 0.0), "/degC": (5 / 9, 0.0), "/K": (5 / 9, 0.0)},
    "spring rate": {
        "lbf/in": (1.0, 0.0), "lb/in": (1.0, 0.0),
        "N/mm": (LBF_PER_N * 25.4, 0.0), "N/m": (LBF_PER_N * 0.0254, 0.0),
    },
    "give": {"in/lbf": (1.0, 0.0), "mm/N": (1 / 25.4 / LBF_PER_N, 0.0)},
    "frequency": {"Hz": (1.0, 0.0), "hz": (1.0, 0.0), "kHz": (1000.0, 0.0), "/min": (1 / 60, 0.0)},
    "weight of cable": {
        "lb/100ft": (1.0, 0.0), "lb/100 ft": (1.0, 0.0), "lb/ft": (100.0, 0.0), "kg/m": (LB_PER_100FT, 0.0),
        "g/m": (LB_PER_100FT / 1000, 0.0), "kg/100m": (LB_PER_100FT / 100, 0.0), "kg/100 m": (LB_PER_100FT / 100, 0.0),
    },
    "share": {"%": (0.01, 0.0), "percent": (0.01, 0.0)},
}  # fmt: skip
EVERY_UNIT = [(name, unit) for name, units in UNITS.items() for unit in units]
FIGURES = st.floats(min_value=-1e9, max_value=1e9)


def test_every_unit_of_every_quantity_is_checked_here():
    assert {name: set(q.units) for name, q in QUANTITIES.items()} == {name: set(units) for name, units in UNITS.items()}


@pytest.mark.parametrize(("name", "unit"), EVERY_UNIT)
@settings(deadline=None)
@given(figure=FIGURES)
def test_conversion_and_its_inverse(name, unit, figure):
    slope, offset = UNITS[name][unit]
    text = f"{figure!r} {unit}"
    if name == "temperature" and figure * slope + offset < -459.67:
        with pytest.raises(UnitError, match="absolute zero"):
            parse(name, text)
        return
    ours = parse(name, text)
    assert ours == pytest.approx(figure * slope + offset, rel=1e-12, abs=1e-9)
    assert (ours - offset) / slope == pytest.approx(figure, rel=1e-9, abs=1e-7)


@pytest.mark.parametrize(("name", "unit"), EVERY_UNIT)
@settings(deadline=None)
@given(figure=st.floats(min_value=0, max_value=1e6))
def test_a_space_before_the_unit_changes_nothing(name, unit, figure):
    assert parse(name, f"{figure!r}{unit}") == parse(name, f"  {figure!r}   {unit} ")


@settings(deadline=None)
@given(figure=st.floats(min_value=-200, max_value=1000), rise=st.floats(min_value=-50, max_value=50))
def test_a_difference_is_the_difference_of_two_temperatures(figure, rise):
    for unit in ("F", "C"):
        apart = parse_temperature_degF(f"{figure + rise!r}{unit}") - parse_temperature_degF(f"{figure!r}{unit}")
        assert parse_temperature_difference_degF(f"{rise!r}{unit}") == pytest.approx(apart, abs=1e-9)


@settings(deadline=None)
@given(figure=FIGURES)
def test_temperature_and_difference_part_only_by_the_offset(figure):
    assert degF_to_degC(figure) == pytest.approx((figure - 32) * 5 / 9, rel=1e-12, abs=1e-9)
    assert degF_to_degC_difference(figure) - degF_to_degC(figure) == pytest.approx(160 / 9, abs=1e-6)


@settings(deadline=None)
@given(figure=st.floats(min_value=-400, max_value=1e6))
def test_out_and_in_again(figure):
    assert parse_temperature_degF(f"{degF_to_degC(figure)!r}C") == pytest.approx(figure, rel=1e-12, abs=1e-9)
    assert parse("force", f"{lbf_to_newton(figure)!r} N") == pytest.approx(figure, rel=1e-12)
    assert parse("length", f"{in_to_mm(figure)!r} mm") == pytest.approx(figure, rel=1e-12)


@settings(deadline=None)
@given(figure=st.floats(min_value=-400, max_value=9999), si=st.booleans())
def test_what_is_shown_can_be_read_again(figure, si):
    assert parse_temperature_degF(show_temperature(figure, si)) == pytest.approx(figure, abs=0.6)
    assert parse_temperature_difference_degF(show_difference(figure, si)) == pytest.approx(figure, abs=0.6)
    assert parse("force", show_force(figure, si)) == pytest.approx(figure, abs=0.12)
    for shown in (show_temperature(figure, si), show_difference(figure, si), show_force(figure, si)):
        # no sign on a zero
        assert not (shown.startswith("-") and float(shown.split()[0]) == 0)


@settings(deadline=None)
@given(
    whole=st.integers(0, 99), above=st.integers(0, 999), below=st.integers(1, 999), sign=st.sampled_from(["", "+", "-"])
)
def test_mixed_numbers(whole, above, below, sign):
    expected = (-1 if sign == "-" else 1) * (whole + above / below)
    for text in (
        f"{sign}{whole} {above}/{below}",
        f"{sign}{whole}-{above}/{below}",
        f"{sign}{whole} {above} / {below}",
    ):
        assert number(text) == pytest.approx(expected)
        assert parse("length", f"{text} in") == pytest.approx(expected)


@settings(deadline=None)
@given(feet=st.integers(0, 9999), inches=st.floats(min_value=0, max_value=12))
def test_feet_and_inches(feet, inches):
    assert parse("length", f"{feet} ft {inches!r} in") == pytest.approx(12 * feet + inches)
    with pytest.raises(UnitError):
        parse("length", f"{feet} ft -{inches!r} in")


@settings(deadline=None)
@given(above=st.integers(1, 998), below=st.integers(2, 999))
def test_sizes_come_back_as_they_are(above, below):
    if above >= below:
        with pytest.raises(UnitError):
            parse_size(f"{above}/{below}")
        return
    size = parse_size(f"{above}/{below}")
    assert parse_size(size) == size
    assert size_in(size) == pytest.approx(above / below)


@settings(deadline=None)
@given(low=st.floats(0, 1e4), width=st.floats(0.01, 1e4), unit=st.sampled_from(["lbf", "N", "kgf"]))
def test_bands(low, width, unit):
    high = low + width
    band = parse_band(f"{low:.6f}..{high:.6f} {unit} @ 20C")
    slope = UNITS["force"][unit][0]
    assert 0 <= band.low_lbf < band.target_lbf < band.high_lbf
    assert (band.low_lbf, band.high_lbf) == pytest.approx((low * slope, high * slope), abs=1e-4)
    assert band.reference_degF == pytest.approx(68)


@settings(deadline=None)
@given(middle=st.floats(1, 1e4), percent=st.floats(0.1, 99))
def test_a_tolerance_in_percent_is_a_tolerance_in_pounds(middle, percent):
    in_percent = parse_band(f"{middle:.6f} +-{percent:.6f}% lbf")
    in_pounds = parse_band(f"{middle:.6f} +-{middle * percent / 100:.9f} lbf")
    assert in_percent[:3] == pytest.approx(in_pounds[:3], abs=1e-3)
    assert in_percent.target_lbf == pytest.approx((in_percent.low_lbf + in_percent.high_lbf) / 2)


# text that looks nearly right finds more than text at random
NEARLY = st.text(alphabet="0123456789+-./,eE@%±°'\" \xa0\N{MINUS SIGN}\tlbfNinmtCFKtodegnaif\n", max_size=30)
ANY_TEXT = st.one_of(st.text(), NEARLY, st.text(alphabet=st.characters(), max_size=120))


@pytest.mark.parametrize("name", QUANTITIES)
@settings(deadline=None)
@given(text=ANY_TEXT)
@example(text="1e999 lbf")
@example(text="1/0 in")
@example(text="0 ft 1/0 in")
@example(text="9" * 99 + "F")
@example(text="1/" + "9" * 97 + "\N{MINUS SIGN}")
@example(text="²F")
@example(text="٣F")
def test_any_text_is_a_quantity_or_a_unit_error(name, text):
    try:
        assert math.isfinite(parse(name, text))
    except UnitError as error:
        assert str(error)


@settings(deadline=None)
@given(text=ANY_TEXT)
@example(text="30..40 lbf @ ")
@example(text="35 +-9" + "9" * 80 + "% lbf")
@example(text="9" * 80 + "..9e9 kN")
def test_any_text_is_a_band_or_a_unit_error(text):
    try:
        band = parse_band(text)
    except UnitError as error:
        assert str(error)
    else:
        assert 0 <= band.low_lbf < band.high_lbf < math.inf


@settings(deadline=None)
@given(text=ANY_TEXT)
def test_any_text_is_a_size_or_a_unit_error(text):
    try:
        assert 0 < size_in(parse_size(text)) < 1
    except UnitError as error:
        assert str(error)


@settings(deadline=None)
@given(
    value=st.one_of(
        st.none(), st.booleans(), st.integers(), st.floats(), st.binary(max_size=20), st.lists(st.integers())
    )
)
def test_other_things_than_text_are_refused(value):
    for reader in (parse_band, parse_size, parse_temperature_degF):
        with pytest.raises(UnitError):
            reader(value)


YAML_LIKE = st.text(alphabet="ab01:.-_?[]{}&*!|>'\"%@`#,~\t \n\r\0\x85\u2028\ufeff\ud800", max_size=60)
LINES = st.lists(
    st.sampled_from(
        ["a: 1", "a:", "  b: 2", "  - c", "- d", "---", "...", "? e", ": f", "a: &x 1", "b: *x", "<<: *x", "g: !!int 5", "{", "}",
         "[", "]", "'", '"', "|", ">", "%YAML 1.1", "1e3", "010", "nan", "# h", "\t", "k: [1, {l: m}, n]", "? [o]", "&y p: q", "*y : r"]
    ),
    max_size=12,
).map("\n".join)  # fmt: skip


def _finite(data):
    if isinstance(data, dict):
        return all(isinstance(k, str) and _finite(v) for k, v in data.items())
    if isinstance(data, list):
        return all(map(_finite, data))
    return data is None or isinstance(data, bool | str | int) or math.isfinite(data)


@settings(deadline=None)
@given(text=st.one_of(st.text(), st.text(alphabet=st.characters()), YAML_LIKE, LINES))
@example(text="{" * 3000)
@example(text="[" * 3000)
@example(text="? " * 3000)
@example(text="- " * 3000)
@example(text="\ud800")
def test_any_text_is_a_document_or_a_bad_file(text):
    try:
        document = loads(text, "x.yaml")
    except BadFile as bad:
        lines = (
            text.count("\n") + text.count("\r") + text.count("\x85") + text.count("\u2028") + text.count("\u2029") + 1
        )
        assert bad.problems
        for problem in bad.problems:
            assert problem.message
            assert problem.line is None or 1 <= problem.line <= lines + 1
    else:
        assert _finite(document.data)
        assert all(line >= 1 for line in document.lines.values())


@settings(deadline=None)
@given(figure=st.floats(allow_nan=False, allow_infinity=False, min_value=-1e12, max_value=1e12))
def test_a_plain_decimal_is_read_as_written(figure):
    text = f"{figure:.6f}"
    document = loads(f"a: {text}", "x")
    assert document.data == {"a": float(text)}
    assert document.texts.get(("a",), str(document.data["a"])) == text


@settings(deadline=None)
@given(
    words=st.text(alphabet=st.characters(min_codepoint=32, max_codepoint=126, exclude_characters='"\\'), max_size=40)
)
def test_text_in_quotes_is_read_as_written(words):
    assert loads(f'a: "{words}"', "x").data == {"a": words}
