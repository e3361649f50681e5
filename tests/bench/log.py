"""The log: a durable append against a raw SQLite commit of the same bytes, verify against a bare loop of JSON and SHA-256."""

from __future__ import annotations

import hashlib
import json
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from rigging.cli.options import CLOCK
from rigging.log.chain import GENESIS, Sealed, seal
from rigging.log.entry import Draft, Entry, text_of
from rigging.log.store import open_log

Row = tuple[str, float, float, str]
APPENDS = 600
ENTRIES = 1_000_000
ROUNDS = 3
GOALS = {"1000 appends": "at most 1.5 x", f"verify {ENTRIES}": "at most 2 x", "peak memory": "the same"}
PAYLOAD = {
    "instrument": "card 0007",
    "structure_degF": 64.0,
    "air_degF": 61.5,
    "readings": [{"run": run, "riser": "1", "dial": 30.5 + i, "tension_lbf": 31.0 + i} for i, run in enumerate("abcd")],
    "remark": "pulleys turned by hand, cable wiped",
}
DRAFT = Draft("A. Wing", "check", "Reedling 3", "rudder", PAYLOAD)
PROGRAM, TABLES = "rigging 0", {"cable": "0" * 64}


def rows() -> list[Row]:
    """Rows for ``run.py``; a median of appends stands for 1000 of them."""
    with tempfile.TemporaryDirectory() as folder:
        return [*appends(Path(folder)), *verifies(Path(folder))]


def appends(folder: Path) -> list[Row]:
    """One entry per transaction, in turns with a plain connection that commits the very same row."""
    found: list[Row] = []
    raw = sqlite3.connect(folder / "raw", isolation_level=None)
    raw.execute("PRAGMA journal_mode=WAL")
    raw.execute("PRAGMA synchronous=FULL")
    raw.execute(
        "CREATE TABLE entries (sequence INTEGER PRIMARY KEY, aircraft, kind, circuit, record, previous_hash, hash)"
    )
    raw.execute("CREATE INDEX by_aircraft ON entries (aircraft, sequence, kind, circuit)")
    with open_log(str(folder / "log"), CLOCK, create=True) as log:
        taken: dict[str, list[float]] = {"append": [], "raw": []}
        for i in range(APPENDS + 20):
            start = time.perf_counter()
            [entry] = log.append([DRAFT], program=PROGRAM, tables=TABLES)
            middle = time.perf_counter()
            sealed = seal(entry.sequence, text_of(entry), log.head().head_hash)
            row = (sealed.sequence, entry.aircraft, entry.kind, entry.circuit, *sealed[1:])
            before = time.perf_counter()
            raw.execute("BEGIN IMMEDIATE")
            raw.execute("INSERT INTO entries VALUES (?, ?, ?, ?, ?, ?, ?)", row)
            raw.execute("COMMIT")
            end = time.perf_counter()
            if i >= 20:
                taken["append"].append(1000 * (middle - start))
                taken["raw"].append(1000 * (end - before))
    raw.close()
    ours, theirs = (statistics.median(taken[name]) for name in ("append", "raw"))
    found.append(("1000 raw SQLite commits of the same row", 1000 * theirs, 1.0, "itself"))
    found.append(("1000 appends", 1000 * ours, ours / theirs, "a raw commit"))
    return found


def chain(entries: int) -> Iterator[Sealed]:
    """That many entries, sealed."""
    head = GENESIS
    for i in range(1, entries + 1):
        payload = {**PAYLOAD, "air_degF": 40.0 + i % 50}
        entry = Entry(
            i,
            "2026-11-25T13:40:00.123456Z",
            "A. Wing",
            "check",
            f"Reedling {i % 9}",
            "rudder",
            payload,
            PROGRAM,
            TABLES,
        )
        sealed = seal(i, text_of(entry), head)
        head = sealed.hash
        yield sealed


def bare(path: Path) -> None:
    """What anybody would write: every record read as JSON and hashed."""
    connection = sqlite3.connect(path)
    head = GENESIS.encode()
    for (record,) in connection.execute("SELECT record FROM entries ORDER BY sequence"):
        json.loads(record)
        head = hashlib.sha256(head + record.encode()).hexdigest().encode()
    connection.close()


def verify(path: Path) -> None:
    """The chain, the columns and the file."""
    with open_log(str(path), CLOCK) as log:
        assert log.verify().intact


def peak_mb(path: Path) -> float:
    """Peak memory of a process that opens and verifies a log [MB]."""
    code = (
        "import resource, sys; from rigging.log.store import open_log\n"
        "with open_log(sys.argv[1]) as log: assert log.verify().intact\n"
        "print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)"
    )
    done = subprocess.run([sys.executable, "-c", code, path], capture_output=True, text=True, check=True)
    return float(done.stdout)


def verifies(folder: Path) -> list[Row]:
    """A million entries, in turns with the bare loop; memory of ten thousand against a million."""
    small, large = folder / "small", folder / "large"
    for path, entries in ((small, 10_000), (large, ENTRIES)):
        with open_log(str(path), CLOCK, create=True) as log:
            log.take(chain(entries))
    taken: dict[str, list[float]] = {"verify": [], "bare": []}
    for _ in range(ROUNDS):
        for name, call in (("bare", bare), ("verify", verify)):
            start = time.perf_counter()
            call(large)
            taken[name].append(1000 * (time.perf_counter() - start))
    ours, theirs = (statistics.median(taken[name]) for name in ("verify", "bare"))
    memory, little = peak_mb(large), peak_mb(small)
    return [
        (f"bare loop of JSON and SHA-256, {ENTRIES} entries", theirs, 1.0, "itself"),
        (f"verify {ENTRIES} entries", ours, ours / theirs, "the bare loop"),
        (
            f"peak memory of verify: {memory:.1f} MB, of 10000 entries {little:.1f} MB",
            0.0,
            memory / little,
            "10000 entries",
        ),
    ]


if __name__ == "__main__":
    for row in rows():
        print("{:65}  {:8.1f} ms  {:8.4f} x {}".format(*row))
