"""What is open: a log of 100 000 entries that was never signed, against json.loads of the same records."""

from __future__ import annotations

import importlib.util
import json
import sqlite3
import tempfile
import time
from pathlib import Path

from rigging.log.entry import Draft

Row = tuple[str, float, float, str]
ENTRIES = 100_000
GOALS = {f"status of {ENTRIES}": "below 1 s"}
_spec = importlib.util.spec_from_file_location("dabchick", Path(__file__).resolve().parents[1] / "dabchick.py")
assert _spec is not None and _spec.loader is not None
dabchick = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(dabchick)


def rows() -> list[Row]:
    """Rows for ``run.py``: a job of eight entries written over and over, and never signed."""
    with tempfile.TemporaryDirectory() as folder:
        book = dabchick.Book(Path(folder))
        book.add("adjustment", dabchick.TURN)
        book.close_all()
        job = [
            Draft(e.who, e.kind, e.aircraft, e.circuit, e.payload) for e in book.log.entries() if e.kind != "document"
        ]
        for _ in range(ENTRIES // (250 * len(job))):
            book.log.append(job * 250, program="rigging 0", tables={})
        ours = min(_ms(book.status) for _ in range(3))
        connection = sqlite3.connect(book.log.place)
        theirs = min(_ms(lambda: _bare(connection)) for _ in range(3))
        connection.close()
        book.log.close()
    return [
        ("json.loads of every record", theirs, 1.0, "itself"),
        (f"status of {ENTRIES} entries", ours, ours / theirs, "json.loads of every record"),
    ]


def _bare(connection: sqlite3.Connection) -> None:
    for (record,) in connection.execute("SELECT record FROM entries ORDER BY sequence"):
        json.loads(record)


def _ms(act: object) -> float:
    start = time.perf_counter()
    act()  # type: ignore[operator]
    return 1000 * (time.perf_counter() - start)
