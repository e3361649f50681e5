"""The one console for data and the one for talk, and small pieces every view shares."""

from __future__ import annotations

import os
import textwrap
from collections.abc import Iterable
from functools import cache
from typing import IO

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table
from rich.text import Text

from rigging.report.pipe import hush

WIDEST = 100
PIPED_WIDTH = 80

# rich would read [lbf] and [in] as markup, and colour figures by itself
_PLAIN = {"markup": False, "highlight": False, "emoji": False}


class _Console(Console):
    def on_broken_pipe(self) -> None:
        # rich would end the program here with exit code 1, which means a finding
        hush()


@cache
def console(stderr: bool = False) -> Console:
    """stdout for data, stderr for talk; at most 100 columns, 80 where it is no terminal."""
    # with NO_COLOR rich keeps bold, which is an escape code all the same
    colours = None if os.environ.get("NO_COLOR") else "auto"
    made = _Console(stderr=stderr, color_system=colours, **_PLAIN)  # type: ignore[arg-type]
    made.width = min(made.width, WIDEST) if made.is_terminal else PIPED_WIDTH
    return made


def for_file(stream: IO[str], width: int = PIPED_WIDTH) -> Console:
    """A plain console that writes to a stream."""
    return Console(file=stream, width=width, **_PLAIN)  # type: ignore[arg-type]


def table(*headings: str, fixed: tuple[str, ...] = ()) -> Table:
    """An open table that stays inside 80 columns; columns named in ``fixed`` never wrap."""
    made = Table(box=SIMPLE_HEAD, pad_edge=False, padding=(0, 1), header_style="bold", collapse_padding=True)
    for heading in headings:
        made.add_column(heading, overflow="fold", no_wrap=heading in fixed)
    return made


def listing(out: Console, heading: str, lines: Iterable[str]) -> None:
    """A heading and its lines, indented; nothing where there are no lines."""
    entries = [line for line in lines if line]
    if not entries:
        return
    out.print(Text(heading, style="bold"))
    for entry in entries:
        for line in textwrap.wrap(entry, out.width - 4, initial_indent="  ", subsequent_indent="    "):
            out.print(line)
