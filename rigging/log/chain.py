"""The hash chain: every entry seals the one before it, so that a changed, missing or moved entry shows.

A record is the exact text of one entry, JSON with its sequence, time, author, kind and payload. Its hash
is SHA-256 over the previous entry's hash and the record's bytes. A chain shows what is inconsistent, not who
wrote it: that its tail was cut off, or that all of it was written anew, shows only beside the count and the head
hash of a printed record, which is why every record carries them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from hashlib import sha256
from typing import Any, Final, NamedTuple

import msgspec

GENESIS: Final = "0" * 64  # stands before the first entry
CANNOT_SHOW: Final = (
    "This cannot show that the newest entries were cut off or that the whole file was rewritten: compare count and seal "
    "with a printed record."
)
EVERY: Final = 10_000  # entries between two reports of progress


class Sealed(NamedTuple):
    """An entry as stored: its place, its exact text, the hash before it and its own."""

    sequence: int
    record: str
    previous_hash: str
    hash: str


class ChainState(NamedTuple):
    """What a walk along the chain found.

    entries, head_hash: what is intact from the start. first_bad_entry: the sequence at which it breaks, None where
    intact; why: in words.
    """

    entries: int
    head_hash: str
    first_bad_entry: int | None
    why: str

    @property
    def intact(self) -> bool:
        """Whether every entry is the one that was sealed."""
        return self.first_bad_entry is None


class _Own(msgspec.Struct, frozen=True):
    """What a record says of its own place; the rest of it is read for its form alone."""

    sequence: int
    aircraft: str
    kind: str
    circuit: str


_OWN = msgspec.json.Decoder(_Own)


def seal(sequence: int, record: str, previous_hash: str) -> Sealed:
    """An entry with its hash."""
    return Sealed(sequence, record, previous_hash, own_hash(record, previous_hash))


def own_hash(record: str, previous_hash: str) -> str:
    """SHA-256, in hexadecimal, of the previous hash and the record's bytes."""
    return sha256(previous_hash.encode() + record.encode()).hexdigest()


def walk(entries: Iterable[Sealed], progress: Callable[[int], None] | None = None) -> ChainState:
    """Check entries in order of sequence, in one pass and constant memory; stops at the first bad one.

    progress: told the number of good entries, every EVERY of them.
    """
    return walk_rows(((*entry, None, None, None) for entry in entries), progress)


def walk_rows(rows: Iterable[tuple[Any, ...]], progress: Callable[[int], None] | None = None) -> ChainState:
    """The same over rows of a store: a Sealed and the columns aircraft, kind, circuit, None where there are none.

    A column that says something else than the record would hide an entry from whoever asks by it.
    """
    head, count = GENESIS, 0
    for row in rows:
        expected = count + 1
        why = fault(row, expected, head)
        if why:
            return ChainState(count, head, expected, why)
        head, count = row[3], expected
        if progress is not None and not count % EVERY:
            progress(count)
    return ChainState(count, head, None, "")


def fault(row: tuple[Any, ...], expected: int, head: str) -> str:
    """Why a row is not the entry that belongs at ``expected`` after ``head``; empty where it is."""
    sequence, record, previous_hash, own, aircraft, kind, circuit = row
    if type(record) is not str:
        return "its text cannot be read"
    if sequence != expected:
        return f"it is missing: entry {sequence} stands in its place"
    if previous_hash != head:
        return "it does not follow the entry before it"
    try:
        if own != sha256(f"{head}{record}".encode()).hexdigest():
            return "its text is not what was sealed"
        says = _OWN.decode(record)
    except (msgspec.MsgspecError, UnicodeError, RecursionError):
        return "its text is no entry"
    if says.sequence != expected:
        return f"its text says that it is entry {says.sequence}"
    if aircraft is not None and (aircraft != says.aircraft or kind != says.kind or circuit != says.circuit):
        return "it is listed under another aircraft, circuit or kind than its text says"
    return ""
