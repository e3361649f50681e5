"""An entry with what its history needs and nothing more: a log of a hundred thousand of them is read in under a second."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import Any, Final

import msgspec

from rigging.jobs.judgement import RECORDED
from rigging.log.contents import Misfit, misfit
from rigging.log.entry import Entry, day_written
from rigging.log.kinds import CHECK, CORRECTION, DOCUMENT, KINDS, SIGNATURE

SUBJECT: Final = {
    "adjustment": "turnbuckle",
    "cable-fitted": "cable",
    "proof-load": "cable",
    "travel": "surface",
    "neutral": "surface",
    "stops": "surface",
    "direction": "surface",
    "safetying": "turnbuckle",
    "condition": "part",
}
"""The field that says what an entry of a kind is about; other kinds are about the circuit."""

Place = tuple[dt.date, int]
"""A place in the story of an aircraft: by the day of what an entry tells, then by the order in the log."""

KNOWN: Final = frozenset({*KINDS, CHECK, DOCUMENT, SIGNATURE})


class Given(msgspec.Struct, frozen=True, gc=False):
    """Of what was typed, the fields that say what an entry is about. A text may have been typed as a number."""

    surface: Any = ""
    turnbuckle: Any = ""
    cable: Any = ""
    part: Any = ""
    half_turns: int = 0
    alone: Any = False
    corrects: int = 0
    instead: Given | None = None
    circuits: tuple[str, ...] = ()
    inserted: Any = False
    on: dt.date | None = None
    task: Any = ""
    airframe_hours: float | None = None
    threads_showing: Any = None
    remark: Any = ""
    text: Any = ""
    reason: Any = ""

    def of(self, kind: str) -> str:
        """What an entry of a kind is about; empty for the circuit as a whole."""
        return str(getattr(self, SUBJECT[kind])) if kind in SUBJECT else ""


class Station(msgspec.Struct, frozen=True, gc=False):
    """Of a check's result at one station, what decides whether it closes anything."""

    circuit: str
    run: str
    station: str
    verdict: str
    usable_for_sign_off: bool
    action: str
    reasons: tuple[str, ...]
    refusal: str | None = None
    tension_lbf: float | None = None
    tension_at_reference_lbf: float | None = None
    shift_lbf: float | None = None
    guard_lbf: float | None = None

    @property
    def brought_lbf(self) -> float | None:
        """At the reference temperature [lbf], below zero for what a slack cable lacks there; None as ``tension_at_reference_lbf``."""
        if self.tension_at_reference_lbf is None or self.tension_lbf is None or self.shift_lbf is None:
            return self.tension_at_reference_lbf
        return self.tension_lbf - self.shift_lbf


class Drag(msgspec.Struct, frozen=True, gc=False):
    """Drag that a check found."""

    circuit: str
    words: str


class Figures(msgspec.Struct, frozen=True, gc=False):
    """Of what an entry was judged by, whether a cable must be replaced, and what its proof load lacks; None where nobody asked."""

    replace: bool = False
    proof_gaps: tuple[str, ...] | None = None


class Came(msgspec.Struct, frozen=True, gc=False):
    """What an entry came to; runs and drag are those of a check."""

    verdict: str = RECORDED
    usable_for_sign_off: bool = True
    reasons: tuple[str, ...] = ()
    runs: tuple[Station, ...] = ()
    drag: tuple[Drag, ...] = ()
    figures: Figures = Figures()


class Payload(msgspec.Struct, frozen=True, gc=False):
    """The two halves of an entry, and the day of what it tells."""

    given: Given = Given()
    judged: Came = Came()
    on: dt.date | None = None
    dated_back: bool = False


class Brief(msgspec.Struct, frozen=True, gc=False):
    """An entry with what its history needs; ``Log.in_brief`` reads it.

    misfit: why this version cannot read its contents, which then are those of no entry.
    """

    sequence: int
    time_utc: str
    who: str
    kind: str
    circuit: str
    payload: Payload
    misfit: str = ""

    @property
    def day(self) -> dt.date:
        """The day of what it tells."""
        return self.payload.on or (self.kind == CHECK and self.payload.given.on) or day_written(self.time_utc)

    @property
    def place(self) -> Place:
        """Its place in the story."""
        return self.day, self.sequence


def brief(entry: Entry) -> Brief:
    """The same of an entry at hand, all of which is looked at."""
    why = misfit(entry)
    return _unreadable(entry, why) if why else _readable(entry)


def briefs(fitting: Iterable[Entry], misfits: Iterable[Misfit] = ()) -> list[Brief]:
    """The same of entries that were sorted out (``log.contents.sort_out``), in order."""
    told = [*map(_readable, fitting), *(_unreadable(m.entry, m.why) for m in misfits)]
    return sorted(told, key=lambda entry: entry.sequence)


def _readable(entry: Entry) -> Brief:
    try:
        payload = msgspec.convert(entry.payload, Payload)
    except (msgspec.MsgspecError, RecursionError) as error:
        return _unreadable(entry, str(error))
    return Brief(entry.sequence, entry.time_utc, entry.who, entry.kind, entry.circuit, payload)


def _unreadable(entry: Entry, why: str) -> Brief:
    return Brief(entry.sequence, entry.time_utc, entry.who, entry.kind, entry.circuit, Payload(), why)


def is_doubtful(entry: Brief) -> bool:
    """Whether an entry that was read in haste lacks what one of its kind must have, and must be looked at whole."""
    given, came = entry.payload.given, entry.payload.judged
    if entry.kind == CHECK:
        return given.on is None or not came.runs
    if entry.payload.on is None and entry.kind != DOCUMENT:
        return True  # its day is that of its writing, which must be one
    if entry.kind == SIGNATURE:
        return not given.circuits
    if entry.kind == CORRECTION:
        return given.corrects < 1 or not given.reason
    if entry.kind == "adjustment":
        return not given.half_turns or not given.turnbuckle
    if entry.kind in SUBJECT:
        return not getattr(given, SUBJECT[entry.kind])
    return entry.kind not in KNOWN or (entry.kind == "note" and not given.text)
