"""A card: a dial to pounds and back, one by one as the commands do it, against ``numpy.interp`` called for each."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from rigging.measure.card import dial_to_lbf, lbf_to_dial, load_card

ROOT = Path(__file__).resolve().parents[2]
CALLS = 2000
ROUNDS = 9


def rows() -> list[tuple[str, float, float, str]]:
    """Rows for ``run.py``; a time is that of a thousand conversions."""
    column = load_card(ROOT / "examples/reedling/card-0417.yaml").columns[0]
    dials = np.array([dial for dial, _ in column.points])
    tensions = np.array([tension for _, tension in column.points])
    at_dial = np.linspace(dials[0], dials[-1], CALLS).tolist()
    at_lbf = np.linspace(tensions[0], tensions[-1], CALLS).tolist()
    calls: dict[str, Callable[[], object]] = {
        "1000 dials by numpy.interp, one by one": lambda: [float(np.interp(x, dials, tensions)) for x in at_dial],
        "1000 dials to pounds": lambda: [dial_to_lbf(column, x) for x in at_dial],
        "1000 pounds to dials": lambda: [lbf_to_dial(column, x) for x in at_lbf],
    }
    assert np.allclose(calls["1000 dials to pounds"](), np.interp(at_dial, dials, tensions), rtol=1e-12)
    taken: dict[str, list[float]] = {name: [] for name in calls}
    for _ in range(ROUNDS):
        for name, call in calls.items():
            start = time.perf_counter()
            call()
            taken[name].append(1000 * (time.perf_counter() - start) * 1000 / CALLS)
    spent = {name: statistics.median(values) for name, values in taken.items()}
    rival, *_ = calls
    return [(name, ms, ms / spent[rival], "numpy.interp" if name != rival else "itself") for name, ms in spent.items()]
