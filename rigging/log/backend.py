"""The two tables of a log, and what the store asks of an engine that keeps them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from functools import cache
from typing import TYPE_CHECKING, Any, Final, Literal, NamedTuple, Protocol

from rigging.errors import Refusal, RiggingError

if TYPE_CHECKING:
    from sqlalchemy import Connection, Engine, MetaData, Table

FORMAT_VERSION: Final = 1
# how long a writer waits for its turn before it says that another one holds the log
PATIENCE: Final = 30.0  # seconds

COLUMNS: Final = "sequence, record, previous_hash, hash, aircraft, kind, circuit"

Found = Literal["log", "nothing", "stranger"]


class Backend(Protocol):
    """One engine: how it is reached, protected and explained."""

    place: str  # for messages, without a password
    engine: Engine
    insert: str  # a row of COLUMNS, in the driver's own words

    def look(self, connection: Connection) -> Found:
        """What lies at the place: a log, nothing yet (also a log whose creation was cut short), or something else."""

    def lock(self, connection: Connection) -> None:
        """Begin a transaction in which nobody else writes. What is read after it is the newest there is."""

    def prepare(self, connection: Connection) -> None:
        """What must be set before a new log is made, outside of any transaction."""

    def stream(self, connection: Connection, asked: str) -> Iterator[tuple[Any, ...]]:
        """Rows of a question straight from the driver, never all of them in memory."""

    def guards(self) -> Sequence[str]:
        """Statements that make the engine itself refuse to change or delete, and to add out of turn."""

    def created(self) -> None:
        """Called once a new log is there."""

    def inspect(self, connection: Connection) -> str:
        """What is wrong with the store below the entries, in words; empty where nothing is."""

    def explain(self, error: BaseException) -> RiggingError | None:
        """The one clear line for an error of the engine; None for an error that is none of its own."""

    def lost_race(self, error: BaseException) -> bool:
        """Whether another writer came first, so that a second try makes sense."""


class Tables(NamedTuple):
    """The tables as SQLAlchemy knows them."""

    metadata: MetaData
    entries: Table
    version: Table


@cache
def tables() -> Tables:
    """``entries``, one row per entry with the columns that are asked by; ``rig_log``, one row with the version."""
    from sqlalchemy import BigInteger, Column, Index, Integer, MetaData, Table, Text

    metadata = MetaData()
    number = BigInteger().with_variant(Integer, "sqlite")  # SQLite: an INTEGER key is the row's own place
    entries = Table(
        "entries",
        metadata,
        Column("sequence", number, primary_key=True, autoincrement=False),
        Column("aircraft", Text, nullable=False),
        Column("kind", Text, nullable=False),
        Column("circuit", Text, nullable=False),
        Column("record", Text, nullable=False),
        Column("previous_hash", Text, nullable=False),
        Column("hash", Text, nullable=False),
        # sequence second: an aircraft's entries come in order without a sort, so that they can be streamed; kind and
        # circuit behind it: what is not asked for is passed over without a look at its row
        Index("entries_by_aircraft", "aircraft", "sequence", "kind", "circuit"),
    )
    version = Table("rig_log", metadata, Column("version", Integer, primary_key=True, autoincrement=False))
    return Tables(metadata, entries, version)


@contextmanager
def faults(backend: Backend) -> Iterator[None]:
    """Errors of the engine as one clear line each; everything else passes through."""
    try:
        yield
    except RiggingError:
        raise
    except Exception as error:
        clear = backend.explain(error)
        if clear is None:
            raise
        raise clear from None


def origin(error: BaseException) -> Any:
    """The driver's own error inside SQLAlchemy's."""
    return getattr(error, "orig", None) or error


def not_yet(place: str) -> Refusal:
    """No log there."""
    return Refusal(f"no log there yet: {place}")
