"""What a record of an aircraft is made of: entries as they stand, readings, cables, turnbuckles, who saw what move."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import Any, TypeVar

import msgspec

from rigging.jobs.brief import SUBJECT, Place
from rigging.log.contents import REFUSED, check_of, day_of, is_dated_back, written_of
from rigging.log.entry import Entry
from rigging.log.kinds import CORRECTION, read_given

_T = TypeVar("_T")


class Corrected(msgspec.Struct, frozen=True):
    """That an entry no longer holds: by which entry, whose, when, why. withdrawn: nothing stands instead of it."""

    sequence: int
    who: str
    time_utc: str
    reason: str
    withdrawn: bool


class Written(msgspec.Struct, frozen=True):
    """One entry that a person wrote.

    of: the surface, turnbuckle, cable or part it is about, empty where it is about the circuit. typed: as typed, with
    units. fields: the same as read. figures: what it was judged by. instead_of: the entry in whose place it stands. time_utc: when it was written. day: of what it tells; dated_back: it was written on another.
    """

    sequence: int
    time_utc: str
    day: dt.date
    dated_back: bool
    who: str
    kind: str
    circuit: str
    of: str
    typed: dict[str, Any]
    fields: msgspec.Struct
    verdict: str
    reasons: tuple[str, ...]
    usable_for_sign_off: bool
    figures: dict[str, Any]
    instead_of: int | None = None
    corrected: Corrected | None = None

    @property
    def stands(self) -> bool:
        """Whether no later entry takes it back."""
        return self.corrected is None

    @property
    def place(self) -> Place:
        """Its place in the story."""
        return self.day, self.sequence

    @property
    def alone(self) -> bool:
        """Whether it is an inspection without a second person."""
        return self.typed.get("alone") is True


class ReadingRecord(msgspec.Struct, frozen=True):
    """One station of one run in one check, as it was written down then; nothing of it is computed anew.

    day: on which it was read. uncertainty_lbf [lbf]: U at 95 % of the reading alone; guard_lbf [lbf]: with that of the
    limits. low_lbf, high_lbf [lbf]: at temperature_degF. typed: the digits of the dials as typed. steady_since, states: in the words of whoever read.
    """

    sequence: int
    time_utc: str
    day: str
    who: str
    circuit: str
    run: str
    station: str
    tensiometers: tuple[str, ...]
    risers: tuple[int, ...]
    dials: tuple[float, ...]
    typed: tuple[str, ...]
    tension_lbf: float | None
    uncertainty_lbf: float | None
    guard_lbf: float | None
    temperature_degF: float | None
    air_degF: float | None
    low_lbf: float | None
    high_lbf: float | None
    at_reference_lbf: float | None
    reference_degF: float | None
    verdict: str
    side: str
    plain: str
    probability_in_limits: float | None
    usable_for_sign_off: bool
    action: str
    refusal: str
    reasons: tuple[str, ...]
    assumptions: tuple[str, ...]
    basis: str
    source: str
    states: tuple[str, ...]
    steady_since: str
    notes: tuple[str, ...]
    corrected: Corrected | None = None

    @property
    def shown_word(self) -> str:
        """The verdict on a page."""
        return REFUSED if self.refusal else self.verdict

    @property
    def stands(self) -> bool:
        """Whether no later entry takes the check back."""
        return self.corrected is None


class CableRecord(msgspec.Struct, frozen=True):
    """One cable as the sheet has it, with its limits at reference and what was last read on it, by station."""

    name: str
    size: str
    construction: str
    material: str
    length_in: float
    from_end: str
    to_end: str
    limits_text: str
    low_lbf: float | None
    high_lbf: float | None
    reference_degF: float | None
    basis: str
    source: str
    latest: tuple[ReadingRecord, ...]


class TurnbuckleRecord(msgspec.Struct, frozen=True):
    """One turnbuckle: threads that show at each end as last written down (threads_entry: where; None: in the sheet),
    half turns logged in all (+ tightens), how it is secured."""

    cable: str
    thread: str
    threads_showing: tuple[float, float] | None
    threads_entry: int | None
    half_turns: int
    turned: tuple[int, ...]
    safetying: Written | None
    safetying_is_old: bool


class Seen(msgspec.Struct, frozen=True):
    """Which way a surface went: who saw it, in which entry. is_old: from before the last change of the circuit."""

    way: str
    who: str
    sequence: int
    matches: bool
    alone: bool
    is_old: bool


class DirectionRow(msgspec.Struct, frozen=True):
    """One input and one surface: how the sheet says it goes, and how it was seen to go by each of two people."""

    surface: str
    input: str
    expected: str
    first: Seen | None
    second: Seen | None


def corrections(entries: list[Entry]) -> dict[int, Corrected]:
    """Which entries no longer hold, by their number; the last correction of an entry counts."""
    made = [entry for entry in entries if entry.kind == CORRECTION]
    taken_back = {int(e.payload["given"]["corrects"]) for e in made}
    found = {}
    # one that was itself taken back still left its entry without effect, and gives way to any other
    for entry in sorted(made, key=lambda e: e.sequence not in taken_back):
        given = entry.payload["given"]
        withdrawn = entry.sequence in taken_back or not given.get("instead")
        reason = str(given.get("reason", ""))
        found[int(given["corrects"])] = Corrected(entry.sequence, entry.who, entry.time_utc, reason, withdrawn)
    return found


def written(entry: Entry, corrected: Corrected | None, instead_of: int | None = None) -> Written:
    """An entry of a kind that people write, or what a correction puts in the place of one."""
    contents = written_of(entry)
    given, came = contents.given, contents.judged
    return Written(
        sequence=entry.sequence,
        time_utc=entry.time_utc,
        day=day_of(entry),
        dated_back=is_dated_back(entry),
        who=entry.who,
        kind=entry.kind,
        circuit=entry.circuit,
        of=str(given.get(SUBJECT[entry.kind], "")) if entry.kind in SUBJECT else "",
        typed=given,
        fields=read_given(entry.kind, given, f"entry {entry.sequence}"),
        verdict=came.verdict,
        reasons=came.reasons,
        usable_for_sign_off=came.usable_for_sign_off,
        figures=came.figures,
        instead_of=instead_of,
        corrected=corrected,
    )


def readings_of(entry: Entry, corrected: Corrected | None) -> list[ReadingRecord]:
    """Every station that was read, or refused, in a check."""
    contents = check_of(entry)
    given, found = contents.given, []
    for run in contents.judged.runs:
        own = [r for r in given.readings if (r.circuit, r.run, r.station) == run.where]
        if not own and not run.refusal:
            continue  # the check names every run of the sheet, also those nobody read that day
        air = [r.air_degF for r in own if r.air_degF is not None]
        found.append(
            ReadingRecord(
                sequence=entry.sequence,
                time_utc=entry.time_utc,
                day=given.on.isoformat(),
                who=entry.who,
                circuit=run.circuit,
                run=run.run,
                station=run.station,
                tensiometers=_each(r.tensiometer for r in own),
                risers=_each(r.riser for r in own),
                dials=tuple(r.dial for r in own),
                typed=tuple(r.typed for r in own),
                tension_lbf=run.tension_lbf,
                uncertainty_lbf=run.uncertainty_lbf,
                guard_lbf=run.guard_lbf,
                temperature_degF=run.temperature_degF,
                air_degF=sum(air) / len(air) if air else None,
                low_lbf=run.low_lbf,
                high_lbf=run.high_lbf,
                at_reference_lbf=run.tension_at_reference_lbf,
                reference_degF=run.reference_degF,
                verdict=run.verdict,
                side=run.side or "",
                plain=run.plain or "",
                probability_in_limits=run.probability_in_limits,
                usable_for_sign_off=run.usable_for_sign_off,
                action=run.action,
                refusal=run.refusal or "",
                reasons=run.reasons,
                assumptions=run.assumptions,
                basis=run.basis,
                source=run.source,
                states=_each(filter(None, [*(r.state for r in own), given.state])),
                steady_since=given.steady_since,
                notes=_each(r.note for r in own if r.note),
                corrected=corrected,
            )
        )
    return found


def _each(values: Iterable[_T]) -> tuple[_T, ...]:
    """The values, each once, in order."""
    return tuple(dict.fromkeys(values))
