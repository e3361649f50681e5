"""The record: the whole page of a log of 1000 entries, against drawing the same pictures alone."""

from __future__ import annotations

import datetime as dt
import statistics
import tempfile
import time
from pathlib import Path
from typing import Any

from rigging.cli.options import CLOCK
from rigging.jobs.check import check
from rigging.jobs.entering import enter
from rigging.jobs.record import Record, record
from rigging.jobs.recorded_check import record_check
from rigging.log.store import Log, open_log
from rigging.report import as_json as view
from rigging.report.html.page import Pictures, page
from rigging.sheet.load import load_rig
from rigging.sheet.readings import parse_readings

Row = tuple[str, float, float, str]
ENTRIES = 1000
ROUNDS = 3
EXAMPLE = Path(__file__).resolve().parents[2] / "examples" / "reedling"
RUNS = {
    "aileron": {"left": "wing root", "balance": "mid span", "right": "wing root"},
    "elevator": {"up": "", "down": ""},
}


def rows() -> list[Row]:
    """Rows for ``run.py``."""
    with tempfile.TemporaryDirectory() as folder:
        for path in EXAMPLE.iterdir():
            (Path(folder) / path.name).write_bytes(path.read_bytes())
        rig = load_rig(Path(folder) / "sheet.yaml")
        with open_log(str(Path(folder) / "sheet.riglog"), CLOCK, create=True) as log:
            fill(log, rig)
            page(record(log, rig))  # fonts are looked up once
            taken: dict[str, list[float]] = {"gathered": [], "whole": [], "pictures": []}
            for _ in range(ROUNDS):
                start = time.perf_counter()
                found = record(log, rig)
                middle = time.perf_counter()
                page(found)
                end = time.perf_counter()
                pictures(found)
                taken["gathered"].append(1000 * (middle - start))
                taken["whole"].append(1000 * (end - start))
                taken["pictures"].append(1000 * (time.perf_counter() - end))
    gathered, whole, alone = (statistics.median(taken[name]) for name in ("gathered", "whole", "pictures"))
    count = sum(len(c.settling) + 1 for c in found.circuits)
    return [
        (f"{count} pictures of it alone", alone, 1.0, "itself"),
        (f"gathering {ENTRIES} entries", gathered, gathered / alone, "the pictures"),
        (f"the whole record of {ENTRIES} entries", whole, whole / alone, "the pictures"),
    ]


def pictures(found: Record) -> None:
    """Every picture of the record and nothing else."""
    drawn = Pictures(found)
    for circuit in found.circuits:
        for told in circuit.settling:
            drawn.settling(told)
        drawn.seasons(circuit)


def fill(log: Log, rig: Any) -> None:
    """Checks of two circuits over a year, with notes between, on a clock of its own."""
    clock = dt.datetime(2026, 3, 3, 8, 0, tzinfo=dt.UTC)
    real = log.append
    log.append = lambda drafts, **how: real(drafts, **{**how, "now": lambda: clock})  # type: ignore[method-assign]
    while log.head().entries < ENTRIES:
        clock += dt.timedelta(hours=8)
        loss = log.head().entries / ENTRIES
        text = "circuit,run,station,riser,dial,structure\n" + "".join(
            f"{circuit},{run},{station},1,{27 - loss + i / 10:.1f},66F\n"
            for circuit, runs in RUNS.items()
            for run, station in runs.items()
            for i in range(3)
        )
        readings = parse_readings(text, "bench", rig)
        result = check(rig, readings, clock.date())
        record_check(log, rig, result, readings, view.check, "A. Wing", None, None, "since 07:30", "on its wheels")
        for n in range(3):
            enter(log, rig, "note", "aileron", {"text": f"pulley {n} wiped"}, "A. Wing", "bench")
    del log.append


if __name__ == "__main__":
    for row in rows():
        print("{:45}  {:8.1f} ms  {:6.2f} x {}".format(*row))
