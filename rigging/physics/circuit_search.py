"""Which links of a circuit are tight, for one case or many at once.

A set of tight links is the right one where its own straight lines leave every tight link stretched, every slack one with
play and every loose sector unloaded: the energy is convex, so there is no second answer. From every link tight, the lines
of one set name the next; most circuits need one or two. What hangs too near the edge of slack to tell, or goes round in
circles, goes the careful way of ``circuit_newton``.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, Final

from rigging.physics.circuit_lines import SINGULAR, Lines, alike, lines
from rigging.physics.circuit_newton import BALANCED, ROUNDED, ROUNDING, Frame, newton

if TYPE_CHECKING:
    from rigging.physics.circuit_lines import Array, Mask

MOST_KEPT: Final = 2**22  # numbers in the kept lines: some tens of megabytes
LARGEST: Final = 1e50  # no stretch, moment, arm or stiffness comes near it, and powers of it can still be worked with
ROUNDS: Final = 6  # sets tried one after the other before the careful way


class Search:
    """The sets of tight links that a circuit has been met in, each with its lines, and the one that held last.

    What was asked before decides how soon an answer is found and never which: the set that held last is taken only where
    no link is near the edge of slack, and then there is no other.
    free, shape (sectors,): which sectors can turn.
    """

    def __init__(self, frame: Frame, free: Mask) -> None:
        import numpy as np

        self.frame = frame
        self.free = free
        self.links = len(frame.stiffness)
        self.kept: dict[bytes, Lines] = {}
        self.whole = lines(frame.a, frame.stiffness, np.ones(self.links, dtype=bool), free)
        self.last = self.whole
        # so far may a moment let the softest link out on its arm
        reach = frame.stiffness * frame.arms.max(axis=1, initial=0.0)
        self._give = 1.0 / float(reach[reach > 0.0].min(initial=math.inf))

    def lines_of(self, tight: Mask) -> Lines:
        """The lines of a set of tight links, made once."""
        if tight.all():
            return self.whole
        key = tight.tobytes()
        found = self.kept.get(key)
        if found is None:
            found = lines(self.frame.a, self.frame.stiffness, tight.copy(), self.free)
            if (len(self.kept) + 1) * found.size > MOST_KEPT:
                self.kept.clear()
            self.kept[key] = found
        return found

    def soon(self, base: Array, moment: Array | None) -> tuple[Array, Array] | None:
        """Tension [lbf] and angle [rad] of one case by the first sets that come to mind; None where none clearly holds.

        base [in], shape (links,); moment [in lbf], shape (sectors,), or None for none. None, too, where one of them is not
        a finite number.
        """
        import numpy as np

        # unlike dot, vdot says nothing of numbers whose squares are too large
        size = math.sqrt(np.vdot(base, base))
        load = 0.0 if moment is None else math.sqrt(np.vdot(moment, moment))
        if not size + load < LARGEST:
            return None
        size += self._give * load
        last = self.last
        found = self._clear(last, base, moment, size)
        if found is None and last is not self.whole:
            found = self._clear(self.whole, base, moment, size)
        if found is None:
            named = self.whole.values(base, moment)[: self.links] > 0.0
            found = self._clear(self.lines_of(named), base, moment, size)
        return found

    def one(self, base: Array, moment: Array) -> tuple[Array, Array]:
        """Tension [lbf] and angle [rad] of one case, from every link tight.

        base [in], shape (links,); moment [in lbf], shape (sectors,), zero on held ones; all finite.
        """
        n = self.links
        size = math.sqrt(base.dot(base)) + self._give * math.sqrt(moment.dot(moment))
        first = self.whole.values(base, moment)
        if first[:n].min() >= -ROUNDING * n * size:
            self.last = self.whole
            return _tension(self.whole, first), first[n:]
        tight = first[:n] > 0.0
        for _ in range(ROUNDS):
            tried = self.lines_of(tight)
            found = self._clear(tried, base, moment, size)
            if found is not None:
                return found
            named = (tried.values(base, moment)[:n] > 0.0) == tight
            if (named == tight).all():
                break
            tight = named
        tension, angle = (part[0] for part in self.many(base[None], moment[None]))
        # to the last bit as ``soon`` has it, if that comes first another time
        return self._clear(self.lines_of(tension > 0.0), base, moment, size) or (tension, angle)

    def _clear(self, tried: Lines, base: Array, moment: Array | None, size: float) -> tuple[Array, Array] | None:
        """Tension and angle of one case by a set of tight links; None where it does not hold clear of the edge of slack."""
        found = tried.by_stretch.dot(base)
        if moment is not None:
            if tried.loose and self._loaded(tried, moment):
                return None
            found += tried.by_moment.dot(moment)
        near = found[: self.links]
        # argmin finds what is no number, and then this is false
        if not near.item(near.argmin()) > (0.0 if tried is self.whole else ROUNDED * size):
            return None
        self.last = tried
        return near * tried.pulling, found[self.links :]

    def many(self, base: Array, moment: Array | None) -> tuple[Array, Array]:
        """Tensions [lbf], shape (cases, links), and angles [rad], shape (cases, sectors).

        base [in], shape (cases, links); moment [in lbf], shape (cases, sectors), zero on held ones, or None for none at all;
        all finite. Each set of tight links is tried at once on all the cases that name it.
        """
        import numpy as np

        n = self.links
        # cases last: then what is asked of the links of each case runs along memory
        stretch = np.ascontiguousarray(base.T)
        load = None if moment is None else np.ascontiguousarray(moment.T)
        size = np.sqrt(np.einsum("ij,ij->j", stretch, stretch))
        if load is not None:
            size += self._give * np.sqrt(np.einsum("ij,ij->j", load, load))
        answer = self.whole.values(stretch, load)
        left = np.flatnonzero(answer[:n].min(axis=0) < -ROUNDING * n * size)
        tight = answer[:n, left] > 0.0
        answer[:n] = _tension(self.whole, answer)
        held = np.zeros(len(left), dtype=bool)
        careful = [np.zeros(0, dtype=np.intp)]
        for _ in range(ROUNDS):
            over, named = np.zeros(len(left), dtype=bool), tight.copy()
            for places in alike(tight):
                mine = left[places]
                tried = self.lines_of(tight[:, places[0]])
                loaded = None if load is None else load[:, mine]
                found = tried.values(stretch[:, mine], loaded)
                holds, named[:, places] = self._judged(tried, found, loaded, size[mine])
                same = (named[:, places] == tight[:, places]).all(axis=0)
                over[places] = held[places] | same
                found[:n] = _tension(tried, found)
                taken = holds & (same | ~held[places])
                answer[:, mine[taken]] = found[:, taken]
                held[places] |= holds
            careful.append(left[over & ~held])
            left, held, tight = left[~over], held[~over], named[:, ~over]
        left = np.concatenate([*careful, left[~held]])
        if len(left):
            answer[:, left] = self._careful(stretch[:, left], None if load is None else load[:, left], size[left])
        return answer[:n].T, answer[n:].T

    def _careful(self, stretch: Array, load: Array | None, size: Array) -> Array:
        """Tensions [lbf] and angles [rad], shape (links + sectors, cases), by Newton's method."""
        import numpy as np

        n = self.links
        moment = np.zeros((len(self.free), stretch.shape[1])) if load is None else load
        phi = self.whole.values(stretch, moment)[n:][self.free]
        tight, phi = newton(self.frame, self.lines_of, stretch, moment[self.free], phi)
        answer = np.zeros((n + len(self.free), stretch.shape[1]))
        answer[n:][self.free] = phi
        sure = tight.copy()
        for mine in alike(tight):
            tried = self.lines_of(tight[:, mine[0]])
            found = tried.values(stretch[:, mine], moment[:, mine])
            sure[:, mine] &= found[:n] > 0.5 * ROUNDED * size[mine]
            answer[:n, mine] = _tension(tried, found)
        # angles that do not depend on the way, where these go with the tensions
        for mine in alike(sure):
            tried = self.lines_of(sure[:, mine[0]])
            found = tried.values(stretch[:, mine], moment[:, mine])
            holds, named = self._judged(tried, found, moment[:, mine], size[mine])
            holds &= (named == sure[:, mine]).all(axis=0)
            found[:n] = _tension(tried, found)
            answer[:, mine[holds]] = found[:, holds]
        return answer

    def _judged(self, of: Lines, found: Array, moment: Array | None, size: Array) -> tuple[Mask, Mask]:
        """Whether a set holds, shape (cases,), and the set to try next, shape (links, cases).

        found, shape (links + sectors, cases): what its lines give. moment [in lbf], shape (sectors, cases).
        """
        import numpy as np

        distance, tight = found[: self.links], of.tight[:, None]
        holds = distance.min(axis=0) >= -ROUNDING * self.links * size
        named = (distance > 0.0) == tight
        if moment is not None and of.loose:
            loaded = self._loaded(of, moment)
            holds &= ~loaded
            # the load turns what is loose until the first link is tight that such a turn stretches
            rate = of.freed.dot(moment)
            stretched = rate > SINGULAR * np.abs(rate).max(axis=0)
            turn = np.divide(distance, rate, out=np.full(rate.shape, np.inf), where=stretched)
            first = turn.argmin(axis=0)
            stays = np.flatnonzero(loaded & (named == tight).all(axis=0) & stretched.any(axis=0))
            named[first[stays], stays] = True
        # a link at the edge of slack bears nothing, and without it the angles may be others
        return holds, np.where(holds, tight & (distance > 0.5 * ROUNDED * size), named)

    def _loaded(self, of: Lines, moment: Array) -> Any:
        """Whether moments [in lbf], shape (sectors, ...), would turn what a set of tight links leaves loose."""
        load = moment[self.free]
        return abs(of.null.T.dot(load)).max(axis=0) > BALANCED * abs(load).max(axis=0)


def _tension(of: Lines, found: Array) -> Array:
    """Tensions [lbf] from distances from slack [in], which rounding may have put below zero."""
    import numpy as np

    n = len(of.pulling)
    return (np.maximum(0.0, found[:n]).T * of.pulling).T + 0.0  # and no zero below zero
