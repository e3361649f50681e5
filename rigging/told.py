"""A sentence that holds quantities, in US units and in SI: made once where it is known, chosen where it is shown.

A ``Told`` is its sentence in US units, as it goes into JSON and into the log, and carries the same sentence in SI.
Whoever writes it needs not know which of them will be read; ``shown`` picks one, and only reports and commands call it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Final, NamedTuple

from rigging.units import (
    degF_to_degC,
    degF_to_degC_difference,
    in_to_mm,
    lbf_to_newton,
    parse,
    show_difference,
    show_force,
    show_temperature,
)

FINE_NEWTON: Final = 10.0  # below this a force in newton is told to a tenth


class Amount(NamedTuple):
    """One quantity as it is told, in US units and in SI."""

    us: str
    si: str


class Told(str):
    """A sentence in US units that carries itself in SI."""

    __slots__ = ("si",)
    si: str

    def __new__(cls, us: str, si: str) -> Told:
        """The sentence in US units and in SI."""
        made = super().__new__(cls, us)
        made.si = si
        return made


def told(sentence: str, *parts: object) -> str:
    """A sentence with its quantities: every ``{}`` is filled by an Amount, a Told, or anything else as it stands.

    >>> shown(told("{}: {} is slack at {}", "left", lbf(0.04), degF(50.0)), si=True)
    'left: 0.2 N is slack at 10.0 C'
    """
    return Told(
        sentence.format(*(part.us if isinstance(part, Amount) else part for part in parts)),
        sentence.format(*(shown(part, True) if isinstance(part, Told) else _in_si(part) for part in parts)),
    )


def join(between: str, sentences: Sequence[str]) -> str:
    """Sentences one after the other."""
    return Told(between.join(sentences), between.join(shown(sentence, True) for sentence in sentences))


def shown(sentence: object, si: bool) -> str:
    """A sentence, or the text of an error, in US units or SI; one that holds no quantity is the same in both."""
    words = sentence if isinstance(sentence, str) else str(sentence)
    return words.si if si and isinstance(words, Told) else words


def quoting(text: str, sentences: Iterable[str]) -> str:
    """A text that quotes sentences word for word, as a record does: where they hold quantities, it holds them in SI too.

    >>> shown(quoting("#7: left: 10.0 lbf is low", [told("{} is low", lbf(10.0))]), si=True)
    '#7: left: 44 N is low'
    """
    in_si = shown(text, True)
    for sentence in sorted({s for s in sentences if isinstance(s, Told)}, key=len, reverse=True):
        in_si = in_si.replace(sentence, sentence.si)
    return Told(text, in_si)


def as_text(sentence: object) -> str:
    """A sentence for what knows only plain texts: the hook of the JSON encoder. Raises NotImplementedError for others."""
    if isinstance(sentence, Told):
        return f"{sentence}"
    raise NotImplementedError(f"{type(sentence).__name__} cannot be written as JSON")


def force(force_lbf: float, unit: bool = True) -> Amount:
    """A force as the tables beside the sentence show it: tenths of a pound, whole newton."""
    return Amount(show_force(force_lbf, unit=unit), show_force(force_lbf, si=True, unit=unit))


def temperature(temperature_degF: float) -> Amount:
    """A temperature as tables show it."""
    return Amount(show_temperature(temperature_degF), show_temperature(temperature_degF, si=True))


def temperature_difference(difference_degF: float) -> Amount:
    """A difference of temperature as tables show it."""
    return Amount(show_difference(difference_degF), show_difference(difference_degF, si=True))


def as_typed(quantity: str, text: str) -> Amount:
    """A quantity of a kind of ``units.QUANTITIES`` as someone typed it; in SI as told elsewhere. Raises UnitError."""
    value = parse(quantity, text)
    return Amount(text, _IN_SI[quantity](value).si if quantity in _IN_SI else text)


def lbf(force_lbf: float, spec: str = ".1f", unit: bool = True) -> Amount:
    """A force, told in pounds by ``spec``; with a sign where that has one."""
    newton = lbf_to_newton(force_lbf)
    fine = unit and 0 < abs(newton) < FINE_NEWTON
    return _amount(force_lbf, spec, " lbf", newton, ".1f" if fine else ".0f", " N", unit)


def degF(temperature_degF: float, spec: str = ".4g", unit: bool = True) -> Amount:
    """A temperature."""
    return _amount(temperature_degF, spec, " F", degF_to_degC(temperature_degF), ".1f", " C", unit)


def degF_apart(difference_degF: float, spec: str = "g", unit: bool = True) -> Amount:
    """A difference of temperature."""
    return _amount(difference_degF, spec, " F", degF_to_degC_difference(difference_degF), ".1f", " C", unit)


def inches(length_in: float, spec: str = "g", unit: bool = True) -> Amount:
    """A length; in mm to a tenth, a long one to whole mm."""
    mm = in_to_mm(length_in)
    return _amount(length_in, spec, " in", mm, ".0f" if abs(mm) >= 1000 else ".1f", " mm", unit)


def lbf_per_in(stiffness_lbf_per_in: float, spec: str = "g") -> Amount:
    """A stiffness or the rate of a spring."""
    return _amount(
        stiffness_lbf_per_in, spec, " lbf/in", lbf_to_newton(stiffness_lbf_per_in) / in_to_mm(1.0), ".3g", " N/mm"
    )


def lbf_per_degF(slope_lbf_per_degF: float, spec: str = "+.2f") -> Amount:
    """Tension per degree."""
    return _amount(slope_lbf_per_degF, spec, " lbf/F", 1.8 * lbf_to_newton(slope_lbf_per_degF), ".2f", " N/C")


def lb_per_100ft(weight_lb_per_100ft: float, spec: str = "g") -> Amount:
    """The weight of a length of cable; a pound is 453.59237 g, 100 ft are 30.48 m."""
    return _amount(weight_lb_per_100ft, spec, " lb per 100 ft", weight_lb_per_100ft * 453.59237 / 30.48, ".3g", " g/m")


_IN_SI: Final[dict[str, Callable[[float], Amount]]] = {
    "force": lbf, "length": inches, "temperature": degF, "temperature difference": degF_apart, "spring rate": lbf_per_in,
    "weight of cable": lb_per_100ft,
}  # fmt: skip


def _amount(us: float, us_spec: str, us_unit: str, si: float, si_spec: str, si_unit: str, unit: bool = True) -> Amount:
    sign = "+" if us_spec.startswith("+") else ""
    us_unit, si_unit = (us_unit, si_unit) if unit else ("", "")
    return Amount(f"{us:{us_spec}}{us_unit}", f"{si + 0.0:{sign}{si_spec}}{si_unit}")


def _in_si(part: object) -> object:
    return part.si if isinstance(part, Amount) else part
