"""What a log tells of each circuit, gathered in one walk along its entries."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import Any, Final

import msgspec

from rigging.jobs.judged import RECORDED, plain
from rigging.log.entry import Entry
from rigging.log.kinds import CHANGES, CHECK, DOCUMENT, SIGNATURE

SUBJECT: Final = {
    "travel": "surface",
    "neutral": "surface",
    "stops": "surface",
    "direction": "surface",
    "safetying": "turnbuckle",
    "condition": "part",
}
"""The field that says what an entry of a kind is about; other kinds are about the circuit."""

WORK: Final = frozenset({*CHANGES, "safetying", "direction"})
"""Kinds whose author cannot be the independent inspector."""


class Result(msgspec.Struct, frozen=True):
    """The last word on one item: which entry, whose, when, and what it came to."""

    sequence: int
    who: str
    time_utc: str
    verdict: str
    closes: bool
    reasons: tuple[str, ...]
    alone: bool = False


class Change(msgspec.Struct, frozen=True):
    """Something that opens a circuit: what was done, to which turnbuckle, by whom.

    turnbuckles: None where it is not known, and all of them count.
    """

    sequence: int
    who: str
    time_utc: str
    words: str
    turnbuckle: str | None


class CircuitHistory(msgspec.Struct):
    """One circuit in the log so far; grows while entries are read."""

    name: str
    changes: list[Change] = []
    results: dict[tuple[str, str], Result] = {}
    workers: dict[str, str] = {}
    tension_since: int | None = None
    readings: dict[tuple[str, str], tuple[float, float]] = {}
    read_at: int = 0
    signed: int | None = None
    last: int = 0

    @property
    def changed(self) -> Change | None:
        """The last change."""
        return self.changes[-1] if self.changes else None

    def changed_turnbuckle(self, name: str) -> Change | None:
        """The last change that a turnbuckle had part in."""
        return next((c for c in reversed(self.changes) if c.turnbuckle in (None, name)), None)


class History(msgspec.Struct):
    """All circuits in the log of one aircraft, and the signatures."""

    circuits: dict[str, CircuitHistory] = {}
    signatures: list[Entry] = []
    entries: int = 0

    def circuit(self, name: str) -> CircuitHistory:
        """The history of one circuit; begun where there was none."""
        return self.circuits.setdefault(name, CircuitHistory(name))


def gather(entries: Iterable[Entry]) -> History:
    """Walk along the entries of one aircraft, oldest first.

    A corrected entry no longer closes anything, and what stands instead of it counts where the correction
    stands. A change once logged keeps what it opened, corrected or not.
    """
    kept = [entry for entry in entries if entry.kind != DOCUMENT]
    withdrawn = {int(e.payload["given"]["corrects"]) for e in kept if e.kind == "correction"}
    kind_of = {e.sequence: e for e in kept}
    history = History()
    for entry in kept:
        history.entries += 1
        if entry.kind == CHECK:
            if entry.sequence not in withdrawn:
                _check(history, entry)
        elif entry.kind == SIGNATURE:
            _signature(history, entry)
        elif entry.kind == "correction":
            corrected = kind_of.get(int(entry.payload["given"]["corrects"]))
            if corrected is not None and entry.payload["given"].get("instead") and entry.sequence not in withdrawn:
                instead = msgspec.structs.replace(
                    entry,
                    kind=corrected.kind,
                    circuit=corrected.circuit,
                    payload={"given": entry.payload["given"]["instead"], "judged": entry.payload.get("judged", {})},
                )
                _written(history, instead, closes=True)
        elif entry.circuit:
            _written(history, entry, closes=entry.sequence not in withdrawn)
    return history


def _written(history: History, entry: Entry, *, closes: bool) -> None:
    circuit = history.circuit(entry.circuit)
    circuit.last = entry.sequence
    given = entry.payload["given"]
    if entry.kind in WORK:
        circuit.workers[plain(entry.who)] = entry.who
    if entry.kind in CHANGES:
        _change(circuit, entry, given)
    if not closes:
        return
    result = _result(entry, entry.payload.get("judged", {}), alone=bool(given.get("alone")))
    if entry.kind in CHANGES:
        of = str(given.get("turnbuckle") or given.get("cable"))
        circuit.results["threads", of] = result
        if entry.kind == "cable-fitted":
            circuit.results.pop(("condition", of), None)
    else:
        circuit.results[entry.kind, str(given.get(SUBJECT.get(entry.kind, ""), ""))] = result


def _change(circuit: CircuitHistory, entry: Entry, given: dict[str, Any]) -> None:
    if entry.kind == "adjustment":
        turned = int(given["half_turns"])
        of = str(given["turnbuckle"])
        words = f"the turnbuckle of {of} was turned {abs(turned)} half turn{'s' * (abs(turned) != 1)}"
    else:
        of = str(given["cable"])
        words = f"the cable {of} was fitted"
    circuit.changes.append(Change(entry.sequence, entry.who, entry.time_utc, words, of))
    circuit.tension_since = None
    circuit.readings.clear()


def _result(entry: Entry, judged: dict[str, Any], *, alone: bool = False) -> Result:
    verdict = str(judged.get("verdict", RECORDED))
    closes = bool(judged.get("usable_for_sign_off", True)) and verdict in ("in", RECORDED)
    return Result(entry.sequence, entry.who, entry.time_utc, verdict, closes, tuple(judged.get("reasons", ())), alone)


def _check(history: History, entry: Entry) -> None:
    judged = entry.payload["judged"]
    by_run: dict[tuple[str, str], list[dict[str, Any]]] = {}
    for run in judged["runs"]:
        by_run.setdefault((run["circuit"], run["run"]), []).append(run)
    drags: dict[str, list[str]] = {}
    for drag in judged["drag"]:
        drags.setdefault(drag["circuit"], []).append(drag["words"])
    touched = set()
    for (name, run), stations in by_run.items():
        if all(s["tension_lbf"] is None and not s["refusal"] for s in stations):
            continue  # not read this time: an earlier reading still stands
        circuit = history.circuit(name)
        circuit.last = entry.sequence
        touched.add(name)
        reasons = tuple(_why(s) for s in stations if s["verdict"] != "in" or not s["usable_for_sign_off"])
        closes = not reasons
        words = {s["verdict"] for s in stations}
        verdict = next((w for w in ("out", "re-measure", "not measured") if w in words), "in")
        circuit.results["tension", run] = Result(entry.sequence, entry.who, entry.time_utc, verdict, closes, reasons)
    for name in touched:
        circuit = history.circuit(name)
        _note_rise(circuit, entry, judged["runs"])
        found = tuple(drags.get(name, ()))
        circuit.results["drag", ""] = Result(
            entry.sequence, entry.who, entry.time_utc, "out" if found else "in", not found, found
        )
        after = circuit.changed.sequence if circuit.changed else 0
        runs = [run for c, run in by_run if c == name]
        closed = all((r := circuit.results.get(("tension", run))) and r.closes and r.sequence > after for run in runs)
        if not closed:
            circuit.tension_since = None
        elif circuit.tension_since is None:
            circuit.tension_since = entry.sequence


def _why(station: dict[str, Any]) -> str:
    if station["refusal"]:
        return f"refused: {station['refusal']}"
    reasons = [r for r in station["reasons"] if r.startswith("cannot be accepted")]
    return reasons[0] if reasons and station["verdict"] != "out" else f"{station['verdict']}: {station['action']}"


def _note_rise(circuit: CircuitHistory, entry: Entry, runs: list[dict[str, Any]]) -> None:
    """Cables lose tension by themselves and never gain it: a rise between two checks is a change nobody wrote down.

    The mean of the circuit is compared, since freed drag moves tension from one cable to another.
    """
    now = {
        (r["run"], r["station"]): (r["tension_at_reference_lbf"], r["guard_lbf"])
        for r in runs
        if r["circuit"] == circuit.name and r["tension_at_reference_lbf"] is not None and r["guard_lbf"] is not None
    }
    both = [(now[key], circuit.readings[key]) for key in now if key in circuit.readings]
    if both:
        rise_lbf = sum(t - before for (t, _), (before, _) in both) / len(both)
        uncertainty_lbf = sum(u + before for (_, u), (_, before) in both) / len(both)
        if rise_lbf > uncertainty_lbf:
            words = (
                f"{circuit.name} reads {rise_lbf:.1f} lbf more than in #{circuit.read_at}, brought to one temperature, "
                "and no adjustment is logged"
            )
            # just before this check, which is the first to see it
            circuit.changes.append(Change(entry.sequence - 1, entry.who, entry.time_utc, words, None))
            circuit.workers[plain(entry.who)] = entry.who
    if now:
        circuit.readings, circuit.read_at = now, entry.sequence


def _signature(history: History, entry: Entry) -> None:
    history.signatures.append(entry)
    for name in entry.payload["given"]["circuits"]:
        circuit = history.circuit(name)
        circuit.signed = entry.sequence
        circuit.workers.clear()


def hours_between(earlier_utc: str, later_utc: str) -> float:
    """Hours [h] from one entry's time to another's."""
    apart = dt.datetime.fromisoformat(later_utc) - dt.datetime.fromisoformat(earlier_utc)
    return apart.total_seconds() / 3600.0
