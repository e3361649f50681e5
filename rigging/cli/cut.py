"""``rigging cut``: finished length of a cable, and the thread its turnbuckle has left."""

from __future__ import annotations

from typing import Annotated

import typer

from rigging.cli import completion
from rigging.cli.options import AsJson, Construction, Material, Si, Thermometer, put_json

MOST_THREADS = 30.0


def cut(
    size: Annotated[
        str, typer.Option(help="Cable size, like 1/8.", show_default=False, autocompletion=completion.sizes)
    ],
    pin_to_pin: Annotated[
        str, typer.Option(help="Between the pins with the control at neutral, like '14 ft 3 in'.", show_default=False)
    ],
    turnbuckle_length: Annotated[
        str,
        typer.Option(
            help="From its pin to the end of the cable, terminals flush with the barrel, like '8 in'.",
            show_default=False,
        ),
    ],
    thread: Annotated[
        str,
        typer.Option(
            help="Thread of the turnbuckle, like 1/4-28.", show_default=False, autocompletion=completion.threads
        ),
    ],
    tension: Annotated[str, typer.Option(help="Tension at rest at the reference temperature.", show_default=False)],
    at: Annotated[str, typer.Option(help="Temperature while measuring and cutting, like 60F.", show_default=False)],
    airframe: Annotated[
        str,
        typer.Option(
            help="What the airframe is made of: aluminium, spruce ...",
            show_default=False,
            autocompletion=completion.airframes,
        ),
    ],
    threads_showing: Annotated[
        float, typer.Option(help="Threads to show at each end at first rigging; below zero the terminals are sunk.")
    ] = 2.0,
    most_inside: Annotated[
        float | None,
        typer.Option(
            help="How many threads deep the terminals can be sunk below the barrel's end before they meet (default: not known).",
            show_default=False,
        ),
    ] = None,
    reference: Annotated[
        str, typer.Option(help="Temperature at which the tension holds; on other days it moves as check moves limits.")
    ] = "70F",
    coldest: Annotated[str | None, typer.Option(help="Coldest structure it will meet, like -20F.")] = None,
    hottest: Annotated[str | None, typer.Option(help="Hottest structure it will meet, like 110F.")] = None,
    history: Annotated[
        str, typer.Option(help="The cable: new, proof-loaded or in-service.", autocompletion=completion.histories)
    ] = "new",
    measured_within: Annotated[str, typer.Option(help="How far pin to pin may be off.")] = "1/16 in",
    thermometer: Thermometer = "2F",
    construction: Construction = None,
    material: Material = "carbon",
    as_json: AsJson = False,
    si: Si = False,
) -> int:
    """How long to make a cable, and whether its turnbuckle has thread enough, cold, hot and bedded in.

    Exit code 0: no thread runs out. 1: too long or too short, or too near to tell.

    \b
    Example: rigging cut --size 1/8 --pin-to-pin "14 ft 3 in"
      --turnbuckle-length "8 in" --thread 1/4-28 --threads-showing 1
      --tension 35lbf --at 60F --airframe spruce --coldest -20F --hottest 110F
    """
    from rigging.errors import UsageError
    from rigging.hardware import airframe as frames
    from rigging.hardware.bedding_in import bedding_in
    from rigging.hardware.cable import cable
    from rigging.jobs.cut import cut as run_cut
    from rigging.jobs.cut_parts import Order
    from rigging.units import (
        parse_force_lbf,
        parse_length_in,
        parse_temperature_degF,
        parse_temperature_difference_degF,
    )

    for name, count in (("--threads-showing", threads_showing), ("--most-inside", most_inside)):
        if count is not None and not -MOST_THREADS <= count <= MOST_THREADS:
            raise UsageError(f"{name} {count:g} is no number of threads a terminal has")
    if most_inside is not None and (most_inside < 0 or threads_showing < -most_inside):
        raise UsageError(
            "threads showing cannot start deeper than --most-inside, which counts down from the barrel's end"
        )
    half_width_in = parse_length_in(measured_within)
    thermometer_degF = parse_temperature_difference_degF(thermometer)
    if half_width_in < 0 or thermometer_degF < 0:
        raise UsageError("--measured-within and --thermometer say how far off a reading may be: not below zero")
    found = run_cut(
        Order(
            cable=cable(size, construction, material),
            airframe=frames.airframe(airframe),
            bedding_in=bedding_in(history),
            thread=thread,
            pin_to_pin_in=parse_length_in(pin_to_pin),
            pin_to_pin_half_width_in=half_width_in,
            turnbuckle_in=parse_length_in(turnbuckle_length),
            threads_showing=threads_showing,
            tension_lbf=parse_force_lbf(tension),
            measured_degF=parse_temperature_degF(at),
            half_width_degF=thermometer_degF,
            reference_degF=parse_temperature_degF(reference),
            coldest_degF=None if coldest is None else parse_temperature_degF(coldest),
            hottest_degF=None if hottest is None else parse_temperature_degF(hottest),
            most_inside=most_inside,
        )
    )
    if as_json:
        from rigging.report.cut_data import cut as view

        put_json(view(found))
    else:
        from rigging.report.text.console import console
        from rigging.report.text.cut import show_cut

        show_cut(console(), found, si)
    return 1 if found.finding else 0
