"""What is open on an aircraft: what a change asks to be looked at again, and for whom.

A change of a circuit (a turnbuckle turned, a cable fitted, a rise of tension that nobody logged) opens its
tension, travel, neutral, stops, friction, direction of movement, safetying, its bridle, and an inspection by
someone else. An entry closes its item if it is later than the change, came to ``in`` (or there is nothing to
judge by), and rests on nothing that keeps it from sign-off. A finding opens its item by itself.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from typing import Final

import msgspec

from rigging.jobs.brief import Brief
from rigging.jobs.circuit_history import (
    DRAG,
    PINS,
    TENSION,
    THREADS,
    Change,
    CircuitHistory,
    History,
    Result,
)
from rigging.jobs.judged_surfaces import turnbuckles
from rigging.jobs.judgement import plain
from rigging.jobs.people import is_one_of
from rigging.jobs.programme import Due, next_due
from rigging.log.kinds import PROOF, SESSION
from rigging.sheet.circuit_entry import CircuitEntry
from rigging.sheet.rig import Rig
from rigging.told import told

RIGGER: Final = "whoever rigs"
PER_SURFACE: Final = ("travel", "neutral", "stops", "direction")


class Item(msgspec.Struct, frozen=True):
    """One open item. what: its kind; of: the run, surface, turnbuckle or part; since: the entry that opened it."""

    circuit: str
    what: str
    of: str
    why: str
    since: int | None
    who: str = RIGGER

    @property
    def label(self) -> str:
        """``aileron: direction of left aileron``."""
        return f"{self.circuit}: {self.what}{f' of {self.of}' if self.of else ''}"


class Status(msgspec.Struct, frozen=True):
    """What is open, what closed each other item, which circuits have no record at all, and what was never recorded of others."""

    aircraft: str
    open: tuple[Item, ...]
    closed: tuple[tuple[Item, Result], ...]
    without_record: tuple[str, ...]
    never: dict[str, tuple[str, ...]]
    unsigned: tuple[str, ...]
    last_signature: Brief | None
    entries: int
    programme: tuple[Due, ...]

    @property
    def closed_by(self) -> dict[str, Result]:
        """The result that closed each item, by the item's label."""
        return {item.label: result for item, result in self.closed}

    def of_circuit(self, name: str) -> tuple[Item, ...]:
        """The open items of one circuit."""
        return tuple(item for item in self.open if item.circuit == name)


def status(rig: Rig, history: History, today: dt.date | None = None, others: Iterable[str] = ()) -> Status:
    """What is open on the sheet's aircraft, by the history of its log, and what its programme has next.

    today: where it is given, a task whose date has passed is overdue. others: aircraft in a log that should hold this
    one alone.
    """
    items = [Item("aircraft", "name", "", _renamed(other), None) for other in others]
    items += [Item(e.circuit or "aircraft", "entry", f"#{e.sequence}", _unread(e), e.sequence) for e in history.misfits]
    if history.session is not None:
        items.append(Item("aircraft", SESSION, "", _under_way(history.session), history.session.sequence))
    closed: list[tuple[Item, Result]] = []
    for name, circuit in history.circuits.items():
        entry = rig.file.circuits.get(name)
        if entry is None:
            if circuit.last > circuit.signed:
                why = "the log holds entries of a circuit that the sheet does not have: name it there again"
                items.append(Item(name, "circuit", "", why, circuit.last))
            continue
        for item, result in _items(name, entry, circuit):
            if result is None:
                items.append(item)
            else:
                closed.append((item, result))
    unsigned = [n for n, c in history.circuits.items() if c.last > c.signed]
    return Status(
        aircraft=rig.aircraft,
        open=tuple(items),
        closed=tuple(closed),
        without_record=tuple(n for n in rig.file.circuits if n not in history.circuits),
        never=_never(rig, history),
        unsigned=tuple(unsigned),
        last_signature=history.signatures[-1] if history.signatures else None,
        entries=history.entries,
        programme=tuple(next_due(task, history.tasks.get(plain(task.task)), today) for task in rig.file.programme),
    )


def _renamed(other: str) -> str:
    return (
        f"the log beside this sheet also holds entries of '{other}': where that is this aircraft under another name, add it "
        "under 'formerly' of 'aircraft'; where it is not, give each its own log"
    )


def _under_way(session: Brief) -> str:
    return (
        f"the guided session #{session.sequence} of {', '.join(session.payload.given.circuits)}, begun by {session.who}, is not "
        "finished: go on with it by 'rigging session', or withdraw it by a correction"
    )


def _never(rig: Rig, history: History) -> dict[str, tuple[str, ...]]:
    """By circuit that has a record, what nothing is recorded of although nothing asked for it."""
    found = {}
    for name, circuit in history.circuits.items():
        entry = rig.file.circuits.get(name)
        asked = _asked(entry, circuit) if entry is not None else ()
        left = [(what, of) for what, of, change in asked if change is None and (what, of) not in circuit.results]
        # where some runs were read the others are open
        read = any(what == TENSION for what, _ in circuit.results)
        words = tuple(f"{what} of {of}" if of else what for what, of in left if not (read and what == TENSION))
        if words:
            found[name] = words
    return found


def _unread(entry: Brief) -> str:
    return (
        f"this version cannot read what it holds ({entry.misfit}), and it counts for nothing: look at it with 'rigging log "
        "show', write again what is true of it, and withdraw it by a correction"
    )


def _items(name: str, entry: CircuitEntry, circuit: CircuitHistory) -> Iterator[tuple[Item, Result | None]]:
    """Every item of a circuit that was asked for or looked at, with the result that closes it; None where it is open."""
    for what, of, change in _asked(entry, circuit):
        result = circuit.results.get((what, of))
        if change is not None and (result is None or result.place <= change.place):
            why = told("not looked at since {} (#{})", change.words, change.sequence)
            if result is not None and result.sequence > change.sequence:
                # written later, and all the same from before it
                why = told("#{} is of {}, before {} (#{})", result.sequence, result.day, change.words, change.sequence)
            if what in PER_SURFACE and not of:
                why = "the sheet names no surface of this circuit: add 'surfaces' with their travel and how they move"
            yield Item(name, what, of, why, change.sequence), None
        elif result is None:
            if what == TENSION and any(kind == TENSION for kind, _ in circuit.results):
                yield Item(name, what, of, "never read, and the others of its circuit were", circuit.last), None
        elif not result.closes:
            why = "; ".join(result.reasons) or result.verdict
            yield Item(name, what, of, f"#{result.sequence}: {why}", result.sequence), None
        elif what == "bridle" and not _after_main(circuit, result):
            why = f"#{result.sequence} was read before the main circuit was in its limits: main circuit first, then the bridle"
            yield Item(name, what, of, why, result.sequence), None
        else:
            yield Item(name, what, of, "", None), result
    yield from _inspection(name, circuit)


def _asked(entry: CircuitEntry, circuit: CircuitHistory) -> Iterator[tuple[str, str, Change | None]]:
    """What there is to look at in a circuit, and the change that asks for it."""
    for run in entry.cables:
        yield TENSION, run, circuit.changed
    for surface in entry.surfaces or [""]:
        for what in PER_SURFACE:
            yield what, surface, circuit.changed
    yield "friction", "", circuit.changed
    if entry.bridle is not None:
        yield "bridle", "", circuit.changed
    for name in turnbuckles(entry):
        yield "safetying", name, circuit.changed_turnbuckle(name)
    for what, of in circuit.results:
        if what in ("condition", THREADS, DRAG, PINS, PROOF):
            yield what, of, None


def _after_main(circuit: CircuitHistory, result: Result) -> bool:
    return circuit.tension_since is not None and result.place > circuit.tension_since


def _inspection(name: str, circuit: CircuitHistory) -> Iterator[tuple[Item, Result | None]]:
    change = circuit.changed
    result = circuit.results.get(("inspection", ""))
    if change is None and result is None and circuit.finding is None:
        return
    since = {r.place: "a turnbuckle was secured" for (what, _), r in circuit.results.items() if what == "safetying"}
    if circuit.finding is not None:
        since[circuit.finding] = "something was found there"
    if change is not None:
        since[change.place] = change.words
    after = max(since, default=None)
    others = " or ".join(circuit.workers.values())
    second = f"a second person, not {others}" if others else "a second person"

    def opened(why: str, sequence: int) -> tuple[Item, None]:
        return Item(name, "inspection", "", why, sequence, second), None

    if after is not None and (result is None or result.place <= after):
        yield opened(told("no independent inspection since {} (#{})", since[after], after[1]), after[1])
    elif result is None:
        return
    elif not result.closes:
        yield opened(f"#{result.sequence}: {'; '.join(result.reasons) or result.verdict}", result.sequence)
    elif not result.alone and is_one_of(result.who, circuit.workers.values()):
        yield opened(
            f"#{result.sequence} is by {result.who}, who did the work: another name is needed", result.sequence
        )
    else:
        yield Item(name, "inspection", "", "", None), result
