"""``rigging settle``: has a new cable stopped, where will it end, what to set now."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from rigging.cli import completion
from rigging.cli.options import AsCsv, AsJson, Replace, SheetFile, Si, keep_older, only_one, put_csv, put_json, talk

if TYPE_CHECKING:
    from rigging.jobs.settle import Refused, Settled

MANY = 50


def settle(
    sheet: SheetFile,
    run: Annotated[
        str | None,
        typer.Argument(
            help="One run, like elevator/up; every run that was read where left out.",
            show_default=False,
            autocompletion=completion.runs,
        ),
    ] = None,
    readings: Annotated[
        Path | None,
        typer.Option(help="The history (CSV): times, temperatures, dials or tensions, half turns.", readable=False),
    ] = None,
    station: Annotated[
        str | None, typer.Option(help="The station to go by, where readings of several are there.")
    ] = None,
    state: Annotated[str | None, typer.Option(help="The aircraft state to go by, where there are several.")] = None,
    by: Annotated[
        str, typer.Option(help="What the cable beds in with: hours or cycles.", autocompletion=completion.measures)
    ] = "hours",
    horizon: Annotated[
        str | None,
        typer.Option(
            help="The end, from the first reading, like 8760h or 9000 cycles; a year after the last if left out."
        ),
    ] = None,
    out: Annotated[
        Path | None, typer.Option("-o", "--out", help="Write the picture to a file, .svg or .png.", readable=False)
    ] = None,
    replace: Replace = False,
    as_json: AsJson = False,
    as_csv: AsCsv = False,
    si: Si = False,
) -> int:
    """Whether a new cable has stopped bedding in, where it will end, what to set now and when to look again.

    Exit code 0: settled and ending inside its limits. 1: still settling, ending outside, or failing.

    Example: rigging settle examples/reedling/sheet.yaml elevator/up --readings examples/reedling/settling.csv
    """
    from rigging.errors import Refusal, UsageError
    from rigging.jobs.settle import Settled, chosen_runs
    from rigging.jobs.settle import settle as answers
    from rigging.report.pictures.files import check_ending
    from rigging.sheet.history import load_history
    from rigging.sheet.load import load_rig

    only_one(as_json, as_csv)
    if by not in ("hours", "cycles"):
        raise UsageError(f"--by {by}: hours or cycles")
    if readings is None:
        raise UsageError("give the history with --readings FILE.csv")
    if out is not None:
        check_ending(out)
        keep_older(out, replace)
    end = _horizon(horizon, by)
    rig = load_rig(sheet)
    events = load_history(readings, rig)
    count = len(chosen_runs(rig, events, run))
    results: list[Settled] = []
    refused: list[Refused] = []
    for result in answers(rig, events, run, station, state, "cycles" if by == "cycles" else "hours", end):
        if isinstance(result, Settled):
            results.append(result)
        else:
            refused.append(result)
        done = len(results) + len(refused)
        if count > MANY and done % MANY == 0:
            talk(f"{done} of {count} runs")
    if out is not None:
        if not results:
            raise Refusal(f"{out}: nothing to draw, for no run has an answer: {refused[0].reason}")
        keep_older(out, replace)  # it may have come into being meanwhile
        _draw(results, rig.file.aircraft.name, out, si)
    if as_json or as_csv:
        from rigging.report import settle_data as view

        if as_json:
            put_json(view.settle(results, refused))
        else:
            put_csv([view.settled(r) for r in results], view.COLUMNS)
            for one in refused:
                talk(one.reason)
    else:
        from rigging.report.text.console import console
        from rigging.report.text.settle import show_refused, show_settled

        for result in results:
            show_settled(console(), result, rig.file.aircraft.name, si)
        show_refused(console(), refused, si)
    return 1 if refused or any(r.finding for r in results) else 0


def _horizon(text: str | None, by: str) -> float | None:
    from rigging.errors import UsageError
    from rigging.units import number, parse

    if text is None:
        return None
    value = parse("time", text) if by == "hours" else number(text.removesuffix("cycles").strip())
    if not value > 0:
        raise UsageError(f"--horizon {text}: must be more than zero")
    return value


def _draw(results: list[Settled], aircraft: str, path: Path, si: bool) -> None:
    from rigging.report.pictures.files import save
    from rigging.report.pictures.settle import footer, panel

    save(path, [panel(r, aircraft, si) for r in results], footer(results))
    talk(f"written: {path}")
