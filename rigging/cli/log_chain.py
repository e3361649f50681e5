"""``rigging log verify``, ``export``, ``import``: the log as a whole, here and elsewhere."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from rigging.cli.options import AsCsv, AsJson, LogOrSheet, LogPlace, put_json, talk


def verify(sheet: LogOrSheet, log_at: LogPlace = None, as_json: AsJson = False) -> int:
    """Whether every entry is the one that was sealed, none missing and none moved.

    This cannot show that the newest entries were cut off or that the whole file was rewritten: compare count and seal with a
    printed record.

    Example: rigging log verify examples/harbour/sheet.yaml
    """
    import sys

    from rigging.cli.log_place import log_named
    from rigging.report import log_data as view

    log, _ = log_named(sheet, log_at)
    with log:
        state = log.verify(progress if sys.stderr.isatty() else None)
        place = log.place
    if as_json:
        put_json(view.verified(state))
    else:
        from rigging.report.text.console import console
        from rigging.report.text.log import show_verified

        show_verified(console(), place, state)
    return 0 if state.intact else 1


def progress(entries: int) -> None:
    """How far a long walk has come, on one line that is written over."""
    import sys

    print(f"\r{entries} entries", end="", file=sys.stderr, flush=True)


def export(
    sheet: LogOrSheet,
    out: Annotated[
        Path | None, typer.Option("-o", "--out", help="A new file; stdout where left out.", readable=False)
    ] = None,
    log_at: LogPlace = None,
    as_csv: AsCsv = False,
) -> int:
    """The whole log as JSON Lines, which 'import' takes; with --csv as a table for a spreadsheet.

    Example: rigging log export examples/harbour/sheet.yaml -o job.jsonl
    """
    from rigging.cli.log_place import log_named
    from rigging.log.exchange import ROW_COLUMNS, export_jsonl, export_rows
    from rigging.report.as_csv import write
    from rigging.report.pipe import stdout
    from rigging.sheet.newfile import new_file

    log, _ = log_named(sheet, log_at)
    with log, stdout() if out is None else new_file(out) as stream:
        if as_csv:
            head = log.head()
            write(stream, export_rows(log), ROW_COLUMNS)
        else:
            head = export_jsonl(log, stream)
    where = f" to {out}" if out is not None else ""
    talk(f"{head.entries} entries{where}, log seal {head.head_hash}")
    return 0


def import_(
    sheet: LogOrSheet,
    file: Annotated[Path, typer.Argument(help="What 'rigging log export' wrote.", show_default=False, readable=False)],
    log_at: LogPlace = None,
    as_json: AsJson = False,
) -> int:
    """Take in an exported log: all of it is verified first, and all of it is taken or nothing.

    The log it goes to must be new, or hold the beginning of the same chain.

    Example: rigging log import copy.riglog job.jsonl
    """
    from rigging.cli.log_place import place_of
    from rigging.log.exchange import import_jsonl
    from rigging.log.store import open_log
    from rigging.report import log_data as view
    from rigging.sheet.load import load_rig

    is_sheet = "://" not in sheet and sheet.lower().endswith((".yaml", ".yml"))
    place = place_of(load_rig(Path(sheet)), log_at) if is_sheet else sheet
    with open_log(place, create=True) as log:
        head = import_jsonl(log, file)
    if as_json:
        put_json(view.head(head))
    else:
        talk(f"{place}: {head.entries} entries, log seal {head.head_hash}")
    return 0
