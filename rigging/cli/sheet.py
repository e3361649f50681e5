"""``rigging sheet``: start a rig sheet, check one, and the schema for editors."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from rigging.cli.exits import Group
from rigging.cli.options import AsJson, put_json, talk
from rigging.report.pipe import put

app = typer.Typer(cls=Group, rich_markup_mode=None, help="Start a rig sheet, check one, or print its JSON Schema.")


@app.command()
def new(
    file: Annotated[
        Path | None, typer.Argument(help="Where to write it; printed where left out.", readable=False)
    ] = None,
    as_json: AsJson = False,
) -> int:
    """A commented sheet to fill in, with a card beside it; it passes its own check.

    Example: rigging sheet new my-sheet.yaml
    """
    from rigging.errors import UsageError
    from rigging.sheet.template import CARD_NAME, card_text, sheet_text, write_new

    if file is None and as_json:
        raise UsageError("--json names the files that were written: give a file name for the sheet")
    if file is None:
        put(sheet_text())
        return 0
    if file.name == CARD_NAME:
        raise UsageError(f"{CARD_NAME} is the name of the card beside the sheet: choose another one for the sheet")
    written = write_new({file: sheet_text(), file.parent / CARD_NAME: card_text()})
    if as_json:
        put_json({"written": [str(path) for path in written]})
        return 0
    talk(f"written: {', '.join(map(str, written))}; fill in your own figures, then: rigging sheet check {file}")
    return 0


@app.command()
def check(
    file: Annotated[Path, typer.Argument(help="The rig sheet.", show_default=False, readable=False)],
    as_json: AsJson = False,
) -> int:
    """Read a sheet with its cards and chart, and name everything that is wrong in them.

    Example: rigging sheet check examples/reedling/sheet.yaml
    """
    from rigging.hardware import turnbuckle
    from rigging.sheet.load import load_rig

    rig = load_rig(file)
    if as_json:
        runs = [
            {"circuit": r.circuit, "run": r.name, "limits": r.entry.limits.text if r.entry.limits else r.entry.chart}
            for r in rig.runs
        ]
        put_json(
            {"sheet": rig.path, "sha256": rig.sha256, "runs": runs, "tensiometers": list(rig.cards), "problems": []}
        )
        return 0
    silent = [r.label for r in rig.runs if r.band is None and r.entry.chart is None]
    talk(
        f"{file}: nothing wrong; {len(rig.file.circuits)} circuits, {len(rig.runs)} runs, tensiometers {', '.join(rig.cards) or 'none'}"
    )
    if silent:
        talk(f"no limits are given for {', '.join(silent)}: these runs cannot be judged; ask the designer")
    unsourced = [r.label for r in rig.runs if r.band is not None and not r.entry.limits_source]
    if unsourced:
        talk(f"no limits_source is given for {', '.join(unsourced)}: say where the figure is printed")
    if rig.unsourced:
        talk(f"no source is given for {', '.join(rig.unsourced)}: say where the figures are printed")
    bare = [name for name, circuit in rig.file.circuits.items() if not circuit.surfaces]
    if bare:
        talk(f"no surfaces are given for {', '.join(bare)}: travel and direction of movement cannot be judged")
    worn_out = [
        r.label
        for r in rig.runs
        if r.entry.turnbuckle and turnbuckle.too_many_threads(r.entry.turnbuckle.threads_showing or (0, 0))
    ]
    if worn_out:
        most = turnbuckle.MOST_THREADS_SHOWING
        talk(f"more than {most} threads show on {', '.join(worn_out)}: {turnbuckle.REMAKE}")
    return 0


@app.command()
def schema() -> int:
    """The JSON Schema of a rig sheet, for editors that complete and check while typing.

    Example: rigging sheet schema
    """
    from rigging.sheet.template import schema_text

    put(schema_text())
    return 0
