"""The files that a log keeps, and the sheet that an entry went by, read from them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import msgspec

from rigging.errors import BadFile
from rigging.jobs.snapshot import Kept, rebuild, sha256_of
from rigging.log.contents import document_of
from rigging.log.entry import Entry
from rigging.log.kinds import DOCUMENT
from rigging.sheet.rig import Rig

if TYPE_CHECKING:
    from rigging.log.store import Log


class Hash(msgspec.Struct, frozen=True):
    """SHA-256 of a kept file; empty where the entry names none."""

    sha256: str = ""


class KeptFile(msgspec.Struct, frozen=True):
    """A kept file by its number and hash: its text is long, and seldom wanted."""

    sequence: int
    payload: Hash


def kept_files(log: Log, aircraft: Sequence[str]) -> Iterator[KeptFile]:
    """The files that a log keeps for an aircraft, by number and hash."""

    def otherwise(entry: Entry) -> KeptFile:
        return KeptFile(entry.sequence, Hash())

    return log.in_brief(KeptFile, otherwise, aircraft=aircraft, kinds={DOCUMENT})


def kept_of(log: Log, entry: Entry) -> Kept:
    """The files that an entry was judged by, out of the log. Raises BadFile where one is not there as it was."""
    wanted: dict[str, str] = entry.payload["documents"]
    found = {
        kept.payload.sha256: document_of(log.entry(kept.sequence)).text
        for kept in kept_files(log, [entry.aircraft])
        if kept.payload.sha256 in wanted.values()
    }
    for name, sha256 in wanted.items():
        if sha256 not in found or sha256_of(found[sha256]) != sha256:
            raise BadFile.one(log.place, f"the log does not hold {name} as entry {entry.sequence} went by it")
    return Kept(entry.payload["sheet"], {name: found[sha256] for name, sha256 in wanted.items()})


class KeptRigs:
    """The sheets that entries went by, each laid out and read once however many entries share it."""

    def __init__(self, log: Log) -> None:
        self._log = log
        self._rigs: dict[tuple[str, ...], Rig] = {}

    def of(self, entry: Entry) -> Rig:
        """The sheet of an entry. Raises BadFile where the log does not hold it as it was, and what ``rebuild`` raises."""
        documents: dict[str, str] = entry.payload["documents"]
        key = (entry.payload["sheet"], *(text for pair in sorted(documents.items()) for text in pair))
        if key not in self._rigs:
            kept = kept_of(self._log, entry)
            self._rigs[key] = rebuild(kept.sheet, kept.texts)
        return self._rigs[key]
