"""An invented aircraft with its log, for the tests: one rudder circuit, and short words for what is done to it."""

from __future__ import annotations

import datetime as dt

from rigging.clock import Clock
from rigging.jobs.check import check
from rigging.jobs.circuit_history import history_of
from rigging.jobs.entering import enter
from rigging.jobs.open_items import status
from rigging.jobs.recorded_check import record_check
from rigging.log.store import open_log
from rigging.report import as_json as view
from rigging.sheet.load import load_rig
from rigging.sheet.readings import parse_readings

DAY = dt.date(2026, 11, 25)
CARD = """
tensiometer_card: 1
serial: K-7
calibrated: 2026-03-01
due: 2027-03-01
accuracy: 2%
basis: measured
source: bench of the Dabchick works
columns:
  - {riser: 1, cable: 1/8, points: [[10, 10], [60, 60]]}
"""
SHEET = """
rig_sheet: 1
aircraft: {name: Dabchick}
reference_temperature: 70F
airframe: {material: aluminium}
tensiometers: [card.yaml]
circuits:
  rudder:
    sectors: {pedals: {arm: 4 in}, horn: {arm: 4 in}}
    hold: [pedals]
    friction_limit: 3 lbf
    friction_source: Dabchick notes, sheet 2
    surfaces:
      rudder:
        sector: horn
        travel: {left: 22..26 deg, right: 22..26 deg}
        neutral: 0 +-1 deg
        moves: {left pedal: left, right pedal: right}
        source: Dabchick notes, sheet 2
    cables:
      left: {size: 1/8, length: 10 ft, from: pedals +, to: horn +, turnbuckle: {thread: 1/4-28, threads_showing: [2, 2]},
             limits: 30..50 lbf @ 70F, limits_source: "Dabchick notes, sheet 1"}
      right: {size: 1/8, length: 10 ft, from: pedals -, to: horn -, turnbuckle: {thread: 1/4-28, threads_showing: [2, 2]},
              limits: 30..50 lbf @ 70F, limits_source: "Dabchick notes, sheet 1"}
"""
RIGGER, SECOND = "A. Finch", "R. Tern"
TURN = {"turnbuckle": "left", "half_turns": 2, "threads_showing": [2, 2]}
ALL_AFTER_A_TURN = {
    "tension of left", "tension of right", "travel of rudder", "neutral of rudder", "stops of rudder",
    "direction of rudder", "friction", "safetying of left", "inspection",
}  # fmt: skip
CLOSING = {
    "travel": {"surface": "rudder", "ways": {"left": "24 deg", "right": "24 deg"}, "uncertainty": "0.5 deg"},
    "neutral": {"surface": "rudder", "offset": "0.1 deg", "uncertainty": "0.3 deg"},
    "stops": {"surface": "rudder", "touches_first": {"left": "surface", "right": "surface"}},
    "friction": {"pull_one": "4 lbf", "pull_other": "2 lbf", "uncertainty": "0.4 lbf"},
    "direction": {"surface": "rudder", "seen": {"left pedal": "left", "right pedal": "Right"}},
    "safetying": {"turnbuckle": "left", "method": "locking clips", "threads_showing": [2, 2], "safe": True},
}
INSPECTED = {
    "seen": {"rudder": {"left pedal": "left", "right pedal": "right"}},
    "secured": {"left": True, "right": True},
    "free_over_full_travel": True,
    "tools_removed": True,
}


class Book:
    """A sheet and its log in a folder, with short words for what is done to them, and a clock that stands.

    now: the moment at which everything is written.
    """

    def __init__(self, folder, sheet=SHEET, card=CARD):
        self.now = dt.datetime.combine(DAY, dt.time(9), dt.UTC)
        (folder / "card.yaml").write_text(card)
        (folder / "sheet.yaml").write_text(sheet)
        self.rig = load_rig(folder / "sheet.yaml")
        self.log = open_log(str(folder / "sheet.riglog"), Clock(lambda: self.now, dt.UTC), create=True)

    def wait(self, hours):
        """Let the clock go on."""
        self.now += dt.timedelta(hours=hours)

    def add(self, kind, given=None, who=RIGGER, circuit="rudder", on=None):
        return enter(self.log, self.rig, kind, circuit, CLOSING[kind] if given is None else given, who, "here", on=on)

    def check(self, left=40, right=40, day=None, who=RIGGER, structure="70F"):
        rows = [("left", left), ("right", right)]
        text = "circuit,run,riser,dial,structure\n" + "".join(
            f"rudder,{run},1,{dial},{structure}\n" for run, dial in rows if dial is not None for _ in range(3)
        )
        readings = parse_readings(text, "here", self.rig)
        result = check(self.rig, readings, day or self.now.date())
        return record_check(self.log, self.rig, result, readings, view.check, who, None, None, "", "")

    def open(self):
        """What is open, but for the session under way, which its own signature ends."""
        return {f"{i.what}{f' of {i.of}' if i.of else ''}" for i in self.status().open if i.what != "session"}

    def status(self):
        return status(self.rig, history_of(self.log, self.rig))

    def close_all(self, but=(), on=None):
        self.check(day=on)
        for kind in CLOSING:
            if kind not in but:
                self.add(kind, on=on)

    def why(self, what):
        return next(i for i in self.status().open if what in i.label)
