"""Quantities in and out. Conversion factors here are typed from the definitions, not taken from the program."""

import pytest

from rigging.errors import UnitError
from rigging.units import (
    QUANTITIES,
    degF_to_degC,
    degF_to_degC_difference,
    force_unit,
    in_to_mm,
    lbf_to_newton,
    number,
    parse,
    parse_force_lbf,
    parse_length_in,
    parse_size,
    parse_temperature_degF,
    parse_temperature_difference_degF,
    show_difference,
    show_force,
    show_temperature,
    size_in,
    tidy,
)


@pytest.mark.parametrize(
    ("text", "degF"),
    [
        ("54F", 54.0),
        ("54 F", 54.0),
        ("54f", 54.0),
        ("54 degF", 54.0),
        ("54 deg F", 54.0),
        ("54°F", 54.0),
        ("54 ° F", 54.0),
        ("54\xa0°F", 54.0),
        ("0C", 32.0),
        ("100 C", 212.0),
        ("-40C", -40.0),
        ("\N{MINUS SIGN}40 °C", -40.0),
        ("273.15K", 32.0),
        ("0K", -459.67),
        ("-273.15C", -459.67),
        ("+70F", 70.0),
        (".5F", 0.5),
        ("5.F", 5.0),
    ],
)
def test_temperatures(text, degF):
    assert parse_temperature_degF(text) == pytest.approx(degF, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "difference_degF"),
    [("2F", 2.0), ("10C", 18.0), ("10 K", 18.0), ("-5C", -9.0), ("0C", 0.0), ("-500C", -900.0)],
)
def test_a_difference_has_no_offset(text, difference_degF):
    assert parse_temperature_difference_degF(text) == pytest.approx(difference_degF, abs=1e-12)


def test_ten_degrees_and_a_rise_of_ten_degrees_are_two_things():
    assert parse_temperature_degF("10C") == pytest.approx(50.0)
    assert parse_temperature_difference_degF("10C") == pytest.approx(18.0)


@pytest.mark.parametrize(
    ("text", "lbf"),
    [
        ("40 lbf", 40.0),
        ("40lb", 40.0),
        ("40 lbs", 40.0),
        ("100 N", 22.48089431),
        ("10 daN", 22.48089431),
        ("1 kN", 224.8089431),
        ("1 kgf", 2.204622622),
        ("1e2 N", 22.48089431),
    ],
)
def test_forces(text, lbf):
    assert parse_force_lbf(text) == pytest.approx(lbf, rel=1e-9)


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ("12 in", 12.0),
        ('12"', 12.0),
        ("14 ft", 168.0),
        ("14'", 168.0),
        ("14 ft 3 in", 171.0),
        ("14' 3\"", 171.0),
        ("14'3\"", 171.0),
        ("14 ft 2 1/2 in", 170.5),
        ("14 ft 3/4 in", 168.75),
        ("0 ft 3.25 in", 3.25),
        ("25.4 mm", 1.0),
        ("2.54 cm", 1.0),
        ("0.3048 m", 12.0),
        ("1/8 in", 0.125),
        ("1 / 8 in", 0.125),
        ("2 1/2 in", 2.5),
        ("2-1/2 in", 2.5),
        ("2  1/2 in", 2.5),
        ("2 1 / 2 in", 2.5),
        ("-1/8 in", -0.125),
        ("+1/8 in", 0.125),
        ("-2 1/2 in", -2.5),
        ("-0.02 in", -0.02),
    ],
)
def test_lengths(text, inches):
    assert parse_length_in(text) == pytest.approx(inches, rel=1e-12)


@pytest.mark.parametrize("text", ["14'-3\"", "14 ft -3 in", "14 ft - 3 in", "14 ft +3 in"])
def test_a_dash_between_feet_and_inches_is_never_taken_as_a_minus(text):
    with pytest.raises(UnitError, match="can be read as a sign: write 14 ft 3 in"):
        parse_length_in(text)


@pytest.mark.parametrize(
    ("name", "text", "value"),
    [
        ("angle", "90 deg", 90.0),
        ("angle", "3°", 3.0),
        ("angle", "1 rad", 57.29577951),
        ("time", "90 min", 1.5),
        ("time", "3600 s", 1.0),
        ("time", "2 d", 48.0),
        ("time", "1 day", 24.0),
        ("time", "1 hour", 1.0),
        ("expansion", "18e-6/C", 10e-6),
        ("expansion", "18e-6/K", 10e-6),
        ("expansion", "10e-6/F", 10e-6),
        ("expansion", "10e-6 /degF", 10e-6),
        ("share", "2%", 0.02),
        ("share", "2 percent", 0.02),
    ],
)
def test_other_quantities(name, text, value):
    assert parse(name, text) == pytest.approx(value, rel=1e-9)


@pytest.mark.parametrize("name", QUANTITIES)
def test_a_number_without_its_unit_is_refused_with_a_right_spelling(name):
    with pytest.raises(UnitError, match="'12' has no unit: write 12") as caught:
        parse(name, "12")
    first = str(caught.value).split(": write ")[1].split(" or ")[0]
    assert parse(name, first) is not None


def test_a_bare_number_from_a_file_is_refused_too():
    with pytest.raises(UnitError, match=r"'40\.5' has no unit: write 40\.5 lbf or 40\.5 N"):
        parse_force_lbf(40.5)


@pytest.mark.parametrize(
    ("name", "text", "words"),
    [
        ("force", "40 mm", "is a length, not a force: write a force in lbf, N, daN, kN or kgf$"),
        ("force", "40 F", "is a temperature, not a force"),
        ("length", "40 lbf", "is a force, not a length"),
        ("temperature", "54 lbf", "is a force, not a temperature: write a temperature in F, C or K$"),
        ("temperature", "90 deg", "is an angle, not a temperature"),
        ("angle", "90 F", "is a temperature, not an angle"),
        ("expansion", "x", "is not an expansion"),
        ("force", "40 pounds", "unknown unit 'pounds': write 40 lbf$"),
        ("force", "40 LBF", "unknown unit 'LBF': write 40 lbf$"),
        ("force", "40 n", "unknown unit 'n': write 40 N$"),
        ("force", "10 kg", "'10 kg' is a mass: as a force on a scale write 10 kgf$"),
        ("force", "10 KG", "is a mass: as a force on a scale write 10 kgf$"),
        ("force", "500 g", "is a mass: as a force on a scale write 0.5 kgf$"),
        ("force", "1/2 kg", "is a mass: as a force on a scale write 1/2 kgf$"),
        ("length", "10 CM", "unknown unit 'CM': write 10 cm$"),
        ("length", "10 km", "unknown unit 'km': write a length in in, ft, mm, cm or m$"),
        ("length", "10 kg", "unknown unit 'kg': write a length in"),
        ("share", "2 lbf", "is a force, not a share: write a share in %$"),
        ("force", "36,5 lbf", r"has a comma: write decimals with a point \(36\.5 lbf\)"),
        ("force", "1,000 lbf", "thousands without a mark"),
        ("force", "lbf", "is not a force: write it like 12 lbf or 12 N"),
        ("force", "", "is not a force"),
        ("force", "--5 lbf", "is not a force"),
        ("force", "nan lbf", "is not a force"),
        ("force", "inf lbf", "is not a force"),
        ("force", "1e999 lbf", "is not a finite number"),
        ("force", "1e308 kN", "is too large"),
        ("length", "1/0 in", "divides by zero"),
        ("length", "14 ft 1/0 in", "divides by zero"),
        ("temperature", "-460F", "below absolute zero"),
        ("temperature", "-274C", "below absolute zero"),
        ("temperature", "-1K", "below absolute zero"),
        ("force", "٤٠ lbf", "is not a force"),
        ("force", "40\nlbf\n5", "unknown unit|is not a force"),
        ("length", "14 ft 3", "unknown unit 'ft 3'"),
    ],
)
def test_refusals_say_why(name, text, words):
    with pytest.raises(UnitError, match=words):
        parse(name, text)


def test_a_way_out_never_puts_the_same_number_in_another_unit():
    # whatever unit is wrong: no other size of unit stands beside the number, only another spelling of the same
    for name, quantity in QUANTITIES.items():
        wrong = {u for other in QUANTITIES.values() for u in other.units} - set(quantity.units)
        for unit in wrong:
            with pytest.raises(UnitError) as caught:
                parse(name, f"7 {unit}")
            offered = str(caught.value).partition(": write ")[2]
            assert "7" not in offered or (offered == f"7 {offered[2:]}" and offered[2:].lower() == unit.lower())


def test_long_text_is_refused_without_repeating_it():
    with pytest.raises(UnitError, match="is 5003 characters long") as caught:
        parse_force_lbf("9" * 4999 + " lbf")
    assert len(str(caught.value)) < 150


def test_units_errors_are_errors_of_the_command_line():
    assert UnitError.exit_code == 2


def test_tidy_makes_typographic_signs_plain():
    assert tidy(" \N{MINUS SIGN}5\xa0± 2 ") == "-5 +- 2"


@pytest.mark.parametrize("text", ["", "x", "1/2/3", "1.5/2", "nan", "inf", "1e400", "a/b"])
def test_number_refuses(text):
    with pytest.raises(UnitError):
        number(text)


@pytest.mark.parametrize(
    ("text", "value"), [("12", 12), ("1.5", 1.5), ("5/32", 0.15625), ("2 1/2", 2.5), ("2-1/2", 2.5), ("-5", -5)]
)
def test_number(text, value):
    assert number(text) == value


@pytest.mark.parametrize(
    ("text", "size"), [("5/32", "5/32"), (" 1/8 in ", "1/8"), ("2/16", "1/8"), ("1 / 16in", "1/16"), ("31/32", "31/32")]
)
def test_sizes(text, size):
    assert parse_size(text) == size


@pytest.mark.parametrize(
    "text", ["", "0.125", "1/8 mm", "0/8", "1/0", "-1/8", "1 1/8", "4/4", "3/1", "9/8", "1/8/2", "1000/2", 0.125]
)
def test_no_size(text):
    with pytest.raises(
        UnitError, match="is not a cable size: write the diameter as a fraction of an inch, like 1/8 or 5/32"
    ):
        parse_size(text)


def test_sizes_in_inches():
    assert size_in("5/32") == 0.15625


def test_conversions_out():
    assert lbf_to_newton(1.0) == pytest.approx(4.4482216152605, rel=1e-14)
    assert degF_to_degC(212.0) == pytest.approx(100.0)
    assert degF_to_degC_difference(18.0) == pytest.approx(10.0)
    assert in_to_mm(2.0) == pytest.approx(50.8)


@pytest.mark.parametrize(
    ("shown", "text"),
    [
        (show_temperature(54.0), "54 F"),
        (show_temperature(54.0, si=True), "12.2 C"),
        (show_temperature(-65.0), "-65 F"),
        (show_temperature(31.99, si=True), "0.0 C"),
        (show_temperature(-0.0), "0 F"),
        (show_difference(16.0), "16 F"),
        (show_difference(16.0, si=True), "8.9 C"),
        (show_difference(-0.01, si=True), "0.0 C"),
        (show_difference(-16.0, si=True), "-8.9 C"),
        (show_force(36.44), "36.4 lbf"),
        (show_force(36.44, si=True), "162 N"),
        (show_force(-0.04), "0.0 lbf"),
        (show_force(-0.04, si=True), "0 N"),
        (show_force(-3.0), "-3.0 lbf"),
        (show_force(36.44, unit=False), "36.4"),
        (force_unit(), "lbf"),
        (force_unit(si=True), "N"),
    ],
)
def test_shown_for_people(shown, text):
    assert shown == text
