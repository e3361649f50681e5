"""``rigging loads``: a circuit under the pilot's limit force."""

from __future__ import annotations

from typing import Annotated

import typer

from rigging.cli import completion
from rigging.cli.options import AsCsv, AsJson, SheetFile, Si, only_one, put_csv, put_json


def loads(
    sheet: SheetFile,
    circuit: Annotated[
        str, typer.Argument(help="The circuit, like aileron.", show_default=False, autocompletion=completion.circuits)
    ],
    at: Annotated[str | None, typer.Option(help="One more structure temperature to look at, like 54F.")] = None,
    tension: Annotated[
        str | None, typer.Option(help="Rigging tension at reference, instead of the middle of the limits.")
    ] = None,
    as_json: AsJson = False,
    as_csv: AsCsv = False,
    si: Si = False,
) -> int:
    """A circuit at rest and under the pilot's limit force, coldest to hottest: slack, stretch, strength, pulleys.

    The sheet's circuit needs a 'pilot' block. Exit code 0: every rule is met. 1: one is broken.

    Example: rigging loads examples/reedling/sheet.yaml aileron --at 54F
    """
    from rigging.jobs.loads import loads as run_loads
    from rigging.sheet.load import load_rig
    from rigging.units import parse_force_lbf, parse_temperature_degF

    only_one(as_json, as_csv)
    at_degF = None if at is None else parse_temperature_degF(at)
    tension_lbf = None if tension is None else parse_force_lbf(tension)
    result = run_loads(load_rig(sheet), circuit, at_degF, tension_lbf)
    if as_json or as_csv:
        from rigging.report import loads_data as view

        if as_json:
            put_json(view.loads(result))
        else:
            put_csv(view.loads_rows(result), view.ROW_COLUMNS)
    else:
        from rigging.report.text.console import console
        from rigging.report.text.loads import show_loads

        show_loads(console(), result, si)
    return 1 if result.finding else 0
