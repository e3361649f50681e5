"""Rows as CSV; a cell that a spreadsheet would run as a formula is made harmless."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final, TextIO

# the last four are the wide forms of East Asian keyboards, which some spreadsheets take for the plain ones
_RUNS: Final = ("=", "+", "-", "@", "＝", "＋", "－", "＠")


def dumps(rows: Iterable[Mapping[str, Any]], columns: Sequence[str]) -> str:
    """A heading and the rows; None becomes an empty cell, a list is joined by '; '."""
    out = io.StringIO()
    write(out, rows, columns)
    return out.getvalue()


def write(out: TextIO, rows: Iterable[Mapping[str, Any]], columns: Sequence[str]) -> None:
    """The same, row by row as they come."""
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(columns)
    for row in rows:
        writer.writerow([_cell(row.get(column)) for column in columns])


def _cell(value: Any) -> Any:
    if isinstance(value, list | tuple):
        value = "; ".join(str(v) for v in value)
    if not isinstance(value, str):
        return value
    # the writer quotes a line feed, and not a carriage return
    value = value.replace("\r\n", "\n").replace("\r", "\n")
    # some spreadsheets drop blanks and quotes in front before they look
    bare = value.lstrip(" \t\n\v\f\u00a0\ufeff'\"")
    return f"'{value}" if value.startswith(("\t", "\n")) or bare.startswith(_RUNS) else value
