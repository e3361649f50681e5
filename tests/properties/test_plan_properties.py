"""Plans on random circuits, held to exhaustive search and to the full solution of the circuit after every half turn."""

from __future__ import annotations

from collections import deque
from itertools import product
from typing import NamedTuple

import numpy as np
import pytest
from scipy.optimize import lsq_linear

from rigging.judge.half_turns import Goal, Turnbuckle, choose, effect
from rigging.judge.turn_order import order
from rigging.physics.circuit import Circuit, Joint, Link

pytestmark = pytest.mark.slow

REACH = 5  # half turns either way that the threads allow


class Case(NamedTuple):
    circuit: Circuit
    turnbuckles: list[Turnbuckle]
    goal: Goal
    stretch_in: np.ndarray  # with all sectors at angle zero, before any turn

    def after(self, half_turns: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Tension and angle by the full solution, cables going slack included."""
        takeup = np.zeros((*half_turns.shape[:-1], len(self.stretch_in)))
        for j, t in enumerate(self.turnbuckles):
            takeup[..., t.link] += half_turns[..., j] * t.takeup_in
        balance = self.circuit.solve(self.stretch_in + takeup)
        return balance.tension_lbf, balance.angle_rad

    def inside(self, half_turns: np.ndarray) -> np.ndarray:
        tension, angle = self.after(half_turns)
        good = (tension >= self.goal.low_lbf) & (tension <= self.goal.high_lbf)
        return good.all(axis=-1) & (np.abs(angle) <= self.goal.neutral_rad).all(axis=-1)


def _case(seed: int) -> Case:
    """A chain of one or two free sectors between the ends of a held one, unequal arms, errors of every size."""
    rng = np.random.default_rng(seed)
    while True:
        free = int(rng.integers(1, 3))
        sectors = ["stick", *(f"bellcrank {i}" for i in range(free))]
        places = [("stick", 1), *((s, side) for s in sectors[1:] for side in (1, -1)), ("stick", -1)]
        joints = [Joint(s, side, float(rng.uniform(2, 5))) for s, side in places]
        lengths = rng.uniform(120, 300, free + 1)
        stiffness = 104_123.0 * float(rng.uniform(0.3, 1.2)) / lengths
        links = [
            Link(f"cable {i}", float(k), joints[2 * i], joints[2 * i + 1]) for i, k in enumerate(stiffness)
        ]  # fmt: skip
        circuit = Circuit(sectors, links, ["stick"])
        pitch = float(rng.choice([1 / 32, 1 / 28, 1 / 24]))
        turnbuckles = [Turnbuckle(link.name, i, pitch, -REACH, REACH) for i, link in enumerate(links)]
        basis = circuit.pretension()[:, 0]
        target = basis * np.sign(basis[0]) / np.abs(basis).max() * float(rng.uniform(30, 60))
        share = float(rng.uniform(0.05, 0.3))
        neutral = np.array([np.inf, *np.radians(rng.uniform(0.2, 1.0, free))])
        goal = Goal(target * (1 - share), target * (1 + share), target, neutral)
        errors = rng.integers(-2, 3, len(links)) * pitch + rng.normal(0, 0.2 * pitch, len(links))
        case = Case(circuit, turnbuckles, goal, target / stiffness + errors)
        if (case.after(np.zeros(len(links)))[0] > 0.5).all():
            return case


def _all_turns(case: Case) -> np.ndarray:
    return np.array(list(product(range(-REACH, REACH + 1), repeat=len(case.turnbuckles))), dtype=float)


@pytest.mark.parametrize("seed", range(200))
def test_a_plan_is_found_exactly_when_there_is_one_and_no_step_breaks_a_limit(seed: int) -> None:
    case = _case(seed)
    tension, angle = case.after(np.zeros(len(case.turnbuckles)))
    now = effect(case.circuit, case.turnbuckles, tension, angle)
    chosen = choose(now, case.goal, np.zeros(len(tension)), case.turnbuckles, case.circuit)

    turns = _all_turns(case)
    good = case.inside(turns)
    assert chosen.met == bool(good.any())
    if not chosen.met:
        assert chosen.stopped_by
        return
    assert bool(case.inside(np.array(chosen.half_turns, dtype=float)))
    assert sum(map(abs, chosen.half_turns)) == np.abs(turns[good]).sum(axis=1).min()

    ceiling = np.maximum(case.goal.high_lbf, tension) + 1e-9
    steps = order(now, chosen.half_turns, ceiling, np.full(len(tension), 1e-6), case.turnbuckles)
    if steps is None:
        assert not _way_exists(case, chosen.half_turns, ceiling)
        return
    done = np.zeros(len(case.turnbuckles))
    for which, half_turns in steps:
        for _ in range(abs(half_turns)):
            done[which] += np.sign(half_turns)
            passed, _ = case.after(done)
            assert (passed <= ceiling + 1e-6).all()
            assert (passed > 0).all()
    assert tuple(done.astype(int)) == chosen.half_turns


def _way_exists(case: Case, goal: tuple[int, ...], ceiling: np.ndarray) -> bool:
    """Breadth-first over every half turn the threads allow, by the full solution."""
    turns = _all_turns(case)
    tension, _ = case.after(turns)
    open_ = {
        tuple(t.astype(int)) for t, x in zip(turns, tension, strict=True) if (x <= ceiling).all() and (x > 1e-6).all()
    }
    start = (0,) * len(goal)
    seen, queue = {start}, deque([start])
    while queue:
        place = queue.popleft()
        if place == goal:
            return True
        for i in range(len(goal)):
            for way in (1, -1):
                new = (*place[:i], place[i] + way, *place[i + 1 :])
                if new in open_ and new not in seen:
                    seen.add(new)
                    queue.append(new)
    return False


def test_most_random_circuits_can_be_planned_and_nearly_all_plans_have_an_order() -> None:
    met = ordered = 0
    for seed in range(200):
        case = _case(seed)
        tension, angle = case.after(np.zeros(len(case.turnbuckles)))
        now = effect(case.circuit, case.turnbuckles, tension, angle)
        chosen = choose(now, case.goal, np.zeros(len(tension)), case.turnbuckles, case.circuit)
        if not chosen.met:
            continue
        met += 1
        ceiling = np.maximum(case.goal.high_lbf, tension) + 1e-9
        ordered += order(now, chosen.half_turns, ceiling, np.full(len(tension), 1e-6), case.turnbuckles) is not None
    # otherwise the test above would hardly test anything
    assert met >= 60
    assert ordered >= 0.95 * met


@pytest.mark.parametrize("seed", range(200))
def test_whenever_bounded_least_squares_leaves_room_for_a_half_turn_a_plan_is_found(seed: int) -> None:
    """Continuous turns first: where they end further inside every limit than rounding can move, whole ones must do."""
    case = _case(seed)
    tension, angle = case.after(np.zeros(len(case.turnbuckles)))
    now = effect(case.circuit, case.turnbuckles, tension, angle)
    moved = np.vstack([now.tension_per_half_turn, now.angle_per_half_turn[1:]])
    aim = np.concatenate([case.goal.target_lbf - tension, -angle[1:]])
    width = np.concatenate([case.goal.high_lbf - case.goal.target_lbf, case.goal.neutral_rad[1:]])
    found = lsq_linear(moved / width[:, None], aim / width, bounds=(-REACH, REACH))
    rounding = np.abs(moved).sum(axis=1) / 2
    rest = np.abs(moved @ found.x - aim)
    chosen = choose(now, case.goal, np.zeros(len(tension)), case.turnbuckles, case.circuit)
    if (rest + rounding <= width).all():
        assert chosen.met
    if (rest > width).any() and found.cost > len(width) * 0.5:
        # even in the least-squares sense the limits lie out of reach
        assert not chosen.met


@pytest.mark.parametrize(("least", "most"), [(2, REACH), (-REACH, -2)])
def test_a_thread_window_that_does_not_hold_zero_is_kept(least: int, most: int) -> None:
    for seed in range(30):
        case = _case(seed)
        turnbuckles = [case.turnbuckles[0]._replace(least=least, most=most), *case.turnbuckles[1:]]
        tension, angle = case.after(np.zeros(len(turnbuckles)))
        now = effect(case.circuit, turnbuckles, tension, angle)
        chosen = choose(now, case.goal, np.zeros(len(tension)), turnbuckles, case.circuit)
        turns = _all_turns(case)
        allowed = turns[(turns[:, 0] >= least) & (turns[:, 0] <= most)]
        assert least <= chosen.half_turns[0] <= most
        assert chosen.met == bool(case.inside(allowed).any())
