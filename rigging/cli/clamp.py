"""``rigging clamp``: what a gauge adds to the tension it reads."""

from __future__ import annotations

from typing import Annotated

import typer

from rigging.cli.options import AsJson, Construction, Material, Si, put_json
from rigging.cli.stretch import CableOrRun, Length, Run, Sheet, stretch_of


def clamp(
    deflection: Annotated[
        str, typer.Option(help="How far the gauge pushes the cable out of line, like '0.06 in'.", show_default=False)
    ],
    anvils: Annotated[
        str, typer.Option(help="Distance between the gauge's outer anvils, like '3 in'.", show_default=False)
    ],
    cable: CableOrRun = None,
    length: Length = None,
    sheet: Sheet = None,
    run: Run = None,
    reading: Annotated[str | None, typer.Option(help="What was read with the gauge on, like 20lbf.")] = None,
    within: Annotated[str, typer.Option(help="How far the deflection may be off.")] = "1/64 in",
    accuracy: Annotated[str, typer.Option(help="The gauge's accuracy, of its reading.")] = "2%",
    construction: Construction = None,
    material: Material = "carbon",
    as_json: AsJson = False,
    si: Si = False,
) -> int:
    """How much a gauge that deflects the cable raises its tension on this circuit, and the tension without it.

    It matters on short cables between fixed ends, and with a stiff or slack cable: its bending stiffness makes the gauge
    add more. Exit code 0: less than the gauge's accuracy. 1: it may be more.

    Example: rigging clamp --deflection "0.06 in" --anvils "3 in" --cable 1/8 --length "4 ft" --reading 20lbf
    """
    from rigging.jobs.clamp import clamp_effect
    from rigging.units import parse, parse_force_lbf, parse_length_in

    deflection_in, anvils_in = parse_length_in(deflection), parse_length_in(anvils)
    share = parse("share", accuracy)
    reading_lbf = None if reading is None else parse_force_lbf(reading)
    stretch = stretch_of(cable, construction, material, length, sheet, run)
    found = clamp_effect(deflection_in, anvils_in, stretch, reading_lbf, share, parse_length_in(within))
    if as_json:
        from rigging.report import no_gauge_data as view

        put_json(view.clamp(found))
    else:
        from rigging.report.text.console import console
        from rigging.report.text.no_gauge import show_clamp

        show_clamp(console(), found, si)
    return 1 if found.counts else 0
