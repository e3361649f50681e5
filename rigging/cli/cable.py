"""``rigging cable``: facts of one cable."""

from __future__ import annotations

from typing import Annotated

import typer

from rigging.cli import completion
from rigging.cli.options import AsJson, Construction, Material, Si, put_json


def cable(
    size: Annotated[
        str,
        typer.Argument(
            help="Diameter as a fraction of an inch, like 1/8.", show_default=False, autocompletion=completion.sizes
        ),
    ],
    construction: Construction = None,
    material: Material = "carbon",
    as_json: AsJson = False,
    si: Si = False,
) -> int:
    """Strength, proof load, stiffness and expansion of a cable, its locking wire, what it is inspected for, each with its source.

    Example: rigging cable 1/8 --material stainless
    """
    from rigging.hardware import cable as hardware

    found = hardware.cable(size, construction, material)
    if as_json:
        from rigging.report import as_json as view
        from rigging.report.cable_data import rules

        put_json({**view.cable(found), **rules(found)})
    else:
        from rigging.report.text.console import console
        from rigging.report.text.facts import show_cable

        show_cable(console(), found, si)
    return 0
