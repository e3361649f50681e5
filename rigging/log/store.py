"""The log as a place to append to and to read from: a SQLite file, or a database on a PostgreSQL server.

What ``append`` has returned is on the disk. Nothing is ever updated or deleted, and the engine itself refuses to.
"""

from __future__ import annotations

import random
import time
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from itertools import islice
from types import TracebackType
from typing import TYPE_CHECKING, Any, Final, NamedTuple, TypeVar

import msgspec

from rigging.errors import BadFile, Refusal
from rigging.log.backend import Backend, faults, tables
from rigging.log.chain import GENESIS, ChainState, Sealed, fault, seal, walk_rows
from rigging.log.entry import (
    Draft,
    Entry,
    check_names,
    check_payload,
    entry_of,
    sealed_text,
    text_of_time,
    time_in,
    time_of,
)
from rigging.log.opening import backend_at, enter

if TYPE_CHECKING:
    from sqlalchemy import Connection

T = TypeVar("T")

CLOCK_SLACK: Final = timedelta(minutes=5)
TRIES: Final = 30
_AT_ONCE: Final = 1000
_SEALED: Final = "SELECT sequence, record, previous_hash, hash FROM entries ORDER BY sequence"
_ROWS: Final = "SELECT sequence, record, previous_hash, hash, aircraft, kind, circuit FROM entries ORDER BY sequence"
_LAST: Final = "SELECT sequence, hash FROM entries ORDER BY sequence DESC LIMIT 1"
_LAST_RECORD: Final = "SELECT sequence, hash, record FROM entries ORDER BY sequence DESC LIMIT 1"


class Moved(Refusal):
    """Someone else wrote since the log was read, so that what was decided may no longer hold; nothing was written."""


class Head(NamedTuple):
    """How many entries there are, and the hash of the last one: printed on every record, a cut tail shows."""

    entries: int
    head_hash: str


def open_log(place: str, *, create: bool = False) -> Log:
    """The log at a place: the path of a file, or ``postgresql://USER@HOST/DATABASE``.

    create: make it where there is none yet; a log whose creation was cut short is made anew. Raises Refusal or BadFile,
    one line each: nothing there, something else there, a newer version, no right, no server, no driver.
    """
    backend = backend_at(place, create)
    try:
        with faults(backend):
            enter(backend, create)
    except BaseException:
        backend.engine.dispose()
        raise
    return Log(backend)


def _utc_now() -> datetime:
    return datetime.now(UTC)


class Log:
    """An open log; close it, or use it in a ``with``. Made by ``open_log``."""

    def __init__(self, backend: Backend) -> None:
        self._backend = backend
        self.place = backend.place

    def __enter__(self) -> Log:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, tb: TracebackType | None) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the file or server."""
        self._backend.engine.dispose()

    def append(
        self,
        drafts: Sequence[Draft],
        *,
        program: str,
        tables: dict[str, str],
        after: str | None = None,
        now: Callable[[], datetime] = _utc_now,
        clock_is_right: bool = False,
    ) -> list[Entry]:
        """Write all drafts, or none, one behind the other; on the disk when this returns.

        after: the head hash that the writer's decision rests on; Moved where the head is another by now.
        clock_is_right: write although the last entry lies more than CLOCK_SLACK ahead (its clock was the wrong one).
        Raises Refusal, with nothing written.
        """
        for draft in drafts:
            check_names(draft)
            check_payload(draft.payload)
        if not drafts:
            return []
        for attempt in range(TRIES):
            try:
                with faults(self._backend):
                    return self._append(drafts, program, tables, after, now, clock_is_right)
            except _LostRaceError:
                # the next turn reads the head anew; where the writer insists on one, that turn says Moved
                time.sleep(random.uniform(0, 0.002 * 2 ** min(attempt, 6)))
        raise Refusal(f"{self.place}: others wrote first {TRIES} times: nothing was written; try again")

    def _append(
        self,
        drafts: Sequence[Draft],
        program: str,
        tables_used: dict[str, str],
        after: str | None,
        now: Callable[[], datetime],
        clock_is_right: bool,
    ) -> list[Entry]:
        with self._writing() as connection:
            last = connection.exec_driver_sql(_LAST_RECORD).first()
            count, head = (0, GENESIS) if last is None else (last[0], last[1])
            if after is not None and after != head:
                raise Moved(
                    f"{self.place}: someone else has written since it was read ({count} entries now): nothing was "
                    "written; look again and decide again"
                )
            moment = now()
            if last is not None and not clock_is_right:
                _check_clock(moment, time_in(last[2]))
            text_of_moment = text_of_time(moment)
            written = [
                Entry(count + i, text_of_moment, d.who, d.kind, d.aircraft, d.circuit, d.payload, program, tables_used)
                for i, d in enumerate(drafts, 1)
            ]
            rows = []
            for entry in written:
                sealed = seal(entry.sequence, sealed_text(entry), head)
                rows.append(_row(sealed, entry))
                head = sealed.hash
            connection.exec_driver_sql(self._backend.insert, rows)
            connection.commit()
        return written

    @contextmanager
    def _writing(self) -> Iterator[Connection]:
        """A transaction of the only writer; rolled back unless it is committed inside."""
        with self._backend.engine.connect() as connection:
            try:
                self._backend.lock(connection)
                yield connection
            except Exception as error:
                connection.rollback()
                if self._backend.lost_race(error):
                    raise _LostRaceError from error
                raise

    def head(self) -> Head:
        """The number of entries and the hash of the last one."""
        with faults(self._backend), self._backend.engine.connect() as connection:
            last = connection.exec_driver_sql(_LAST).first()
        return Head(0, GENESIS) if last is None else Head(last[0], last[1])

    def entry(self, sequence: int) -> Entry:
        """One entry. Raises Refusal where there is none of that number."""
        from sqlalchemy import select

        column = tables().entries.c
        with faults(self._backend), self._backend.engine.connect() as connection:
            record = connection.execute(select(column.record).where(column.sequence == sequence)).scalar()
        if record is None:
            raise Refusal(f"{self.place}: there is no entry {sequence}: the log holds {self.head().entries}")
        return self._entry(sequence, record)

    def entries(
        self,
        *,
        aircraft: str | Collection[str] | None = None,
        kinds: Collection[str] | None = None,
        circuit: str | None = None,
        start: int = 1,
    ) -> Iterator[Entry]:
        """Entries in order, from ``start``, as they come from the store: those of an aircraft, of some kinds, of a circuit.

        Shows the log as it was when the first one was taken.
        """
        for sequence, record in self._records(aircraft, kinds, circuit, start):
            yield self._entry(sequence, record)

    def in_brief(self, shape: type[T], *, aircraft: str | Collection[str] | None = None) -> Iterator[T]:
        """The same entries read as another struct, which names only the fields that are wanted: several times as fast.

        Raises BadFile for an entry that has not this shape.
        """
        decode = msgspec.json.Decoder(shape).decode
        for sequence, record in self._records(aircraft, None, None, 1):
            try:
                yield decode(record)
            except (msgspec.MsgspecError, UnicodeError, RecursionError):
                raise BadFile.one(self.place, f"entry {sequence} is damaged: verify the log") from None

    def _records(
        self, aircraft: str | Collection[str] | None, kinds: Collection[str] | None, circuit: str | None, start: int
    ) -> Iterator[tuple[int, str]]:
        from sqlalchemy import select

        column = tables().entries.c
        asked = select(column.sequence, column.record).order_by(column.sequence)
        if aircraft is not None:
            names = [aircraft] if isinstance(aircraft, str) else sorted(aircraft)
            asked = asked.where(column.aircraft.in_(names))
        if kinds is not None:
            asked = asked.where(column.kind.in_(sorted(kinds)))
        if circuit is not None:
            asked = asked.where(column.circuit == circuit)
        if start > 1:
            asked = asked.where(column.sequence >= start)
        with faults(self._backend), self._backend.engine.connect() as connection:
            rows = connection.execution_options(yield_per=_AT_ONCE).execute(asked)
            try:
                for part in rows.partitions():
                    yield from part
            finally:
                rows.close()

    def _entry(self, sequence: int, record: str) -> Entry:
        try:
            return entry_of(record)
        except BadFile:
            raise BadFile.one(self.place, f"entry {sequence} is damaged: verify the log") from None

    def aircraft(self) -> list[str]:
        """Every aircraft that the log holds entries of."""
        from sqlalchemy import select

        with faults(self._backend), self._backend.engine.connect() as connection:
            return sorted(connection.execute(select(tables().entries.c.aircraft).distinct()).scalars())

    def sealed(self) -> Iterator[Sealed]:
        """Every entry as it is stored, in order."""
        return map(Sealed._make, self._stream(_SEALED))

    def _stream(self, asked: str) -> Iterator[tuple[Any, ...]]:
        """Rows straight from the driver, one after the other: a million of them need no more memory than one."""
        with faults(self._backend), self._backend.engine.connect() as connection:
            yield from self._backend.stream(connection, asked)

    def verify(self, progress: Callable[[int], None] | None = None) -> ChainState:
        """Walk the whole chain, and look at the columns and the store itself.

        progress: told the number of good entries now and then. Raises BadFile where the store is damaged in a way that
        no single entry shows.
        """
        state = walk_rows(self._readable_rows(), progress)
        if state.intact:
            with faults(self._backend), self._backend.engine.connect() as connection:
                why = self._backend.inspect(connection)
            if why:
                raise BadFile.one(self.place, f"{why}: keep it as it is, and go on from a copy or an export")
        return state

    def _readable_rows(self) -> Iterator[tuple[Any, ...]]:
        """Rows, and after them one that is none where the next cannot be read as text."""
        rows = self._stream(_ROWS)
        try:
            yield from rows
        except BadFile as error:
            if "decode" not in str(error):
                raise
            yield (0, None, "", "", None, None, None)

    def take(self, sealed: Iterable[Sealed]) -> int:
        """Take over a chain, or what of it lies behind the entries that are here already: all of it, or nothing.

        Returns the number of entries that are new. Raises BadFile where the chain is broken or holds no entries, Refusal
        where it is another one than the log's.
        """
        with faults(self._backend), self._writing() as connection:
            last = connection.exec_driver_sql(_LAST).first()
            here = 0 if last is None else last[0]
            incoming = _checked(sealed)
            new: Iterator[tuple[Sealed, Entry]] = incoming
            if last is not None:
                first = list(islice((row for row, _ in incoming), here - 1, here))
                if not first:
                    raise Refusal(f"{self.place}: holds {here} entries, more than are to be taken: nothing was taken")
                if first[0].hash != last[1]:
                    raise Refusal(f"{self.place}: holds another history: take the entries into a new log instead")
            taken = 0
            while rows := [_row(s, e) for s, e in islice(new, _AT_ONCE)]:
                connection.exec_driver_sql(self._backend.insert, rows)
                taken += len(rows)
            connection.commit()
        return taken


class _LostRaceError(Exception):
    """Another writer took the sequence."""


def _row(sealed: Sealed, entry: Entry) -> tuple[Any, ...]:
    return (*sealed, entry.aircraft, entry.kind, entry.circuit)


def _check_clock(moment: datetime, last: datetime) -> None:
    if moment < last - CLOCK_SLACK:
        raise Refusal(
            f"the clock says {text_of_time(moment)[:19]}Z, the last entry is of {text_of_time(last)[:19]}Z: set the "
            "clock first; nothing was written"
        )


def _checked(sealed: Iterable[Sealed]) -> Iterator[tuple[Sealed, Entry]]:
    """The entries of a chain, each held against the one before it."""
    head = GENESIS
    for expected, row in enumerate(sealed, 1):
        why = fault((*row, None, None, None), expected, head)
        if not why:
            try:
                entry = entry_of(row.record)
                check_names(entry)
                time_of(entry.time_utc)
            except (BadFile, Refusal) as error:
                why = str(error)
        if why:
            raise BadFile.one(f"entry {expected}", why)
        head = row.hash
        yield row, entry
