"""Tensions and angles of a circuit as straight lines of stretch and moment, for one set of tight links.

With W the stiffness k of the tight links alone, and A the stretch of every link per radian of every free sector,

    A' W (x0 + A phi) = M       T = W (x0 + A phi)

and with U S V' = sqrt(W) A (singular values; columns scaled alike) the tensions are sqrt(W) (1 - U U') sqrt(W) x0
+ sqrt(W) U V' M / S, without the angles: a stretch left after soft links have let a sector turn far is a small
difference of large numbers.

Sectors that the tight links leave loose have no one angle. They are put where their slack links would leave them if these
pushed and pulled alike, that is where  sum of k x^2  over the slack links is least: amid the play, so that whatever can
hang slack together mostly does so there.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Mask = NDArray[np.bool_]

# A share below which a singular value is taken as what rounding left of zero.
SINGULAR = 1e-12


class Lines(NamedTuple):
    """One set of tight links.

    tight, shape (links,): which are tight. pulling [lbf/in], shape (links,): stiffness of these, zero for slack ones.
    by_stretch, shape (links + sectors, links), and by_moment, shape (links + sectors, sectors): first for each link how
    far it is from the edge of slack [in], counted positive where it is as the set says, stretched if tight, with play if
    slack; then the angle of each sector [rad], zero for a held one.
    inverse, shape (free sectors, free sectors) [rad/(in lbf)]: angle per moment. null, shape (free sectors, n): orthonormal;
    how sectors turn that the tight links leave loose.
    freed, shape (links, sectors) [1/lbf]: how far a moment on loose sectors stretches slack links as they turn under it.
    """

    tight: Mask
    pulling: Array
    by_stretch: Array
    by_moment: Array
    inverse: Array
    null: Array
    freed: Array

    @property
    def loose(self) -> bool:
        """Whether some sector can turn and no tight link stretches."""
        return bool(self.null.size)

    @property
    def size(self) -> int:
        """How many numbers are kept."""
        return self.by_stretch.size + self.by_moment.size + self.inverse.size + self.null.size + self.freed.size

    def values(self, base: Array, moment: Array | None) -> Array:
        """Distances from slack [in], then angles [rad], shape (links + sectors, ...), of stretches, shape (links, ...) [in].

        moment [in lbf], shape (sectors, ...); None: no moment at all.
        """
        found: Array = self.by_stretch.dot(base)
        if moment is not None:
            found += self.by_moment.dot(moment)
        return found


def lines(a: Array, stiffness: Array, tight: Mask, free: Mask) -> Lines:
    """The lines of a set of tight links.

    a [in], shape (links, free sectors): stretch per radian. stiffness [lbf/in], shape (links,), all above zero. tight, shape
    (links,): the set. free, shape (sectors,): which sectors can turn. Any of these may be empty.
    """
    import numpy as np

    n, sectors = len(stiffness), len(free)
    root = np.sqrt(stiffness * tight)
    weighed = root[:, None] * a
    # scaled so that arms of unlike length weigh alike; a loose sector has a zero column
    scale = np.sqrt((weighed**2).sum(axis=0))
    scale[scale == 0.0] = 1.0
    if a.size:
        # not the stiffness of the sectors itself, whose inverse is twice as far from exact
        left, values, right = np.linalg.svd(weighed / scale)
    else:
        left, values, right = np.eye(n), np.zeros(0), np.eye(a.shape[1])
    rank = int((values > SINGULAR * values.max(initial=1.0) * len(values)).sum())
    turned = right[:rank].T / values[:rank] / scale[:, None]
    null = np.linalg.qr(right[rank:].T / scale[:, None])[0] if rank < len(right) else np.zeros((len(right), 0))
    spanned = left[:, :rank]
    inverse = turned @ turned.T
    turn_by_stretch, turn_by_moment = -turned @ (spanned.T * root), inverse
    freed = np.zeros((n, sectors))
    if null.shape[1] and not tight.all():
        slack_root = np.sqrt(stiffness * ~tight)
        along = null @ np.linalg.pinv(slack_root[:, None] * (a @ null))
        back = along * slack_root
        turn_by_stretch = turn_by_stretch - back @ (np.eye(n) + a @ turn_by_stretch)
        turn_by_moment = turn_by_moment - back @ (a @ turn_by_moment) + along @ along.T
        freed[:, free] = np.where(tight[:, None], 0.0, a @ along @ along.T)
    by_stretch, by_moment = np.zeros((n + sectors, n)), np.zeros((n + sectors, sectors))
    hanging = np.flatnonzero(~tight)
    held_tight = np.flatnonzero(tight)
    apart = (np.eye(n) - spanned @ spanned.T)[held_tight] * root / root[held_tight, None]
    by_stretch[held_tight] = apart
    by_stretch[hanging] = -(np.eye(n)[hanging] + a[hanging] @ turn_by_stretch)
    carried = np.zeros((n, a.shape[1]))
    carried[held_tight] = (spanned @ turned.T)[held_tight] / root[held_tight, None]
    carried[hanging] = -(a[hanging] @ turn_by_moment)
    by_moment[:n, free] = carried
    by_stretch[n:][free] = turn_by_stretch
    by_moment[n:][np.ix_(free, free)] = turn_by_moment
    return Lines(tight, stiffness * tight, by_stretch, by_moment, inverse, null, freed)


def alike(tight: Mask) -> list[NDArray[np.intp]]:
    """The columns, shape (links, cases), that are the same set of tight links: the places of each kind together."""
    import numpy as np

    if not tight.shape[1]:
        return []
    packed = np.packbits(tight, axis=0)
    order = np.lexsort(packed)
    kinds = packed[:, order]
    return np.split(order, 1 + np.flatnonzero((kinds[:, 1:] != kinds[:, :-1]).any(axis=0)))
