"""``rigging plan``: which turnbuckle, how many half turns, in what order."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from rigging.cli import completion
from rigging.cli.options import (
    AsCsv,
    AsJson,
    At,
    OnDay,
    ReadingsFile,
    SheetFile,
    Si,
    day_given,
    day_read,
    once,
    only_one,
    put_csv,
    put_json,
)

if TYPE_CHECKING:
    from rigging.jobs.plan_parts import Turned


def plan(
    sheet: SheetFile,
    circuit: Annotated[
        str,
        typer.Argument(
            help="The circuit to plan for, like aileron.", show_default=False, autocompletion=completion.circuits
        ),
    ],
    readings: ReadingsFile = None,
    at: At = None,
    neutral: Annotated[
        list[str] | None,
        typer.Option(
            help="How far a sector rests from its mark with the pins in: 'left bellcrank=-2deg'; + is the way it turns when the "
            "cables of its + side are let out. Repeat for others.",
            autocompletion=completion.lever_figures,
        ),
    ] = None,
    turned: Annotated[
        list[str] | None,
        typer.Option(
            help="What turns given before did: 'left=2:+6lbf' for two half turns that gained 6 lbf there.",
            autocompletion=completion.run_figures,
        ),
    ] = None,
    on: OnDay = None,
    as_json: AsJson = False,
    as_csv: AsCsv = False,
    si: Si = False,
) -> int:
    """Half turns that bring every tension into its band and every neutral to its mark, in an order that passes no limit.

    Exit code 0: the plan ends inside all limits. 1: it cannot, and why; or something drags or is not for sign-off.

    Example: rigging plan examples/reedling/sheet.yaml aileron examples/reedling/droop.csv --neutral "left bellcrank=1.4deg"
    """
    from rigging.cli.ask import taken_readings
    from rigging.jobs.plan import plan as make_plan
    from rigging.sheet.load import load_rig
    from rigging.units import parse, parse_temperature_degF

    only_one(as_json, as_csv)
    at_degF = None if at is None else parse_temperature_degF(at)
    named = once("--neutral", (_named(text, "left bellcrank=-2deg") for text in neutral or ()))
    offsets = {name: parse("angle", angle) for name, angle in named.items()}
    gains = [_turned(text) for text in turned or ()]
    given = day_given(on)
    rig = load_rig(sheet)
    taken = taken_readings(rig, readings, at_degF, circuit)
    result = make_plan(rig, circuit, taken, day_read(taken, given), at_degF, offsets, gains)
    if as_json or as_csv:
        from rigging.report import plan_data as view

        if as_json:
            put_json(view.plan(result))
        else:
            put_csv(view.plan_rows(result), view.COLUMNS)
    else:
        from rigging.report.text.console import console
        from rigging.report.text.plan import show_plan

        show_plan(console(), result, si)
    return 0 if result.met and not result.findings else 1


def _named(text: str, example: str) -> tuple[str, str]:
    from rigging.errors import UsageError

    name, equals, value = text.partition("=")
    if not equals or not name.strip() or not value.strip():
        raise UsageError(f"'{text}' is not a name and a figure: write it like '{example}'")
    return name.strip(), value.strip()


def _turned(text: str) -> Turned:
    from rigging.errors import UsageError
    from rigging.jobs.plan_parts import Turned
    from rigging.units import parse_force_lbf

    name, value = _named(text, "left=2:+6lbf")
    turns, colon, gained = value.partition(":")
    try:
        half_turns = int(turns)
    except ValueError:
        colon = ""
    if not colon:
        raise UsageError(f"'{text}': write whole half turns and the tension gained, like 'left=2:+6lbf'")
    return Turned(name, half_turns, parse_force_lbf(gained))
