"""Who signed, what was corrected, and which files are kept, as the record shows them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import msgspec

from rigging.jobs.circuit_history import History
from rigging.jobs.record_parts import Written
from rigging.log.contents import document_of, signature_of
from rigging.log.entry import Entry
from rigging.log.kinds import CORRECTION, DOCUMENT, SIGNATURE


class Signature(msgspec.Struct, frozen=True):
    """A signature: who, when, for which circuits; closed_by: each item with the entry that closed it and its author.

    alone: who inspected without a second person. later: the circuits of it that have newer entries.
    """

    sequence: int
    time_utc: str
    who: str
    circuits: tuple[str, ...]
    without_record: tuple[str, ...]
    never_recorded: dict[str, tuple[str, ...]]
    statement: str
    remark: str
    closed_by: tuple[tuple[str, int, str], ...]
    alone: tuple[str, ...]
    later: tuple[str, ...]


class CorrectionRecord(msgspec.Struct, frozen=True):
    """A correction beside what it corrects; wrong, instead: the entries, None where it is a check or nothing stands instead."""

    sequence: int
    time_utc: str
    who: str
    reason: str
    corrects: int
    kind: str
    wrong: Written | None
    instead: Written | None


class Kept(msgspec.Struct, frozen=True):
    """A file that the log keeps: its name, SHA-256 and entry."""

    name: str
    sha256: str
    sequence: int


def signatures(entries: Sequence[Entry], history: History) -> Iterator[Signature]:
    """Every signature, oldest first."""
    who = {entry.sequence: entry.who for entry in entries}
    for entry in entries:
        if entry.kind != SIGNATURE:
            continue
        given = signature_of(entry).given
        yield Signature(
            sequence=entry.sequence,
            time_utc=entry.time_utc,
            who=entry.who,
            circuits=given.circuits,
            without_record=given.without_record,
            never_recorded=given.never_recorded,
            statement=given.statement,
            remark=given.remark,
            closed_by=tuple((label, n, who.get(n, "")) for label, n in given.closed_by.items()),
            alone=given.alone,
            later=tuple(n for n in given.circuits if history.circuit(n).last > entry.sequence),
        )


def corrections_of(entries: Sequence[Entry], made: Sequence[Written]) -> Iterator[CorrectionRecord]:
    """Every correction beside what it corrects, oldest first."""
    kinds = {entry.sequence: entry.kind for entry in entries}
    own = {w.sequence: w for w in made if w.instead_of is None}
    instead = {w.sequence: w for w in made if w.instead_of is not None}
    for entry in entries:
        if entry.kind == CORRECTION:
            n = int(entry.payload["given"]["corrects"])
            reason = str(entry.payload["given"].get("reason", ""))
            yield CorrectionRecord(
                entry.sequence, entry.time_utc, entry.who, reason, n, kinds.get(n, ""), own.get(n), instead.get(entry.sequence)
            )  # fmt: skip


def documents(entries: Sequence[Entry]) -> Iterator[Kept]:
    """Every file that the log keeps, oldest first."""
    for entry in entries:
        if entry.kind == DOCUMENT:
            kept = document_of(entry)
            yield Kept(kept.name, kept.sha256, entry.sequence)
