"""What a log tells of each circuit, gathered in one walk along its entries."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import TYPE_CHECKING, Final

import msgspec

from rigging.jobs.brief import Brief, Came, Place, Station, brief, is_doubtful
from rigging.jobs.judgement import closing, plain, worst
from rigging.jobs.threads import Threads, contradiction, threads_of
from rigging.jobs.under_way import is_ended
from rigging.log.kinds import CHANGES, CHECK, CORRECTION, DOCUMENT, PROOF, SESSION, SIGNATURE, TASK_DONE
from rigging.sheet.rig import Rig
from rigging.told import lbf, told

if TYPE_CHECKING:
    from rigging.log.store import Log

TENSION: Final = "tension"
DRAG: Final = "drag"
THREADS: Final = "threads"
PINS: Final = "pins"
WORK: Final = frozenset({*CHANGES, "safetying", "direction"})
"""Kinds whose author cannot be the independent inspector."""


class _Placed(msgspec.Struct, frozen=True):
    """What an entry of somebody tells of a day."""

    sequence: int
    who: str
    day: dt.date

    @property
    def place(self) -> Place:
        """Its place in the story."""
        return self.day, self.sequence


class Result(_Placed, frozen=True):
    """The last word on one item: which entry, whose, of which day, and what it came to. replace: a cable must be replaced."""

    verdict: str
    closes: bool
    reasons: tuple[str, ...]
    alone: bool = False
    replace: bool = False


class Change(_Placed, frozen=True):
    """Something that opens a circuit: what was done, to which turnbuckle, by whom, on which day.

    dated_back: it was written down on another day. turnbuckle: None where it is not known, and all of them count.
    """

    time_utc: str
    dated_back: bool
    words: str
    turnbuckle: str | None


class CircuitHistory(msgspec.Struct):
    """One circuit in the log so far; grows while entries are read.

    tension_since: since when its tension stands. finding: the last thing found that was not signed for. signed, last: the
    numbers of its last signature and its last entry.
    """

    name: str
    signed: int = 0
    changes: list[Change] = []
    results: dict[tuple[str, str], Result] = {}
    workers: dict[str, str] = {}
    tension_since: Place | None = None
    threads: dict[str, Threads] = {}
    readings: dict[tuple[str, str], tuple[float, float]] = {}
    read_at: int = 0
    finding: Place | None = None
    last: int = 0

    @property
    def changed(self) -> Change | None:
        """The last change."""
        return self.changes[-1] if self.changes else None

    def changed_turnbuckle(self, name: str) -> Change | None:
        """The last change that a turnbuckle had part in."""
        return next((c for c in reversed(self.changes) if c.turnbuckle in (None, name)), None)


class History(msgspec.Struct):
    """All circuits in the log of one aircraft, and the signatures.

    session: the guided session that is not finished. misfits: entries that cannot be read, and nobody withdrew. signed: by
    circuit, the number of its last signature.
    """

    circuits: dict[str, CircuitHistory] = {}
    signed: dict[str, int] = {}
    signatures: list[Brief] = []
    tasks: dict[str, Brief] = {}
    misfits: list[Brief] = []
    session: Brief | None = None
    entries: int = 0

    def circuit(self, name: str) -> CircuitHistory:
        """The history of one circuit; begun where there was none."""
        return self.circuits.setdefault(name, CircuitHistory(name, self.signed.get(name, 0)))


def gather(entries: Iterable[Brief]) -> History:
    """Walk along the entries of one aircraft in the order of what they tell: by day, and on one day as they were written.

    Those that cannot be read count for nothing. A corrected entry no longer closes anything, and what stands instead of
    it counts on its day, from where the correction stands. A change once logged keeps what it opened, corrected or not.
    A signature covers what was written before it, and a session ends with it.
    """
    found = [entry for entry in entries if entry.kind != DOCUMENT or entry.misfit]
    kept = [entry for entry in found if not entry.misfit]
    corrections = {e.sequence: e.payload.given for e in kept if e.kind == CORRECTION}
    withdrawn = {given.corrects for given in corrections.values()}
    corrected = {e.sequence: e for e in kept if e.sequence in withdrawn}
    history = History(misfits=[entry for entry in found if entry.misfit and entry.sequence not in withdrawn])
    history.entries = len(kept)
    for entry in kept:
        if entry.kind == SIGNATURE:
            _signature(history, entry)
        elif entry.kind == SESSION and entry.sequence not in withdrawn:
            history.session = entry
    for entry in sorted(kept, key=lambda entry: entry.place):
        stands = entry.sequence not in withdrawn
        if entry.kind in (SIGNATURE, SESSION):
            continue
        if entry.kind == CHECK:
            if stands:
                _check(history, entry)
        elif entry.kind == CORRECTION:
            wrong, instead = corrected.get(entry.payload.given.corrects), entry.payload.given.instead
            if wrong is not None and instead is not None and stands:
                payload = msgspec.structs.replace(entry.payload, given=instead)
                _written(
                    history,
                    msgspec.structs.replace(entry, kind=wrong.kind, circuit=wrong.circuit, payload=payload),
                    True,
                    put_right=wrong.sequence,
                )
        elif entry.kind == TASK_DONE:
            if stands:
                history.tasks[plain(str(entry.payload.given.task))] = entry
        elif entry.circuit:
            _written(history, entry, stands)
    for name in history.signed:
        history.circuit(name)
    return history


def history_of(log: Log, rig: Rig) -> History:
    """The history of the sheet's aircraft, its entries read in haste. Raises BadFile for a damaged log."""
    return gather(log.in_brief(Brief, brief, is_doubtful, aircraft=rig.names))


def _written(history: History, entry: Brief, closes: bool, put_right: int = 0) -> None:
    """put_right: the entry that it stands instead of; it does not follow the threads since."""
    circuit = history.circuit(entry.circuit)
    circuit.last = max(circuit.last, entry.sequence)
    given = entry.payload.given
    if entry.kind in WORK:
        _worked(circuit, entry)
    if entry.kind in CHANGES:
        _change(circuit, entry)
    if entry.kind != "inspection" and entry.payload.judged.verdict == "out" and entry.sequence > circuit.signed:
        # withdrawn or put right, a second person looks at it once more, and that is not who found it
        circuit.finding = entry.place
        _worked(circuit, entry)
    if not closes:
        return
    came = entry.payload.judged
    closed = closing(came.verdict, came.usable_for_sign_off)
    if entry.kind == PINS and given.inserted is not False:
        closed, came = False, Came("out", reasons=("the rig pins are in",))
    what, of = THREADS if entry.kind in CHANGES else entry.kind, given.of(entry.kind)
    reasons, replace = came.reasons, came.figures.replace
    before = circuit.results.get((what, of))
    if before is not None and before.replace and not replace:
        why = (
            f"#{before.sequence} asks for another cable: fit it and log that, or correct #{before.sequence} and say why"
        )
        closed, replace, reasons = False, True, (why, *reasons)
    if why := _threads(circuit, entry, put_right):
        closed, reasons = False, (why, *reasons)
    made = circuit.results[what, of] = Result(
        entry.sequence, entry.who, entry.day, came.verdict, closed, reasons, given.alone is True, replace
    )
    if entry.kind == "cable-fitted":
        circuit.results.pop(("condition", of), None)
        if (gaps := came.figures.proof_gaps) is not None:
            circuit.results[PROOF, of] = msgspec.structs.replace(made, closes=not gaps, reasons=gaps)


def _worked(circuit: CircuitHistory, entry: Brief) -> None:
    if entry.sequence > circuit.signed:
        circuit.workers[plain(entry.who)] = entry.who


def _threads(circuit: CircuitHistory, entry: Brief, put_right: int) -> str:
    """Why the threads showing contradict those of before and the turns since; they are known anew afterwards."""
    given = entry.payload.given
    of, now = given.of(entry.kind), threads_of(given.threads_showing, entry.sequence)
    half_turns = given.half_turns if entry.kind == "adjustment" else 0
    before = circuit.threads.get(of)
    if now is not None and not (put_right and before is not None and before.sequence > put_right):
        circuit.threads[of] = now
    return "" if put_right or entry.kind == "cable-fitted" else contradiction(before, now, half_turns)


def _change(circuit: CircuitHistory, entry: Brief) -> None:
    of = entry.payload.given.of(entry.kind)
    if entry.kind == "adjustment":
        turned = abs(entry.payload.given.half_turns)
        words = f"the turnbuckle of {of} was turned {turned} half turn{'s' * (turned != 1)}"
    else:
        words = f"the cable {of} was fitted"
    circuit.changes.append(_changed(entry, entry.sequence, words, of))
    circuit.tension_since = None
    circuit.readings = {}


def _changed(entry: Brief, sequence: int, words: str, turnbuckle: str | None) -> Change:
    return Change(sequence, entry.who, entry.day, entry.time_utc, entry.payload.dated_back, words, turnbuckle)


def _check(history: History, entry: Brief) -> None:
    came = entry.payload.judged
    by_run: dict[tuple[str, str], list[Station]] = {}
    for station in came.runs:
        by_run.setdefault((station.circuit, station.run), []).append(station)
    touched = []
    for (name, run), stations in by_run.items():
        if all(s.tension_lbf is None and not s.refusal for s in stations):
            continue  # not read this time: an earlier reading still stands
        circuit = history.circuit(name)
        circuit.last = max(circuit.last, entry.sequence)
        touched.append(name)
        reasons = tuple(_why(s) for s in stations if s.verdict != "in" or not s.usable_for_sign_off)
        verdict = stations[0].verdict if len(stations) == 1 else worst([s.verdict for s in stations])
        result = Result(entry.sequence, entry.who, entry.day, verdict, not reasons, reasons)
        circuit.results[TENSION, run] = result
    for name in dict.fromkeys(touched):
        circuit = history.circuit(name)
        _note_rise(circuit, entry)
        found = tuple(drag.words for drag in came.drag if drag.circuit == name)
        verdict = "out" if found else "in"
        circuit.results[DRAG, ""] = Result(entry.sequence, entry.who, entry.day, verdict, not found, found)
        change, results = circuit.changed, [circuit.results.get((TENSION, run)) for c, run in by_run if c == name]
        if not all(r is not None and r.closes and (not change or r.place > change.place) for r in results):
            circuit.tension_since = None
        elif circuit.tension_since is None:
            circuit.tension_since = entry.place


def _why(station: Station) -> str:
    if station.refusal:
        return f"refused: {station.refusal}"
    gaps = [r for r in station.reasons if r.startswith("cannot be accepted")]
    return gaps[0] if gaps and station.verdict != "out" else f"{station.verdict}: {station.action}"


def _note_rise(circuit: CircuitHistory, entry: Brief) -> None:
    """Cables lose tension by themselves and never gain it: a rise between two checks is a change nobody wrote down.

    The mean of the circuit is compared, since freed drag moves tension from one cable to another.
    """
    now = {
        (s.run, s.station): (s.brought_lbf, s.guard_lbf)
        for s in entry.payload.judged.runs
        if s.circuit == circuit.name and s.brought_lbf is not None and s.guard_lbf is not None
    }
    both = [(now[key], circuit.readings[key]) for key in now if key in circuit.readings]
    if both:
        rise_lbf = sum(t - before for (t, _), (before, _) in both) / len(both)
        uncertainty_lbf = sum(u + u_before for (_, u), (_, u_before) in both) / len(both)
        if rise_lbf > uncertainty_lbf:
            said = "{} reads {} more than in #{}, brought to one temperature, and no adjustment is logged"
            words = told(said, circuit.name, lbf(rise_lbf), circuit.read_at)
            # just before this check, which is the first to see it
            circuit.changes.append(_changed(entry, entry.sequence - 1, words, None))
            _worked(circuit, entry)
    if now:
        circuit.readings, circuit.read_at = now, entry.sequence


def _signature(history: History, entry: Brief) -> None:
    history.signatures.append(entry)
    given, session = entry.payload.given, history.session
    if session is not None and is_ended(session.sequence, session.payload.given.circuits, given.circuits, given.remark):
        history.session = None
    history.signed.update(dict.fromkeys(given.circuits, entry.sequence))
