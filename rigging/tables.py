"""Handbook tables: find, read and validate the one that is asked for, with the source of every cell.

A table file is one printed table in one edition. Its ``source`` holds for every cell, unless a row
fills the columns ``basis``, ``document``, ``place`` or ``note``, or the list ``cells`` names the cell.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from functools import cache
from itertools import islice
from pathlib import Path
from typing import Any, Final, Literal, get_args

import msgspec

from rigging.errors import MOST_PROBLEMS, BadFile, Problem, Refusal, UnitError, nearest
from rigging.schema import read
from rigging.source import Basis, Figure, Source
from rigging.units import parse_size
from rigging.yamlfile import Document, Path_, show_path
from rigging.yamlfile import load as load_yaml

MOST_ROWS: Final = 2000
MOST_CELLS: Final = 500
SOURCE_COLUMNS: Final = ("basis", "document", "place", "note")
Unit = Literal[
    "text", "size", "lbf", "lb/100ft", "in", "F", "C", "deg", "GPa", "Mpsi", "1e-6/C", "1e-6/%",
    "1e-5 %/psi", "1", "%", "min", "in-lbf", "count", "dial", "mm", "kg/m3", "J/kgK",
]  # fmt: skip
UNITS: Final[tuple[str, ...]] = get_args(Unit)


class Column(msgspec.Struct, frozen=True):
    """One column: the unit of its cells, its heading as printed, and what the reader must know."""

    unit: Unit
    heading: str = ""
    note: str = ""


class CellSource(msgspec.Struct, frozen=True):
    """A cell whose status differs from its table's: row (counted from 1), column, status and reason."""

    row: int
    column: str
    basis: Basis
    note: str = ""
    document: str = ""
    place: str = ""

    def __post_init__(self) -> None:
        Source(self.basis, self.document, self.place, self.note)  # raises ValueError where the document is missing


class TableFile(msgspec.Struct, frozen=True):
    """A handbook table or a user's own chart, as written in its file."""

    table: Literal[1]
    title: str
    source: Source
    columns: dict[str, Column]
    rows: list[list[Any]]
    kind: Literal["handbook", "chart"] = "handbook"
    read: dt.date | None = None
    key: list[str] = []
    decisions: list[str] = []
    cells: list[CellSource] = []


class Row(msgspec.Struct, frozen=True):
    """One row: plain values by column name, and the source of each."""

    table: Table
    index: int
    values: dict[str, Any]

    def source(self, column: str) -> Source:
        """The source of one cell: its own, else its row's, else the table's."""
        for cell in self.table.file.cells:
            if cell.row == self.index + 1 and cell.column == column:
                return Source(cell.basis, cell.document, cell.place, cell.note)
        own = {name: self.values[name] for name in SOURCE_COLUMNS if self.values.get(name)}
        if not own:
            return self.table.file.source
        if "basis" in own:
            return Source(**{**own, "basis": Basis(own["basis"])})
        return msgspec.structs.replace(self.table.file.source, **own)

    def figure(self, column: str, standard_uncertainty: float = 0.0) -> Figure:
        """The figure in a column. Raises Refusal where the cell is blank."""
        value = self.values[column]
        if value is None:
            raise Refusal(f"{self.table.id}: '{column}' is blank for {self.label}: the printed table gives no figure")
        return Figure(float(value), self.table.file.columns[column].unit, self.source(column), standard_uncertainty)

    @property
    def label(self) -> str:
        """The row's key, for messages: ``1/8 7x19``."""
        names = self.table.file.key or list(self.table.file.columns)[:1]
        return " ".join(str(self.values[name]) for name in names)


class Table(msgspec.Struct, frozen=True):
    """A validated table with its identity: file name without ending, and SHA-256 of the file's bytes.

    document: the file as read, for the lines of what is found wrong later.
    """

    id: str
    file: TableFile
    sha256: str
    document: Document | None = None

    def problem(self, path: Path_, message: str) -> Problem:
        """A problem at a place of this table, with its file and line where it was read from one."""
        return (
            self.document.problem(path, message) if self.document else Problem(self.id, None, show_path(path), message)
        )

    @property
    def rows(self) -> Iterator[Row]:
        """The rows in printed order."""
        names = list(self.file.columns)
        return (Row(self, i, dict(zip(names, row, strict=True))) for i, row in enumerate(self.file.rows))

    def find(self, **wanted: str) -> Row:
        """The first row whose columns equal the wanted values. Raises Refusal naming what there is."""
        for row in self.rows:
            if all(row.values[name] == value for name, value in wanted.items()):
                return row
        name, value = next(iter(wanted.items()))
        for name_, value_ in wanted.items():
            known = sorted({str(row.values[name_]) for row in self.rows})
            if value_ not in known:
                raise Refusal(f"{self.id}: no {name_} '{value_}' in this table{nearest(value_, known)}")
        raise Refusal(f"{self.id}: no row for {name} {value} with {', '.join(list(wanted.values())[1:])}")


def folder() -> Path:
    """Where the tables lie: in the package (installed from a wheel), else beside it (a checkout)."""
    package = Path(__file__).resolve().parent
    for place in (package / "_tables", package.parent / "tables"):
        if place.is_dir():
            return place
    raise BadFile.one(package, "the folder of handbook tables is missing: install the program again")


def table_ids() -> list[str]:
    """The names of all shipped tables."""
    return sorted(path.stem for path in folder().glob("*.yaml"))


@cache
def load(table_id: str) -> Table:
    """One shipped table by name. Raises Refusal for an unknown name, BadFile for a damaged file."""
    path = folder() / f"{table_id}.yaml"
    if not path.is_file():
        raise Refusal(f"there is no table '{table_id}'{nearest(table_id, table_ids())}")
    return load_file(path)


def load_file(path: Path) -> Table:
    """Any table file, shipped or the user's own. Raises BadFile with every problem."""
    document = load_yaml(path)
    file = read(document, TableFile)
    problems = list(islice(_check(document, file), MOST_PROBLEMS + 1))
    if problems:
        raise BadFile(problems)
    return Table(path.stem, file, document.sha256, document)


def _check(document: Document, file: TableFile) -> Iterator[Problem]:
    names = list(file.columns)
    seen: dict[tuple[str, ...], int] = {}
    if file.source.basis is not Basis.MEMORY and not (file.source.document or file.source.note):
        yield document.problem(("source",), "name the document, or say in a note where the figures come from")
    for name in file.key:
        if name not in file.columns:
            yield document.problem(("key",), f"'{name}' is no column of this table{nearest(name, names)}")
    for name in SOURCE_COLUMNS:
        if name in file.columns and file.columns[name].unit != "text":
            yield document.problem(("columns", name), f"'{name}' holds words: its unit is text")
    if not file.rows:
        yield document.problem(("rows",), "there are no rows")
    # every look-up walks along both
    for place, count, most in (("rows", len(file.rows), MOST_ROWS), ("cells", len(file.cells), MOST_CELLS)):
        if count > most:
            yield document.problem((place,), f"{count} are more than a printed table has ({most} at most)")
            return
    for i, row in enumerate(file.rows):
        if len(row) != len(names):
            yield document.problem(("rows", i), f"has {len(row)} cells, the table has {len(names)} columns")
            continue
        sound = True
        for j, (name, cell) in enumerate(zip(names, row, strict=True)):
            message = _cell_problem(file.columns[name].unit, name, cell)
            if message:
                sound = False
                yield document.problem(("rows", i, j), message)
        own = dict(zip(names, row, strict=True))
        if sound and own.get("basis"):
            try:
                Source(Basis(own["basis"]), own.get("document") or "")
            except ValueError as error:
                yield document.problem(("rows", i), str(error))
        key = tuple(str(row[names.index(name)]) for name in file.key if name in names)
        if key and key in seen:
            yield document.problem(("rows", i), f"{' '.join(key)} stands twice (first in row {seen[key]})")
        seen.setdefault(key, i + 1)
    for k, cell in enumerate(file.cells):
        if not 1 <= cell.row <= len(file.rows) or cell.column not in file.columns:
            yield document.problem(("cells", k), f"there is no cell at row {cell.row}, column '{cell.column}'")


def _cell_problem(unit: str, name: str, cell: object) -> str | None:
    if cell is None:
        return None
    if name == "basis":
        known = [b.value for b in Basis]
        return None if cell in known else f"'{cell}' is not a status{nearest(str(cell), known)}"
    if unit == "text":
        return None if isinstance(cell, str) else f"'{name}' needs a word, not {cell!r}: put it in quotes"
    if unit == "size":
        try:
            return None if parse_size(cell) == cell else f"write the size in lowest terms: {parse_size(cell)}"
        except UnitError as error:
            return str(error)
    if isinstance(cell, bool) or not isinstance(cell, int | float):
        comma = " (write the decimal point as a point)" if isinstance(cell, str) and "," in cell else ""
        return f"'{name}' needs a plain number in {unit}, not '{cell}'{comma}"
    return None
