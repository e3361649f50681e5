"""A whole control circuit in balance: sectors that turn, cables and springs that pull and cannot push.

    x_k = stretch_k + s_a r_a phi_a + s_b r_b phi_b        T_k = k_k max(0, x_k)
    sum over the cables of a free sector:  s r T = M

The balance is the minimum of a convex energy, quadratic between the angles at which a cable goes
slack. Newton's method on the set of tight cables, with an exact line search across those angles, ends
after a few steps; the factors of each set of tight cables are kept, so a circuit solved for ten
thousand temperatures costs a few products of matrices.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from rigging.errors import Refusal
from rigging.told import lbf_per_in, told

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]

# A share of the largest tension: far below what any instrument reads, far above rounding.
BALANCED = 1e-11
# And never asked for closer than this: a circuit whose every cable hangs at the edge of slack has no largest tension.
BALANCED_LBF = 1e-11
# Shares below which a number is taken as what rounding left of zero.
ROUNDED = 1e-10
SINGULAR = 1e-12
MOST_STEPS = 200
MOST_KEPT = 2**22  # numbers in the kept factors: some tens of megabytes


class Joint(NamedTuple):
    """Where a cable meets a sector: its name, the side (+1 or -1) and the arm [in] > 0."""

    sector: str
    side: int
    arm_in: float


class Link(NamedTuple):
    """A cable or spring between two joints; None is a fixed point of the airframe.

    stiffness_lbf_per_in [lbf/in] > 0: of the whole link with the give of what it is fixed to.
    """

    name: str
    stiffness_lbf_per_in: float
    start: Joint | None
    end: Joint | None


class Balance(NamedTuple):
    """A circuit in balance, for one case or a batch of cases along the leading axes.

    tension_lbf [lbf], shape (..., links). angle_rad [rad], shape (..., sectors): turned from where the
    stretches were counted. Both in the order of the circuit's own names.
    """

    tension_lbf: Array
    angle_rad: Array

    @property
    def slack(self) -> NDArray[np.bool_]:
        """Which links hang slack, shape (..., links)."""
        return self.tension_lbf <= 0.0


class Circuit:
    """The geometry and stiffness of a circuit, ready to be solved many times.

    sectors: names. links: at least one. held: names of sectors that a rig pin or hand keeps.
    Raises Refusal: an unknown sector, an arm or stiffness that is not positive, or a sector that
    nothing restrains even with all cables tight (a loop held nowhere, a sector without a cable).
    """

    def __init__(self, sectors: Sequence[str], links: Sequence[Link], held: Sequence[str]) -> None:
        import numpy as np

        self.sectors = tuple(sectors)
        self.links = tuple(links)
        self.held = tuple(held)
        for name in held:
            if name not in self.sectors:
                raise Refusal(f"'{name}' is to be held, but there is no such sector ({', '.join(self.sectors)})")
        self._pull = np.zeros((len(links), len(self.sectors)))
        for i, link in enumerate(links):
            if not 0 < link.stiffness_lbf_per_in < math.inf:
                raise Refusal(
                    told(
                        "{}: a stiffness above zero is needed, not {}", link.name, lbf_per_in(link.stiffness_lbf_per_in)
                    )
                )
            for joint in (link.start, link.end):
                if joint is None:
                    continue
                if joint.sector not in self.sectors:
                    raise Refusal(f"{link.name} is joined to '{joint.sector}', but there is no such sector")
                if not 0 < joint.arm_in < math.inf or joint.side not in (1, -1):
                    raise Refusal(f"{link.name}: the arm on '{joint.sector}' must be above zero, its side + or -")
                self._pull[i, self.sectors.index(joint.sector)] += joint.side * joint.arm_in
        self.stiffness_lbf_per_in = np.array([link.stiffness_lbf_per_in for link in links], dtype=float)
        self._free = np.array([name not in held for name in self.sectors], dtype=bool)
        self._a = np.ascontiguousarray(self._pull[:, self._free])
        self._arms = np.abs(self._a)
        self._factors: dict[bytes, _Factor] = {}
        self._straight: tuple[Array, Array] | None = None
        self._refuse_loose()

    def _refuse_loose(self) -> None:
        factor = self._factor(self.stiffness_lbf_per_in > 0)
        if factor.null.shape[1] == 0:
            return
        loose = " and ".join(self._turning(factor.null))
        raise Refusal(f"nothing restrains {loose}: hold a sector of this circuit, or join it with a cable")

    def _turning(self, turns: Array) -> list[str]:
        """The free sectors that any of these turns, shape (free sectors, n), moves."""
        import numpy as np

        free = [name for name, is_free in zip(self.sectors, self._free, strict=True) if is_free]
        moved = np.abs(turns).max(axis=1)
        return [name for name, turn in zip(free, moved, strict=True) if turn > 1e-6 * moved.max()]

    def _factor(self, tight: NDArray[np.bool_]) -> _Factor:
        key = tight.tobytes()
        found = self._factors.get(key)
        if found is None:
            if len(self._factors) * (200 + self._a.size) > MOST_KEPT:
                self._factors.clear()
            found = self._factors[key] = _Factor.of(self._a, self.stiffness_lbf_per_in * tight)
        return found

    def solve(
        self,
        stretch_in: ArrayLike,
        moment_in_lbf: ArrayLike | None = None,
        held_angle_rad: ArrayLike | None = None,
    ) -> Balance:
        """The balance for given stretches and moments; leading axes are a batch and broadcast.

        stretch_in [in], shape (..., links): stretch with all sectors at angle zero; turnbuckle take-up and
        warming of the structure add, settling and warming of the cable take off. Below zero: slack there.
        moment_in_lbf [in lbf], shape (..., sectors): from outside, positive where it turns as a positive angle.
        held_angle_rad [rad], shape (..., sectors): where the held sectors are; entries of free ones count for nothing.
        Raises Refusal where nothing holds a loaded sector once its cables are slack.
        """
        import numpy as np

        base = np.asarray(stretch_in, dtype=float)
        if held_angle_rad is None and base.ndim == 1:
            found = self._tight_everywhere(base, moment_in_lbf)
            if found is not None:
                return found
        if held_angle_rad is not None:
            base = base + np.where(self._free, 0.0, np.asarray(held_angle_rad, dtype=float)) @ self._pull.T
        moment = np.zeros(len(self.sectors)) if moment_in_lbf is None else np.asarray(moment_in_lbf, dtype=float)
        moment = moment[..., self._free]
        if not (np.isfinite(base).all() and np.isfinite(moment).all()):
            raise Refusal("a stretch or moment of the circuit is not a finite number")
        if base.ndim == 1 and moment.ndim == 1:
            tension, free = self._one(base, moment)
        else:
            shape = np.broadcast_shapes(base.shape[:-1], moment.shape[:-1])
            cases = math.prod(shape)
            rows = np.broadcast_to(base, (*shape, base.shape[-1])).reshape(cases, base.shape[-1])
            loads = np.broadcast_to(moment, (*shape, moment.shape[-1])).reshape(cases, moment.shape[-1])
            tension, free = (part.reshape(*shape, part.shape[1]) for part in self._many(rows, loads))
        if self._free.all():
            return Balance(tension, free)
        angle = np.zeros((*free.shape[:-1], len(self.sectors)))
        angle[..., self._free] = free
        if held_angle_rad is not None:
            angle += np.where(self._free, 0.0, held_angle_rad)
        return Balance(tension, angle)

    def _tight_everywhere(self, base: Array, moment_in_lbf: ArrayLike | None) -> Balance | None:
        """The answer in two products of matrices for a single case with every link tight, as most are; else None."""
        import numpy as np

        if self._straight is None:
            factor = self._factor(np.ones(len(self.links), dtype=bool))
            n, sectors = len(self.links), len(self.sectors)
            by_stretch, by_moment = np.zeros((n + sectors, n)), np.zeros((n + sectors, sectors))
            by_stretch[:n], by_stretch[n:][self._free] = factor.hold, -factor.turn
            by_moment[:n, self._free] = factor.carry
            by_moment[n:][np.ix_(self._free, self._free)] = factor.inverse
            self._straight = by_stretch, by_moment
        by_stretch, by_moment = self._straight
        if not math.isfinite(base @ base):
            return None  # the long way says what is wrong
        both = by_stretch @ base
        if moment_in_lbf is not None:
            moment = np.asarray(moment_in_lbf, dtype=float)
            if moment.ndim != 1 or not math.isfinite(moment @ moment):
                return None
            both = both + by_moment @ moment
        n = len(self.links)
        if not both[:n].min(initial=1.0) >= 0.0:
            return None
        return Balance(both[:n], both[n:])

    def _one(self, base: Array, moment: Array) -> tuple[Array, Array]:
        """Newton with an exact line search from the answer that all links tight would give."""
        import numpy as np

        factor = self._factor(np.ones(len(self.links), dtype=bool))
        phi: Array = factor.inverse @ moment - factor.turn @ base
        x = base + self._a @ phi
        # most circuits are tight everywhere, and then this is the answer
        if x.min(initial=1.0) >= 0.0:
            return factor.tension(base, moment), phi
        for _ in range(MOST_STEPS):
            tight = x > 0.0
            factor = self._factor(tight)
            tension = self.stiffness_lbf_per_in * np.maximum(0.0, x)
            slope = self._a.T @ tension - moment
            size = np.abs(base).max() + self._arms @ np.abs(phi)
            # a link far from tight leaves no error in the moments, however far its sectors have turned
            rounding = 1e-15 * len(x) * (self.stiffness_lbf_per_in * size)[x > -SINGULAR * size].max(initial=0.0)
            tolerance = self._tolerance(tension, moment, float(rounding))
            if np.abs(slope).max(initial=0.0) <= tolerance:
                return factor.tension(base, moment), phi
            loose = factor.null.T @ slope
            if np.abs(loose).max(initial=0.0) > tolerance:
                step = -(factor.null @ loose)
                # what rounding leaves on sectors and links that such a turn does not move
                far = self._arms.max(axis=0) * np.abs(step)
                step[far < ROUNDED * far.max()] = 0.0
                dx = np.where(tight, 0.0, self._a @ step)
            else:
                step = -(factor.inverse @ slope)
                dx = self._a @ step
            dx[np.abs(dx) < SINGULAR * (self._arms @ np.abs(step))] = 0.0
            phi = phi + self._line_search(x, dx, step, moment) * step
            x = base + self._a @ phi
        raise Refusal("the circuit does not come to balance: check its arms, lengths and stretches")

    def _tolerance(self, tension: Array, moment: Array, rounding_lbf: float) -> float:
        """What a moment may be off: a share of the largest, and never less than rounding or BALANCED_LBF leaves."""
        import numpy as np

        largest_arm = self._arms.max(initial=0.0)
        share = max(tension.max(initial=0.0) * largest_arm, np.abs(moment).max(initial=0.0))
        return float(BALANCED * share + (rounding_lbf + BALANCED_LBF) * largest_arm)

    def _line_search(self, x: Array, dx: Array, step: Array, moment: Array) -> float:
        """Where the energy along a step is least; its slope rises piece by piece, with a kink where a link goes slack."""
        import numpy as np

        work = float(moment @ step)
        moving = dx != 0.0
        at = -x[moving] / dx[moving]
        order = np.argsort(at)
        kinks = [t for t in at[order].tolist() if t > 0.0]
        k = self.stiffness_lbf_per_in

        def slope(t: float) -> float:
            return float((k * np.maximum(0.0, x + t * dx)) @ dx - work)

        low, slope_low = 0.0, slope(0.0)
        # zero as far as the sums behind a slope are rounded: moments that cancel, and links taken not to move
        moved = (k * np.maximum(0.0, x)) @ (self._arms @ np.abs(step))
        level = (
            ROUNDED * abs(slope_low) + 1e-15 * len(x) * float(np.abs(moment) @ np.abs(step)) + SINGULAR * float(moved)
        )
        for kink in kinks:
            slope_kink = slope(kink)
            if slope_kink >= -level:
                share = slope_low / (slope_low - slope_kink) if slope_kink > slope_low else 1.0
                return float(low + (kink - low) * min(share, 1.0))
            low, slope_low = kink, slope_kink
        beyond = slope(low + 1.0)
        if beyond <= slope_low:
            loose = " and ".join(self._turning(step[:, None]))
            raise Refusal(f"under this load nothing stops {loose}: the cables that would hold it hang slack")
        return float(low - slope_low / (beyond - slope_low))

    def _many(self, base: Array, moment: Array) -> tuple[Array, Array]:
        """All cases at once: full Newton steps by set of tight links; the few that do not settle so go one by one."""
        import numpy as np

        factor = self._factor(np.ones(len(self.links), dtype=bool))
        phi: Array = moment @ factor.inverse.T - base @ factor.turn.T
        tension = factor.tension(base, moment)
        tight = np.ones(base.shape, dtype=bool)
        unsettled = np.arange(len(base))
        singly: list[int] = []
        for _ in range(6):
            new = base[unsettled] + phi[unsettled] @ self._a.T > 0.0
            changed = (new != tight[unsettled]).any(axis=1)
            unsettled = unsettled[changed]
            if not len(unsettled):
                break
            tight[unsettled] = new[changed]
            sets, which = np.unique(np.packbits(tight[unsettled], axis=1), axis=0, return_inverse=True)
            groups = [unsettled[which.ravel() == i] for i in range(len(sets))]
            for mine in groups:
                found = self._factor(tight[mine[0]])
                if found.null.shape[1]:
                    singly += mine.tolist()
                else:
                    phi[mine] = moment[mine] @ found.inverse.T - base[mine] @ found.turn.T
                    tension[mine] = found.tension(base[mine], moment[mine])
            unsettled = np.setdiff1d(unsettled, singly, assume_unique=False)
        for i in (*singly, *unsettled.tolist()):
            tension[i], phi[i] = self._one(base[i], moment[i])
        return tension, phi

    def pretension(self) -> Array:
        """How tensions may stand together with no moment on a free sector: an orthonormal basis, shape (links, n).

        A single column for a plain loop: equal arms give equal entries, and T1 r1 = T2 r2 otherwise.
        """
        import numpy as np

        if self._a.shape[1] == 0:
            return np.eye(len(self.links))
        u, s, _ = np.linalg.svd(self._a)
        rank = int((s > s[0] * 1e-10).sum())
        basis: Array = u[:, rank:]
        return basis

    def takeup_effect(self) -> tuple[Array, Array]:
        """What one inch of take-up does while every link stays tight.

        Returns tension per take-up [lbf/in], shape (links, links): column j for take-up in link j; and
        angle per take-up [rad/in], shape (sectors, links).
        """
        import numpy as np

        factor = self._factor(np.ones(len(self.links), dtype=bool))
        angle = np.zeros((len(self.sectors), len(self.links)))
        angle[self._free] = -factor.turn
        return factor.hold.copy(), angle


class _Factor(NamedTuple):
    """One set of tight links, as straight lines of stretch and moment.

    inverse: angle per moment. turn: angle per stretch, taken off. null: what turns freely. hold and carry:
    tension per stretch and per moment; straight from the singular vectors, since a stretch left after soft
    links have let a sector turn far is a small difference of large numbers.
    """

    inverse: Array
    null: Array
    turn: Array
    hold: Array
    carry: Array

    def tension(self, base: Array, moment: Array) -> Array:
        """Tension [lbf] of every link, shape (..., links); slack ones are zero."""
        import numpy as np

        return np.maximum(0.0, base @ self.hold.T + moment @ self.carry.T)

    @classmethod
    def of(cls, a: Array, stiffness: Array) -> _Factor:
        import numpy as np

        root = np.sqrt(stiffness)
        weighed = root[:, None] * a
        if not a.shape[1]:
            return cls(a.T @ a, a.T @ a, a.T, np.diag(stiffness), a)
        # scaled so that arms of unlike length weigh alike; a loose sector has a zero column
        scale = np.sqrt((weighed**2).sum(axis=0))
        scale[scale == 0.0] = 1.0
        # not the stiffness of the sectors itself, whose inverse is twice as far from exact
        left, values, right = np.linalg.svd(weighed / scale)
        rank = int((values > SINGULAR * values.max(initial=1.0) * len(values)).sum())
        turned = right[:rank].T / values[:rank] / scale[:, None]
        null = np.linalg.qr(right[rank:].T / scale[:, None])[0]
        spanned = left[:, :rank]
        hold = root[:, None] * (np.eye(len(root)) - spanned @ spanned.T) * root
        return cls(turned @ turned.T, null, turned @ (spanned.T * root), hold, root[:, None] * (spanned @ turned.T))


def named(circuit: Circuit, values: Any) -> dict[str, float]:
    """Values of one case by the names of the circuit's links."""
    return {link.name: float(v) for link, v in zip(circuit.links, values, strict=True)}
