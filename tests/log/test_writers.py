"""Eight benches write at once: one unbroken chain, nothing lost, nobody's entries out of their own order."""

from __future__ import annotations

import subprocess
import sys
from collections import defaultdict
from pathlib import Path

import pytest

from rigging.cli.options import CLOCK
from rigging.log.store import open_log

pytestmark = pytest.mark.slow

WRITERS = 8
EACH = 1000
PATIENCE_S = 300


def test_eight_writers_of_a_thousand_entries_make_one_chain(place: str) -> None:
    with open_log(place, CLOCK, create=True):
        pass
    program = Path(__file__).with_name("writer.py")
    writers = [
        subprocess.Popen(
            [sys.executable, program, place, f"writer {i}", str(EACH)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        for i in range(WRITERS)
    ]
    try:
        for writer in writers:
            assert writer.stdout is not None and writer.stdin is not None
            said = writer.stdout.readline()
            assert said == "ready\n", writer.communicate()[1]
        for writer in writers:
            assert writer.stdin is not None
            writer.stdin.write("go\n")
            writer.stdin.flush()
        for writer in writers:
            _, errors = writer.communicate(timeout=PATIENCE_S)
            assert writer.returncode == 0, errors
    finally:
        for writer in writers:
            writer.kill()
            writer.communicate()
    with open_log(place, CLOCK) as log:
        state = log.verify()
        assert state.intact and state.entries == log.head().entries == WRITERS * EACH
        orders: dict[str, list[int]] = defaultdict(list)
        turns, last = 0, ""
        for entry in log.entries():
            orders[entry.who].append(entry.payload["n"])
            turns, last = turns + (entry.who != last), entry.who
    assert orders == {f"writer {i}": list(range(1, EACH + 1)) for i in range(WRITERS)}
    assert turns > EACH, "they hardly wrote at the same time"
