"""What the entries of this program hold, sort by sort: the one place that says what a reader of a log may rely on.

A chain that is whole says that its entries seal one another, and not that this program wrote them. What another hand or
another version wrote and this one cannot read is a misfit: it is shown as it stands, and counts for nothing.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from typing import Any, Final, NamedTuple, TypeVar

import msgspec

from rigging.errors import LONGEST_MESSAGE, BadFile, Refusal
from rigging.log.entry import Entry, day_written, time_of
from rigging.log.kinds import AGAIN, ANSWER, CHECK, CORRECTION, DOCUMENT, KINDS, SIGNATURE, read_given
from rigging.sheet.readings import Reading

T = TypeVar("T")

REFUSED: Final = "refused"
"""The word for a run that was read without a figure that may be given; its verdict is ``not measured``."""

UNJUDGED: Final = frozenset({ANSWER, AGAIN})
"""Kinds of a guided session that close nothing, and for which there is nothing to judge."""


class ReadStation(msgspec.Struct, frozen=True):
    """A run at one station in the result of a check, as it was kept; the ``check`` contract says what each field means."""

    circuit: str
    run: str
    station: str
    verdict: str
    usable_for_sign_off: bool
    action: str
    basis: str
    source: str
    reasons: tuple[str, ...] = ()
    assumptions: tuple[str, ...] = ()
    tension_lbf: float | None = None
    uncertainty_lbf: float | None = None
    guard_lbf: float | None = None
    temperature_degF: float | None = None
    low_lbf: float | None = None
    high_lbf: float | None = None
    tension_at_reference_lbf: float | None = None
    reference_degF: float | None = None
    side: str | None = None
    plain: str | None = None
    probability_in_limits: float | None = None
    tensiometer: str | None = None
    refusal: str | None = None

    @property
    def where(self) -> tuple[str, str, str]:
        """Circuit, run and station."""
        return self.circuit, self.run, self.station

    @property
    def was_read(self) -> bool:
        """Whether there was a reading, be it refused."""
        return self.tension_lbf is not None or bool(self.refusal)

    @property
    def shown_word(self) -> str:
        """The verdict on a screen."""
        return REFUSED if self.refusal else self.verdict


class DragFound(msgspec.Struct, frozen=True):
    """Drag that a check found in a circuit, in words."""

    circuit: str
    words: str


class CheckGiven(msgspec.Struct, frozen=True):
    """What a check went by. on: the day of the readings; at_degF: the one temperature given for all, None where none was."""

    readings: tuple[Reading, ...]
    on: dt.date
    at_degF: float | None = None
    steady_since: str = ""
    state: str = ""


class CheckCame(msgspec.Struct, frozen=True):
    """What a check came to."""

    verdict: str
    runs: tuple[ReadStation, ...]
    drag: tuple[DragFound, ...] = ()

    @property
    def shown_word(self) -> str:
        """The worst verdict of what was read; ``verdict`` counts what nobody read as well."""
        words = {run.shown_word for run in self.runs if run.was_read}
        return next((word for word in ("out", "re-measure", REFUSED, "in") if word in words), self.verdict)

    @property
    def unread(self) -> int:
        """How many runs of the sheet nobody read."""
        read = {run.where[:2] for run in self.runs if run.was_read}
        return len({run.where[:2] for run in self.runs} - read)


class Dated(msgspec.Struct, frozen=True, kw_only=True):
    """on: the day of what an entry tells; not recorded by earlier versions. dated_back: it was written on another day."""

    on: dt.date | None = None
    dated_back: bool = False


class Check(Dated, frozen=True):
    """A check: what was read, what it came to, and the SHA-256 of every file it went by."""

    given: CheckGiven
    judged: CheckCame
    sheet: str
    documents: dict[str, str]


class Figures(msgspec.Struct, frozen=True):
    """Of the figures that an entry was judged by, those a record prints; they are numbers, or not there."""

    low_deg: float | None = None
    high_deg: float | None = None
    low_lbf: float | None = None
    high_lbf: float | None = None
    friction_lbf: float | None = None
    verdict: str = ""
    basis: str = ""
    source: str = ""


class Came(msgspec.Struct, frozen=True):
    """What an entry that a person wrote came to."""

    verdict: str
    usable_for_sign_off: bool
    reasons: tuple[str, ...] = ()
    figures: dict[str, Any] = {}


class Written(Dated, frozen=True):
    """An entry that a person wrote: the fields as typed, what they came to, and the files they were judged by."""

    given: dict[str, Any]
    judged: Came
    sheet: str
    documents: dict[str, str]


class Document(msgspec.Struct, frozen=True):
    """A file that the log keeps."""

    name: str
    sha256: str
    text: str


class Signed(msgspec.Struct, frozen=True):
    """What a signature says. closed_by: the entry that closed each item."""

    circuits: tuple[str, ...]
    without_record: tuple[str, ...] = ()
    never_recorded: dict[str, tuple[str, ...]] = {}
    statement: str = ""
    remark: str = ""
    closed_by: dict[str, int] = {}
    alone: tuple[str, ...] = ()


class Signature(Dated, frozen=True):
    """A signature with the files it went by."""

    given: Signed
    sheet: str
    documents: dict[str, str]


class Misfit(NamedTuple):
    """An entry that this version cannot read, and why."""

    entry: Entry
    why: str


def check_of(entry: Entry) -> Check:
    """The contents of a check. Raises BadFile where they are none."""
    return _as(Check, entry.payload)


def document_of(entry: Entry) -> Document:
    """A file that the log keeps. Raises BadFile where the entry holds none."""
    return _as(Document, entry.payload)


def signature_of(entry: Entry) -> Signature:
    """The contents of a signature. Raises BadFile where they are none."""
    return _as(Signature, entry.payload)


def written_of(entry: Entry) -> Written:
    """The contents of an entry that a person wrote. Raises BadFile where they are none."""
    payload = entry.payload
    if entry.kind in UNJUDGED and "judged" not in payload:
        payload = {**payload, "judged": {"verdict": "recorded", "usable_for_sign_off": True}}
    found = _as(Written, payload)
    for figures in (found.judged.figures, *found.judged.figures.values()):
        if isinstance(figures, dict):
            _as(Figures, figures)
    return found


def day_of(entry: Entry) -> dt.date:
    """The day of what an entry tells, which need not be that of its writing."""
    given = entry.payload.get("given", {})
    on = entry.payload.get("on") or (given.get("on") if entry.kind == CHECK else None)
    return dt.date.fromisoformat(on) if on else day_written(entry.time_utc)


def is_dated_back(entry: Entry) -> bool:
    """Whether an entry was written on another day than that of what it tells, so that the time of day is not known."""
    if entry.kind != CHECK or entry.payload.get("on"):
        return entry.payload.get("dated_back") is True
    # an earlier version; the day of a reading is the user's, that of its writing the reader's
    return abs((day_of(entry) - day_written(entry.time_utc)).days) > 1


def misfit(entry: Entry) -> str:
    """Why this version cannot read the contents of an entry; empty where it can."""
    try:
        time_of(entry.time_utc)
        if entry.kind in _BY_PROGRAM:
            _BY_PROGRAM[entry.kind](entry)
        elif entry.kind in KINDS:
            read_given(entry.kind, written_of(entry).given, f"entry {entry.sequence}")
        else:
            return f"'{entry.kind}' is no kind of entry that this version knows"
    except BadFile as error:
        return "; ".join(": ".join(filter(None, (p.path, p.message[:LONGEST_MESSAGE]))) for p in error.problems[:3])
    except Refusal as error:
        return str(error)
    return ""


def sort_out(entries: Iterable[Entry], known: Sequence[Entry] = ()) -> tuple[list[Entry], list[Misfit]]:
    """Entries that this version can read, and the others with the reason.

    known: earlier ones that it can read: a correction is read by the kind of what it corrects.
    """
    fitting: list[Entry] = []
    misfits: list[Misfit] = []
    by_number = {entry.sequence: entry for entry in known}
    for entry in entries:
        why = misfit(entry)
        if not why and entry.kind == CORRECTION:
            wrong = by_number.get(entry.payload["given"]["corrects"])
            instead = wrong and stands_instead(entry, wrong)
            why = f"what is to stand instead: {said}" if instead and (said := misfit(instead)) else ""
        if why:
            misfits.append(Misfit(entry, why))
        else:
            fitting.append(entry)
            by_number[entry.sequence] = entry
    return fitting, misfits


def stands_instead(correction: Entry, wrong: Entry) -> Entry | None:
    """What a correction puts in the place of another entry, as an entry; None where it only withdraws it."""
    instead = correction.payload["given"].get("instead")
    if not instead:
        return None
    payload = {**correction.payload, "given": instead}
    return msgspec.structs.replace(correction, kind=wrong.kind, circuit=wrong.circuit, payload=payload)


_BY_PROGRAM = {CHECK: check_of, DOCUMENT: document_of, SIGNATURE: signature_of}


def _as(shape: type[T], payload: dict[str, Any]) -> T:
    try:
        return msgspec.convert(payload, shape)
    except (msgspec.MsgspecError, RecursionError) as error:
        raise BadFile.one("log", str(error)) from None
