"""Bedding-in: one fit after import by its number of readings, the faults looked for, a fleet in one call."""

from __future__ import annotations

import statistics
import time

import numpy as np
from scipy.optimize import curve_fit

from rigging.physics.settling import Fit, fit_many
from rigging.physics.settling_history import History, Prior
from rigging.physics.settling_state import anomaly, least_step_lbf

Row = tuple[str, float, float, str]
ROUNDS = 15
GOALS = {"forecast, 12 readings over itself": "below 50 ms", "forecast, 768 readings over": "linear would be 64 x"}
FLEET = 1000
YEAR_H = 8760.0
PRIOR = Prior(10.0, 100.0, 1.0, 504.0, YEAR_H, 300.0, 0.075, 0.62, 0.05, 0.0115)


def history(readings: int, seed: int = 1) -> History:
    """Readings over four weeks of a cable that loses 30 lbf, with temperature and two tensiometers."""
    draw = np.random.default_rng(seed)
    hours = np.concatenate([[0.0], np.geomspace(1, 672, readings - 1)])
    away = draw.uniform(-40, 0, readings)
    tension = 90 - 30 * -np.expm1(-hours / 40) + 0.62 * away + draw.normal(0, 0.8, readings)
    return History(hours, tension, np.full(readings, 0.8), away, np.zeros(readings), np.arange(readings) % 2)


def answer(one: History) -> tuple[float, float]:
    """A fit and the interval at the horizon."""
    return Fit(one, PRIOR).forecast(YEAR_H).interval()


def curve(hours: np.ndarray, start: float, drop: float, hours_log: float) -> np.ndarray:
    """The exponential law as a least-squares fit sees it."""
    return start - drop * -np.expm1(-hours * np.exp(-hours_log))


def least_squares(one: History) -> None:
    """What a fit of one curve without priors costs."""
    level = one.tension_lbf - PRIOR.slope_lbf_per_degF * one.away_degF
    curve_fit(curve, one.elapsed, level, p0=(90, 20, 4))


def rows() -> list[Row]:
    """Rows for ``run.py``."""
    sizes = (3, 12, 48, 192, 768)
    own = {n: history(n) for n in sizes}
    answer(own[3])
    twelve = "one fit and its forecast, 12 readings"
    calls = {f"one fit and its forecast, {n} readings": (lambda n=n: answer(own[n])) for n in sizes}
    for n in (12, 48, 768):
        calls[f"faults looked for, {n} readings"] = lambda n=n: anomaly(Fit(own[n], PRIOR))
    calls["the least slip that shows, 12 readings"] = lambda: least_step_lbf(Fit(own[12], PRIOR), 11)
    calls["scipy curve_fit of one law, 12 readings"] = lambda: least_squares(own[12])
    taken: dict[str, list[float]] = {name: [] for name in calls}
    for round_ in range(ROUNDS + 1):
        for name, call in calls.items():
            start = time.perf_counter()
            call()
            if round_:
                taken[name].append(1000 * (time.perf_counter() - start))
    spent = {name: statistics.median(values) for name, values in taken.items()}
    fleet = [history(12, seed) for seed in range(FLEET)]
    start = time.perf_counter()
    fit_many(fleet, [PRIOR] * FLEET)
    spent[f"{FLEET} runs in one call, 12 readings"] = 1000 * (time.perf_counter() - start)
    return [(name, ms, ms / spent[twelve], twelve if name != twelve else "itself") for name, ms in spent.items()]


if __name__ == "__main__":
    for row in rows():
        print("{:42}  {:8.1f} ms  {:8.2f} x {}".format(*row))
