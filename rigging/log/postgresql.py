"""A log on a PostgreSQL server, for a workshop with several benches."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any, Final

from rigging.errors import BadFile, Refusal, RiggingError, UsageError
from rigging.log.backend import COLUMNS, PATIENCE, Found, origin

if TYPE_CHECKING:
    from sqlalchemy import URL, Connection, Engine

WAY: Final = "write postgresql://USER@HOST/DATABASE"
# any fixed number: whoever writes to a log of this database holds it
_TURN: Final = 7_244_464
# %% is a % to the driver. The trigger names the table by its own schema: another table of that name, put before it in the search path, must not
# answer in its stead
_GUARDS: Final = (
    """CREATE FUNCTION rig_log_refuse() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'the log is only added to: %% refused', TG_OP USING ERRCODE = 'insufficient_privilege';
END $$""",
    f"""CREATE FUNCTION rig_log_in_turn() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    last_sequence bigint;
    last_hash text;
BEGIN
    EXECUTE format('SELECT sequence, hash FROM %%I.%%I ORDER BY sequence DESC LIMIT 1', TG_TABLE_SCHEMA, TG_TABLE_NAME)
        INTO last_sequence, last_hash;
    IF NEW.sequence IS DISTINCT FROM coalesce(last_sequence, 0) + 1
        OR NEW.previous_hash IS DISTINCT FROM coalesce(last_hash, '{"0" * 64}') THEN
        RAISE EXCEPTION 'the log is only added to: this entry does not follow the last one'
            USING ERRCODE = 'integrity_constraint_violation';
    END IF;
    IF NEW.hash IS DISTINCT FROM encode(sha256(convert_to(NEW.previous_hash || NEW.record, 'UTF8')), 'hex') THEN
        RAISE EXCEPTION 'the log is only added to: this entry does not carry its own hash'
            USING ERRCODE = 'check_violation';
    END IF;
    RETURN NEW;
END $$""",
    *(
        f"CREATE TRIGGER {table}_never BEFORE UPDATE OR DELETE OR TRUNCATE ON {table} FOR EACH STATEMENT "
        "EXECUTE FUNCTION rig_log_refuse()"
        for table in ("entries", "rig_log")
    ),
    # holds for a session that calls itself a replica too, where other triggers sleep
    *(f"ALTER TABLE {table} ENABLE ALWAYS TRIGGER {table}_never" for table in ("entries", "rig_log")),
    "CREATE TRIGGER entries_in_turn BEFORE INSERT ON entries FOR EACH ROW EXECUTE FUNCTION rig_log_in_turn()",
    "ALTER TABLE entries ENABLE ALWAYS TRIGGER entries_in_turn",
    # one row, for ever: of the version there is but one
    "CREATE UNIQUE INDEX rig_log_once ON rig_log ((true))",
)
_LOST: Final = {"23505", "23000", "40001", "40P01"}  # taken, out of turn, serialization failure, deadlock
_SAYS: Final = (
    ("password authentication failed", "the server does not take this user with this password"),
    ("no password supplied", "the server asks for a password: put it into ~/.pgpass or PGPASSWORD"),
    ("does not exist", "is not there: check the names of database and user"),
    ("Connection refused", "no server answers there: check host and port, and that the server runs"),
    ("timeout", "no server answers there: check host and port, and that the server runs"),
    ("No such file", "no server answers there: check host and port, and that the server runs"),
    ("resolve host", "there is no host of that name"),
    ("translate host", "there is no host of that name"),
)  # fmt: skip


class Postgresql:
    """The server and the engine on it."""

    insert = f"INSERT INTO entries ({COLUMNS}) VALUES (%s, %s, %s, %s, %s, %s, %s)"

    def __init__(self, address: str) -> None:
        from sqlalchemy import create_engine, event

        url = _url(address)
        self.place = shown(url)
        self._password = url.password
        try:
            self.engine: Engine = create_engine(
                url,
                isolation_level="READ COMMITTED",
                pool_pre_ping=True,
                pool_size=2,
                connect_args={"connect_timeout": 10} if "connect_timeout" not in url.query else {},
            )
        except ImportError:
            raise Refusal(
                f'{self.place}: needs the PostgreSQL driver: in the checkout, pip install ".[postgresql]"'
            ) from None
        event.listen(self.engine, "connect", _prepare_session)

    def look(self, connection: Connection) -> Found:
        """What lies in the database."""
        # one look at the catalogue, so that a log that is being made is there as a whole or not at all
        asked = (
            "SELECT count(*) FILTER (WHERE relname = 'rig_log'), count(*) FILTER (WHERE relname = 'entries'), "
            "current_setting('server_encoding'), current_setting('fsync') FROM pg_catalog.pg_class "
            "WHERE relname IN ('rig_log', 'entries') AND pg_catalog.pg_table_is_visible(oid)"
        )
        version, entries, encoding, durable = connection.exec_driver_sql(asked).one()
        if encoding != "UTF8":
            raise Refusal(
                f"{self.place}: its database is in {encoding}, which cannot hold every name: make one in UTF8"
            )
        if durable != "on":
            raise Refusal(
                f"{self.place}: its server does not put data on the disk (fsync is off): set fsync = on there"
            )
        if version and entries:
            return "log"
        return "stranger" if version or entries else "nothing"

    def prepare(self, connection: Connection) -> None:
        """Nothing: a table is made in a transaction like everything else."""

    def lock(self, connection: Connection) -> None:
        """Wait for the turn; the lock ends with the transaction, or with the connection."""
        connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({_TURN})")

    def stream(self, connection: Connection, asked: str) -> Iterator[tuple[Any, ...]]:
        """Through a cursor on the server, a thousand rows at a time."""
        driver: Any = connection.connection.driver_connection
        with driver.cursor("rig_log_stream") as cursor:
            cursor.itersize = 1000
            cursor.execute(asked)
            yield from cursor

    def guards(self) -> Sequence[str]:
        """Functions and triggers."""
        return _GUARDS

    def created(self) -> None:
        """Nothing: a commit is durable."""

    def inspect(self, connection: Connection) -> str:
        """Nothing: the server checks its own pages."""
        return ""

    def lost_race(self, error: BaseException) -> bool:
        """Whether another writer took the number, or the server asks for another try."""
        return getattr(origin(error), "sqlstate", None) in _LOST

    def explain(self, error: BaseException) -> RiggingError | None:
        """One line for what the server or the driver says."""
        import psycopg

        cause = origin(error)
        if not isinstance(cause, psycopg.Error):
            return None
        state = cause.sqlstate or ""
        said = self._one_line(cause)
        if state in ("55P03", "57014"):
            return Refusal(
                f"{self.place}: another program has held the log for {PATIENCE:.0f} s: nothing was written; close that "
                "program, or try again later"
            )
        if state == "53100":
            return Refusal(
                f"{self.place}: the server's disk is full: nothing was written; make room and enter it again"
            )
        if state == "42501":
            return Refusal(f"{self.place}: this user may not do that ({said}): ask whoever keeps the server")
        if state == "25006":
            return Refusal(f"{self.place}: the server takes no entries now (it is read-only): nothing was written")
        if state.startswith("XX"):
            return BadFile.one(self.place, f"is damaged ({said}): keep it as it is, and go on from a copy or an export")
        if isinstance(cause, psycopg.OperationalError) and not state:
            for word, plain in _SAYS:
                if word in said:
                    return Refusal(f"{self.place}: {plain}")
            if "connection failed" in said or "connection to server" in said:
                return Refusal(f"{self.place}: cannot be reached ({said})")
        if isinstance(cause, psycopg.OperationalError):
            return Refusal(
                f"{self.place}: the connection broke ({said}): whether the last entry was written is not known: look at "
                "the log before you enter it again"
            )
        return Refusal(f"{self.place}: the server refuses ({said})")

    def _one_line(self, cause: BaseException) -> str:
        said = str(cause).strip().splitlines() or [type(cause).__name__]
        line = said[0]
        return line.replace(self._password, "***") if isinstance(self._password, str) and self._password else line


def _url(address: str) -> URL:
    """The address, with the one driver that is tested."""
    from sqlalchemy import make_url
    from sqlalchemy.exc import ArgumentError

    scheme, rest = address.split("://", 1)
    engine, _, driver = scheme.partition("+")
    if engine not in ("postgresql", "postgres"):
        raise UsageError(f"a log lies in a file or on a PostgreSQL server, not at {scheme}://…: {WAY}, or a path")
    if driver not in ("", "psycopg"):
        raise UsageError(f"a log is reached through psycopg, not {driver}: {WAY}")
    try:
        url = make_url(f"postgresql+psycopg://{rest}")
    except (ArgumentError, ValueError):
        # the text may hold a password and is not shown
        raise UsageError(f"the address of the log cannot be read: {WAY}") from None
    if not url.database:
        raise UsageError(f"the address of the log names no database: {WAY}")
    return url


def shown(url: URL) -> str:
    """The address without anything secret and without the driver."""
    query = {key: value for key, value in url.query.items() if "password" not in key.lower()}
    return url.set(drivername="postgresql", query=query).render_as_string(hide_password=True)


def _prepare_session(connection: Any, _record: object) -> None:
    """A commit returns when the entry is on the server's disk, whatever the server's default; no wait is endless."""
    before = connection.autocommit
    connection.autocommit = True
    connection.execute(
        "SELECT set_config('lock_timeout', %s, false), set_config('client_encoding', 'UTF8', false), "
        "CASE WHEN current_setting('synchronous_commit') IN ('off', 'local') "
        "THEN set_config('synchronous_commit', 'on', false) END",
        (f"{PATIENCE * 1000:.0f}",),
    )
    connection.autocommit = before
