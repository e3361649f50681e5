"""A step of a guided session: big figures first, to be read with cold hands from a ladder."""

from __future__ import annotations

import textwrap

from rich.console import Console
from rich.text import Text

from rigging.jobs.check import CheckResult
from rigging.jobs.session import Step
from rigging.report.text.console import listing
from rigging.units import show_force

MARKS = {"in": "✓", "out": "✗", "re-measure": "?", "not measured": "-"}


def show_step(out: Console, step: Step) -> None:
    """Print a step: its title, what to read from a distance, why."""
    out.print()
    out.print(Text(step.title, style="bold"))
    for line in step.big:
        # blank lines around it and wide letters stand in for size, on any terminal
        out.print()
        out.print(Text(f"    {' '.join(line) if len(line) * 2 + 4 <= out.width else line}", style="bold"))
    if step.big:
        out.print()
    for why in step.why:
        for line in textwrap.wrap(why, out.width - 2, initial_indent="  ", subsequent_indent="    "):
            out.print(line)


def show_verdicts(out: Console, result: CheckResult, circuit: str, si: bool = False) -> None:
    """Print the verdicts of one circuit, and what explains them."""
    out.print()
    for run in (r for r in result.runs if r.run.circuit == circuit):
        tension = "" if run.tension is None else f" {show_force(run.tension.tension_lbf, si)}"
        place = f"{run.run.name} {run.station}".strip()
        listing(
            out, f"{MARKS[run.word.value]} {place}:{tension} {run.word.value}", (run.refusal, *run.reasons, run.action)
        )
    listing(out, "Drag", [drag.words for drag in result.comparison.drag if drag.circuit == circuit])
