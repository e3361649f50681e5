"""``rigging report``: the record of an aircraft as one HTML file."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Final

import typer

from rigging.cli.options import AsJson, LogPlace, SheetFile, keep_older, put_json, talk

ENDINGS: Final = (".html", ".htm")


def report(
    sheet: SheetFile,
    out: Annotated[
        Path | None,
        typer.Option("-o", "--out", help="A new file, FILE.html, or - for stdout.", show_default=False, readable=False),
    ] = None,
    replace: Annotated[bool, typer.Option("--replace", help="Put it in the place of an older record.")] = False,
    recompute: Annotated[
        bool, typer.Option("--recompute", help="Run every verdict again from what the log holds, and say which stand.")
    ] = False,
    log_at: LogPlace = None,
    as_json: AsJson = False,
) -> int:
    """The whole record in one HTML file that needs nothing beside it: for a screen, and for A4 or Letter paper.

    What is open stands first, then every circuit on pages of its own: limits, every reading, verdicts with their
    reasons, pictures, travel, direction sheet, signatures; last every entry, and the log seal.

    Exit code 0: nothing is open. 1: something is open, the log is broken, or a verdict does not stand; the file is
    written all the same, and says so.

    Example: rigging report examples/harbour/sheet.yaml -o rig-record.html
    """
    import sys

    from rigging.cli.log_place import log_of
    from rigging.jobs.record import record
    from rigging.jobs.recorded_check import recomputing
    from rigging.report import as_json as views
    from rigging.sheet.load import load_rig

    _check_out(out, replace, as_json)
    say = talk if sys.stderr.isatty() else None
    rig = load_rig(sheet)
    with log_of(rig, log_at) as log:
        found = record(log, rig, recomputing(log, views.check) if recompute else None, say)
    if out is not None:
        from rigging.report.html.page import page

        _write(page(found, say), out, replace)
    if as_json:
        from rigging.report.record_data import record as view

        put_json(view(found))
    if out is not None and str(out) != "-":
        talk(f"written: {out}")
    for line in _findings(found):
        talk(line)
    talk(f"{found.chain.entries} entries, log seal {found.chain.head_hash}")
    return 1 if found.found else 0


def _check_out(out: Path | None, replace: bool, as_json: bool) -> None:
    """Raises UsageError before any work is done that would be for nothing."""
    from rigging.errors import UsageError

    if out is None:
        if not as_json:
            raise UsageError("say where it goes: -o FILE.html, or -o - for stdout")
        return
    if str(out) == "-":
        if as_json:
            raise UsageError("-o - and --json both want stdout: keep one")
        return
    if out.suffix.lower() not in ENDINGS:
        # --replace can then never hit a sheet, a card or the log itself
        raise UsageError(f"'{out}': the record is HTML: end the file name in .html")
    keep_older(out, replace)


def _write(text: str, out: Path, replace: bool) -> None:
    from rigging.report.pictures.files import write_whole
    from rigging.report.pipe import put

    if str(out) == "-":
        put(text)
        return
    # it may have come into being meanwhile
    _check_out(out, replace, as_json=False)
    write_whole(out, text.encode())


def _findings(found: object) -> list[str]:
    from rigging.jobs.record import Record

    assert isinstance(found, Record)
    lines = []
    if not found.chain.intact:
        lines.append(f"THE LOG IS BROKEN at entry {found.chain.first_bad_entry}: {found.chain.why}")
    if found.store_fault:
        lines.append(f"THE LOG IS DAMAGED: {found.store_fault}")
    if found.fallen:
        lines.append(f"verdicts that do not stand: {', '.join(f'#{r.sequence}' for r in found.fallen)}")
    for circuit, told in found.unsettled:
        lines.append(
            f"NOT SETTLING: {circuit} / {told.run}{f' at {told.station}' if told.station else ''}: see the record"
        )
    if found.misfits:
        lines.append(
            f"entries that cannot be read, and count for nothing: {', '.join(f'#{m.entry.sequence}' for m in found.misfits)}"
        )
    count = len(found.status.open)
    known = "" if not found.broken else "before the break "
    lines.append(f"{found.aircraft}: {known}{f'{count} open' if count else 'nothing open in what was recorded'}")
    if found.status.without_record:
        lines.append(f"no record at all: {', '.join(found.status.without_record)}")
    return lines
