"""How many half turns on which turnbuckle: the fewest that bring every tension into its band and every neutral to its mark.

Locking wire needs the hole of the barrel in line, so a turnbuckle is left on a whole half turn. While
every cable stays tight, tension and neutral are straight-line functions of take-up, and the question is
a small mixed-integer linear programme, solved exactly.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

from rigging.errors import Refusal
from rigging.physics.circuit import Circuit
from rigging.told import lbf, told

if TYPE_CHECKING:
    from rigging.physics.circuit import Array

# A deviation of one half band or one neutral tolerance counts as little as this many half turns:
# among plans with equally few turns the one nearest to the targets wins.
NEARNESS: Final = 0.01
INSIDE: Final = 1e-6  # share of a band kept clear, so that rounding never puts a plan on the wrong side


class Turnbuckle(NamedTuple):
    """A turnbuckle in a link of the circuit.

    link: its place in the circuit. takeup_in [in]: of half a turn, that is one pitch. least, most: half
    turns that the threads still allow, loosening counted negative.
    """

    name: str
    link: int
    takeup_in: float
    least: int
    most: int


class Goal(NamedTuple):
    """Where the circuit must end.

    low_lbf, high_lbf, target_lbf [lbf], shape (links,): infinite where a link has no limits.
    neutral_rad [rad], shape (sectors,): tolerance about zero, infinite where a sector has no mark.
    """

    low_lbf: Array
    high_lbf: Array
    target_lbf: Array
    neutral_rad: Array


class Effect(NamedTuple):
    """What the turnbuckles do, from where the circuit stands now.

    tension_lbf (links,) and angle_rad (sectors,): now. tension_per_half_turn (links, turnbuckles) [lbf];
    angle_per_half_turn (sectors, turnbuckles) [rad].
    """

    tension_lbf: Array
    angle_rad: Array
    tension_per_half_turn: Array
    angle_per_half_turn: Array

    def after(self, half_turns: Array) -> tuple[Array, Array]:
        """Tension [lbf] and angle [rad] after half turns, shape (..., turnbuckles)."""
        return (
            self.tension_lbf + half_turns @ self.tension_per_half_turn.T,
            self.angle_rad + half_turns @ self.angle_per_half_turn.T,
        )


class Choice(NamedTuple):
    """The half turns chosen, one for each turnbuckle, and what stops the goal where it is not met.

    margin: share of the guard band that every tension keeps from its limits. stopped_by: empty where met.
    """

    half_turns: tuple[int, ...]
    margin: float
    stopped_by: tuple[str, ...]

    @property
    def met(self) -> bool:
        """Whether every tension ends in its band and every neutral on its mark."""
        return not self.stopped_by


def effect(circuit: Circuit, turnbuckles: list[Turnbuckle], tension_lbf: Array, angle_rad: Array) -> Effect:
    """The straight-line effect of half turns while every link stays tight.

    tension_lbf [lbf], shape (links,), and angle_rad [rad], shape (sectors,): now. Raises Refusal where a link is slack now, or
    a figure is not finite.
    """
    import numpy as np

    if not (np.isfinite(tension_lbf).all() and np.isfinite(angle_rad).all()):
        raise Refusal("a tension or neutral of this circuit is not a finite number: no turn can be worked out from it")
    slack = [link.name for link, t in zip(circuit.links, tension_lbf, strict=True) if not t > 0]
    if slack:
        raise Refusal(
            f"{' and '.join(slack)} hangs slack, by how much no reading tells: take it up by hand until it reads, then plan"
        )
    tension_per_in, angle_per_in = circuit.takeup_effect()
    columns = [t.link for t in turnbuckles]
    takeup = np.array([t.takeup_in for t in turnbuckles])
    return Effect(tension_lbf, angle_rad, tension_per_in[:, columns] * takeup, angle_per_in[:, columns] * takeup)


def choose(now: Effect, goal: Goal, guard_lbf: Array, turnbuckles: list[Turnbuckle], circuit: Circuit) -> Choice:
    """The fewest half turns that meet the goal, keeping the guard band clear of the limits where that is possible.

    guard_lbf [lbf], shape (links,): U of a reading; plans keep all of it, half of it or none of it.
    Where the goal cannot be met the choice is the nearest there is, and ``stopped_by`` says what stops it.
    Raises Refusal where there is no turnbuckle, a figure is no number, or nothing can be chosen at all.
    """
    import numpy as np

    if not turnbuckles:
        raise Refusal("there is no turnbuckle to turn in this circuit")
    if not all(np.isfinite(part).all() for part in (*now, guard_lbf)) or any(np.isnan(part).any() for part in goal):
        raise Refusal(
            "a tension, neutral, limit or uncertainty of this circuit is no number: no half turns follow from it"
        )
    for margin in (1.0, 0.5, 0.0):
        found = _solve(now, _narrowed(goal, guard_lbf * margin), turnbuckles)
        if found is not None:
            return Choice(found, margin, ())
    nearest = _solve(now, goal, turnbuckles, elastic=True)
    if nearest is None:
        raise Refusal("no half turns could be chosen for this circuit: check its limits and thread windows")
    unbound = [t._replace(least=-1000, most=1000) for t in turnbuckles]
    without_window = _solve(now, goal, unbound)
    if without_window is not None:
        short = [
            f"thread window of {t.name}: {n:+d} half turns are needed, {t.least:+d} to {t.most:+d} are left: remake the cable"
            for t, n in zip(turnbuckles, without_window, strict=True)
            if not t.least <= n <= t.most
        ]
        return Choice(nearest, 0.0, tuple(short))
    if _solve(now, goal, unbound, whole=False) is not None:
        return Choice(
            nearest, 0.0, ("whole half turns are too coarse for these limits:", *_missed(now, goal, nearest, circuit))
        )
    return Choice(nearest, 0.0, _missed(now, goal, nearest, circuit))


def _narrowed(goal: Goal, by_lbf: Array) -> Goal:
    return goal._replace(low_lbf=goal.low_lbf + by_lbf, high_lbf=goal.high_lbf - by_lbf)


def _missed(now: Effect, goal: Goal, half_turns: tuple[int, ...], circuit: Circuit) -> tuple[str, ...]:
    import numpy as np

    tension, angle = now.after(np.array(half_turns, dtype=float))
    words = [
        told("{} ends at {}, its limits are {}..{}", link.name, lbf(t), lbf(low, unit=False), lbf(high, unit=False))
        for link, t, low, high in zip(circuit.links, tension, goal.low_lbf, goal.high_lbf, strict=True)
        if not low <= t <= high
    ]
    words += [
        f"{sector} rests {np.degrees(a):+.2f} deg from its mark, {np.degrees(tolerance):.2f} deg are allowed"
        for sector, a, tolerance in zip(circuit.sectors, angle, goal.neutral_rad, strict=True)
        if abs(a) > tolerance
    ]
    return tuple(words) or ("limits narrower than rounding",)


def _solve(
    now: Effect, goal: Goal, turnbuckles: list[Turnbuckle], whole: bool = True, elastic: bool = False
) -> tuple[int, ...] | None:
    """Variables: turns up and turns down of each turnbuckle, then the deviation of every limited link and marked sector."""
    import numpy as np
    from scipy.optimize import Bounds, LinearConstraint, milp

    n = len(turnbuckles)
    limited = np.isfinite(goal.low_lbf) & np.isfinite(goal.high_lbf)
    marked = np.isfinite(goal.neutral_rad)
    half_band = (goal.high_lbf - goal.low_lbf)[limited] / 2
    if (half_band <= 0).any():
        return None
    moved = np.vstack([now.tension_per_half_turn[limited], now.angle_per_half_turn[marked]])
    here = np.concatenate([now.tension_lbf[limited], now.angle_rad[marked]])
    aim = np.concatenate([goal.target_lbf[limited], np.zeros(int(marked.sum()))])
    width = np.concatenate([half_band, goal.neutral_rad[marked]])
    low = np.concatenate([goal.low_lbf[limited], -goal.neutral_rad[marked]]) + INSIDE * width
    high = np.concatenate([goal.high_lbf[limited], goal.neutral_rad[marked]]) - INSIDE * width
    rows = len(here)
    turns = np.hstack([moved, -moved]) / width[:, None]
    eye = np.eye(rows)
    # deviation d >= |value - aim| / width; value inside its limits, give or take e when elastic
    constraints = [
        LinearConstraint(np.hstack([turns, -eye, 0 * eye]), -np.inf, (aim - here) / width),
        LinearConstraint(np.hstack([-turns, -eye, 0 * eye]), -np.inf, (here - aim) / width),
        LinearConstraint(np.hstack([turns, 0 * eye, eye]), (low - here) / width, np.inf),
        LinearConstraint(np.hstack([turns, 0 * eye, -eye]), -np.inf, (high - here) / width),
    ]
    cost = np.concatenate([np.ones(2 * n), np.full(rows, NEARNESS), np.full(rows, 1e4)])
    most = [max(0, t.most) for t in turnbuckles] + [max(0, -t.least) for t in turnbuckles]
    least = [max(0, t.least) for t in turnbuckles] + [max(0, -t.most) for t in turnbuckles]
    bottom = np.concatenate([least, np.zeros(2 * rows)])
    top = np.concatenate([most, np.full(rows, np.inf), np.full(rows, np.inf if elastic else 0.0)])
    kind = np.concatenate([np.full(2 * n, 1 if whole else 0), np.zeros(2 * rows)])
    found = milp(cost, constraints=constraints, bounds=Bounds(bottom, top), integrality=kind)
    if found.x is None:
        return None
    half_turns = np.round(found.x[:n] - found.x[n : 2 * n]).astype(int)
    return tuple(int(h) for h in half_turns)
