"""Finding a log at its place, and making one where there is none yet."""

from __future__ import annotations

from pathlib import Path

from rigging.errors import BadFile, Refusal
from rigging.log.backend import FORMAT_VERSION, Backend, Found, not_yet, tables


def backend_at(place: str, create: bool) -> Backend:
    """The engine of a place. Raises Refusal, BadFile or UsageError for a place where no log can be."""
    from rigging.log.sqlite import Sqlite

    if "://" not in place:
        return Sqlite(Path(place), create=create)
    scheme, rest = place.split("://", 1)
    if scheme.split("+")[0] == "sqlite":
        path = rest.removeprefix("/").split("?")[0]
        if path in ("", ":memory:"):
            raise Refusal("a log that is kept in memory alone would be lost: name a file")
        return Sqlite(Path(path), create=create)
    from rigging.log.postgresql import Postgresql

    return Postgresql(place)


def enter(backend: Backend, create: bool) -> None:
    """See that a log of this version lies there, making it where that is asked. Raises Refusal or BadFile."""
    with backend.engine.connect() as connection:
        found = backend.look(connection)
    if found == "nothing" and create:
        found = _create(backend)
    if found == "nothing":
        raise not_yet(backend.place)
    if found == "stranger":
        raise _stranger(backend.place)
    with backend.engine.connect() as connection:
        version = connection.exec_driver_sql("SELECT max(version) FROM rig_log").scalar()
    if not isinstance(version, int):
        raise BadFile.one(backend.place, "says no version of its format: it is damaged, or no rig log")
    if version > FORMAT_VERSION:
        raise Refusal(
            f"{backend.place}: written by a newer version of this program (format {version}; this one knows "
            f"{FORMAT_VERSION}): update this program"
        )


def _create(backend: Backend) -> Found:
    """Everything in one transaction: a kill leaves nothing, or the whole."""
    made = tables()
    with backend.engine.connect() as connection:
        backend.prepare(connection)
        backend.lock(connection)
        found = backend.look(connection)  # another program may have been first
        if found == "nothing":
            made.metadata.create_all(connection, checkfirst=False)
            connection.execute(made.version.insert(), [{"version": FORMAT_VERSION}])
            for statement in backend.guards():
                connection.exec_driver_sql(statement)
            connection.commit()
            found = "log"
    backend.created()
    return found


def _stranger(place: str) -> Refusal:
    """Something else lies there."""
    return Refusal(f"{place}: holds other data and is no rig log: name another place for the log")
