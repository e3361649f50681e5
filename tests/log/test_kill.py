"""Killed at any instant, nothing acknowledged is lost and nothing half is there."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from collections import defaultdict
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from rigging.cli.options import CLOCK
from rigging.log.entry import Draft
from rigging.log.store import Log, open_log

pytestmark = pytest.mark.slow

KILLS = 200
PATIENCE_S = 60.0
Kill = Callable[[str, Path, float, bool], list[str]]


@pytest.fixture
def kill() -> Iterator[Kill]:
    """Start a writer, kill it after a while, and return the lines of what it acknowledged.

    The while runs from the moment the log is open, or from the start of the process.
    """
    program = Path(__file__).with_name("nursery.py")
    nursery = subprocess.Popen([sys.executable, program], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    assert nursery.stdin is not None and nursery.stdout is not None
    assert nursery.stdout.readline() == "ready\n"

    def ask(line: str) -> int:
        assert nursery.stdin is not None and nursery.stdout is not None
        nursery.stdin.write(line + "\n")
        nursery.stdin.flush()
        return int(nursery.stdout.readline())

    def run(place: str, acknowledged: Path, after_s: float, from_open: bool) -> list[str]:
        acknowledged.write_bytes(b"")
        child = ask(f"{place}\t{acknowledged}")
        end = time.monotonic() + PATIENCE_S
        while from_open and not acknowledged.stat().st_size:
            assert time.monotonic() < end
            time.sleep(0.0005)
        time.sleep(after_s)
        os.kill(child, signal.SIGKILL)
        status = ask("reap")
        assert os.WIFSIGNALED(status), f"the writer ended by itself: {status}"
        return acknowledged.read_text().splitlines()

    try:
        yield run
    finally:
        nursery.communicate(timeout=PATIENCE_S)


def whole(log: Log) -> int:
    """The number of entries of a log that is intact and holds no half call."""
    state = log.verify()
    assert state.intact, state
    parts: dict[str, list[int]] = defaultdict(list)
    sizes: dict[str, int] = {}
    for entry in log.entries():
        if "token" in entry.payload:
            parts[entry.payload["token"]].append(entry.payload["part"])
            sizes[entry.payload["token"]] = entry.payload["of"]
    assert {token: list(range(size)) for token, size in sizes.items()} == parts
    return state.entries


def test_what_was_acknowledged_outlives_200_kills(kill: Kill, tmp_path: Path) -> None:
    chance = random.Random(5)
    calls = 0
    # a fresh log every 25 kills: the walk along a long one would take longer than the killing
    for generation in range(KILLS // 25):
        place = str(tmp_path / f"bench{generation}.riglog")
        with open_log(place, CLOCK, create=True):
            pass
        for _ in range(25):
            lines = kill(place, tmp_path / "acknowledged", chance.uniform(0, 0.04), True)
            with open_log(place, CLOCK) as log:
                whole(log)
                assert lines[0] == "open"
                for line in lines[1:]:
                    first, last, token = line.split()
                    assert [log.entry(n).payload["token"] for n in range(int(first), int(last) + 1)] == [token] * (
                        int(last) - int(first) + 1
                    )
                    calls += 1
                log.append([Draft("B. Strut", "note", "Reedling 3", "", {})], program="test", tables={})
    assert calls > KILLS, "the kills came before anything was written: they show nothing"


def test_the_server_keeps_what_was_acknowledged_too(kill: Kill, tmp_path: Path, cluster) -> None:
    chance = random.Random(6)
    place = cluster.schema()
    with open_log(place, CLOCK, create=True):
        pass
    calls = 0
    for _ in range(30):
        lines = kill(place, tmp_path / "acknowledged", chance.uniform(0, 0.04), True)
        with open_log(place, CLOCK) as log:
            whole(log)
            for line in lines[1:]:
                first, last, token = line.split()
                assert log.entry(int(first)).payload["token"] == log.entry(int(last)).payload["token"] == token
                calls += 1
            log.append([Draft("B. Strut", "note", "Reedling 3", "", {})], program="test", tables={})
    assert calls > 30


def test_a_log_whose_making_was_killed_is_made_anew(kill: Kill, tmp_path: Path) -> None:
    chance = random.Random(7)
    seen: set[str] = set()
    for i in range(100):
        path = tmp_path / f"bench{i}.riglog"
        lines = kill(str(path), tmp_path / "acknowledged", chance.uniform(0, 0.03), False)
        seen.add("no file" if not path.exists() else "opened" if lines else "between")
        with open_log(str(path), CLOCK, create=True) as log:
            before = whole(log)
            log.append([Draft("B. Strut", "note", "Reedling 3", "", {})], program="test", tables={})
            assert log.verify().entries == before + 1
        with open_log(str(path), CLOCK) as log:
            assert log.head().entries == before + 1
    assert len(seen) > 1, "every kill came before the making, or every one after it"
