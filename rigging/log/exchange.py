"""A log in and out of files: JSON Lines, which can be taken into another log, and rows for a table.

A file of JSON Lines begins with a line that names the number of entries and the head hash; every line after it is one
entry as it is sealed. Nothing is taken before the whole file has been verified.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Final, NoReturn, TextIO

import msgspec

from rigging.errors import BadFile, Refusal
from rigging.log.backend import FORMAT_VERSION
from rigging.log.chain import GENESIS, Sealed, fault
from rigging.log.entry import LARGEST_RECORD, check_names, entry_of, time_of
from rigging.log.reading import Head, Reading
from rigging.log.store import Log

# a record inside a line: every quote and backslash has one more before it, a letter beyond ASCII may be written \uXXXX
LONGEST_LINE: Final = 4 * LARGEST_RECORD
ROW_COLUMNS: Final = ("sequence", "time_utc", "who", "kind", "aircraft", "circuit", "payload", "hash")


class _Header(msgspec.Struct, forbid_unknown_fields=True):
    rig_log: int
    entries: int
    head_hash: str


class _Line(msgspec.Struct, forbid_unknown_fields=True):
    sequence: int
    record: str
    previous_hash: str
    hash: str


_ENCODER = msgspec.json.Encoder()
_HEADER = msgspec.json.Decoder(_Header)
_LINE = msgspec.json.Decoder(_Line)


def export_jsonl(log: Reading, out: TextIO) -> Head:
    """The whole log, verified as it is written. Raises BadFile at the first bad entry; what was written is then a part."""
    head = log.head()
    out.write(_ENCODER.encode(_Header(FORMAT_VERSION, head.entries, head.head_hash)).decode() + "\n")
    for row in _good(log, head.entries):
        out.write(_ENCODER.encode(_Line(*row)).decode() + "\n")
    return head


def _good(log: Reading, entries: int) -> Iterator[Sealed]:
    """The first entries of a log, each held against the one before it."""
    head, count = GENESIS, 0
    if not entries:
        return
    for row in log.sealed():
        why = fault((*row, None, None, None), count + 1, head)
        if why:
            raise BadFile.one(log.place, f"entry {count + 1}: {why}: verify the log")
        yield row
        head, count = row.hash, count + 1
        if count == entries:  # what others add meanwhile belongs to the next export
            return
    raise BadFile.one(log.place, f"holds {count} entries where its last one is no. {entries}: verify the log")


def import_jsonl(log: Log, path: Path) -> Head:
    """Take a file that ``export_jsonl`` wrote, into a new log or one that holds the beginning of it: all of it, or nothing.

    The file is verified from end to end before the log is touched. Raises BadFile with the line, and Refusal where the
    log holds another history.
    """
    for _ in _read(path):
        pass
    log.take(_read(path))
    return log.head()


def _read(path: Path) -> Iterator[Sealed]:
    """The entries of a file, each verified; the last one only where the file keeps what its first line says."""
    try:
        with path.open("rb") as stream:
            raw = stream.readline(LONGEST_LINE + 1)
            try:
                header = _HEADER.decode(raw)
            except (msgspec.MsgspecError, UnicodeError, RecursionError):
                _bad(
                    path,
                    1,
                    "is no export of a rig log: its first line must name the number of entries and the head hash",
                )
            if header.rig_log > FORMAT_VERSION:
                raise Refusal(f"{path}: written by a newer version of this program: update this program")
            if header.rig_log < 1:
                _bad(path, 1, f"there is no format {header.rig_log}")
            head, count = GENESIS, 0
            while raw := stream.readline(LONGEST_LINE + 1):
                count += 1
                row = _entry(path, count + 1, raw, head)
                if count > header.entries:
                    _bad(path, count + 1, f"is one entry more than the {header.entries} of the first line")
                head = row.hash
                if count == header.entries and head != header.head_hash:
                    _bad(path, count + 1, "its hash is not the head hash of the first line")
                yield row
            if count < header.entries:
                _bad(path, count + 1, f"the file ends after {count} of {header.entries} entries: it was cut short")
            if not count and header.head_hash != GENESIS:
                _bad(path, 1, "no entries, and the head hash of some")
    except FileNotFoundError:
        raise BadFile.one(path, "is not there: check the name and the folder") from None
    except IsADirectoryError:
        raise BadFile.one(path, "is a folder: name the file in it") from None
    except OSError as error:
        raise BadFile.one(path, f"cannot be read ({error.strerror})") from None


def _entry(path: Path, line: int, raw: bytes, head: str) -> Sealed:
    if len(raw) > LONGEST_LINE:
        _bad(path, line, f"is longer than any entry can be ({LONGEST_LINE / 1e6:.0f} MB)")
    try:
        row = Sealed(*msgspec.structs.astuple(_LINE.decode(raw)))
    except (msgspec.MsgspecError, UnicodeError, RecursionError) as error:
        _bad(path, line, f"is no entry of an export ({error})")
    why = fault((*row, None, None, None), line - 1, head)
    if not why:
        try:
            entry = entry_of(row.record)
            check_names(entry)
            time_of(entry.time_utc)
        except BadFile as error:
            why = error.problems[0].message
        except Refusal as error:
            why = str(error)
    if why:
        _bad(path, line, f"entry {line - 1}: {why}")
    return row


def _bad(path: Path, line: int, message: str) -> NoReturn:
    raise BadFile.one(path, message, line)


def export_rows(log: Log) -> Iterator[dict[str, str]]:
    """A row of ROW_COLUMNS per entry, the payload as JSON text. ``rigging.report.as_csv`` makes formulas harmless."""
    for row in _good(log, log.head().entries):
        entry = entry_of(row.record)
        yield {
            "sequence": str(entry.sequence),
            "time_utc": entry.time_utc,
            "who": entry.who,
            "kind": entry.kind,
            "aircraft": entry.aircraft,
            "circuit": entry.circuit,
            "payload": _ENCODER.encode(entry.payload).decode(),
            "hash": row.hash,
        }
