"""Options that mean the same on every command, and how answers leave the program."""

from __future__ import annotations

import datetime as dt
import sys
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Final, TypeVar

import typer

from rigging.cli import completion
from rigging.clock import Clock, parse_day
from rigging.report.pipe import put

if TYPE_CHECKING:
    from rigging.sheet.readings import Reading

T = TypeVar("T")

AsJson = Annotated[bool, typer.Option("--json", help="One JSON document on stdout.")]
AsCsv = Annotated[bool, typer.Option("--csv", help="Rows as CSV on stdout.")]
Si = Annotated[bool, typer.Option("--si", help="Show newton, mm and degree C.")]
Construction = Annotated[
    str | None,
    typer.Option(
        help="7x19, 7x7, 3x7 or 1x19 (default: 7x19 from 1/8 up, 7x7 below).",
        autocompletion=completion.constructions,
    ),
]
Material = Annotated[
    str, typer.Option(help="carbon or stainless (corrosion-resistant).", autocompletion=completion.materials)
]
CardFile = Annotated[
    Path,
    typer.Option("--card", help="The tensiometer's own calibration card (YAML).", show_default=False, readable=False),
]
Riser = Annotated[
    int,
    typer.Option(
        help="The riser in the tensiometer, by its number.", show_default=False, autocompletion=completion.risers
    ),
]
CableSize = Annotated[
    str,
    typer.Option(
        "--cable",
        help="Cable size as a fraction of an inch, like 5/32.",
        show_default=False,
        autocompletion=completion.sizes,
    ),
]
Serial = Annotated[
    str | None, typer.Option(help="Serial on the instrument in hand; refused where the card is another's.")
]
OnDay = Annotated[
    str | None, typer.Option("--on", help="The day it was read or done, e.g. 2026-11-25 (default: today).")
]
Replace = Annotated[bool, typer.Option("--replace", help="Put it in the place of an older file.")]
SheetFile = Annotated[Path, typer.Argument(help="The rig sheet (YAML).", show_default=False, readable=False)]
ReadingsFile = Annotated[
    Path | None,
    typer.Argument(help="Readings (CSV); asked for at a terminal where left out.", show_default=False, readable=False),
]
At = Annotated[str | None, typer.Option(help="Structure temperature for readings that name none, like 54F.")]
Thermometer = Annotated[str, typer.Option(help="How far the temperature reading may be off, like 2F or 1C.")]

Who = Annotated[
    str | None,
    typer.Option(
        help="Who writes this, by name; asked for at a terminal where left out.", envvar="RIGGING_WHO", show_envvar=True
    ),
]
LOG_VARIABLE: Final = "RIGGING_LOG"
LogPlace = Annotated[
    str | None,
    typer.Option(
        "--log-at", help="The log: a file, or a database URL. The sheet's own, or beside it, where left out.",
        envvar=LOG_VARIABLE, show_envvar=True,
    ),
]  # fmt: skip
LogOrSheet = Annotated[str, typer.Argument(help="A rig sheet (YAML) for its log, or a log itself.", show_default=False)]


CLOCK: Final = Clock(lambda: dt.datetime.now(dt.UTC))
"""The clock of this machine: the one place where the program reads the time."""


def day(on: str | None) -> dt.date:
    """The day a reading belongs to, today where none is given. Raises what ``day_given`` does."""
    return day_given(on) or CLOCK.today()


def day_given(on: str | None) -> dt.date | None:
    """The day that was given. Raises UnitError for a text that is no date, Refusal for a day that has not come."""
    given = None if on is None else parse_day(on)
    CLOCK.need_past(given)
    return given


def day_read(readings: Sequence[Reading], given: dt.date | None) -> dt.date:
    """The day of readings: as they say it, else as it was given, else today. Raises UsageError where the first two differ."""
    from rigging.errors import UsageError

    said = readings[0].day if readings else None
    if None not in (said, given) and said != given:
        raise UsageError(f"--on says {given}, the readings say {said}: keep the day on which they were read")
    CLOCK.need_past(said)
    return said or given or CLOCK.today()


def put_json(value: Any) -> None:
    """One JSON document on stdout."""
    from rigging.report.as_json import dumps

    put(dumps(value) + "\n")


def put_csv(rows: list[dict[str, Any]], columns: list[str]) -> None:
    """Rows on stdout as CSV."""
    from rigging.report.as_csv import dumps

    put(dumps(rows, columns))


def talk(message: str) -> None:
    """A line for the person, on stderr so that stdout stays data."""
    print(message, file=sys.stderr)


def explain(message: str, indent: str = "") -> None:
    """Words for the person, on stderr, wrapped as on the screen."""
    import shutil
    import textwrap

    talk(
        textwrap.fill(
            message,
            max(20, min(80, shutil.get_terminal_size().columns)),
            initial_indent=indent,
            subsequent_indent=f"{indent}  ",
            break_long_words=False,
            break_on_hyphens=False,
        )
    )


def once(option: str, pairs: Iterable[tuple[str, T]]) -> dict[str, T]:
    """What a repeated option gives for each name. Raises UsageError for a name that stands twice, for one of them is wrong."""
    from rigging.errors import UsageError

    found: dict[str, T] = {}
    for name, value in pairs:
        if name in found:
            raise UsageError(f"{option} {name} stands twice: keep one")
        found[name] = value
    return found


def keep_older(path: Path | None, replace: bool) -> None:
    """Raises UsageError where a file to be written is there already, and nobody said that it may go."""
    from rigging.errors import UsageError

    if path is not None and path.exists() and not replace:
        raise UsageError(f"{path} exists: choose another name, or --replace it; nothing was written")


def only_one(as_json: bool, as_csv: bool) -> None:
    """Raises UsageError where two formats are asked for at once."""
    from rigging.errors import UsageError

    if as_json and as_csv:
        raise UsageError("--json and --csv are two formats: ask for one")
