"""Where the log of a sheet is, and who writes in it."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Final

from rigging.cli.options import CLOCK, LOG_VARIABLE
from rigging.errors import UsageError

if TYPE_CHECKING:
    from rigging.log.entry import Entry
    from rigging.log.store import Log
    from rigging.sheet.rig import Rig

ENDING: Final = ".riglog"


def place_of(rig: Rig, log_at: str | None) -> str:
    """The log of a sheet: what was asked for, else what the sheet names, else a file beside the sheet."""
    if log_at:
        return log_at
    path = Path(rig.path)
    own = rig.file.log
    if own and "://" in own:
        return own
    return str(path.parent / own) if own else str(path.with_suffix(ENDING))


def log_of(rig: Rig, log_at: str | None, *, create: bool = False) -> Log:
    """The opened log of a sheet; close it after use."""
    from rigging.log.store import open_log

    return open_log(place_of(rig, log_at), CLOCK, create=create)


def tell_first(log: Log, entry: Entry) -> None:
    """Say so where an entry is the first of its log: one that was moved or lost begins anew without a word otherwise."""
    from rigging.cli.options import talk

    if log.entry(1).time_utc == entry.time_utc:
        talk(f"a new log begins: {log.place}")


def log_named(text: str, log_at: str | None) -> tuple[Log, tuple[str, ...] | None]:
    """The log that a sheet or a log itself names, and the names of the sheet's aircraft; None where a log was named."""
    from rigging.log.store import open_log
    from rigging.sheet.load import load_rig

    if "://" in text or not text.lower().endswith((".yaml", ".yml")):
        if log_at and os.environ.get(LOG_VARIABLE) == log_at:
            raise UsageError(
                f"{LOG_VARIABLE}, set to {log_at}, says where the log of a sheet is: name the sheet, or clear {LOG_VARIABLE} "
                f"to read {text}"
            )
        if log_at:
            raise UsageError("--log-at says where the log of a sheet is: name the sheet, or leave --log-at out")
        return open_log(text, CLOCK), None
    rig = load_rig(Path(text))
    return log_of(rig, log_at), rig.names


def who_writes(who: str | None) -> str:
    """The name, as given or asked for at a terminal. Raises UsageError where nobody can be asked."""
    from rigging.cli.ask import ask_line
    from rigging.cli.options import talk

    while who is None or not who.strip():
        if who is not None or not sys.stdin.isatty():
            raise UsageError("who writes this? Give the name with --who")
        who = ask_line("Your name, as it shall stand in the record: ") or None
        if who is None:
            talk("  a record without a name is worth nothing; Ctrl-C leaves without writing anything")
    return who
