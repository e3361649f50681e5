"""``rigging friction``: friction of a circuit from two spring-scale pulls."""

from __future__ import annotations

from typing import Annotated

import typer

from rigging.cli.options import AsJson, Si, put_json


def friction(
    pull_one: Annotated[str, typer.Argument(help="Scale while the control moves one way, like 6lbf.")],
    pull_other: Annotated[str, typer.Argument(help="Scale while it moves the other way, like 3lbf.")],
    other_side: Annotated[
        bool, typer.Option("--other-side", help="The scale was hooked on the other side for the second pull.")
    ] = False,
    as_json: AsJson = False,
    si: Si = False,
) -> int:
    """Friction of a circuit: half the difference of two spring-scale pulls, the control moved slowly.

    Leave the scale on one side of the control: it shows more while it pulls the control along, and less
    while the control pulls it back.

    Example: rigging friction 6lbf 3lbf
    """
    from rigging.physics.friction import circuit_friction
    from rigging.units import parse_force_lbf

    pulls_lbf = parse_force_lbf(pull_one), parse_force_lbf(pull_other)
    found = circuit_friction(*pulls_lbf, "other side" if other_side else "same side")
    if as_json:
        from rigging.report.cut_data import friction as view

        put_json(view(*pulls_lbf, other_side, found))
    else:
        from rigging.report.text.console import console
        from rigging.report.text.cut import show_friction

        show_friction(console(), *pulls_lbf, other_side, found, si)
    return 0
