"""What the readings of a log tell beyond themselves: how its cables settle, and each circuit from the coldest to the hottest day."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from itertools import pairwise

import msgspec

from rigging.errors import BadFile, RiggingError
from rigging.jobs.brief import Place
from rigging.jobs.envelope import envelope
from rigging.jobs.envelope_parts import Asked, CircuitEnvelope
from rigging.jobs.record_parts import CableRecord, Written
from rigging.jobs.settle import Settled, settle
from rigging.log.contents import check_of, day_of, is_dated_back
from rigging.log.entry import Entry, time_of
from rigging.log.fields import Adjustment, CableFitted
from rigging.sheet.history import Event
from rigging.sheet.rig import Rig, Run

ONE_LOOK = dt.timedelta(hours=1)  # practice; a cable takes at least as long to bed in


class SettlingRecord(msgspec.Struct, frozen=True):
    """How one station of a run settles by the checks of the log; reason: why there is no answer, then settled is None.

    since: the entry that fitted the cables it is about, None where none is logged.
    """

    run: str
    station: str
    state: str
    checks: int
    settled: Settled | None
    reason: str
    since: int | None
    notes: tuple[str, ...]


class EnvelopeRecord(msgspec.Struct, frozen=True):
    """A circuit through the seasons; as_read: rigged as it was last read, else to the target of its limits.

    reason: why there is none, then circuit is None.
    """

    circuit: CircuitEnvelope | None
    as_read: bool
    reason: str


def seasons(rig: Rig, circuit: str, cables: Sequence[CableRecord]) -> EnvelopeRecord:
    """The circuit from the coldest to the hottest day: as last read where every cable was, else on target."""
    read_lbf = {f"{circuit} / {c.name}": tension_lbf for c in cables if (tension_lbf := last_read_lbf(c)) is not None}
    as_read = len(read_lbf) == len(cables) and bool(cables)
    if slack := [c.name for c in cables if (tension_lbf := last_read_lbf(c)) is not None and tension_lbf <= 0]:
        # how far below slack no tension tells, and so nothing of the days on which it is tight
        names = " and ".join(slack)
        return EnvelopeRecord(
            None, True, f"brought to the reference temperature {names} hung slack: take up, read again"
        )
    try:
        found = envelope(rig, circuit, Asked(tensions_lbf=read_lbf if as_read else {}))
    except RiggingError as error:
        return EnvelopeRecord(None, as_read, _plain(error))
    return EnvelopeRecord(found.circuits[0], as_read, "")


def last_read_lbf(cable: CableRecord) -> float | None:
    """The tension last read on a cable, at reference [lbf]: the mean of its stations; None where one has no figure."""
    found = [r.at_reference_lbf for r in cable.latest if r.at_reference_lbf is not None]
    return sum(found) / len(found) if found and len(found) == len(cable.latest) else None


def settling(rig: Rig, circuit: str, checks: Sequence[Entry], changes: Sequence[Written]) -> list[SettlingRecord]:
    """Every station of a circuit that was read in two checks or more since its cables were fitted.

    checks: those that stand, oldest first. changes: the adjustments and cables fitted that stand, each with the time
    at which it was first written down.
    """
    since = max((c.place for c in changes if isinstance(c.fields, CableFitted)), default=None)
    turns = [c for c in changes if isinstance(c.fields, Adjustment) and (since is None or c.place > since)]
    own = sorted((place, c) for c in checks if (place := (day_of(c), c.sequence)) and (since is None or place > since))
    looked: list[tuple[Place, Event]] = []
    notes: list[str] = []
    for place, entry in own:
        time = _moment(place, is_dated_back(entry), entry.time_utc)
        if is_dated_back(entry):
            notes.append(f"#{entry.sequence} was read on {place[0]}, and written down later: taken as read at noon")
        looked += [(place, event) for event in _read(rig, circuit, entry, time)]
    events = _last_of_each_look(looked, [c.place for c in turns])
    events += [(c.place, _turned(c)) for c in turns]
    events.sort(key=lambda pair: pair[0])
    told = [event for _, event in events]
    groups: dict[tuple[str, str, str], set[Place]] = {}
    for place, event in events:
        if event.is_reading:
            groups.setdefault((event.run, event.station, event.state), set()).add(place)
    found = []
    for (run_name, station, state), read in groups.items():
        run = rig.run(circuit, run_name)
        if run is not None and len(read) > 1:
            answer, reason = _answer(rig, run, told, station, state)
            found.append(
                SettlingRecord(run_name, station, state, len(read), answer, reason, since and since[1], tuple(notes))
            )
    return found


def _last_of_each_look(read: Sequence[tuple[Place, Event]], turned: Sequence[Place]) -> list[tuple[Place, Event]]:
    """Readings without those that were taken again within ONE_LOOK, with nothing turned in between: a slip of the eye is
    no settling."""
    newest: dict[tuple[str, str, str], tuple[Place, dt.datetime]] = {}
    kept = []
    for place, event in reversed(read):
        later = newest.get((event.run, event.station, event.state))
        again = later is not None and later[0] != place and dt.timedelta(0) <= later[1] - event.time < ONE_LOOK
        if again and later is not None and not any(place < turn < later[0] for turn in turned):
            continue
        newest[event.run, event.station, event.state] = (place, event.time)
        kept.append((place, event))
    return kept[::-1]


def _answer(rig: Rig, run: Run, told: list[Event], station: str, state: str) -> tuple[Settled | None, str]:
    if any(later.time < earlier.time for earlier, later in pairwise(told)):
        return None, (
            "readings were written down on another day than they were taken, and not in the order of the turns: write the "
            "story in a file for 'rigging settle --readings'"
        )
    if any(e.structure_degF is None for e in told if e.is_reading and e.run == run.name):
        return None, "a reading has no structure temperature: without it settling and cooling look alike"
    try:
        answer = next(iter(settle(rig, told, f"{run.circuit}/{run.name}", station, state)))
    except RiggingError as error:
        return None, _plain(error)
    return (answer, "") if isinstance(answer, Settled) else (None, answer.reason)


def _moment(place: Place, dated_back: bool, time_utc: str) -> dt.datetime:
    """When something was read or turned [UTC, without zone]: when it was written, or about noon of the day it is of."""
    if not dated_back:
        return time_of(time_utc).replace(tzinfo=None)
    # what is of one day keeps its order
    return dt.datetime.combine(place[0], dt.time(12)) + dt.timedelta(milliseconds=place[1])


def _read(rig: Rig, circuit: str, entry: Entry, time: dt.datetime) -> Iterable[Event]:
    """The readings of a check that came to a figure; through the card where it is the same card still."""
    contents = check_of(entry)
    given, kept = contents.given, set(contents.documents.values())
    for run in contents.judged.runs:
        if run.circuit != circuit or run.tension_lbf is None:
            continue
        readings = [r for r in given.readings if (r.circuit, r.run, r.station) == run.where]
        card = rig.cards.get(run.tensiometer or "")
        same_card = card is not None and card.sha256 in kept
        for r in readings if same_card else readings[:1]:
            yield Event(
                time=time,
                circuit=circuit,
                run=run.run,
                station=run.station,
                state=r.state or given.state,
                half_turns=0,
                riser=r.riser,
                dial=r.dial if same_card else None,
                tensiometer=r.tensiometer,
                tension_lbf=None if same_card else run.tension_lbf,
                uncertainty_lbf=None if same_card else run.uncertainty_lbf,
                structure_degF=given.at_degF if r.structure_degF is None else r.structure_degF,
                air_degF=r.air_degF,
            )


def _turned(change: Written) -> Event:
    given = change.fields
    assert isinstance(given, Adjustment)
    time = _moment(change.place, change.dated_back, change.time_utc)
    return Event(time, change.circuit, given.turnbuckle, "", "", given.half_turns)


def _plain(error: RiggingError) -> str:
    """The words of an error, without the file they would stand in."""
    return "; ".join(p.message for p in error.problems) if isinstance(error, BadFile) else str(error)
