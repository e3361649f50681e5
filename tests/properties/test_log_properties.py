"""Whatever is written comes back, and whatever is changed behind the program's back is found."""

from __future__ import annotations

import json
import math
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from rigging.cli.options import CLOCK
from rigging.errors import BadFile, RiggingError
from rigging.log.entry import Draft, Entry, entry_of, text_of
from rigging.log.store import open_log

pytestmark = pytest.mark.slow

ENTRIES = 12
COLUMNS = ("sequence", "aircraft", "kind", "circuit", "record", "previous_hash", "hash")
HOSTILE = [
    "O'Brien",
    '"',
    "<script>alert(1)</script>",
    "a\nb\r\nc",
    "=1+1",
    "+1",
    "-1",
    "@A1",
    "\t=1",
    "%s",
    ":x",
    "\\",
    "a\u2028b",
    "\u202e",
    "𝄞",
]
# anything but halves of letters, which are no text, and the zero character, which no database keeps in a name
letters = st.characters(exclude_categories=["Cs"], exclude_characters="\0")
texts = st.sampled_from(HOSTILE) | st.text(st.characters(exclude_categories=["Cs"]))
names = st.sampled_from(HOSTILE) | st.text(letters, min_size=1, max_size=200).filter(lambda t: bool(t.strip()))
values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | texts,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(texts, inner, max_size=4),
    max_leaves=15,
)
payloads = st.dictionaries(texts, values, max_size=5)
drafts = st.builds(Draft, names, names, names, st.just("") | names, payloads)


def same(a: Any, b: Any) -> bool:
    """Equal, and of the same kinds all the way down: 1, 1.0 and true are three values."""
    if type(a) is not type(b):
        return False
    if isinstance(a, dict):
        return list(a) == list(b) and all(same(a[k], b[k]) for k in a)
    if isinstance(a, list):
        return len(a) == len(b) and all(map(same, a, b))
    if isinstance(a, float):
        return a == b and math.copysign(1, a) == math.copysign(1, b)
    return bool(a == b)


@given(drafts, names, st.dictionaries(names, names, max_size=3))
def test_any_entry_comes_back_and_any_program_reads_it_alike(
    draft: Draft, program: str, tables: dict[str, str]
) -> None:
    entry = Entry(
        1,
        "2026-11-25T13:40:00.123456Z",
        draft.who,
        draft.kind,
        draft.aircraft,
        draft.circuit,
        draft.payload,
        program,
        tables,
    )
    record = text_of(entry)
    assert entry_of(record) == entry and same(entry_of(record).payload, entry.payload)
    assert text_of(entry_of(record)) == record
    assert "\n" not in record and same(json.loads(record)["payload"], entry.payload)


@given(st.lists(st.lists(drafts, min_size=1, max_size=3), min_size=1, max_size=4))
def test_whatever_is_appended_is_read_back_from_the_file(calls: list[list[Draft]]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        place = str(Path(folder) / "bench.riglog")
        written: list[Entry] = []
        for call in calls:
            with open_log(place, CLOCK, create=True) as log:
                written += log.append(call, program="test", tables={})
        with open_log(place, CLOCK) as log:
            assert list(log.entries()) == written
            assert log.verify().entries == len(written)
            one = written[0]
            assert list(log.entries(aircraft=one.aircraft, kinds=[one.kind], circuit=one.circuit)) == [
                e for e in written if (e.aircraft, e.kind, e.circuit) == (one.aircraft, one.kind, one.circuit)
            ]


@pytest.fixture(scope="module")
def original(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A log of ENTRIES entries of several aircraft, without the triggers that would refuse what follows."""
    path: Path = tmp_path_factory.mktemp("log") / "bench.riglog"
    with open_log(str(path), CLOCK, create=True) as log:
        for i in range(ENTRIES):
            draft = Draft(
                "A. Wing",
                ("note", "check")[i % 2],
                f"Reedling {i % 3}",
                ("", "rudder")[i % 2],
                {"n": i, "text": HOSTILE[i]},
            )
            log.append([draft], program="test", tables={"cable": "ab"})
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            connection.execute(f"DROP TRIGGER {name}")
    assert intact(path)
    return path


@contextmanager
def tampered(original: Path) -> Iterator[tuple[Path, sqlite3.Connection]]:
    """A copy, and a plain connection to it."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "bench.riglog"
        shutil.copy(original, path)
        with closing(sqlite3.connect(path, isolation_level=None)) as connection:
            connection.text_factory = bytes
            yield path, connection


def intact(path: Path) -> bool:
    """What ``verify`` says; a file it refuses to read is found too."""
    try:
        with open_log(str(path), CLOCK) as log:
            return log.verify().intact and log.head().entries == ENTRIES
    except BadFile:
        return False


@cache
def bare(path: Path) -> dict[tuple[int, str], bytes]:
    with closing(sqlite3.connect(path)) as connection:
        connection.text_factory = bytes
        rows = connection.execute(f"SELECT {', '.join(COLUMNS)} FROM entries").fetchall()
    return {(row[0], c): row[i] for row in rows for i, c in enumerate(COLUMNS) if c != "sequence"}


@given(st.data())
def test_any_single_changed_byte_of_any_column_is_found(original: Path, data: st.DataObject) -> None:
    cells = bare(original)
    n, column = data.draw(st.sampled_from([key for key, cell in cells.items() if cell]))
    cell = cells[n, column]
    at = data.draw(st.integers(0, len(cell) - 1))
    byte = data.draw(st.integers(0, 255).filter(lambda b: b != cell[at]))
    changed = cell[:at] + bytes([byte]) + cell[at + 1 :]
    with tampered(original) as (path, connection):
        connection.execute(f"UPDATE entries SET {column} = CAST(? AS TEXT) WHERE sequence = ?", (changed, n))
        connection.close()
        assert not intact(path)


@given(st.sampled_from(range(1, ENTRIES + 1)), st.sampled_from(COLUMNS[1:]))
def test_a_cell_of_another_type_is_found_because_questions_would_pass_it_by(
    original: Path, n: int, column: str
) -> None:
    with tampered(original) as (path, connection):
        connection.execute(f"UPDATE entries SET {column} = CAST({column} AS BLOB) WHERE sequence = ?", (n,))
        connection.close()
        assert not intact(path)


@given(st.sampled_from(range(1, ENTRIES + 1)), st.integers(-3, ENTRIES + 5))
def test_a_changed_number_is_found(original: Path, n: int, other: int) -> None:
    assume(n != other)
    with tampered(original) as (path, connection):
        connection.execute("DELETE FROM entries WHERE sequence = ?", (other,))
        connection.execute("UPDATE entries SET sequence = ? WHERE sequence = ?", (other, n))
        connection.close()
        assert not intact(path)


@given(st.sampled_from(range(1, ENTRIES)), st.booleans())
def test_a_dropped_row_is_found_also_where_the_others_close_up(original: Path, n: int, close_up: bool) -> None:
    """The last one alone leaves a whole chain behind: that is what the printed number of entries is for."""
    with tampered(original) as (path, connection):
        connection.execute("DELETE FROM entries WHERE sequence = ?", (n,))
        if close_up:
            connection.execute("UPDATE entries SET sequence = -sequence WHERE sequence > ?", (n,))
            connection.execute("UPDATE entries SET sequence = -sequence - 1 WHERE sequence < 0")
        connection.close()
        with open_log(str(path), CLOCK) as log:
            assert log.verify().first_bad_entry == n


@given(st.sampled_from(range(1, ENTRIES + 1)), st.sampled_from(range(1, ENTRIES + 1)))
def test_two_rows_that_changed_places_are_found(original: Path, a: int, b: int) -> None:
    assume(a != b)
    with tampered(original) as (path, connection):
        for old, new in ((a, -1), (b, a), (-1, b)):
            connection.execute("UPDATE entries SET sequence = ? WHERE sequence = ?", (new, old))
        connection.close()
        with open_log(str(path), CLOCK) as log:
            assert log.verify().first_bad_entry == min(a, b)


@given(st.sampled_from(range(1, ENTRIES + 1)), st.sampled_from(range(1, ENTRIES + 1)), st.booleans())
def test_a_row_put_in_twice_or_anew_is_found(original: Path, at: int, of: int, anew: bool) -> None:
    """Also at the end, where nothing follows that it could disagree with."""
    with tampered(original) as (path, connection):
        connection.execute("UPDATE entries SET sequence = -sequence WHERE sequence > ?", (at,))
        connection.execute("UPDATE entries SET sequence = -sequence + 1 WHERE sequence < 0")
        record = "replace(record, 'Wing', 'Kite')" if anew else "record"
        true_one = of == at + 1 and not anew  # then the one that follows is found
        of = of + 1 if of > at else of
        connection.execute(
            f"INSERT INTO entries SELECT ?, aircraft, kind, circuit, {record}, previous_hash, hash FROM entries WHERE sequence = ?",
            (at + 1, of),
        )
        connection.close()
        with open_log(str(path), CLOCK) as log:
            assert log.verify().first_bad_entry == at + 1 + true_one


@given(st.data())
def test_any_changed_byte_of_the_file_changes_nothing_that_is_read_without_being_found(
    original: Path, data: st.DataObject
) -> None:
    """Somewhere in the file lie bytes that mean nothing; every other one is found."""
    whole = original.read_bytes()
    at = data.draw(st.integers(0, len(whole) - 1))
    byte = data.draw(st.integers(0, 255).filter(lambda b: b != whole[at]))
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "bench.riglog"
        path.write_bytes(whole[:at] + bytes([byte]) + whole[at + 1 :])
        try:
            with open_log(str(path), CLOCK) as log:
                good = log.verify().intact
                read = list(log.sealed()), [list(log.entries(aircraft=f"Reedling {i}")) for i in range(3)]
        except RiggingError as error:
            assert "\n" not in str(error)
            return
    if good:
        with open_log(str(original), CLOCK) as log:
            assert read == (list(log.sealed()), [list(log.entries(aircraft=f"Reedling {i}")) for i in range(3)])
