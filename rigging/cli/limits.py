"""``rigging limits``: tension limits at today's temperature, and why."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from rigging.cli import completion
from rigging.cli.options import AsJson, Construction, Material, Si, Thermometer, put_json


def limits(
    size: Annotated[
        str, typer.Argument(help="Cable size, like 1/8.", show_default=False, autocompletion=completion.sizes)
    ],
    at: Annotated[str, typer.Option(help="Temperature of the structure today, like 54F or 12C.", show_default=False)],
    spec: Annotated[str | None, typer.Option(help="Limits from the aircraft's data, like '30..40 lbf @ 70F'.")] = None,
    airframe: Annotated[
        str | None,
        typer.Option(
            help="What the airframe is made of: aluminium, spruce, steel tube, carbon ...",
            autocompletion=completion.airframes,
        ),
    ] = None,
    chart: Annotated[
        Path | None, typer.Option(help="The aircraft's own chart (YAML) instead of --spec.", readable=False)
    ] = None,
    line: Annotated[
        str | None, typer.Option("--for", help="Whose lines of the chart: a circuit, cable or size.")
    ] = None,
    reference: Annotated[str, typer.Option(help="Reference temperature for a chart.")] = "70F",
    reading: Annotated[
        str | None, typer.Option(help="A tension read today, brought to the reference temperature.")
    ] = None,
    thermometer: Thermometer = "2F",
    construction: Construction = None,
    material: Material = "carbon",
    as_json: AsJson = False,
    si: Si = False,
) -> int:
    """Tension limits at today's temperature and why they moved; without --spec the typical chart, an illustration.

    Exit code 0: limits are given. 1: at them, or at the reading, the cable hangs slack or may do so.

    Example: rigging limits 1/8 --at 54F --spec "30..40 lbf @ 70F" --airframe spruce
    """
    from rigging.bands import parse_band
    from rigging.errors import UsageError
    from rigging.hardware.cable import cable, strongest
    from rigging.judge.limits import Limits, limits_today
    from rigging.judge.temperatures import Condition
    from rigging.physics.bounds import not_below_zero
    from rigging.source import Basis, Source
    from rigging.told import lbf
    from rigging.units import parse_force_lbf, parse_size, parse_temperature_degF, parse_temperature_difference_degF

    size = parse_size(size)
    condition = Condition(parse_temperature_degF(at), parse_temperature_difference_degF(thermometer))
    tension_lbf = None if reading is None else parse_force_lbf(reading)
    if spec is not None and chart is not None:
        raise UsageError("--spec and --chart both say what the tension should be: give one")
    if line is not None and chart is None:
        raise UsageError("--for names lines of a chart: give the chart with --chart")

    def find() -> tuple[Limits, list[str]]:
        if spec is not None:
            from rigging.hardware import airframe as frames

            if airframe is None:
                raise UsageError(
                    "--airframe is needed: what the airframe is made of decides the sign of the correction"
                )
            frame = frames.airframe(airframe)
            wire = cable(size, construction, material)
            source = Source(Basis.AIRCRAFT, "limits as typed")
            return limits_today(parse_band(spec), source, wire, [(1.0, frame)], condition), [frame.name]
        if chart is not None:
            from rigging.judge.chart import check_chart, limits_from_chart
            from rigging.tables import load_file

            table = load_file(chart)
            check_chart(table)
            return limits_from_chart(table, line or size, condition, parse_temperature_degF(reference)), [table.id]
        from rigging.hardware.airframe import ALIASES
        from rigging.judge.typical_chart import typical_limits

        if airframe is not None and not ALIASES.get(airframe.lower(), airframe.lower()).startswith("aluminium"):
            raise UsageError(
                f"the typical chart holds for aluminium airframes only: for {airframe} give --spec from the aircraft's data"
            )
        return typical_limits(size, condition, construction, material), ["aluminium"]

    found, airframes = find()
    # a chart names no cable
    held = strongest(size) if chart is not None else cable(size, construction, material)
    if held is not None:
        held.check_rigging_load(found.high_lbf, "a high limit")
    if tension_lbf is not None:
        not_below_zero("a reading", tension_lbf, lbf)
        if held is not None:
            held.check_rigging_load(tension_lbf, "a reading")
    if as_json:
        from rigging.report import as_json as view

        put_json(view.limits(found, tension_lbf))
    else:
        from rigging.report.text.console import console
        from rigging.report.text.facts import show_limits

        show_limits(console(), found, airframes, tension_lbf, si)
    slack = tension_lbf is not None and not found.at_reference_lbf(tension_lbf)
    return 1 if found.may_hang_slack or slack else 0
