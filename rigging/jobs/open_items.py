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

from rigging.jobs.circuit_history import DRAG, TENSION, THREADS, Brief, Change, CircuitHistory, Result, gather
from rigging.jobs.judged import plain, turnbuckles
from rigging.jobs.programme import Due, next_due
from rigging.sheet.rig import Rig
from rigging.sheet.schema import CircuitEntry

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
    """What is open, what closed each other item (by label), and which circuits have no record at all."""

    aircraft: str
    open: tuple[Item, ...]
    closed_by: dict[str, Result]
    without_record: tuple[str, ...]
    unsigned: tuple[str, ...]
    last_signature: Brief | None
    entries: int
    programme: tuple[Due, ...]

    def of_circuit(self, name: str) -> tuple[Item, ...]:
        """The open items of one circuit."""
        return tuple(item for item in self.open if item.circuit == name)


def status(rig: Rig, entries: Iterable[Brief], today: dt.date | None = None) -> Status:
    """What is open on the sheet's aircraft, from its entries in order, and what its programme has next.

    today: where it is given, a task whose date has passed is overdue.
    """
    history = gather(entries)
    items: list[Item] = []
    closed: dict[str, Result] = {}
    for name, circuit in history.circuits.items():
        entry = rig.file.circuits.get(name)
        if entry is None:
            if circuit.signed is None or circuit.last > circuit.signed:
                why = "the log holds entries of a circuit that the sheet does not have: name it there again"
                items.append(Item(name, "circuit", "", why, circuit.last))
            continue
        for item, result in _items(name, entry, circuit):
            if item is not None:
                items.append(item)
            elif result is not None:
                closed[result[0]] = result[1]
    unsigned = [n for n, c in history.circuits.items() if c.last > (c.signed or 0)]
    return Status(
        aircraft=rig.aircraft,
        open=tuple(items),
        closed_by=closed,
        without_record=tuple(n for n in rig.file.circuits if n not in history.circuits),
        unsigned=tuple(unsigned),
        last_signature=history.signatures[-1] if history.signatures else None,
        entries=history.entries,
        programme=tuple(next_due(task, history.tasks.get(plain(task.task)), today) for task in rig.file.programme),
    )


def _items(
    name: str, entry: CircuitEntry, circuit: CircuitHistory
) -> Iterator[tuple[Item | None, tuple[str, Result] | None]]:
    """Every item of a circuit that was asked for or looked at: open, or closed by a result."""
    for what, of, change in _asked(entry, circuit):
        result = circuit.results.get((what, of))
        stale = change is not None and (result is None or result.sequence <= change.sequence)
        if result is None and change is None:
            continue  # nobody asked for it, nobody looked
        label = Item(name, what, of, "", None).label
        if stale and change is not None:
            why = f"not looked at since {change.words} (#{change.sequence})"
            if what in PER_SURFACE and not of:
                why = "the sheet names no surface of this circuit: add 'surfaces' with their travel and how they move"
            yield Item(name, what, of, why, change.sequence), None
        elif result is not None and not result.closes:
            why = "; ".join(result.reasons) or result.verdict
            yield Item(name, what, of, f"#{result.sequence}: {why}", result.sequence), None
        elif result is not None and what == "bridle" and not _after_main(circuit, result):
            why = f"#{result.sequence} was read before the main circuit was in its limits: main circuit first, then the bridle"
            yield Item(name, what, of, why, result.sequence), None
        elif result is not None:
            yield None, (label, result)
    yield _inspection(name, circuit)


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
        if what in ("condition", THREADS, DRAG):
            yield what, of, None


def _after_main(circuit: CircuitHistory, result: Result) -> bool:
    return circuit.tension_since is not None and result.sequence > circuit.tension_since


def _inspection(name: str, circuit: CircuitHistory) -> tuple[Item | None, tuple[str, Result] | None]:
    change = circuit.changed
    result = circuit.results.get(("inspection", ""))
    if change is None and result is None:
        return None, None
    secured = [r.sequence for (what, _), r in circuit.results.items() if what == "safetying"]
    after = max([change.sequence if change else 0, *secured])
    others = " or ".join(circuit.workers.values())
    second = f"a second person, not {others}" if others else "a second person"
    if result is None or result.sequence <= after:
        words = change.words if change and change.sequence == after else "a turnbuckle was secured"
        return Item(name, "inspection", "", f"no independent inspection since {words} (#{after})", after, second), None
    if not result.closes:
        why = "; ".join(result.reasons) or result.verdict
        return Item(name, "inspection", "", f"#{result.sequence}: {why}", result.sequence, second), None
    if plain(result.who) in circuit.workers and not result.alone:
        why = f"#{result.sequence} is by {result.who}, who did the work: another name is needed"
        return Item(name, "inspection", "", why, result.sequence, second), None
    return None, (Item(name, "inspection", "", "", None).label, result)
