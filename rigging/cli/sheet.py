"""``rigging sheet``: start a rig sheet, check one, and the schema for editors."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from rigging.cli.exits import Group
from rigging.cli.options import AsJson, explain, put_json, talk
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
    from rigging.sheet.newfile import write_new
    from rigging.sheet.template import CARD_NAME, card_text, is_card, sheet_text

    if file is None and as_json:
        raise UsageError("--json names the files that were written: give a file name for the sheet")
    if file is None:
        put(sheet_text())
        return 0
    if file.name == CARD_NAME:
        raise UsageError(f"{CARD_NAME} is the name of the card beside the sheet: choose another one for the sheet")
    card = file.parent / CARD_NAME
    kept = not file.exists() and is_card(card)  # a second sheet in a folder shares the card that is there
    written = write_new({file: sheet_text()} if kept else {file: sheet_text(), card: card_text()})
    if as_json:
        put_json({"written": [str(path) for path in written]})
        return 0
    beside = f"; {card} was there already and is kept" if kept else ""
    talk(f"written: {', '.join(map(str, written))}{beside}; fill in your own figures, then: rigging sheet check {file}")
    return 0


@app.command()
def check(
    file: Annotated[Path, typer.Argument(help="The rig sheet.", show_default=False, readable=False)],
    as_json: AsJson = False,
) -> int:
    """Read a sheet with its cards and chart, and name everything that is wrong in them.

    Example: rigging sheet check examples/reedling/sheet.yaml
    """
    from rigging.jobs.doubts import doubts
    from rigging.sheet.load import load_rig

    rig = load_rig(file)
    found = doubts(rig)
    if as_json:
        runs = [
            {"circuit": r.circuit, "run": r.name, "limits": r.entry.limits.text if r.entry.limits else r.entry.chart}
            for r in rig.runs
        ]
        about = {"sheet": rig.path, "sha256": rig.sha256, "runs": runs, "tensiometers": list(rig.cards)}
        put_json({**about, "problems": [], "doubts": found})
        return 0
    circuits, hung = (
        f"{n} {what}{'s' * (n != 1)}" for n, what in ((len(rig.file.circuits), "circuit"), (len(rig.runs), "run"))
    )
    explain(f"{file}: nothing wrong; {circuits}, {hung}, tensiometers {', '.join(rig.cards) or 'none'}")
    for doubt in found:
        explain(doubt)
    return 0


@app.command()
def schema() -> int:
    """The JSON Schema of a rig sheet, for editors that complete and check while typing.

    Example: rigging sheet schema
    """
    from rigging.sheet.template import schema_text

    put(schema_text())
    return 0
