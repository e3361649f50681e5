"""Every figure of the handbook tables: its status, its source, and which modules of the package use it.

Use is found twice: by running commands and noting which cell is asked for by which module, and by searching the
modules for the name of the table and of the column.
"""

from __future__ import annotations

import ast
import contextlib
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

from rigging import tables
from rigging.source import Basis

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "rigging"
WORDS = ("text", "size")

Cell = tuple[str, int, str]  # table, row counted from 1, column


class Figure(NamedTuple):
    """One cell with a number: where it stands, what it is, and whether it may be accepted."""

    cell: Cell
    label: str
    value: float
    unit: str
    basis: Basis
    source: str


def figures() -> list[Figure]:
    """Every number of every shipped table, in printed order; blank cells are none."""
    found = []
    for table_id in tables.table_ids():
        table = tables.load(table_id)
        for row in table.rows:
            for name, column in table.file.columns.items():
                value = row.values[name]
                if column.unit in WORDS or value is None:
                    continue
                source = row.source(name)
                cell = (table_id, row.index + 1, name)
                found.append(Figure(cell, row.label, float(value), column.unit, source.basis, str(source)))
    return found


class _Watched(dict[str, Any]):
    """A row's values that note who asks for which."""

    def __init__(self, values: dict[str, Any], cell: tuple[str, int], seen: dict[Cell, set[str]]) -> None:
        super().__init__(values)
        self._cell, self._seen = cell, seen

    def __getitem__(self, name: str) -> Any:
        module = _asker()
        if module:
            self._seen.setdefault((*self._cell, name), set()).add(module)
        return super().__getitem__(name)


def _asker() -> str | None:
    """The module of the package that asks; None where only the table reads itself or a view prints it whole."""
    frame = sys._getframe(2)
    while frame is not None:
        path = Path(frame.f_code.co_filename)
        if PACKAGE in path.parents and path.name != "tables.py":
            return path.relative_to(PACKAGE).with_suffix("").as_posix()
        frame = frame.f_back  # type: ignore[assignment]
    return None


@contextlib.contextmanager
def watched() -> Iterator[dict[Cell, set[str]]]:
    """While this lasts, every cell that is asked for is noted with the modules that asked."""
    seen: dict[Cell, set[str]] = {}
    rows = tables.Table.rows

    def watching(table: tables.Table) -> Iterator[tables.Row]:
        for row in rows.fget(table):  # type: ignore[attr-defined]
            yield tables.Row(table, row.index, _Watched(row.values, (table.id, row.index + 1), seen))

    tables.Table.rows = property(watching)  # type: ignore[assignment, method-assign]
    try:
        yield seen
    finally:
        tables.Table.rows = rows  # type: ignore[method-assign]


@cache
def named_in() -> dict[str, frozenset[str]]:
    """Every text that stands in the package's code, with the modules it stands in."""
    found: dict[str, set[str]] = {}
    for path in PACKAGE.rglob("*.py"):
        module = path.relative_to(PACKAGE).with_suffix("").as_posix()
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                found.setdefault(node.value, set()).add(module)
    return {text: frozenset(modules) for text, modules in found.items()}


def named(cell: Cell) -> frozenset[str]:
    """Modules in which the table of a cell is named; where its column is named too, only those."""
    of_table, of_column = (named_in().get(text, frozenset()) for text in (cell[0], cell[2]))
    return of_table & of_column or of_table
