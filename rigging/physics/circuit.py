"""A whole control circuit in balance: sectors that turn, cables and springs that pull and cannot push.

    x_k = stretch_k + s_a r_a phi_a + s_b r_b phi_b        T_k = k_k max(0, x_k)
    sum over the cables of a free sector:  s r T = M

The balance is the minimum of a convex energy, quadratic between the angles at which a cable goes slack. For a set of
tight cables it is straight lines of stretch and moment (``circuit_lines``); which set it is, for one case or ten thousand
temperatures at once, is found in ``circuit_search``, and where cables hang at the edge of slack in ``circuit_newton``.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from rigging.errors import Refusal
from rigging.physics.circuit_newton import Frame
from rigging.physics.circuit_search import LARGEST, Search
from rigging.told import lbf_per_in, told

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]

NO_NUMBER: Final = "a stretch, moment or angle of the circuit is not a finite number"


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

    tension_lbf [lbf], shape (..., links): finite, never below zero. angle_rad [rad], shape (..., sectors): turned from
    where the stretches were counted. Both in the order of the circuit's own names.
    """

    tension_lbf: Array
    angle_rad: Array

    @property
    def slack(self) -> NDArray[np.bool_]:
        """Which links hang slack, shape (..., links)."""
        return self.tension_lbf <= 0.0


class Circuit:
    """The geometry and stiffness of a circuit, ready to be solved many times.

    sectors: names, each once. links: at least one. held: names of sectors that a rig pin or hand keeps.
    Raises Refusal: no link at all, a sector named twice or unknown, an arm or stiffness that is not above zero and finite, or
    a sector that nothing restrains even with all cables tight (a loop held nowhere, a sector without a cable).

    Source: statics of elastic cables that only pull; least energy. Checked by least complementary energy and by sectors
    with mass let go in time (tests/validation/test_circuit_independent.py, tests/independent/test_circuit.py).

    A loop of two cables, 600 lbf/in each at arms of 3 in, taken up by 1/15 in:

    >>> loop = [Link(n, 600.0, Joint("stick", s, 3.0), Joint("horn", s, 3.0)) for n, s in (("up", 1), ("down", -1))]
    >>> circuit = Circuit(["stick", "horn"], loop, held=["stick"])
    >>> circuit.solve([1 / 15, 1 / 15]).tension_lbf.round(6).tolist()
    [40.0, 40.0]

    and loaded with 300 in lbf at the horn, when one goes slack and the other bears it all:

    >>> circuit.solve([1 / 15, 1 / 15], [0.0, 300.0]).tension_lbf.round(6).tolist()
    [100.0, 0.0]
    """

    def __init__(self, sectors: Sequence[str], links: Sequence[Link], held: Sequence[str]) -> None:
        import numpy as np

        self.sectors = tuple(sectors)
        self.links = tuple(links)
        self.held = tuple(held)
        for name in held:
            if name not in self.sectors:
                raise Refusal(f"'{name}' is to be held, but there is no such sector ({', '.join(self.sectors)})")
        if len(set(self.sectors)) < len(self.sectors):
            twice = next(name for i, name in enumerate(self.sectors) if name in self.sectors[:i])
            raise Refusal(f"there are two sectors '{twice}': give each a name of its own")
        self._pull = self._stretch_per_rad()
        self.stiffness_lbf_per_in = np.array([link.stiffness_lbf_per_in for link in links], dtype=float)
        self._free = np.array([name not in held for name in self.sectors], dtype=bool)
        self._a = np.ascontiguousarray(self._pull[:, self._free])
        self._one_case, self._one_moment = (len(self.links),), (len(self.sectors),)
        free = [name for name, is_free in zip(self.sectors, self._free, strict=True) if is_free]
        frame = Frame(self._a, np.abs(self._a), self.stiffness_lbf_per_in, free)
        self._search = Search(frame, self._free)
        if self._search.whole.loose:
            loose = frame.turning(self._search.whole.null)
            raise Refusal(f"nothing restrains {loose}: hold a sector of this circuit, or join it with a cable")
        if not links:
            raise Refusal("a circuit without a cable or spring bears no tension: give it one")

    def _stretch_per_rad(self) -> Array:
        """Stretch of every link per radian of every sector [in], shape (links, sectors)."""
        import numpy as np

        pull = np.zeros((len(self.links), len(self.sectors)))
        for i, link in enumerate(self.links):
            if not 1 / LARGEST < link.stiffness_lbf_per_in < LARGEST:
                k = lbf_per_in(link.stiffness_lbf_per_in)
                raise Refusal(
                    told("{}: a stiffness above zero that can be worked with is needed, not {}", link.name, k)
                )
            for joint in (link.start, link.end):
                if joint is None:
                    continue
                if joint.sector not in self.sectors:
                    raise Refusal(f"{link.name} is joined to '{joint.sector}', but there is no such sector")
                if not 1 / LARGEST < joint.arm_in < LARGEST or joint.side not in (1, -1):
                    raise Refusal(f"{link.name}: the arm on '{joint.sector}' must be above zero, its side + or -")
                pull[i, self.sectors.index(joint.sector)] += joint.side * joint.arm_in
        return pull

    def solve(
        self,
        stretch_in: ArrayLike,
        moment_in_lbf: ArrayLike | None = None,
        held_angle_rad: ArrayLike | None = None,
    ) -> Balance:
        """The balance for given stretches and moments; leading axes are a batch and broadcast.

        stretch_in [in], shape (..., links): stretch with all sectors at angle zero; turnbuckle take-up and
        warming of the structure add, settling and warming of the cable take off. Below zero: slack there.
        moment_in_lbf [in lbf], shape (..., sectors): from outside, positive where it turns as a positive angle; on a held
        sector it counts for nothing. None: no moment.
        held_angle_rad [rad], shape (..., sectors): where the held sectors are; entries of free ones count for nothing.
        None: all at zero. An axis of length zero gives an empty batch.

        The moments of every free sector balance to 1e-11 of the largest, and to 1e-11 lbf or rounding at least. A sector
        that nothing holds is put where its slack links would leave it if they pushed and pulled alike, or else at some
        angle at which they hang slack.
        Raises Refusal where nothing holds a loaded sector once its cables are slack, for numbers that are not finite, and
        for arrays of another shape.
        """
        import numpy as np

        try:
            base = np.asarray(stretch_in, dtype=float)
            moment = None if moment_in_lbf is None else np.asarray(moment_in_lbf, dtype=float)
            angle = None if held_angle_rad is None else np.asarray(held_angle_rad, dtype=float)
        except (TypeError, ValueError):
            raise Refusal(NO_NUMBER) from None
        if angle is None and base.shape == self._one_case and (moment is None or moment.shape == self._one_moment):
            found = self._search.soon(base, moment)
            if found is not None:
                return Balance(*found)
        shape = self._shape(base, moment, angle)
        if angle is not None:
            # what stands for a free sector counts for nothing, and a moment on a held one goes into its pin
            angle = np.where(self._free, 0.0, angle)
        if moment is not None:
            moment = np.where(self._free, moment, 0.0)
        if not all(values is None or np.abs(values).max(initial=0.0) < LARGEST for values in (base, moment, angle)):
            raise Refusal(NO_NUMBER)
        if angle is not None:
            base = base + angle.dot(self._pull.T)
        if not shape:
            tension, turned = self._search.one(base, np.zeros(self._one_moment) if moment is None else moment)
        else:
            rows = _rows(base, shape)
            loads = None if moment is None else _rows(moment, shape)
            tension, turned = (part.reshape(*shape, part.shape[1]) for part in self._search.many(rows, loads))
        return Balance(tension, turned if angle is None else turned + angle)

    def _shape(self, base: Array, moment: Array | None, angle: Array | None) -> tuple[int, ...]:
        """The shape of the batch. Raises Refusal where the arrays do not go together."""
        import numpy as np

        n, sectors = len(self.links), len(self.sectors)
        leading: list[tuple[int, ...]] = []
        for what, values, width in (("stretches", base, n), ("moments", moment, sectors), ("angles", angle, sectors)):
            if values is None:
                continue
            if not values.ndim or values.shape[-1] != width:
                raise Refusal(
                    f"the {what} of this circuit are {width} a case, in the order of its "
                    f"{'cables and springs' if values is base else 'sectors'}: an array of shape {values.shape} is none"
                )
            leading.append(values.shape[:-1])
        try:
            return np.broadcast_shapes(*leading)
        except ValueError:
            raise Refusal(f"the stretches, moments and angles are not as many cases each: {leading}") from None

    def pretension(self) -> Array:
        """How tensions may stand together with no moment on a free sector: an orthonormal basis, shape (links, n).

        No unit: shares of a tension. A single column for a plain loop: equal arms give equal entries, and
        T1 r1 = T2 r2 otherwise. No column where no tension can stand.
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
        angle per take-up [rad/in], shape (sectors, links), zero for held sectors.

        Two cables in series between two fixed points, 600 and 300 lbf/in, make 200 lbf/in:

        >>> pair = [Link("a", 600.0, None, Joint("idler", 1, 3.0)), Link("b", 300.0, Joint("idler", -1, 3.0), None)]
        >>> Circuit(["idler"], pair, held=[]).takeup_effect()[0].round(6).tolist()
        [[200.0, 200.0], [200.0, 200.0]]
        """
        n, whole = len(self.links), self._search.whole
        return self.stiffness_lbf_per_in[:, None] * whole.by_stretch[:n], whole.by_stretch[n:].copy()


def named(circuit: Circuit, values: Any) -> dict[str, float]:
    """Values of one case, shape (links,), by the names of the circuit's links. Raises Refusal for another shape.

    >>> spring = Circuit(["stick"], [Link("spring", 5.0, None, Joint("stick", 1, 3.0))], held=["stick"])
    >>> named(spring, spring.solve([2.0]).tension_lbf)
    {'spring': 10.0}
    """
    if len(values) != len(circuit.links):
        raise Refusal(
            f"{len(values)} values do not go with the {len(circuit.links)} cables and springs of this circuit"
        )
    return {link.name: float(v) for link, v in zip(circuit.links, values, strict=True)}


def _rows(values: Array, shape: tuple[int, ...]) -> Array:
    """Values, shape (..., n), one row for each case of a batch of this shape."""
    import numpy as np

    width = values.shape[-1]
    return np.broadcast_to(values, (*shape, width)).reshape(math.prod(shape), width)
