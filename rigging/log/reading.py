"""A log as a place to read from: entries in order, one of them, its head, and whether its chain is whole."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from types import TracebackType
from typing import Any, Final, NamedTuple, Self, TypeVar

import msgspec

from rigging.errors import BadFile, Refusal
from rigging.log.backend import Backend, faults, tables
from rigging.log.chain import GENESIS, ChainState, Sealed, walk_rows
from rigging.log.entry import Entry, entry_of

T = TypeVar("T")

AT_ONCE: Final = 1000
LAST: Final = "SELECT sequence, hash FROM entries ORDER BY sequence DESC LIMIT 1"
MOST_ENTRIES: Final = 2**63 - 1  # what either engine can number
_SEALED: Final = "SELECT sequence, record, previous_hash, hash FROM entries ORDER BY sequence"
_ROWS: Final = "SELECT sequence, record, previous_hash, hash, aircraft, kind, circuit FROM entries ORDER BY sequence"


class Head(NamedTuple):
    """How many entries there are, and the hash of the last one: printed on every record, a cut tail shows."""

    entries: int
    head_hash: str


class Reading:
    """An open log, for reading; close it, or use it in a ``with``."""

    def __init__(self, backend: Backend) -> None:
        self._backend = backend
        self.place = backend.place

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, tb: TracebackType | None) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the file or server."""
        self._backend.engine.dispose()

    def head(self) -> Head:
        """The number of entries and the hash of the last one."""
        with faults(self._backend), self._backend.engine.connect() as connection:
            last = connection.exec_driver_sql(LAST).first()
        return Head(0, GENESIS) if last is None else Head(last[0], last[1])

    def entry(self, sequence: int) -> Entry:
        """One entry. Raises Refusal where there is none of that number."""
        from sqlalchemy import select

        column = tables().entries.c
        record = None
        if 1 <= sequence <= MOST_ENTRIES:
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

    def in_brief(
        self,
        shape: type[T],
        otherwise: Callable[[Entry], T],
        doubtful: Callable[[T], bool] | None = None,
        *,
        aircraft: str | Collection[str] | None = None,
        kinds: Collection[str] | None = None,
    ) -> Iterator[T]:
        """The same entries read as another struct, which names only the fields that are wanted: several times as fast.

        otherwise: makes it of an entry that has not this shape, or that is doubtful once it is read. Raises BadFile for what is no entry at all.
        """
        decode = msgspec.json.Decoder(shape).decode
        for sequence, record in self._records(aircraft, kinds, None, 1):
            try:
                found = decode(record)
            except (msgspec.MsgspecError, UnicodeError, RecursionError):
                yield otherwise(self._entry(sequence, record))
                continue
            yield otherwise(self._entry(sequence, record)) if doubtful is not None and doubtful(found) else found

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
            rows = connection.execution_options(yield_per=AT_ONCE).execute(asked)
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
