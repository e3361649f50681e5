"""The one console for data and the one for talk, and small pieces every view shares."""

from __future__ import annotations

import os
import textwrap
from collections.abc import Iterable, Iterator, Sequence
from functools import cache
from typing import IO

from rich.box import SIMPLE_HEAD
from rich.console import Console, ConsoleOptions, RenderResult
from rich.table import Table
from rich.text import Text

from rigging.report.pipe import hush
from rigging.told import shown

WIDEST = 100
PIPED_WIDTH = 80
NARROWEST = 76  # columns below which a table is shown as a list
PLAIN_VARIABLE = "RIGGING_PLAIN"

# rich would read [lbf] and [in] as markup, and colour figures by itself
_PLAIN = {"markup": False, "highlight": False, "emoji": False}


class _Console(Console):
    plain = False

    def on_broken_pipe(self) -> None:
        # rich would end the program here with exit code 1, which means a finding
        hush()


@cache
def console(stderr: bool = False) -> Console:
    """stdout for data, stderr for talk; at most 100 columns, 80 where it is no terminal."""
    # with NO_COLOR rich keeps bold, which is an escape code all the same
    colours = None if os.environ.get("NO_COLOR") or _wants_plain() else "auto"
    made = _Console(stderr=stderr, color_system=colours, **_PLAIN)  # type: ignore[arg-type]
    made.plain = _wants_plain()
    made.width = min(made.width, WIDEST) if made.is_terminal else PIPED_WIDTH
    return made


def _wants_plain() -> bool:
    return os.environ.get(PLAIN_VARIABLE, "0") not in ("", "0") or os.environ.get("TERM") == "dumb"


def plain(out: Console) -> bool:
    """Whether only words are wanted: nothing drawn, no boxes, no marks, no colours, one thing after the other."""
    return isinstance(out, _Console) and out.plain


def stacked(out: Console) -> bool:
    """Whether rows are shown as a list: words only are wanted, or a table would not fit."""
    return plain(out) or out.width < NARROWEST


def marked(out: Console, mark: str, ascii_mark: str, words: str) -> str:
    """Words after their mark, as far as the terminal can show one; words alone where nothing else is wanted."""
    return words if plain(out) else f"{ascii_mark if out.options.ascii_only else mark} {words}"


def for_file(stream: IO[str], width: int = PIPED_WIDTH) -> Console:
    """A plain console that writes to a stream."""
    return Console(file=stream, width=width, **_PLAIN)  # type: ignore[arg-type]


class Rows:
    """Rows under headings: an open table that stays inside 80 columns, or a list of rows; see ``stacked``."""

    def __init__(self, headings: Sequence[str], fixed: Sequence[str]) -> None:
        self.headings, self.fixed = headings, fixed
        self.rows: list[tuple[str | Text, ...]] = []

    def add_row(self, *cells: str | Text) -> None:
        """One row; a cell may have several lines."""
        self.rows.append(cells)

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        if stacked(console):
            yield from self._listed(console)
            return
        made = Table(box=SIMPLE_HEAD, pad_edge=False, padding=(0, 1), header_style="bold", collapse_padding=True)
        for heading in self.headings:
            made.add_column(heading, overflow="fold", no_wrap=heading in self.fixed)
        for row in self.rows:
            made.add_row(*row)
        yield made

    def _listed(self, console: Console) -> Iterator[Text]:
        """Each row as a paragraph of its own: heading and figure, heading and figure.

        A row that begins with an empty cell goes on with what stands above it there, which a list would not show.
        """
        above = ""
        for row in self.rows:
            cells = [_in_one_line(cell) for cell in row]
            cells[0] = above = cells[0] or above
            heads = [" ".join(heading.split()) for heading in self.headings]
            parts = [f"{h}: {cell}" if h else cell for h, cell in zip(heads, cells, strict=True) if cell]
            for line in textwrap.wrap(
                "; ".join(parts), console.width - 2, initial_indent="  ", subsequent_indent="    "
            ):
                yield Text(line)


def _in_one_line(cell: str | Text) -> str:
    """The lines of a cell one after the other; a dash is an empty cell to the eye, and nothing to the ear."""
    words = ", ".join(line.strip() for line in str(cell).splitlines() if line.strip())
    return "none" if words == "-" else words


def table(*headings: str, fixed: tuple[str, ...] = ()) -> Rows:
    """Rows under headings; columns named in ``fixed`` never wrap."""
    return Rows(headings, fixed)


def listing(out: Console, heading: str, lines: Iterable[str], si: bool = False) -> None:
    """A heading and its lines, indented, in US units or SI; nothing where there are no lines."""
    entries = [shown(line, si) for line in lines if line]
    if not entries:
        return
    out.print(Text(heading, style="bold"))
    for entry in entries:
        for line in textwrap.wrap(entry, out.width - 4, initial_indent="  ", subsequent_indent="    "):
            out.print(line)
