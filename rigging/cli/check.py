"""``rigging check``: the main job."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from rigging.cli.options import (
    AsCsv,
    AsJson,
    At,
    LogPlace,
    OnDay,
    ReadingsFile,
    SheetFile,
    Si,
    Who,
    day_given,
    day_read,
    only_one,
    put_csv,
    put_json,
    talk,
)

if TYPE_CHECKING:
    from rigging.log.entry import Entry

COLUMNS = [
    "circuit", "run", "station", "dials", "tension_lbf", "uncertainty_lbf", "temperature_degF", "low_lbf", "high_lbf",
    "shift_lbf", "shift_uncertainty_lbf", "may_hang_slack", "tension_at_reference_lbf", "slack_at_reference", "reference_degF", "verdict", "side", "plain", "probability_in_limits", "tensiometer", "basis",
    "source", "refusal", "action", "reasons",
]  # fmt: skip


def check(
    sheet: SheetFile,
    readings: ReadingsFile = None,
    at: At = None,
    on: OnDay = None,
    log: Annotated[bool, typer.Option("--log", help="Write the check in the log of this sheet.")] = False,
    who: Who = None,
    steady_since: Annotated[
        str, typer.Option(help="With --log: since when the temperature is steady, like 'doors shut since 07:30'.")
    ] = "",
    state: Annotated[
        str, typer.Option(help="With --log: the state of the aircraft, like 'on its wheels, wings fitted'.")
    ] = "",
    log_at: LogPlace = None,
    as_json: AsJson = False,
    as_csv: AsCsv = False,
    si: Si = False,
) -> int:
    """Every run of a sheet: limits today, the verdict on its readings, the next action.

    Exit code 0: every run is in. 1: something is out, near a limit, refused, not read, or drags.
    With --log readings, conditions, sheet, cards and results go into the log, so that the sum can be run again.

    Example: rigging check examples/reedling/sheet.yaml examples/reedling/readings.csv
    """
    from rigging.cli.ask import taken_readings
    from rigging.errors import RiggingError
    from rigging.jobs.check import check as run_check
    from rigging.judge.verdict import Word
    from rigging.physics.thermal import check_temperature
    from rigging.sheet.load import load_rig
    from rigging.units import parse_temperature_degF

    only_one(as_json, as_csv)
    if log:
        from rigging.cli.log_place import log_of, tell_first, who_writes

        who = who_writes(who)
    at_degF = None if at is None else parse_temperature_degF(at)
    if at_degF is not None:
        # before anything is typed under it
        check_temperature(at_degF, "structure temperature")
    given = day_given(on)
    rig = load_rig(sheet)
    if log:
        # a log that cannot be written says so before anything is typed
        log_of(rig, log_at, create=True).close()
    taken = taken_readings(rig, readings, at_degF)
    result = run_check(rig, taken, day_read(taken, given), at_degF)
    entry: Entry | None = None
    not_written: RiggingError | None = None
    if log and who is not None:
        from rigging.jobs.recorded_check import record_check
        from rigging.report import as_json as view

        try:
            with log_of(rig, log_at) as opened:
                entry = record_check(
                    opened, rig, result, taken, view.check, who, at_degF, readings, steady_since, state
                )
                tell_first(opened, entry)
        except RiggingError as error:
            not_written = error  # the verdicts are shown all the same
    if as_json or as_csv:
        from rigging.report import as_json as view

        if as_json:
            put_json({**view.check(result), **({"log_entry": entry.sequence} if entry else {})})
        else:
            put_csv([view.check_run(r) for r in result.runs], COLUMNS)
    else:
        from rigging.report.text.check import show_check
        from rigging.report.text.console import console

        show_check(console(), result, si)
    if not_written is not None:
        raise not_written
    if entry is not None:
        talk(f"written in the log: #{entry.sequence} by {entry.who}")
    return 0 if result.word is Word.IN and not result.comparison.drag else 1
