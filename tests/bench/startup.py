"""Start-up: whole processes, interleaved, median of each against a bare interpreter and against importing typer."""

from __future__ import annotations

import statistics
import subprocess
import sys
import sysconfig
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PROGRAM = str(Path(sysconfig.get_path("scripts")) / "rigging")
ROUNDS = 25
GOALS = {"rigging --help over import typer": "at most 1.6 x"}
CARD = ["--card", "examples/reedling/card-0417.yaml", "--riser", "2", "--cable", "5/32"]
REEDLING = ["examples/reedling/sheet.yaml", "examples/reedling/readings.csv"]
BARE, TYPER = "python -c pass", "import typer"
COMMANDS = {
    BARE: [sys.executable, "-c", "pass"],
    TYPER: [sys.executable, "-c", "import typer"],
    "rigging --help": [PROGRAM, "--help"],
    "rigging cable 1/8": [PROGRAM, "cable", "1/8"],
    "rigging cable 1/8 --json": [PROGRAM, "cable", "1/8", "--json"],
    "rigging pounds 30 31 29": [PROGRAM, "pounds", "30", "31", "29", *CARD],
    "rigging check example": [PROGRAM, "check", *REEDLING],
    "rigging check example --json": [PROGRAM, "check", *REEDLING, "--json"],
}


def once_ms(command: list[str]) -> float:
    """One whole process [ms]."""
    start = time.perf_counter()
    subprocess.run(command, cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=False)
    return 1000 * (time.perf_counter() - start)


def rows() -> list[tuple[str, float, float, str]]:
    """Medians over rounds in which every command runs once, so that a busy moment hits all alike."""
    taken: dict[str, list[float]] = {what: [] for what in COMMANDS}
    for round_ in range(ROUNDS + 1):
        for what, command in COMMANDS.items():
            spent_ms = once_ms(command)
            if round_:  # the first round fills the caches of the disk
                taken[what].append(spent_ms)
    medians = {what: statistics.median(values) for what, values in taken.items()}
    return [
        (what, median_ms, median_ms / medians[rival], rival)
        for what, median_ms in medians.items()
        for rival in (BARE, TYPER)
        if what not in (BARE, rival)
    ]
