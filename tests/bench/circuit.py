"""Circuits: one solve against scipy's minimiser on the same energy, a batch against its singles, 3 to 300 cables."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable

import numpy as np
from scipy.optimize import minimize

from rigging.physics.circuit import Circuit, Joint, Link

Row = tuple[str, float, float, str]
ROUNDS = 15
GOALS = {
    "scipy minimize, BFGS over one solve": "at least 100 x",
    "one after the other over 10000 temperatures at once, all tight": "at least 30 x",
    "one after the other over 10000 temperatures at once, the cold third slack": "at least 30 x",
}
CASES = 10_000


def ring(cables: int) -> Circuit:
    """Cables from sector to sector and back to the first, which is held; no two neighbours alike."""
    names = [f"s{i}" for i in range(cables)]
    links = [
        Link(f"c{i}", 500.0 + 40.0 * (i % 7), Joint(names[i], 1, 3.0), Joint(names[(i + 1) % cables], -1, 3.0))
        for i in range(cables)
    ]
    return Circuit(names, links, names[:1])


def medians_ms(what: dict[str, tuple[Callable[[], object], int]]) -> dict[str, float]:
    """Median time of one call [ms]; the calls of each round stand side by side, so that a busy moment hits all alike."""
    taken: dict[str, list[float]] = {name: [] for name in what}
    for round_ in range(ROUNDS + 1):
        for name, (call, times) in what.items():
            start = time.perf_counter()
            for _ in range(times):
                call()
            if round_:
                taken[name].append(1000 * (time.perf_counter() - start) / times)
    return {name: statistics.median(values) for name, values in taken.items()}


def rows() -> list[Row]:
    """Rows for ``run.py``; a median above stands for 1000 solves where it says so."""
    return [*against_scipy(), *in_turn(), *against_singles(), *against_three()]


def against_scipy() -> list[Row]:
    """Three cables, tight and with one half slack, from rest."""
    found: list[Row] = []
    circuit = ring(3)
    k = circuit.stiffness_lbf_per_in
    a = np.array([[-3.0, 0.0], [3.0, -3.0], [0.0, 3.0]])
    stretch = np.array([0.06, 0.05, 0.07])
    for state, load in (("all tight", 20.0), ("some slack", 600.0)):
        moment = np.array([load, 0.0])
        full = np.array([0.0, load, 0.0])

        def energy(z: np.ndarray, moment: np.ndarray = moment) -> float:
            x = np.maximum(0.0, stretch + a @ z)
            return float(0.5 * (k * x) @ x - moment @ z)

        def slope(z: np.ndarray, moment: np.ndarray = moment) -> np.ndarray:
            return a.T @ (k * np.maximum(0.0, stretch + a @ z)) - moment

        ours = circuit.solve(stretch, full)
        theirs = minimize(energy, np.zeros(2), jac=slope, options={"gtol": 1e-9})
        apart = np.abs(k * np.maximum(0.0, stretch + a @ theirs.x) - ours.tension_lbf).max()
        assert apart < 1e-3, f"the two do not solve the same circuit: {apart} lbf apart"
        one = f"one solve, 3 cables, {state}"
        spent = medians_ms(
            {
                one: (lambda full=full: circuit.solve(stretch, full), 100),
                "scipy minimize, BFGS": (lambda energy=energy: minimize(energy, np.zeros(2)), 3),
                "scipy minimize, BFGS with gradient": (lambda e=energy, s=slope: minimize(e, np.zeros(2), jac=s), 3),
            }
        )
        found.append((f"1000 times {one}", 1000 * spent[one], 1.0, "itself"))
        found += [(f"1000 times {name}", 1000 * ms, ms / spent[one], one) for name, ms in spent.items() if name != one]
    return found


def in_turn() -> list[Row]:
    """The same three cables tight and slack in turn: what it costs where the cables that were tight last are not."""
    circuit, stretch = ring(3), np.array([0.06, 0.05, 0.07])
    loads = [np.array([0.0, 20.0, 0.0]), np.array([0.0, 600.0, 0.0])]

    def both() -> None:
        for load in loads:
            circuit.solve(stretch, load)

    spent = medians_ms({"tight": (lambda: circuit.solve(stretch, loads[0]), 100), "in turn": (both, 100)})
    return [("1000 times one solve, 3 cables, tight and slack in turn", 500 * spent["in turn"],
             spent["in turn"] / spent["tight"] / 2, "one solve, 3 cables, all tight")]  # fmt: skip


def loops(count: int) -> Circuit:
    """A stick that is held and sectors in a row behind it, two cables between each."""
    names = [f"s{i}" for i in range(count + 1)]
    links = [
        Link(f"c{i}{side:+d}", 500.0 + 40.0 * i, Joint(names[i], side, 3.0), Joint(names[i + 1], -side, 3.0))
        for i in range(count)
        for side in (1, -1)
    ]
    return Circuit(names, links, names[:1])


def against_singles() -> list[Row]:
    """Ten thousand temperatures at once against one after the other: all tight, from slack to tight, and any load."""
    found: list[Row] = []
    per_degF = np.array([0.4e-3, 0.5e-3, 0.4e-3])
    change = np.linspace(-70.0, 90.0, CASES)[:, None]
    rng = np.random.default_rng(1)
    four = 0.05 + np.tile(change * 0.5e-3, 8), rng.normal(0.0, 150.0, (CASES, 5))
    for state, circuit, stretch, load in (
        ("all tight", ring(3), 0.1 + change * per_degF, None),
        ("the cold third slack", ring(3), 0.02 + change * per_degF, None),
        ("four loops, a load of its own each", loops(4), *four),
    ):

        def singles(circuit: Circuit = circuit, stretch: np.ndarray = stretch, load: np.ndarray | None = load) -> None:
            for i, row in enumerate(stretch):
                circuit.solve(row, None if load is None else load[i])

        spent = medians_ms({"batch": (lambda c=circuit, x=stretch, m=load: c.solve(x, m), 1), "singles": (singles, 1)})
        at_once = f"{CASES} temperatures at once, {state}"
        found.append((at_once, spent["batch"], 1.0, "itself"))
        found.append(("one after the other", spent["singles"], spent["singles"] / spent["batch"], at_once))
    return found


def against_three() -> list[Row]:
    """What more cables cost: to build, and to solve all tight or with half the ring slack."""
    calls: dict[str, tuple[Callable[[], object], int]] = {}
    sizes = (3, 10, 30, 100, 300)
    for cables in sizes:
        circuit = ring(cables)
        stretch = 0.05 + 0.01 * np.sin(np.arange(cables))
        load = np.zeros(cables)
        load[cables // 2] = 1e4
        calls[f"build {cables}"] = (lambda cables=cables: ring(cables), 1)
        calls[f"tight {cables}"] = (lambda c=circuit, x=stretch: c.solve(x), 50)
        calls[f"slack {cables}"] = (lambda c=circuit, x=stretch, m=load: c.solve(x, m), 10)
    spent = medians_ms(calls)
    words = {
        "build": ("build {} cables, once", 1),
        "tight": ("1000 times {} cables, all tight", 1000),
        "slack": ("1000 times {} cables, half slack", 1000),
    }
    return [
        (text.format(n), times * spent[f"{kind} {n}"], spent[f"{kind} {n}"] / spent[f"{kind} 3"], "3 cables")
        for kind, (text, times) in words.items()
        for n in sizes[1:]
    ]


if __name__ == "__main__":
    for row in rows():
        print("{:50}  {:8.1f} ms  {:8.4f} x {}".format(*row))
