"""The order of half turns: no high limit passed and no cable slack on the way, with few changes of turnbuckle."""

from __future__ import annotations

import heapq
from itertools import count
from typing import TYPE_CHECKING, Final

from rigging.errors import Refusal
from rigging.judge.half_turns import Effect, Turnbuckle

if TYPE_CHECKING:
    from rigging.physics.circuit import Array

MOST_NODES: Final = 200_000
CHANGE_COSTS: Final = 0.5  # half turns that one change of turnbuckle is worth
DETOURS: Final = (0, 2, 4)  # half turns a turnbuckle may go beyond its start or goal, tried in this order


def order(
    now: Effect, half_turns: tuple[int, ...], ceiling_lbf: Array, floor_lbf: Array, turnbuckles: list[Turnbuckle]
) -> list[tuple[int, int]] | None:
    """Steps as (turnbuckle, half turns), each half turn of which keeps every link inside floor and ceiling.

    ceiling_lbf, floor_lbf [lbf], shape (links,). Cheapest path on the lattice of half turns (Dijkstra);
    None where there is none, even with detours. Empty where nothing is to be turned.
    Raises Refusal where a floor or ceiling is no number, or half turns are not one for each turnbuckle.
    """
    import numpy as np

    if np.isnan(ceiling_lbf).any() or np.isnan(floor_lbf).any():
        raise Refusal("a limit that the turns must keep on the way is no number")
    if len(half_turns) != len(turnbuckles):
        raise Refusal(f"{len(half_turns)} counts of half turns do not go with {len(turnbuckles)} turnbuckles")
    if not any(half_turns):
        return []
    for detour in DETOURS:
        path = _path(now, half_turns, ceiling_lbf, floor_lbf, turnbuckles, detour)
        if path is not None:
            return _gathered(path)
    return None


def _path(
    now: Effect,
    goal: tuple[int, ...],
    ceiling_lbf: Array,
    floor_lbf: Array,
    turnbuckles: list[Turnbuckle],
    detour: int,
) -> list[tuple[int, int]] | None:
    import numpy as np

    lows = [max(min(0, g) - detour, min(t.least, g, 0)) for g, t in zip(goal, turnbuckles, strict=True)]
    highs = [min(max(0, g) + detour, max(t.most, g, 0)) for g, t in zip(goal, turnbuckles, strict=True)]
    allowed: dict[tuple[int, ...], bool] = {}

    def may(place: tuple[int, ...]) -> bool:
        if place not in allowed:
            tension = now.after(np.array(place, dtype=float))[0]
            allowed[place] = bool((tension <= ceiling_lbf).all() and (tension >= floor_lbf).all())
        return allowed[place]

    start = (0,) * len(goal)
    tie = count()
    # the remaining half turns can never cost less than themselves: that steers the search
    heap: list[tuple[float, int, float, tuple[int, ...], int]] = [(sum(map(abs, goal)), next(tie), 0.0, start, -1)]
    came: dict[tuple[tuple[int, ...], int], tuple[tuple[tuple[int, ...], int], int] | None] = {(start, -1): None}
    best = {(start, -1): 0.0}
    while heap and len(best) < MOST_NODES:
        _, _, cost, place, last = heapq.heappop(heap)
        if place == goal:
            return _trace(came, (place, last))
        if cost > best[place, last]:
            continue
        for i in range(len(goal)):
            for way in (1, -1):
                if not lows[i] <= place[i] + way <= highs[i]:
                    continue
                next_place = (*place[:i], place[i] + way, *place[i + 1 :])
                new_cost = cost + 1 + (CHANGE_COSTS if i != last else 0)
                if new_cost < best.get((next_place, i), np.inf) and may(next_place):
                    best[next_place, i] = new_cost
                    came[next_place, i] = ((place, last), way)
                    left = sum(abs(g - p) for g, p in zip(goal, next_place, strict=True))
                    heapq.heappush(heap, (new_cost + left, next(tie), new_cost, next_place, i))
    return None


def _trace(
    came: dict[tuple[tuple[int, ...], int], tuple[tuple[tuple[int, ...], int], int] | None],
    node: tuple[tuple[int, ...], int],
) -> list[tuple[int, int]]:
    moves: list[tuple[int, int]] = []
    while (step := came[node]) is not None:
        before, way = step
        moves.append((node[1], way))
        node = before
    return moves[::-1]


def _gathered(moves: list[tuple[int, int]]) -> list[tuple[int, int]]:
    steps: list[tuple[int, int]] = []
    for which, way in moves:
        if steps and steps[-1][0] == which and (steps[-1][1] > 0) == (way > 0):
            steps[-1] = (which, steps[-1][1] + way)
        else:
            steps.append((which, way))
    return steps
