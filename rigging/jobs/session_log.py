"""What a log tells of the guided session under way: what was answered, what was left out, what is to be done anew.

Nothing else is remembered. What was corrected counts as it stands now, as everywhere.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from functools import cached_property
from typing import Any, Final

import msgspec

from rigging.clock import Clock
from rigging.errors import Refusal
from rigging.jobs.brief import briefs
from rigging.jobs.circuit_history import CircuitHistory, History, gather
from rigging.jobs.under_way import is_ended
from rigging.log.contents import check_of, day_of, is_dated_back, stands_instead
from rigging.log.entry import Entry, hours_between
from rigging.log.kinds import AGAIN, ANSWER, CHANGES, CHECK, CORRECTION, DOCUMENT, SESSION, SIGNATURE, read_given
from rigging.sheet.readings import Reading

CONDITIONS_HOLD: Final = 4.0  # hours a temperature is taken to hold (practice: manuals ask for 1 to 4 of steady ones)


def begun(entries: Sequence[Entry]) -> Entry | None:
    """The session that is neither signed nor withdrawn, None where there is none.

    A signature ends it that covers all its circuits, or that it made itself.
    """
    withdrawn = {int(e.payload["given"]["corrects"]) for e in entries if e.kind == CORRECTION}
    found = None
    for entry in entries:
        if entry.kind == SESSION and entry.sequence not in withdrawn:
            found = entry
        elif entry.kind == SIGNATURE and found is not None:
            given = entry.payload["given"]
            if is_ended(found.sequence, found.payload["given"]["circuits"], given["circuits"], given.get("remark")):
                found = None
    return found


class Conditions(msgspec.Struct, frozen=True):
    """Conditions as they stand: from which entry on they hold, which entry says so, of which day, and what was typed."""

    since: int
    said: int
    day: dt.date
    time_utc: str | None
    given: dict[str, Any]


class Told:
    """The session under way, by its entries. Raises Refusal where none is."""

    def __init__(self, entries: Sequence[Entry]) -> None:
        session = begun(entries)
        if session is None:
            raise Refusal("no session is under way: begin one")
        self.session = session
        self.all = [e for e in entries if e.kind != DOCUMENT]
        corrections = {int(e.payload["given"]["corrects"]): e for e in self.all if e.kind == CORRECTION}
        by_number = {e.sequence: e for e in self.all}
        self.entries: list[Entry] = []
        self._place: dict[int, int] = {}
        for entry in self.all:
            if entry.sequence <= session.sequence:
                continue
            if entry.kind == CORRECTION and entry.sequence not in corrections:
                wrong = by_number.get(int(entry.payload["given"]["corrects"]))
                instead = stands_instead(entry, wrong) if wrong else None
                # of what stood before the session only a change of the circuit has a part in it
                if wrong and instead and (wrong.sequence > session.sequence or wrong.kind in CHANGES):
                    self.entries.append(instead)
                    self._place[entry.sequence] = wrong.sequence
            elif entry.sequence not in corrections or entry.kind in CHANGES:
                # a change that was logged keeps what it opened, corrected or not
                self.entries.append(entry)

    @property
    def circuits(self) -> list[str]:
        """The circuits of the session."""
        return list(self.session.payload["given"]["circuits"])

    @cached_property
    def conditions(self) -> list[Conditions]:
        """Conditions in the order in which they held; a corrected one holds from where the wrong one stood."""
        found = [
            Conditions(
                self.place(e), e.sequence, day_of(e), None if is_dated_back(e) else e.time_utc, e.payload["given"]
            )
            for e in self.entries
            if e.kind == "conditions"
        ]
        return sorted(found, key=lambda c: (c.since, c.said))

    def place(self, entry: Entry) -> int:
        """Where an entry stands in time: a corrected one where the wrong one was."""
        return self._place.get(entry.sequence, entry.sequence)

    def last(self, kind: str, circuit: str = "", **fields: str) -> Entry | None:
        """The newest entry of a kind whose fields are these."""
        for entry in reversed(self.entries):
            given = entry.payload.get("given", {})
            same = entry.kind == kind and entry.circuit == circuit
            if same and all(str(given.get(k, "")) == v for k, v in fields.items()):
                return entry
        return None

    def ended(self, key: str, kind: str, circuit: str, **fields: str) -> int:
        """The newest entry that answers a step, or leaves it out; 0 where there is none."""
        answered, left_out = self.last(kind, circuit, **fields), self.last("skipped", step=key)
        # a reading that is corrected after a turn is still one from before it
        at = 0 if answered is None else self.place(answered) if kind == "reading" else answered.sequence
        return max(at, left_out.sequence if left_out else 0)

    def again(self, key: str) -> int:
        """The newest entry that asks for a step anew, 0 where there is none."""
        return max(
            (e.sequence for e in self.entries if e.kind == AGAIN and key in e.payload["given"]["steps"]), default=0
        )

    def answers(self, key: str, after: int) -> dict[tuple[str, ...], Any]:
        """The answers of a step that is not finished, later than entry ``after``, by field."""
        return {
            tuple(given["field"]): given["value"]
            for e in self.entries
            if e.kind == ANSWER and e.sequence > after
            for given in (e.payload["given"],)
            if given["step"] == key
        }

    def changes(self, circuit: str) -> list[Entry]:
        """The changes of a circuit that were logged, in order."""
        return [e for e in self.entries if e.circuit == circuit and e.kind in CHANGES]

    def changed(self, circuit: str, turnbuckle: str | None = None, before: int | None = None) -> int:
        """The newest change of a circuit that was logged (before an entry), 0 where there is none."""
        found = [
            e.sequence
            for e in self.changes(circuit)
            if turnbuckle in (None, e.payload["given"].get("turnbuckle"), e.payload["given"].get("cable"))
            and (before is None or e.sequence < before)
        ]
        return max(found, default=0)

    def opened(self, circuit: str, turnbuckle: str | None = None) -> int:
        """The same, and a rise of tension that nobody logged beside it."""
        history = self.history(circuit)
        change = history.changed if turnbuckle is None else history.changed_turnbuckle(turnbuckle)
        return max(self.changed(circuit, turnbuckle), change.sequence if change else 0)

    def fitted(self, circuit: str, cable: str) -> int:
        """The newest entry that a cable was fitted, 0 where there is none."""
        entry = self.last("cable-fitted", circuit, cable=cable)
        return entry.sequence if entry else 0

    def history(self, circuit: str) -> CircuitHistory:
        """The whole history of a circuit, also before the session."""
        return self.whole_history.circuit(circuit)

    @cached_property
    def whole_history(self) -> History:
        """The history of the aircraft, also before the session."""
        return gather(briefs(self.all))

    def threads(self, circuit: str, before: int) -> dict[str, tuple[float, float]]:
        """Threads showing by turnbuckle, as last written in the session before an entry."""
        found: dict[str, tuple[float, float]] = {}
        for entry in self.entries:
            given = entry.payload.get("given", {})
            seen_before = entry.circuit == circuit and entry.sequence <= before
            if seen_before and entry.kind in ("adjustment", "safetying", "cable-fitted"):
                seen = given.get("threads_showing")
                if seen is not None:
                    found[str(given.get("turnbuckle") or given.get("cable"))] = (float(seen[0]), float(seen[1]))
        return found

    def readings(self, circuit: str, after: int = 0) -> list[Reading]:
        """The newest reading of every run and station of a circuit later than ``after``, as a check takes them.

        Each is taken under the conditions that held when it was read.
        """
        newest: dict[tuple[str, str], Entry] = {}
        for entry in sorted(self._read(circuit, after), key=lambda e: (self.place(e), e.sequence)):
            given = entry.payload["given"]
            newest[given["run"], given.get("station", "")] = entry
        found: list[Reading] = []
        for (run, station), entry in newest.items():
            held = [c for c in self.conditions if c.since < self.place(entry)]
            if not held:
                continue
            about: Any = read_given("conditions", held[-1].given, "conditions")
            given = entry.payload["given"]
            found += [
                Reading(
                    circuit, run, station, int(given["riser"]), float(dial), str(dial), str(given["tensiometer"]),
                    about.air_degF, about.structure_degF, None, about.state, day=day_of(entry),
                )
                for dial in given["dial"]
            ]  # fmt: skip
        return found

    def read_at(self, circuit: str, after: int = 0) -> int:
        """The newest word on what the readings of a circuit are, corrections with them; 0 where it was not read."""
        read = list(self._read(circuit, after))
        if not read:
            return 0
        corrected = [c.said for c in self.conditions if c.said != c.since]
        return max([*(e.sequence for e in read), *corrected])

    def _read(self, circuit: str, after: int) -> list[Entry]:
        return [e for e in self.entries if e.kind == "reading" and e.circuit == circuit and self.place(e) > after]

    def judged_at(self, circuit: str) -> int:
        """The newest check that took this circuit's readings, 0 where there is none."""
        for entry in reversed(self.entries):
            if entry.kind == CHECK and _took(entry, circuit):
                return entry.sequence
        return 0

    def fallen_checks(self, circuit: str) -> dict[int, int]:
        """Checks of a circuit that rest on a reading or conditions corrected since: the number of each, and of the wrong entry."""
        by_number = {e.sequence: e for e in self.all}
        fallen: dict[int, int] = {}
        for correction in (e for e in self.all if e.kind == CORRECTION):
            wrong = by_number.get(int(correction.payload["given"]["corrects"]))
            if wrong is None or not (wrong.kind == "conditions" or (wrong.kind, wrong.circuit) == ("reading", circuit)):
                continue
            for entry in self.entries:
                between = wrong.sequence < entry.sequence < correction.sequence
                if between and entry.kind == CHECK and _took(entry, circuit):
                    fallen[entry.sequence] = wrong.sequence
        return fallen

    def conditions_too_old(self, clock: Clock, on: dt.date | None) -> str:
        """Why the newest conditions do not hold for what is read now, or was on a day gone by; empty where they do."""
        last = self.conditions[-1] if self.conditions else None
        if last is None:
            return ""
        if on is None and last.time_utc is not None:
            age_h = hours_between(last.time_utc, clock.now().isoformat())
            why = f"the conditions were written {age_h:.1f} h ago" if age_h > CONDITIONS_HOLD else ""
        else:
            # of a day gone by no time of day is known
            why = f"the conditions are those of {last.day}" if last.day != (on or clock.today()) else ""
        return why and f"{why}: temperature has moved since"


def _took(check: Entry, circuit: str) -> bool:
    """Whether a check took readings of a circuit."""
    return any(r.circuit == circuit and (r.tension_lbf is not None or r.refusal) for r in check_of(check).judged.runs)
