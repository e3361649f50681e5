"""Which test runs which line of the package: a pytest plugin that notes lines and seconds of every test.

Asked for as ``-p cover`` with MUTATION_MAP naming the file to write. Lines run while a module is imported belong to no
test; they stand under an empty name.
"""

from __future__ import annotations

import json
import os
from collections import defaultdict
from pathlib import Path
from typing import Any

import coverage
import pytest

ROOT = Path(__file__).resolve().parents[2]
ROOMS = ("physics", "measure", "judge")
SECONDS: dict[str, float] = defaultdict(float)
FAILED: set[str] = set()
COVER = coverage.Coverage(
    data_file=None, include=[str(ROOT / "rigging" / room / "*") for room in ROOMS], messages=False
)
COVER.start()


@pytest.hookimpl(wrapper=True)
def pytest_runtest_protocol(item: pytest.Item) -> Any:
    """Lines run from here on belong to this test."""
    COVER.switch_context(item.nodeid)
    try:
        return (yield)
    finally:
        COVER.switch_context("")


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    """Seconds of set-up, test and clearing away together; what fails without a mutant can tell nothing."""
    SECONDS[report.nodeid] += report.duration
    if not report.passed:
        FAILED.add(report.nodeid)


def pytest_sessionfinish() -> None:
    """Write what was seen."""
    COVER.stop()
    data = COVER.get_data()
    lines = {
        str(Path(file).relative_to(ROOT)): {
            line: names for line, names in data.contexts_by_lineno(file).items() if line
        }
        for file in sorted(data.measured_files())
    }
    seen = {"lines": lines, "seconds": dict(SECONDS), "failed": sorted(FAILED)}
    Path(os.environ["MUTATION_MAP"]).write_text(json.dumps(seen), encoding="utf-8")
