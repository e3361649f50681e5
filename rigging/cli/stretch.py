"""Options of the commands that must know how a cable stretches, and what becomes of them."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from rigging.cli import completion

if TYPE_CHECKING:
    from rigging.jobs.stretch import Stretch

CableOrRun = Annotated[
    str | None,
    typer.Option(
        "--cable", help="Cable size, like 1/8; from the sheet where --run is given.", autocompletion=completion.sizes
    ),
]
Length = Annotated[
    str | None, typer.Option(help="Length of the cable between ends that do not give, like '14 ft'.")
]  # fmt: skip
Sheet = Annotated[
    Path | None, typer.Option("--sheet", help="A rig sheet: the whole circuit of --run stretches.", readable=False)
]
Run = Annotated[
    str | None, typer.Option("--run", help="The run in the sheet, like aileron/left.", autocompletion=completion.runs)
]


def stretch_of(
    cable: str | None, construction: str | None, material: str, length: str | None, sheet: Path | None, run: str | None,
    span_in: float | None = None,
) -> Stretch:  # fmt: skip
    """How the cable stretches: by its length, by its circuit in a sheet, or as an open question over ``span_in``.

    Raises UsageError for options that do not fit together; what tables and sheet raise.
    """
    from rigging.errors import UsageError
    from rigging.hardware.cable import cable as from_tables
    from rigging.jobs import stretch
    from rigging.units import parse_length_in

    if (sheet is None) != (run is None):
        raise UsageError("--sheet and --run belong together: the sheet and the run in it, like aileron/left")
    if sheet is not None and run is not None:
        if length is not None or cable is not None:
            raise UsageError("the sheet knows the cable and its length: leave --cable and --length out")
        from rigging.sheet.load import load_rig

        rig = load_rig(sheet)
        return stretch.of_circuit(rig, stretch.find_run(rig, run))
    if cable is None:
        raise UsageError("give the cable's size, like --cable 1/8, or a sheet and the run in it")
    wire = from_tables(cable, construction, material)
    if length is not None:
        return stretch.of_length(wire, parse_length_in(length))
    if span_in is None:
        raise UsageError("give the cable's length, like --length '14 ft', or a sheet and the run in it")
    return stretch.of_span(wire, span_in)
