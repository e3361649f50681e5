"""A log in a SQLite file: safe against a kill or a power cut at any moment, and opened by many programs at once."""

from __future__ import annotations

import os
import sqlite3
import time
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from rigging.errors import BadFile, Refusal, RiggingError
from rigging.log.backend import COLUMNS, PATIENCE, Found, not_yet, origin

if TYPE_CHECKING:
    from sqlalchemy import Connection

_GUARDS: Final = (
    *(
        f"CREATE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table} BEGIN "
        f"SELECT RAISE(ABORT, 'the log is only added to: {verb} refused'); END"
        for table in ("entries", "rig_log")
        for verb in ("UPDATE", "DELETE")
    ),
    # REPLACE deletes without firing the trigger above, so this is what refuses it
    "CREATE TRIGGER entries_in_turn BEFORE INSERT ON entries WHEN "
    "NEW.sequence IS NOT (SELECT coalesce(max(sequence), 0) + 1 FROM entries) OR NEW.previous_hash IS NOT "
    f"coalesce((SELECT hash FROM entries ORDER BY sequence DESC LIMIT 1), '{'0' * 64}') "
    "BEGIN SELECT RAISE(ABORT, 'the log is only added to: this entry does not follow the last one'); END",
    "CREATE TRIGGER rig_log_once BEFORE INSERT ON rig_log WHEN EXISTS (SELECT 1 FROM rig_log) "
    "BEGIN SELECT RAISE(ABORT, 'the log is only added to: it has its version'); END",
)
_LOST: Final = {"SQLITE_CONSTRAINT_PRIMARYKEY", "SQLITE_CONSTRAINT_TRIGGER", "SQLITE_CONSTRAINT_UNIQUE"}
_READ_ONLY: Final = ("SQLITE_CANTOPEN", "SQLITE_READONLY")


class Sqlite:
    """The file and the engine on it."""

    insert = f"INSERT INTO entries ({COLUMNS}) VALUES (?, ?, ?, ?, ?, ?, ?)"

    def __init__(self, path: Path, *, create: bool) -> None:
        from sqlalchemy import create_engine
        from sqlalchemy.pool import QueuePool

        self.place = str(path)
        self.path = path.absolute()
        self._mode = "rwc" if create else "rw"
        self._check_place(create)
        self.engine = create_engine("sqlite://", creator=self._connect, poolclass=QueuePool, pool_size=2)

    def _check_place(self, create: bool) -> None:
        try:
            if self.path.is_dir():
                raise BadFile.one(self.place, "is a folder: name the file of the log in it")
            if self.path.exists():
                if not self.path.is_file():
                    raise BadFile.one(self.place, "is not an ordinary file")
                return
        except (OSError, ValueError) as error:
            raise BadFile.one(self.place, f"cannot be read ({getattr(error, 'strerror', error)})") from None
        if not create:
            raise not_yet(self.place)
        if not self.path.parent.is_dir():
            raise BadFile.one(self.place, "its folder is not there: make it first, or check the name")

    def _connect(self) -> sqlite3.Connection:
        try:
            return self._opened()
        except sqlite3.Error as error:
            if not self._may_only_read(error):
                raise
        # nobody writes it now: a writer's own file would lie beside it
        self._mode = "ro&immutable=1"
        return self._opened()

    def _opened(self) -> sqlite3.Connection:
        # transactions are begun by hand: the driver's own way begins them too late to keep two writers apart
        connection = sqlite3.connect(
            f"{self.path.as_uri()}?mode={self._mode}",
            uri=True,
            timeout=PATIENCE,
            isolation_level=None,
            check_same_thread=False,
        )
        try:
            connection.execute("PRAGMA synchronous=FULL")
            connection.execute("SELECT 1 FROM sqlite_master LIMIT 1").fetchall()
        except BaseException:
            connection.close()
            raise
        return connection

    def _may_only_read(self, error: sqlite3.Error) -> bool:
        """Whether the file may be read, and only the files SQLite keeps beside it cannot be written."""
        name = getattr(error, "sqlite_errorname", "")
        beside = self.path.with_name(self.path.name + "-wal")
        readable = os.access(self.path, os.R_OK, effective_ids=os.access in os.supports_effective_ids)
        return not self._mode.startswith("ro") and name.startswith(_READ_ONLY) and readable and not beside.exists()

    def look(self, connection: Connection) -> Found:
        """What lies in the file."""
        names = {name for (name,) in connection.exec_driver_sql("SELECT name FROM sqlite_master WHERE type = 'table'")}
        if "rig_log" in names and "entries" in names:
            return "log"
        return "stranger" if names else "nothing"

    def lock(self, connection: Connection) -> None:
        """Begin as the only writer."""
        connection.exec_driver_sql("BEGIN IMMEDIATE")

    def prepare(self, connection: Connection) -> None:
        """Keep a log of changes beside the file (WAL): readers and a writer at once, and one sync for each commit."""
        end = time.monotonic() + PATIENCE
        while True:
            try:
                mode = connection.exec_driver_sql("PRAGMA journal_mode=WAL").scalar()
            except Exception as error:
                # SQLite does not wait by itself while another program does the same
                if not getattr(origin(error), "sqlite_errorname", "").startswith("SQLITE_BUSY"):
                    raise
                if time.monotonic() > end:
                    raise
                time.sleep(0.01)
                continue
            if mode != "wal":
                raise Refusal(
                    f"{self.place}: this disk cannot keep a log safely (no write-ahead log): use a local disk"
                )
            return

    def stream(self, connection: Connection, asked: str) -> Iterator[tuple[Any, ...]]:
        """SQLite computes a row when it is asked for, so that a bad one does not hide the good ones before it."""
        cursor = connection.connection.cursor()
        try:
            cursor.execute(asked)
            yield from cursor  # type: ignore[misc]
        finally:
            cursor.close()

    def guards(self) -> Sequence[str]:
        """Triggers."""
        return _GUARDS

    def created(self) -> None:
        """Make the file's name in its folder as durable as the file."""
        folder = os.open(self.path.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        except OSError:
            pass  # some file systems do not sync folders
        finally:
            os.close(folder)

    def inspect(self, connection: Connection) -> str:
        """SQLite's own check of every page and of the index against the rows."""
        said = connection.exec_driver_sql("PRAGMA integrity_check(1)").scalar()
        return "" if said == "ok" else f"is damaged ({' '.join(str(said).split())})"

    def lost_race(self, error: BaseException) -> bool:
        """Whether another writer took the number."""
        return getattr(origin(error), "sqlite_errorname", "") in _LOST

    def explain(self, error: BaseException) -> RiggingError | None:
        """One line for what SQLite or the disk says."""
        cause = origin(error)
        if isinstance(cause, sqlite3.Error):
            return self._explain(getattr(cause, "sqlite_errorname", ""), str(cause))
        return None

    def _explain(self, name: str, said: str) -> RiggingError:
        if name.startswith("SQLITE_FULL"):
            return Refusal(f"{self.place}: the disk is full: nothing was written; make room and enter it again")
        if name.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
            return Refusal(
                f"{self.place}: another program has held the log for {PATIENCE:.0f} s: nothing was written; close that "
                "program, or try again later"
            )
        if name.startswith(("SQLITE_READONLY", "SQLITE_PERM")):
            return Refusal(f"{self.place}: may only be read: nothing was written; ask for the right to write there")
        if name.startswith("SQLITE_CANTOPEN"):
            return BadFile.one(self.place, "cannot be opened: check the rights of the file and of its folder")
        if name.startswith("SQLITE_IOERR"):
            return Refusal(
                f"{self.place}: the disk failed or has no room ({said}): nothing was written; look at the disk"
            )
        if name.startswith("SQLITE_NOTADB"):
            return BadFile.one(self.place, "is no rig log: it is another kind of file, or its start is damaged")
        if name.startswith("SQLITE_CORRUPT") or "decode" in said:
            return BadFile.one(self.place, f"is damaged ({said}): keep it as it is, and go on from a copy or an export")
        if name in _LOST:
            return Refusal(f"{self.place}: {said}")
        return BadFile.one(self.place, f"is no log that this program can read ({said})")
