"""One tension found in several ways: do they agree, and what do they make together?

Weights are 1/u^2. The spread of the figures is held against their own uncertainties by chi-square with n - 1 degrees
of freedom; where chance would make so wide a spread in less than one case of twenty, no combined figure is given.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from typing import Final, NamedTuple

import msgspec

from rigging.errors import Refusal, UnitError
from rigging.measure.chi_square import survival
from rigging.measure.student_t import coverage_factor
from rigging.told import lbf, told
from rigging.units import parse_force_lbf, tidy

AGREES_FROM: Final = 0.05  # the usual level of a test; practice


_N = r"\d+(?:\.\d*)?|\.\d+"
_FIGURE = re.compile(rf"^(?P<name>.*?\S)\s*[:=]?\s+(?P<t>{_N})\s*(?P<tu>[A-Za-z]*)\s*(?:\+-|\+/-)\s*(?P<u>{_N})\s*(?P<uu>[A-Za-z]*)$", re.ASCII)  # fmt: skip


class Method(NamedTuple):
    """A tension found in one way: its name, tension_lbf [lbf] >= 0, standard_uncertainty_lbf [lbf, k=1] > 0."""

    name: str
    tension_lbf: float
    standard_uncertainty_lbf: float


class Apart(NamedTuple):
    """How far one method lies from the weighted mean of all others: difference_lbf [lbf], and in their own u together."""

    name: str
    difference_lbf: float
    in_uncertainties: float


class Agreement(msgspec.Struct, frozen=True):
    """Several methods side by side.

    tension_lbf [lbf], standard_uncertainty_lbf [lbf, k=1]: the weighted mean, meaningful only where ``agrees``.
    chi_square, degrees_of_freedom, probability: the test. birge_ratio: sqrt(chi_square / (n - 1)), about 1 where the
    stated uncertainties are honest. apart: each method against the others, in the order given.
    """

    methods: tuple[Method, ...]
    tension_lbf: float
    standard_uncertainty_lbf: float
    chi_square: float
    probability: float
    apart: tuple[Apart, ...]

    @property
    def degrees_of_freedom(self) -> int:
        """One less than there are methods."""
        return len(self.methods) - 1

    @property
    def birge_ratio(self) -> float:
        """Spread seen over spread expected."""
        return math.sqrt(self.chi_square / self.degrees_of_freedom)

    @property
    def agrees(self) -> bool:
        """Whether chance alone may well have made the spread."""
        return self.probability >= AGREES_FROM

    @property
    def uncertainty_lbf(self) -> float:
        """U at 95 % [lbf] of the combined figure."""
        return coverage_factor(math.inf) * self.standard_uncertainty_lbf

    @property
    def stands_off(self) -> Apart | None:
        """The method that lies farthest from the others, once they disagree; None between two, where nothing tells."""
        if self.agrees or len(self.methods) < 3:
            return None
        return max(self.apart, key=lambda a: a.in_uncertainties)


def agreement(methods: Sequence[Method]) -> Agreement:
    """Weighted mean of several methods with the test whether they agree.

    Raises Refusal: fewer than two, a tension below zero, an uncertainty that is not above zero, a name twice.
    The methods must not share their errors: one spring scale, one tape or one table behind two of them counts twice.

    >>> both = agreement([Method("card", 36.0, 0.6), Method("side pull", 34.0, 1.0)])
    >>> round(both.tension_lbf, 2), both.agrees
    (35.47, True)
    """
    if len(methods) < 2:
        raise Refusal("one figure has nothing to agree with: give two or more, like 'card 36 +-1.2 lbf'")
    names = [m.name for m in methods]
    if twice := next((n for n in names if names.count(n) > 1), None):
        raise Refusal(f"'{twice}' stands there twice: give each figure a name of its own")
    for m in methods:
        if not 0 <= m.tension_lbf < math.inf:
            raise Refusal(told("{}: a tension of {}: a cable cannot push", m.name, lbf(m.tension_lbf, "g")))
        if not 0 < m.standard_uncertainty_lbf < math.inf:
            raise Refusal(f"{m.name}: its uncertainty must be above zero: no figure is exact")
    mean_lbf, u_lbf = _weighted(methods)
    chi_square = math.fsum(((m.tension_lbf - mean_lbf) / m.standard_uncertainty_lbf) ** 2 for m in methods)
    apart = []
    for i, m in enumerate(methods):
        others_lbf, others_u_lbf = _weighted([*methods[:i], *methods[i + 1 :]])
        difference_lbf = m.tension_lbf - others_lbf
        own_lbf = math.hypot(m.standard_uncertainty_lbf, others_u_lbf)
        apart.append(Apart(m.name, difference_lbf, abs(difference_lbf) / own_lbf))
    probability = survival(chi_square, len(methods) - 1)
    return Agreement(tuple(methods), mean_lbf, u_lbf, chi_square, probability, tuple(apart))


def parse_method(text: object, coverage: float | None = None) -> Method:
    """``card 36 +-1.2 lbf``: a name, a tension, and after +- its U at 95 %, as this program prints them.

    coverage: by which k the figure after +- is to be divided, that of 95 % where None. Raises UnitError for another text.

    >>> parse_method("side pull 34 +-2 lbf", 2.0)
    Method(name='side pull', tension_lbf=34.0, standard_uncertainty_lbf=1.0)
    """
    raw = tidy(text)
    found = _FIGURE.match(raw)
    if not found:
        raise UnitError(f"'{raw}' is no figure of a method: write its name and the figure, like 'card 36 +-1.2 lbf'")
    unit = found["uu"]
    if not unit:
        raise UnitError(
            f"'{raw}' has no unit: write it like '{found['name'].rstrip(':= ')} {found['t']} +-{found['u']} lbf'"
        )
    u_lbf = parse_force_lbf(f"{found['u']} {unit}")
    k = coverage_factor(math.inf) if coverage is None else coverage
    name = found["name"].rstrip(":= ")
    return Method(name, parse_force_lbf(f"{found['t']} {found['tu'] or unit}"), u_lbf / k)


def _weighted(methods: Sequence[Method]) -> tuple[float, float]:
    # shares of the largest weight, so that nothing overflows
    least_lbf = min(m.standard_uncertainty_lbf for m in methods)
    weights = [(least_lbf / m.standard_uncertainty_lbf) ** 2 for m in methods]
    total = math.fsum(weights)
    mean = math.fsum(w * m.tension_lbf for w, m in zip(weights, methods, strict=True)) / total
    return mean, least_lbf / math.sqrt(total)
