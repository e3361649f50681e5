"""Every model a second time by another method: how far the two lie apart is asserted, kept, and printed at the end."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

HERE = Path(__file__).resolve().parent


@pytest.fixture
def agrees(record_property: Callable[[str, object], None]) -> Any:
    """``agrees("what", found, expected, within)``: no further apart than that share of the expected value.

    of: what the distance is a share of instead, 1 for an absolute one. Arrays agree where each of their values does.
    """
    largest: dict[str, list[float]] = {}

    def check(what: str, found: Any, expected: Any, within: float, of: Any = None) -> None:
        found, expected = np.asarray(found, dtype=float), np.asarray(expected, dtype=float)
        assert found.shape == expected.shape, f"{what}: {found.shape} against {expected.shape}"
        size = np.abs(expected) if of is None else np.asarray(of, dtype=float)
        same = found == expected  # of zeroes and infinities too
        with np.errstate(divide="ignore", invalid="ignore"):
            apart = np.where(same, 0.0, np.abs(found - expected) / size)
        worst = float(np.max(apart, initial=0.0))
        where = np.unravel_index(int(np.argmax(apart)), apart.shape) if apart.size else ()
        if what not in largest:
            largest[what] = [0.0, within, 0]
        entry = largest[what]
        entry[:] = [max(entry[0], worst), max(entry[1], within), entry[2] + max(1, found.size)]
        record_property("independent", (what, *entry))
        assert worst <= within, (
            f"{what}: {found[where]} against {expected[where]}, {worst:.3g} apart and not {within:g}"
        )

    return check


def pytest_terminal_summary(terminalreporter: Any) -> None:
    """The table of largest deviations, one line for each comparison."""
    found: dict[tuple[str, str], tuple[float, float, int]] = {}
    for report in (r for kind in ("passed", "failed") for r in terminalreporter.stats.get(kind, [])):
        by_what = {value[0]: value for key, value in getattr(report, "user_properties", []) if key == "independent"}
        module = Path(str(getattr(report, "nodeid", "")).split("::")[0]).stem.removeprefix("test_")
        for what, worst, within, count in by_what.values():
            before = found.get((module, what), (0.0, 0.0, 0))
            found[module, what] = (max(before[0], worst), max(before[1], within), before[2] + count)
    if not found:
        return
    terminalreporter.section("largest deviation of each comparison")
    terminalreporter.write_line(f"{'module':16s} {'largest':>9s} {'allowed':>9s} {'values':>8s}  what")
    for (module, what), (worst, within, count) in sorted(found.items()):
        terminalreporter.write_line(f"{module:16s} {worst:9.2g} {within:9.2g} {count:8d}  {what}")
