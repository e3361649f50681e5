"""The careful way to the balance of one circuit: Newton's method with an exact line search across the edges of slack.

The energy is convex, and quadratic between the angles at which a cable goes slack, so every step lowers it and few are
needed, whatever hangs at the edge. Slow beside a product of matrices: for what does not settle without it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Final, NamedTuple

from rigging.errors import Refusal
from rigging.physics.circuit_lines import SINGULAR, Lines, alike

if TYPE_CHECKING:
    from rigging.physics.circuit_lines import Array, Mask

# A share of the largest tension: far below what any instrument reads, far above rounding.
BALANCED: Final = 1e-11
# And never asked for closer than this: a circuit whose every cable hangs at the edge of slack has no largest tension.
BALANCED_LBF: Final = 1e-11
# Shares below which a number is taken as what rounding left of zero; and what rounding leaves of each term of a sum.
ROUNDED: Final = 1e-10
ROUNDING: Final = 1e-15
MOST_STEPS: Final = 200


class Frame(NamedTuple):
    """What of a circuit does not change from case to case.

    a [in], shape (links, free sectors): stretch per radian; arms [in]: the same without sign. stiffness [lbf/in], shape
    (links,). names: of the free sectors.
    """

    a: Array
    arms: Array
    stiffness: Array
    names: Sequence[str]

    def turning(self, turns: Array) -> str:
        """The free sectors, in words, that any of these turns, shape (free sectors, n), moves."""
        import numpy as np

        moved = np.abs(turns).max(axis=1)
        return " and ".join(name for name, turn in zip(self.names, moved, strict=True) if turn > 1e-6 * moved.max())


def newton(
    frame: Frame, lines_of: Callable[[Mask], Lines], base: Array, moment: Array, phi: Array
) -> tuple[Mask, Array]:
    """Which links are tight in balance, shape (links, cases), and the angles [rad] of the free sectors, shape (free, cases).

    base [in], shape (links, cases): stretches at angle zero. moment [in lbf] and phi [rad], shape (free, cases): loads, and
    where to begin. Raises Refusal where nothing holds a loaded sector once its cables are slack.
    """
    import numpy as np

    a, arms = frame.a, frame.arms
    balanced = np.zeros(base.shape, dtype=bool)
    phi = phi.copy()
    left = np.arange(base.shape[1])
    for _ in range(MOST_STEPS):
        load = moment[:, left]
        x = base[:, left] + a @ phi[:, left]
        tight = x > 0.0
        tension = frame.stiffness[:, None] * np.maximum(0.0, x)
        slope = a.T @ tension - load
        size = np.abs(base[:, left]).max(axis=0) + arms @ np.abs(phi[:, left])
        tolerance = _tolerance(frame, x, size, tension, load)
        done = np.abs(slope).max(axis=0, initial=0.0) <= tolerance
        balanced[:, left[done]] = tight[:, done]
        if done.all():
            return balanced, phi
        left, tolerance, tight = left[~done], tolerance[~done], tight[:, ~done]
        load, x, slope = load[:, ~done], x[:, ~done], slope[:, ~done]
        step, slack_only = np.empty_like(slope), np.zeros(x.shape, dtype=bool)
        for places in alike(tight):
            lines = lines_of(tight[:, places[0]])
            loose = lines.null.T @ slope[:, places]
            free = np.abs(loose).max(axis=0, initial=0.0) > tolerance[places]
            step[:, places] = -np.where(free, lines.null @ loose, lines.inverse @ slope[:, places])
            slack_only[:, places] = free & tight[:, places]
        # what rounding leaves on sectors that such a turn does not move would stop them only after many turns
        far = arms.max(axis=0)[:, None] * np.abs(step)
        step[far < ROUNDED * far.max(axis=0)] = 0.0
        dx = a @ step
        dx[slack_only | (np.abs(dx) < SINGULAR * (arms @ np.abs(step)))] = 0.0
        phi[:, left] += _line_search(frame, x, dx, step, load) * step
    raise Refusal("the circuit does not come to balance: check its arms, lengths and stretches")


def _tolerance(frame: Frame, x: Array, size: Array, tension: Array, moment: Array) -> Array:
    """What the moments of each case may be off: a share of the largest, and at least what rounding or BALANCED_LBF leaves."""
    import numpy as np

    largest_arm = frame.arms.max(initial=0.0)
    # a link far from tight leaves no error in the moments, however far its sectors have turned
    felt = np.where(x > -SINGULAR * size, frame.stiffness[:, None] * size, 0.0)
    rounding = ROUNDING * len(x) * felt.max(axis=0)
    share = np.maximum(tension.max(axis=0) * largest_arm, np.abs(moment).max(axis=0, initial=0.0))
    tolerance: Array = BALANCED * share + (rounding + BALANCED_LBF) * largest_arm
    return tolerance


def _line_search(frame: Frame, x: Array, dx: Array, step: Array, moment: Array) -> Array:
    """How much of each step, shape (cases,), makes the energy least.

    Its slope rises piece by piece, with a kink where a link goes slack or tight; between which two it passes zero is found
    by halving.
    """
    import numpy as np

    k = frame.stiffness[:, None]
    work = (moment * step).sum(axis=0)

    def slope(t: Array) -> Array:
        risen: Array = (k * np.maximum(0.0, x + t * dx) * dx).sum(axis=0) - work
        return risen

    at = np.full((len(x) + 1, x.shape[1]), np.inf)
    np.divide(-x, dx, out=at[1:], where=dx != 0.0)
    at[1:][at[1:] <= 0.0] = np.inf
    at[0] = 0.0
    at.sort(axis=0)
    cases = np.arange(x.shape[1])
    first = slope(at[0])
    # zero as far as the sums behind a slope are rounded: moments that cancel, and links taken not to move
    moved = (k * np.maximum(0.0, x) * (frame.arms @ np.abs(step))).sum(axis=0)
    terms = (np.abs(moment) * np.abs(step)).sum(axis=0)
    level = ROUNDED * np.abs(first) + ROUNDING * len(x) * terms + SINGULAR * moved
    before, after = np.zeros(len(cases), dtype=int), np.isfinite(at).sum(axis=0)
    kinks = after.copy()
    while (after - before > 1).any():
        middle = (before + after) // 2
        passed = slope(at[middle, cases]) >= -level
        open_ = after - before > 1
        after = np.where(open_ & passed, middle, after)
        before = np.where(open_ & ~passed, middle, before)
    between = after < kinks
    low = at[before, cases]
    high = np.where(between, at[np.minimum(after, len(x)), cases], low + 1.0)
    slope_low = slope(low)
    rise = slope(high) - slope_low
    endless = np.flatnonzero(~between & (rise <= 0.0))
    if len(endless):
        loose = frame.turning(step[:, endless[:1]])
        raise Refusal(f"under this load nothing stops {loose}: the cables that would hold it hang slack")
    share = np.divide(-slope_low, rise, out=np.ones_like(rise), where=rise > 0.0)
    found: Array = low + (high - low) * np.where(between, np.minimum(share, 1.0), share)
    return found
