"""The record of an aircraft: everything its log holds, beside what its sheet says, for a reader who was not there.

Only entries that the chain proves make the record; what lies behind a break is kept apart and told.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import msgspec

from rigging import __version__
from rigging.errors import BadFile
from rigging.jobs.brief import briefs
from rigging.jobs.check import AFTER_ANY_TURN, CAUTIONS
from rigging.jobs.circuit_history import History, gather
from rigging.jobs.open_items import Status, status
from rigging.jobs.record_circuit import CircuitRecord, cables, directions, turnbuckles
from rigging.jobs.record_parts import (
    Corrected,
    ReadingRecord,
    Written,
    corrections,
    readings_of,
    written,
)
from rigging.jobs.record_signed import CorrectionRecord, Kept, Signature, corrections_of, documents, signatures
from rigging.jobs.record_story import SettlingRecord, seasons, settling
from rigging.jobs.recorded_check import Recomputed
from rigging.jobs.standing import standing
from rigging.judge.limits import RIGID
from rigging.log.chain import ChainState, walk
from rigging.log.contents import Misfit, check_of, sort_out, stands_instead
from rigging.log.entry import Entry, text_of_time
from rigging.log.kinds import ANSWER, BY_PROGRAM, CHANGES, CHECK, CORRECTION, DOCUMENT, SIGNATURE
from rigging.sheet.circuit import rigid
from rigging.sheet.rig import Rig

if TYPE_CHECKING:
    from rigging.log.store import Log

Again = Callable[[int], Recomputed]
Say = Callable[[str], None]
EVERY = 50


class Record(msgspec.Struct, frozen=True):
    """Everything the record of an aircraft shows.

    chain: how far the log is intact; store_fault: what is wrong with the store itself, empty where nothing is.
    unproven: entries behind a break, as far as they can be read; misfits: entries whose contents this version cannot
    read: both count for nothing here. sheet_is_kept: whether
    the log holds this very sheet. log: the name of the log's place. whole: entries about the whole aircraft.
    recomputed: every judged entry run again, None where that was not asked for. assumptions: what all of its circuits
    rest on, said once.
    """

    aircraft: str
    name: str
    registration: str
    sheet: str
    sheet_sha256: str
    sheet_is_kept: bool
    reference_degF: float
    drawn_utc: str
    program: str
    log: str
    chain: ChainState
    store_fault: str
    status: Status
    circuits: tuple[CircuitRecord, ...]
    signatures: tuple[Signature, ...]
    alone: tuple[Written, ...]
    whole: tuple[Written, ...]
    corrections: tuple[CorrectionRecord, ...]
    kept: tuple[Kept, ...]
    entries: tuple[Entry, ...]
    corrected: dict[int, Corrected]
    unproven: tuple[Entry, ...]
    misfits: tuple[Misfit, ...]
    recomputed: tuple[Recomputed, ...] | None
    cautions: tuple[str, ...]
    assumptions: tuple[str, ...]

    @property
    def broken(self) -> bool:
        """Whether the log is not what was sealed."""
        return not self.chain.intact or bool(self.store_fault)

    @property
    def fallen(self) -> tuple[Recomputed, ...]:
        """Verdicts that do not stand when their sum is run again."""
        return tuple(r for r in self.recomputed or () if not r.stands)

    @property
    def unsettled(self) -> tuple[tuple[str, SettlingRecord], ...]:
        """Runs whose readings tell of more than settling, with their circuit."""
        told = ((circuit.name, s) for circuit in self.circuits for s in circuit.settling)
        return tuple((name, s) for name, s in told if s.settled is not None and s.settled.anomalous)

    @property
    def found(self) -> bool:
        """Whether something is open, broken, not settling, cannot be read, or does not stand."""
        return bool(self.status.open or self.broken or self.fallen or self.misfits or self.unsettled)


def record(log: Log, rig: Rig, again: Again | None = None, say: Say | None = None) -> Record:
    """Everything the log holds of the sheet's aircraft.

    again: runs the sum of an entry anew; say: told how far it has come.
    Raises BadFile where the log cannot be read at all.
    """
    chain, fault = _chain(log)
    proven, unproven = _entries(log, rig.names, chain)
    fitting, misfits = sort_out(proven)
    entries = [entry for entry in fitting if entry.kind != DOCUMENT]
    kept = tuple(documents(fitting))
    corrected = corrections(entries)
    history = gather(briefs(fitting, misfits))
    # behind a break nothing can be judged again
    state = standing(log, rig, history) if chain.intact and not fault else status(rig, history, log.clock.today())
    made = _written(entries, corrected)
    checks = [entry for entry in entries if entry.kind == CHECK]
    readings = [r for entry in checks for r in readings_of(entry, corrected.get(entry.sequence))]
    readings.sort(key=lambda r: (r.day, r.sequence))
    names = [*rig.file.circuits, *(n for n in history.circuits if n not in rig.file.circuits)]
    circuits = []
    for name in names:
        _tell(say, f"circuit {name}")
        circuits.append(_circuit(rig, name, history, state, made, readings, checks, corrected))
    return Record(
        aircraft=rig.aircraft,
        name=rig.file.aircraft.name,
        registration=rig.file.aircraft.registration,
        sheet=Path(rig.path).name,
        sheet_sha256=rig.sha256,
        sheet_is_kept=any(k.sha256 == rig.sha256 for k in kept),
        reference_degF=rig.file.reference_degF,
        drawn_utc=text_of_time(log.clock.now()),
        program=f"rigging {__version__}",
        log=log.place.rpartition("/")[2] or log.place,
        chain=chain,
        store_fault=fault,
        status=state,
        circuits=tuple(circuits),
        signatures=tuple(signatures(entries, history)),
        alone=tuple(w for w in made if w.alone and w.stands),
        whole=tuple(w for w in made if not w.circuit and w.kind not in (CORRECTION, ANSWER)),
        corrections=tuple(corrections_of(entries, made)),
        kept=kept,
        entries=tuple(entries),
        corrected=corrected,
        unproven=unproven,
        misfits=tuple(misfits),
        recomputed=None if again is None else _recomputed(entries, again, say),
        cautions=(AFTER_ANY_TURN, *CAUTIONS),
        assumptions=(RIGID,) if rigid(rig.runs) else (),
    )


def _chain(log: Log) -> tuple[ChainState, str]:
    """How far the log is intact, and what is wrong with its store, in words."""
    try:
        return log.verify(), ""
    except BadFile as error:
        return walk(log.sealed()), "; ".join(p.message for p in error.problems)


def _entries(log: Log, aircraft: Sequence[str], chain: ChainState) -> tuple[list[Entry], tuple[Entry, ...]]:
    """The aircraft's entries that the chain proves, and those behind the break."""
    proven: list[Entry] = []
    unproven: list[Entry] = []
    try:
        for entry in log.entries(aircraft=aircraft):
            # an entry that was written while this ran belongs to the next record
            if entry.sequence <= chain.entries:
                proven.append(entry)
            elif not chain.intact:
                unproven.append(entry)
    except BadFile:
        if chain.intact:
            raise
    return proven, tuple(unproven)


def _written(entries: Sequence[Entry], corrected: dict[int, Corrected]) -> list[Written]:
    """Every entry that people wrote, and right behind each correction what stands instead."""
    by_number = {entry.sequence: entry for entry in entries}
    made = []
    for entry in entries:
        if entry.kind in BY_PROGRAM:
            continue
        own = corrected.get(entry.sequence)
        made.append(written(entry, own))
        if entry.kind == CORRECTION:
            wrong = by_number.get(int(entry.payload["given"]["corrects"]))
            instead = stands_instead(entry, wrong) if wrong else None
            made += [written(instead, own, wrong.sequence)] if wrong and instead else []
    return made


def _circuit(
    rig: Rig,
    name: str,
    history: History,
    state: Status,
    made: Sequence[Written],
    readings: Sequence[ReadingRecord],
    checks: Sequence[Entry],
    corrected: dict[int, Corrected],
) -> CircuitRecord:
    own = sorted((w for w in made if w.circuit == name and w.kind != CORRECTION), key=lambda w: w.place)
    kinds: dict[str, list[Written]] = {}
    for one in own:
        kinds.setdefault(one.kind, []).append(one)
    read = tuple(r for r in readings if r.circuit == name)
    entry = rig.file.circuits.get(name)
    past = history.circuit(name)
    changes = [w for w in own if w.kind in CHANGES]
    sheet: dict[str, Any] = {"cables": (), "turnbuckles": (), "directions": (), "settling": (), "envelope": None}
    if entry is not None:
        hung = cables(rig, name, read)
        last = {c: (change.place if (change := past.changed_turnbuckle(c)) else None) for c in entry.cables}
        changed = past.changed.place if past.changed else None
        first = {w.sequence: w for w in made if w.instead_of is None}
        stood = [
            # a correction of a turn does not move the turn to another time
            msgspec.structs.replace(c, time_utc=wrong.time_utc, dated_back=wrong.dated_back, sequence=wrong.sequence)
            if c.instead_of and (wrong := first[c.instead_of]).day == c.day
            else c
            for c in changes
            if c.stands
        ]
        good = [c for c in checks if c.sequence not in corrected]
        sheet = {
            "cables": hung,
            "turnbuckles": turnbuckles(entry, changes, kinds.get("safetying", []), last),
            "directions": directions(entry, kinds.get("direction", []), kinds.get("inspection", []), changed),
            "settling": tuple(settling(rig, name, good, sorted(stood, key=lambda c: c.place))),
            "envelope": seasons(rig, name, hung),
        }
    return CircuitRecord(
        name=name,
        in_sheet=entry is not None,
        open=state.of_circuit(name),
        readings=read,
        written={kind: tuple(of_kind) for kind, of_kind in kinds.items()},
        drag=tuple(
            (c.sequence, drag.words) for c in checks for drag in check_of(c).judged.drag if drag.circuit == name
        ),
        **sheet,
    )


def _recomputed(entries: Sequence[Entry], again: Again, say: Say | None) -> tuple[Recomputed, ...]:
    judged = [e for e in entries if "judged" in e.payload and e.kind != SIGNATURE]
    found = []
    for i, entry in enumerate(judged):
        if not i % EVERY:
            _tell(say, f"run again: {i} of {len(judged)}")
        found.append(again(entry.sequence))
    return tuple(found)


def _tell(say: Say | None, words: str) -> None:
    if say is not None:
        say(words)
