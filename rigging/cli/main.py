"""The program ``rigging``: all commands in one place."""

from __future__ import annotations

from typing import Annotated

import typer

from rigging import __version__
from rigging.cli import cable, check, dial, limits, pounds, sheet, tables
from rigging.cli.exits import Group

app = typer.Typer(
    cls=Group,
    # rich would read [lbf] and [in] in help texts as markup
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    no_args_is_help=True,
    help="Rig aircraft control cables by tension: limits today, dial to pounds, verdicts with their reasons.",
)

for command in (check.check, limits.limits, pounds.pounds, dial.dial, cable.cable):
    app.command()(command)
app.add_typer(sheet.app, name="sheet")
app.add_typer(tables.app, name="tables")


def _show_version(wanted: bool) -> None:
    if wanted:
        print(f"rigging {__version__}")
        raise typer.Exit


@app.callback()
def root(
    version: Annotated[bool, typer.Option("--version", callback=_show_version, is_eager=True, help="Print the version.")] = False,
) -> None:
    """Rig aircraft control cables by tension: limits today, dial to pounds, verdicts with their reasons.

    Tension in limits proves neither direction nor travel, and this program releases no work.
    """


def main() -> None:
    """Entry point of the console script."""
    app()
