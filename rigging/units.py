"""Quantities as people write them, in and out: ``54F``, ``1/8 in``, ``40 lbf``, ``14 ft 3 in``.

Inside the program everything is lbf, in, degF, h, deg. A number from outside must carry its unit.
A temperature and a temperature difference are two quantities: 10 C is 50 F, but a rise of 10 C is
a rise of 18 F; each has its own parser.
"""

from __future__ import annotations

import math
import re
from fractions import Fraction
from typing import Final, NamedTuple

from rigging.errors import UnitError

# Exact by definition: international pound 0.45359237 kg, standard gravity 9.80665 m/s2, inch 25.4 mm.
NEWTON_PER_LBF: Final = 4.4482216152605
MM_PER_IN: Final = 25.4
ABSOLUTE_ZERO_DEGF: Final = -459.67
LONGEST_TEXT: Final = 100

_UNSIGNED = r"(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?"
_NUMBER = rf"[+-]?{_UNSIGNED}"
_MIXED = r"(?:\d+(?:\s+|-))?\d+\s*/\s*\d+"
_FRACTION = re.compile(r"\s*([+-]?)(?:(\d+)(?:\s+|-))?(\d+)\s*/\s*(\d+)\s*", re.ASCII)
_QUANTITY = re.compile(rf"^\s*(?P<number>[+-]?{_MIXED}|{_NUMBER})\s*(?P<unit>.*?)\s*$", re.ASCII)
_FEET_INCHES = re.compile(rf"^\s*(\d+)\s*(?:ft|')\s*([+-]?)\s*({_MIXED}|{_UNSIGNED})\s*(?:in|\")\s*$", re.ASCII)
_SIZE = re.compile(r"^\s*(\d{1,3})\s*/\s*(\d{1,3})\s*(?:in)?\s*$", re.ASCII)


class Quantity(NamedTuple):
    """A kind of quantity: its name in words, unit spellings as (factor, offset) to ours, two examples."""

    name: str
    units: dict[str, tuple[float, float]]
    examples: tuple[str, str]


_TEMPERATURE_SCALES = {"F": (1.0, 0.0), "C": (1.8, 32.0), "K": (1.8, ABSOLUTE_ZERO_DEGF)}


def _spelled(scales: dict[str, tuple[float, float]]) -> dict[str, tuple[float, float]]:
    return {s: v for k, v in scales.items() for s in (k, k.lower(), f"deg{k}", f"deg {k}", f"°{k}", f"° {k}")}


_FORCE = {
    "lbf": 1.0,
    "lb": 1.0,
    "lbs": 1.0,
    "N": 1 / NEWTON_PER_LBF,
    "daN": 10 / NEWTON_PER_LBF,
    "kN": 1000 / NEWTON_PER_LBF,
    "kgf": 9.80665 / NEWTON_PER_LBF,
}
_LENGTH = {"in": 1.0, '"': 1.0, "ft": 12.0, "'": 12.0, "mm": 1 / MM_PER_IN, "cm": 10 / MM_PER_IN, "m": 1000 / MM_PER_IN}
_ANGLE = {"deg": 1.0, "°": 1.0, "rad": 180 / math.pi}
_TIME = {"h": 1.0, "hours": 1.0, "hour": 1.0, "min": 1 / 60, "s": 1 / 3600, "d": 24.0, "days": 24.0, "day": 24.0}
_EXPANSION = {"/F": 1.0, "/degF": 1.0, "/C": 1 / 1.8, "/degC": 1 / 1.8, "/K": 1 / 1.8}
_RATE = {"lbf/in": 1.0, "lb/in": 1.0, "N/mm": MM_PER_IN / NEWTON_PER_LBF, "N/m": MM_PER_IN / NEWTON_PER_LBF / 1000}
_GIVE = {"in/lbf": 1.0, "mm/N": NEWTON_PER_LBF / MM_PER_IN}
_SHARE = {"%": 0.01, "percent": 0.01}
_FREQUENCY = {"Hz": 1.0, "hz": 1.0, "kHz": 1000.0, "/min": 1 / 60}
# weight of a length of cable, in lb per 100 ft as catalogues print it
_WEIGHT = {
    "lb/100ft": 1.0,
    "lb/100 ft": 1.0,
    "lb/ft": 100.0,
    "kg/m": 3048 / 45.359237,
    "g/m": 3.048 / 45.359237,
    "kg/100m": 30.48 / 45.359237,
    "kg/100 m": 30.48 / 45.359237,
}
# masses, in kg, that a scale shows where a force is asked for
_MASS = {"kg": 1.0, "kgs": 1.0, "kilogram": 1.0, "kilograms": 1.0, "g": 0.001, "gram": 0.001, "grams": 0.001}
_SPELLINGS = {
    **dict.fromkeys(("pound", "pounds", "lbf.", "lb.", "lbs."), "lbf"),
    **dict.fromkeys(("newton", "newtons"), "N"),
    **dict.fromkeys(("inch", "inches", "in."), "in"),
    **dict.fromkeys(("foot", "feet", "ft."), "ft"),
    **dict.fromkeys(("degree", "degrees"), "deg"),
    **dict.fromkeys(("hr", "hrs"), "h"),
    "kp": "kgf",
}


def _plain(factors: dict[str, float]) -> dict[str, tuple[float, float]]:
    return {unit: (factor, 0.0) for unit, factor in factors.items()}


QUANTITIES: Final[dict[str, Quantity]] = {
    "temperature": Quantity("temperature", _spelled(_TEMPERATURE_SCALES), ("{}F", "{}C")),
    "temperature difference": Quantity(
        "temperature difference", _spelled({k: (f, 0.0) for k, (f, _) in _TEMPERATURE_SCALES.items()}), ("{}F", "{}C")
    ),
    "force": Quantity("force", _plain(_FORCE), ("{} lbf", "{} N")),
    "length": Quantity("length", _plain(_LENGTH), ("{} in", "{} mm")),
    "angle": Quantity("angle", _plain(_ANGLE), ("{} deg", "{} rad")),
    "time": Quantity("time", _plain(_TIME), ("{} h", "{} min")),
    "expansion": Quantity("expansion", _plain(_EXPANSION), ("{}/C", "{}/F")),
    "spring rate": Quantity("spring rate", _plain(_RATE), ("{} lbf/in", "{} N/mm")),
    "give": Quantity("give", _plain(_GIVE), ("{} in/lbf", "{} mm/N")),
    "frequency": Quantity("frequency", _plain(_FREQUENCY), ("{} Hz", "{} /min")),
    "weight of cable": Quantity("weight of cable", _plain(_WEIGHT), ("{} lb/100ft", "{} g/m")),
    "share": Quantity("share", _plain(_SHARE), ("{}%", "{} percent")),
}


def tidy(text: object) -> str:
    """The text with typographic minus, plus-minus and no-break spaces made plain; refuses what is too long."""
    raw = str(text)
    if len(raw) > LONGEST_TEXT:
        raise UnitError(
            f"'{raw[:20]}...' is {len(raw)} characters long: a quantity is a number and a unit, like 40 lbf"
        )
    return raw.replace("\N{MINUS SIGN}", "-").replace("±", "+-").replace("\xa0", " ").strip()


def with_article(noun: str) -> str:
    """``a force``, ``an angle``."""
    return f"{'an' if noun[0] in 'aeiou' else 'a'} {noun}"


def number(text: str) -> float:
    """``12``, ``1.5``, ``5/32``, ``2 1/2`` as a finite float; raises UnitError with the reason."""
    try:
        if parts := _FRACTION.fullmatch(text):
            sign, whole, above, below = parts.groups()
            value = float(Fraction(int(above), int(below)) + int(whole or 0)) * (-1 if sign == "-" else 1)
        else:
            value = float(text)
    except ZeroDivisionError:
        raise UnitError(f"'{text}' divides by zero") from None
    except (ValueError, OverflowError):
        raise UnitError(f"'{text}' is not a number: write it like 12 or 12.5") from None
    if not math.isfinite(value):
        raise UnitError(f"'{text}' is not a finite number")
    return value


def parse(quantity_name: str, text: object) -> float:
    """A quantity of the named kind, in the program's own unit.

    Raises UnitError: no unit, the unit of something else, a decimal comma, not a number, not finite,
    or a temperature below absolute zero.
    """
    quantity = QUANTITIES[quantity_name]
    raw = tidy(text)
    if quantity_name == "length" and (both := _FEET_INCHES.match(raw)):
        if both[2]:
            # 14'-3" means 14 ft 3 in to one reader and 13 ft 9 in to another
            raise UnitError(f"'{raw}': the '{both[2]}' can be read as a sign: write {both[1]} ft {both[3]} in")
        return 12.0 * number(both[1]) + number(both[3])
    found = _QUANTITY.match(raw)
    if re.search(r"\d,\d", raw):
        raise UnitError(
            f"'{raw}' has a comma: write decimals with a point ({raw.replace(',', '.', 1)}), thousands without a mark"
        )
    if not found:
        raise UnitError(f"'{raw}' is not {with_article(quantity.name)}: write it like {_examples(quantity, '12')}")
    digits, unit = found["number"], found["unit"]
    if not unit:
        raise UnitError(f"'{raw}' has no unit: write {_examples(quantity, digits)}")
    if unit not in quantity.units:
        raise UnitError(f"'{raw}' {_wrong_unit(quantity, digits, unit)}")
    factor, offset = quantity.units[unit]
    value = number(digits) * factor + offset
    if not math.isfinite(value):
        raise UnitError(f"'{raw}' is too large")
    if quantity_name == "temperature" and value < ABSOLUTE_ZERO_DEGF:
        raise UnitError(f"'{raw}' lies below absolute zero")
    return value


def _wrong_unit(quantity: Quantity, digits: str, unit: str) -> str:
    # the same number is offered only with another spelling of the same unit: 10 kg is neither 10 lbf nor 10 N
    word = unit.lower()
    if quantity.name == "force" and (kilograms := _MASS.get(word)):
        force = digits if kilograms == 1.0 else f"{number(digits) * kilograms:.6g}"
        return f"is a mass: as a force on a scale write {force} kgf"
    if other := next((q.name for q in QUANTITIES.values() if unit in q.units), None):
        what = f"is {with_article(other)}, not {with_article(quantity.name)}"
    else:
        what = f"has the unknown unit '{unit}'"
        meant = {u for u in quantity.units if u == _SPELLINGS.get(word) or u.lower() == word}
        if len({quantity.units[u] for u in meant}) == 1:
            return f"{what}: write {digits} {min(meant)}"
    units = [u for u, size in quantity.units.items() if u == next(k for k, v in quantity.units.items() if v == size)]
    either = " or ".join(filter(None, (", ".join(units[:-1]), units[-1])))
    return f"{what}: write {with_article(quantity.name)} in {either}"


def _examples(quantity: Quantity, digits: str) -> str:
    return " or ".join(example.format(digits) for example in quantity.examples)


def parse_temperature_degF(text: object) -> float:
    """``54F``, ``12C``, ``285 K`` in degF. Raises UnitError."""
    return parse("temperature", text)


def parse_temperature_difference_degF(text: object) -> float:
    """``2F``, ``1C`` as a difference in degF: 1 C is 1.8 F. Raises UnitError."""
    return parse("temperature difference", text)


def parse_force_lbf(text: object) -> float:
    """``40 lbf``, ``180 N``, ``18 daN``, ``18 kgf`` in lbf. Raises UnitError."""
    return parse("force", text)


def parse_length_in(text: object) -> float:
    """``1/8 in``, ``14 ft``, ``14 ft 3 in``, ``4.2 m`` in in. Raises UnitError."""
    return parse("length", text)


def parse_size(text: object) -> str:
    """A cable size as the trade writes it, ``5/32``, in lowest terms; ``5/32 in`` is accepted. Raises UnitError."""
    raw = tidy(text)
    found = _SIZE.match(raw)
    if not found or not 0 < int(found[1]) < int(found[2]):
        raise UnitError(f"'{raw}' is not a cable size: write the diameter as a fraction of an inch, like 1/8 or 5/32")
    return str(Fraction(int(found[1]), int(found[2])))


def size_in(size: str) -> float:
    """The diameter in inches [in] of a size such as ``5/32``."""
    return float(Fraction(size))


def lbf_to_newton(force_lbf: float) -> float:
    """Force [lbf] in newton."""
    return force_lbf * NEWTON_PER_LBF


def degF_to_degC(temperature_degF: float) -> float:
    """Temperature [degF] in degree C; not for differences."""
    return (temperature_degF - 32.0) / 1.8


def degF_to_degC_difference(difference_degF: float) -> float:
    """Temperature difference [degF] in degree C."""
    return difference_degF / 1.8


def in_to_mm(length_in: float) -> float:
    """Length [in] in mm."""
    return length_in * MM_PER_IN


def _signless_zero(figure: str) -> str:
    # -0.0 would read as a sign that is not there
    return figure.lstrip("-") if float(figure) == 0 else figure


def show_temperature(temperature_degF: float, si: bool = False) -> str:
    """``54 F``, or ``12.2 C`` with ``si``."""
    figure = f"{degF_to_degC(temperature_degF):.1f}" if si else f"{temperature_degF:.4g}"
    return f"{_signless_zero(figure)} {'C' if si else 'F'}"


def show_difference(difference_degF: float, si: bool = False) -> str:
    """``16 F``, or ``8.9 C`` with ``si``."""
    figure = f"{degF_to_degC_difference(difference_degF):.1f}" if si else f"{difference_degF:.4g}"
    return f"{_signless_zero(figure)} {'C' if si else 'F'}"


def show_force(force_lbf: float, si: bool = False, unit: bool = True) -> str:
    """``36.4 lbf``, or ``162 N`` with ``si``; tenths of a pound are finer than any instrument reads."""
    figure = _signless_zero(f"{lbf_to_newton(force_lbf):.0f}" if si else f"{force_lbf:.1f}")
    return f"{figure} {'N' if si else 'lbf'}" if unit else figure


def show_tension(tension_lbf: float, si: bool = False, unit: bool = True) -> str:
    """A tension as ``show_force`` has it; ``slack`` where there is none, since a cable cannot push."""
    return show_force(tension_lbf, si, unit) if tension_lbf > 0 else "slack"


def show_length(length_in: float, si: bool = False) -> str:
    """``0.6 in``, or ``15.2 mm`` with ``si``; to a thousandth of an inch, a tenth of a mm."""
    return f"{in_to_mm(length_in):.1f} mm" if si else f"{round(length_in, 3):g} in"


def show_angle(angle_deg: float, unit: bool = True) -> str:
    """``18.5 deg``; to a hundredth, finer than any protractor reads."""
    figure = _signless_zero(f"{round(angle_deg, 2):g}")
    return f"{figure} deg" if unit else figure


def force_unit(si: bool = False) -> str:
    """``lbf``, or ``N`` with ``si``."""
    return "N" if si else "lbf"
