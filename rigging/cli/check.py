"""``rigging check``: the main job."""

from __future__ import annotations

from rigging.cli.options import AsCsv, AsJson, At, OnDay, ReadingsFile, SheetFile, Si, day, only_one, put_csv, put_json

COLUMNS = [
    "circuit", "run", "station", "dials", "tension_lbf", "uncertainty_lbf", "temperature_degF", "low_lbf", "high_lbf",
    "tension_at_reference_lbf", "reference_degF", "verdict", "side", "plain", "probability_in_limits", "tensiometer", "basis",
    "source", "refusal", "action", "reasons",
]  # fmt: skip


def check(
    sheet: SheetFile,
    readings: ReadingsFile = None,
    at: At = None,
    on: OnDay = None,
    as_json: AsJson = False,
    as_csv: AsCsv = False,
    si: Si = False,
) -> int:
    """Every run of a sheet: limits today, the verdict on its readings, the next action.

    Exit code 0: every run is in. 1: something is out, near a limit, refused, not read, or drags.

    Example: rigging check examples/reedling/sheet.yaml examples/reedling/readings.csv
    """
    from rigging.cli.ask import taken_readings
    from rigging.jobs.check import check as run_check
    from rigging.judge.verdict import Word
    from rigging.sheet.load import load_rig
    from rigging.units import parse_temperature_degF

    only_one(as_json, as_csv)
    at_degF = None if at is None else parse_temperature_degF(at)
    rig = load_rig(sheet)
    taken = taken_readings(rig, readings, at_degF)
    result = run_check(rig, taken, day(on), at_degF, si and not (as_json or as_csv))
    if as_json or as_csv:
        from rigging.report import as_json as view

        if as_json:
            put_json(view.check(result))
        else:
            put_csv([view.check_run(r) for r in result.runs], COLUMNS)
    else:
        from rigging.report.text.check import show_check
        from rigging.report.text.console import console

        show_check(console(), result, si)
    return 0 if result.word is Word.IN and not result.comparison.drag else 1
