"""The program ``rigging``: all commands in one place."""

from __future__ import annotations

import io
import os
import sys
from typing import Annotated

import typer

from rigging import __version__
from rigging.cli import (
    agree,
    cable,
    check,
    clamp,
    completion,
    cut,
    dial,
    envelope,
    friction,
    limits,
    loads,
    log,
    plan,
    pluck,
    pounds,
    report,
    session,
    settle,
    sheet,
    side_pull,
    sign,
    status,
    steady,
    tables,
    weigh,
)
from rigging.cli.exits import Group

app = typer.Typer(
    cls=Group,
    # rich would read [lbf] and [in] in help texts as markup
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    no_args_is_help=True,
    help="Rig aircraft control cables by tension: limits today, dial to pounds, verdicts with their reasons.",
)

# a short help each, so that the list of commands is not cut off
app.command(short_help="The main job: a verdict for every run of a sheet.")(check.check)
app.command(short_help="Which turnbuckle, how far, in what order.")(plan.plan)
app.command(short_help="A whole rigging job, one step at a time.")(session.session)
app.command(short_help="What is open on an aircraft, and for whom.")(status.status)
app.command(short_help="Close a rigging job; refused while anything is open.")(sign.sign)
app.command(short_help="The record of an aircraft as one HTML file.")(report.report)
app.command(short_help="Tension from the coldest to the hottest day.")(envelope.envelope)
app.command(short_help="Whether a new cable has settled, and where it ends.")(settle.settle)
app.command(short_help="Tension limits at today's temperature, and why.")(limits.limits)
app.command(short_help="Dial readings to pounds, with uncertainty.")(pounds.pounds)
app.command(short_help="What the dial must show.")(dial.dial)
app.command(short_help="Strength, stiffness and more, with sources.")(cable.cable)
app.command(short_help="A circuit under the pilot's limit force.")(loads.loads)
app.command(short_help="Friction from two spring-scale pulls.")(friction.friction)
app.command("side-pull", short_help="Tension by spring scale and ruler.")(side_pull.side_pull)
app.command(short_help="Tension from the sound of a plucked span.")(pluck.pluck)
app.command(short_help="Whether several ways to one tension agree.")(agree.agree)
app.command(short_help="What a gauge adds to the tension it reads.")(clamp.clamp)
app.command(short_help="Check a tensiometer with hanging weights.")(weigh.weigh)
app.command(short_help="How long to wait for a steady temperature.")(steady.steady)
app.command(short_help="Finished cable length, and thread left.")(cut.cut)
app.add_typer(log.app, name="log", short_help="The record: write in it, read, verify, export.")
app.add_typer(sheet.app, name="sheet", short_help="Start a rig sheet, check one, its schema.")
app.add_typer(tables.app, name="tables", short_help="Handbook tables; check a chart of your own.")


def _show_version(wanted: bool) -> None:
    if wanted:
        print(f"rigging {__version__}")
        raise typer.Exit


@app.callback()
def root(
    version: Annotated[
        bool, typer.Option("--version", callback=_show_version, is_eager=True, help="Print the version.")
    ] = False,
    plain: Annotated[
        bool,
        typer.Option(
            "--plain",
            help="Words only: no boxes, pictures, marks or colours; before or after the command. "
            "RIGGING_PLAIN=1 and TERM=dumb do the same.",
        ),
    ] = False,
) -> None:
    """Rig aircraft control cables by tension: limits today, dial to pounds, verdicts with their reasons.

    Tension in limits proves neither direction nor travel, and this program releases no work.
    """
    if plain:
        # the one place where whatever prints looks for it
        os.environ["RIGGING_PLAIN"] = "1"


def main() -> None:
    """Entry point of the console script."""
    if isinstance(sys.stdout, io.TextIOWrapper):
        # a name the terminal cannot show must not end the program
        sys.stdout.reconfigure(errors="replace")
    if completion.is_asked():
        completion.complete(app)
    app()
