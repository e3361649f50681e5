"""How large a slip of a terminal must be for the readings at hand to tell it from settling."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Final

from rigging.physics.settling import Fit
from rigging.physics.settling_drops import over_drops
from rigging.physics.settling_steps import Step

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

MARGIN: Final = (
    2.8  # standard uncertainties beyond what just shows, for 95 % of slips of 3 to 12 readings: tests/study/slips.py
)
HALVINGS: Final = 10  # of the size, and what is said is the upper end


def least_slip_lbf(fit: Fit, reading: int, scale_lbf: float, log_gain: float) -> float | None:
    """The size of a slip [lbf] just before a reading that is found in 95 % of cases; None where no size short of slack is.

    reading: 1 to the last. scale_lbf [lbf], above zero: how large a step may well be (k=1). log_gain: ln of what the odds
    must gain by it. Not the readings as they scattered are asked, but the course that they leave likeliest: what slip in
    it just shows. With other readings, and another course that they allow, it takes more or less, as far as a step is
    uncertain there once the slip is in. MARGIN times that is added: the 1.645 of a normal distribution would find 90 %, for
    the shapes that a slip makes likely differ more than one. Derived, and held to it with others, with cables that no
    formula of the fit drew (tests/study/slips.py: 97 % found, 94.6 to 100 % of each kind; of two thirds of the size 70 %).
    A slip of more than the tension before it leaves the cable slack, which shows by itself. Raises Refusal: no such
    reading, or a scale that is not above zero and finite.
    """
    seen = _slipped(fit, reading, scale_lbf)
    low, high = 0.0, float(fit.history.tension_lbf[reading - 1])
    if high <= 0 or seen(high).log_gain < log_gain:
        return None
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if seen(middle).log_gain < log_gain else (low, middle)
    least = high + MARGIN * seen(high).standard_uncertainty_lbf
    return least if least < float(fit.history.tension_lbf[reading - 1]) else None


def _slipped(fit: Fit, reading: int, scale_lbf: float) -> Callable[[float], Step]:
    """What speaks for a step before a reading, as a function of the slip [lbf] that is put there into the expected course."""
    gap = fit.gap(reading, scale_lbf)
    course_lbf = -_expected_loss_lbf(fit)
    line, offset = fit.line_of(course_lbf), float(fit.straight.weighed(course_lbf)[reading:].sum())

    def seen(slip_lbf: float) -> Step:
        own = line - slip_lbf * gap.along
        plain = over_drops(fit.square, own, fit.shapes, fit.prior)
        return gap.step(own, offset - slip_lbf * gap.form, plain.log_sum)

    return seen


def _expected_loss_lbf(fit: Fit) -> Array:
    """What the cable has lost by each reading [lbf], expected of all that is possible; shape (readings,)."""
    import numpy as np

    post, shapes = fit.posterior, fit.shapes
    drop = (np.exp(post.log_weights) * post.drops_lbf).sum(axis=1)
    part, count = shapes.part[post.shape], len(fit.pure)
    of_pure = np.bincount(shapes.first[post.shape], part * drop, count)
    of_pure += np.bincount(shapes.second[post.shape], (1 - part) * drop, count)
    loss: Array = of_pure @ fit.pure
    return loss
