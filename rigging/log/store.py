"""The log as a place to append to: a SQLite file, or a database on a PostgreSQL server.

What ``append`` has returned is on the disk. Nothing is ever updated or deleted, and the engine itself refuses to.
"""

from __future__ import annotations

import random
import time
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import datetime, timedelta
from itertools import islice
from typing import TYPE_CHECKING, Any, Final

from rigging.clock import Clock
from rigging.errors import BadFile, Refusal
from rigging.log.backend import Backend, faults
from rigging.log.chain import GENESIS, Sealed, fault, seal
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
from rigging.log.reading import AT_ONCE, LAST, Reading

if TYPE_CHECKING:
    from sqlalchemy import Connection

CLOCK_SLACK: Final = timedelta(minutes=5)
TRIES: Final = 30
_LAST_RECORD: Final = "SELECT sequence, hash, record FROM entries ORDER BY sequence DESC LIMIT 1"


class Moved(Refusal):
    """Someone else wrote since the log was read, so that what was decided may no longer hold; nothing was written."""


def open_log(place: str, clock: Clock | None = None, *, create: bool = False) -> Log:
    """The log at a place: the path of a file, or ``postgresql://USER@HOST/DATABASE``.

    clock: dates what is written; a log that is only read needs none. create: make it where there is none yet; a log whose creation was cut short is made anew. Raises Refusal or BadFile,
    one line each: nothing there, something else there, a newer version, no right, no server, no driver.
    """
    backend = backend_at(place, create)
    try:
        with faults(backend):
            enter(backend, create)
    except BaseException:
        backend.engine.dispose()
        raise
    return Log(backend, clock)


class Log(Reading):
    """An open log, for reading and writing. Made by ``open_log``."""

    def __init__(self, backend: Backend, clock: Clock | None = None) -> None:
        super().__init__(backend)
        self._clock = clock

    @property
    def clock(self) -> Clock:
        """What dates the entries. Raises ValueError where the log was opened without one."""
        if self._clock is None:
            raise ValueError(f"{self.place} was opened without a clock, to be read alone")
        return self._clock

    def append(
        self,
        drafts: Sequence[Draft],
        *,
        program: str,
        tables: dict[str, str],
        after: str | None = None,
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
                    return self._append(drafts, program, tables, after, clock_is_right)
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
            moment = self.clock.now()
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

    def take(self, sealed: Iterable[Sealed]) -> int:
        """Take over a chain, or what of it lies behind the entries that are here already: all of it, or nothing.

        Returns the number of entries that are new. Raises BadFile where the chain is broken or holds no entries, Refusal
        where it is another one than the log's.
        """
        with faults(self._backend), self._writing() as connection:
            last = connection.exec_driver_sql(LAST).first()
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
            while rows := [_row(s, e) for s, e in islice(new, AT_ONCE)]:
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
            "clock first; nothing was written. Where it was the clock of that entry which was wrong, write a note that says so: "
            "'rigging log add note' with --clock-is-right"
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
