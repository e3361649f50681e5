"""What the tests of the record share: an invented aircraft with its log, a whole job on it, and the browser."""

from __future__ import annotations

import datetime as dt
import importlib.util
import os
import sqlite3
import sys
from pathlib import Path

import pytest

from rigging.jobs.check import check
from rigging.jobs.record import record
from rigging.jobs.recorded_check import recompute, record_check
from rigging.report import as_json as view
from rigging.sheet.load import load_rig
from rigging.sheet.readings import parse_readings

TESTS = Path(__file__).resolve().parents[1]


def neighbour(name: str, path: Path):
    """A module that lies beside the tests and is none of them."""
    spec = importlib.util.spec_from_file_location(name, path)
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    return module


dabchick = neighbour("dabchick_of_the_record", TESTS / "dabchick.py")
chromium = neighbour("chromium_of_the_record", TESTS / "report" / "chromium.py")
# with days to draw, and a second circuit, so that there is a page to break to
SHEET = (
    dabchick.SHEET.replace("airframe: ", "temperatures: {coldest: 0F, hottest: 110F}\nairframe: ")
    + """\
  trim:
    sectors: {wheel: {arm: 2 in}, tab: {arm: 2 in}}
    hold: [wheel]
    cables:
      up: {size: 1/8, length: 9 ft, from: wheel +, to: tab +, limits: 10..20 lbf @ 70F, limits_source: "Dabchick notes, sheet 3"}
      down: {size: 1/8, length: 9 ft, from: wheel -, to: tab -, limits: 10..20 lbf @ 70F, limits_source: "Dabchick notes, sheet 3"}
"""
)


class Job(dabchick.Book):
    """The aircraft with a clock of its own, so that a story of weeks is written in a moment."""

    def __init__(self, folder: Path, sheet: str = SHEET) -> None:
        super().__init__(folder, sheet)
        self.folder = folder
        self.now = dt.datetime(2026, 11, 2, 8, 0, tzinfo=dt.UTC)

    def add(self, kind, given=None, who=dabchick.RIGGER, circuit="rudder", on=None):
        self.wait(0.1)
        return super().add(kind, given, who, circuit, on)

    def read(
        self, left: object, right: object, structure: str = "70F", day: dt.date | None = None, circuit: str = "rudder"
    ):
        """A check of both cables, in the words of a file of readings."""
        self.wait(0.1)
        runs = list(self.rig.file.circuits[circuit].cables)
        text = "circuit,run,riser,dial,structure,state,note\n" + "".join(
            f"{circuit},{run},1,{dial},{structure},on wheels,wiped\n"
            for run, dial in zip(runs, (left, right), strict=True)
            for _ in range(3)
        )
        readings = parse_readings(text, "here", self.rig)
        result = check(self.rig, readings, day or self.now.date())
        return record_check(
            self.log, self.rig, result, readings, view.check, dabchick.RIGGER, None, None, "since 07:30", ""
        )

    def inspect(self, who=dabchick.SECOND, **other):
        return self.add("inspection", {**dabchick.INSPECTED, "secured": {"left": True, "right": True}, **other}, who)

    def again(self) -> None:
        """Read the sheet anew."""
        self.rig = load_rig(self.folder / "sheet.yaml")

    def record(self, recomputed: bool = False):
        again = (lambda n: recompute(self.log, n, view.check)) if recomputed else None
        return record(self.log, self.rig, again)

    def break_at(self, sequence: int) -> None:
        """Change a byte of an entry, as someone would who knows how to get past the guards."""
        raw = sqlite3.connect(self.folder / "sheet.riglog")
        for (name,) in raw.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            raw.execute(f'DROP TRIGGER "{name}"')
        changed = raw.execute(
            "UPDATE entries SET record = replace(record, 'A. Finch', 'A. Binch') WHERE sequence = ?", (sequence,)
        )
        assert changed.rowcount == 1
        raw.commit()
        raw.close()

    def whole_job(self) -> None:
        """Cables fitted, turned, settled, everything looked at by two people, and signed; trim was only read."""
        fitted = {"assembly": "R-7", "batch": "W22", "proof_load": "1200 lbf", "proof_time": "3 min", "gauge": "L-09"}
        for cable in ("left", "right"):
            self.add("cable-fitted", {"cable": cable, **fitted})
        self.read(36, 36, "64F")
        turned = self.add("adjustment", {"turnbuckle": "left", "half_turns": 4, "threads_showing": [2, 2]})
        self.add(
            "correction",
            {"corrects": turned.sequence, "reason": "two half turns, not four",
             "instead": {"turnbuckle": "left", "half_turns": 2, "threads_showing": [2, 2]}},
            circuit="",
        )  # fmt: skip
        for hours, dial, structure in ((3, 44, "66F"), (30, 42, "64F"), (200, 41, "66F"), (200, 41, "66F")):
            self.wait(hours)
            self.read(dial, dial, structure)
        for kind in dabchick.CLOSING:
            self.add(kind)
        self.add("safetying", {**dabchick.CLOSING["safetying"], "turnbuckle": "right"})
        self.add("condition", {"part": "left", "worn": "10%", "broken_wires": 0})
        self.add("note", {"text": "new locking clips ordered"}, circuit="")
        self.inspect()


@pytest.fixture(scope="session")
def new_job():
    """Makes the aircraft in a folder: for what several tests look at."""
    return Job


@pytest.fixture
def job(tmp_path):
    made = Job(tmp_path)
    yield made
    made.log.close()


@pytest.fixture(scope="module")
def browser():
    """One browser for all tests of a file."""
    if chromium.find() is None:
        assert not os.environ.get("RIGGING_NEED_CHROMIUM"), chromium.MISSING
        pytest.skip(chromium.MISSING)
    opened = chromium.Chromium()
    yield opened
    opened.close()
