"""``rigging steady``: how long to wait until the structure has the temperature of the air."""

from __future__ import annotations

from typing import Annotated

import typer

from rigging.cli import completion
from rigging.cli.options import AsCsv, AsJson, Si, Thermometer, once, only_one, put_csv, put_json


def steady(
    air: Annotated[
        list[str] | None,
        typer.Option(help="The air now, like 54F; several with their times, like '08:00 54F'.", show_default=False),
    ] = None,
    read: Annotated[
        list[str] | None,
        typer.Option(
            help="A part, when it was read and what it showed: 'cap 08:00 66F', or 'cap 20min 60F'. Repeat.",
            show_default=False,
        ),
    ] = None,
    part: Annotated[
        list[str] | None,
        typer.Option(
            help="A part to look at: cable, skin, cap, fitting; or your own with its time constant, 'spar=20min'.",
            show_default=False,
            autocompletion=completion.parts,
        ),
    ] = None,
    air_was: Annotated[
        str | None, typer.Option(help="What air and structure stood at before, like 70F, for parts that were not read.")
    ] = None,
    changed: Annotated[str | None, typer.Option(help="When the air changed, like 07:40; now where left out.")] = None,
    now: Annotated[
        str | None, typer.Option(help="The time now, like 08:30; the last reading's where left out.")
    ] = None,
    within: Annotated[
        str | None, typer.Option(help="How near to the air is steady, like 2F; the thermometer's own where left out.")
    ] = None,
    thermometer: Thermometer = "2F",
    as_json: AsJson = False,
    as_csv: AsCsv = False,
    si: Si = False,
) -> int:
    """How long to wait for a steady temperature: the part that is slowest to follow the air, and how far off each is.

    Two readings of a part tell how fast it follows; the longer of that and the usual time is taken.
    Exit code 0: steady. 1: not yet, and how long to wait or why waiting does not help.

    Example: rigging steady --air 54F --air-was 70F --read "cap 08:00 66F" --read "cap 08:20 60F" --part fitting
    """
    from rigging.errors import UsageError
    from rigging.jobs.steady import Question
    from rigging.jobs.steady import steady as answer
    from rigging.measure.timed import need_one_clock, parse_air, parse_own_part, parse_part_reading, parse_time
    from rigging.units import parse_temperature_degF, parse_temperature_difference_degF

    only_one(as_json, as_csv)
    if not air:
        raise UsageError("give the temperature of the air, like --air 54F")
    of_air, of_parts = [parse_air(text) for text in air], [parse_part_reading(text) for text in read or ()]
    named = once("--part", (parse_own_part(text) for text in part or ()))
    changed_at, now_at = (None if text is None else parse_time(text) for text in (changed, now))
    by_clock = need_one_clock([*(r.time for r in (*of_air, *of_parts)), changed_at, now_at])
    half_width_degF = parse_temperature_difference_degF(thermometer)
    within_degF = half_width_degF if within is None else parse_temperature_difference_degF(within)
    if not (half_width_degF > 0 and within_degF > 0):
        raise UsageError("--thermometer and --within are more than zero, like 2F")
    result = answer(
        Question(
            air=of_air,
            readings=of_parts,
            own_h={name: hours for name, hours in named.items() if hours is not None},
            named=[name for name, hours in named.items() if hours is None],
            air_was_degF=None if air_was is None else parse_temperature_degF(air_was),
            changed_h=None if changed_at is None else changed_at.time_h,
            now_h=None if now_at is None else now_at.time_h,
            within_degF=within_degF,
            half_width_degF=half_width_degF,
            by_clock=by_clock,
        )
    )
    if as_json or as_csv:
        from rigging.report import steady_data as view

        if as_json:
            put_json(view.steady(result))
        else:
            put_csv([view.row(f) for f in result.following], view.ROW_COLUMNS)
    else:
        from rigging.report.text.console import console
        from rigging.report.text.steady import show_steady

        show_steady(console(), result, si)
    return 0 if result.steady else 1
