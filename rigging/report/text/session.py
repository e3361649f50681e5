"""A step of a guided session: big figures first, to be read with cold hands from a ladder."""

from __future__ import annotations

import textwrap
from typing import Final

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
    # drawn letters are noise in a file and to a screen reader; the words below say the same
    if step.figure and out.is_terminal and not out.options.ascii_only:
        out.print()
        for line in large(step.figure):
            out.print(Text(f"    {line}", style="bold"))
        out.print()
    for line in step.big:
        out.print(Text(f"  {line}", style="bold"))
    for why in step.why:
        for line in textwrap.wrap(why, out.width - 2, initial_indent="  ", subsequent_indent="    "):
            out.print(line)


# five rows of three dots for each sign
_DOTS: Final = {
    "0": "###,#.#,#.#,#.#,###", "1": ".#.,##.,.#.,.#.,###", "2": "###,..#,###,#..,###", "3": "###,..#,.##,..#,###",
    "4": "#.#,#.#,###,..#,..#", "5": "###,#..,###,..#,###", "6": "###,#..,###,#.#,###", "7": "###,..#,..#,..#,..#",
    "8": "###,#.#,###,#.#,###", "9": "###,#.#,###,..#,###", "-": "...,...,###,...,...", "+": "...,.#.,###,.#.,...",
    ".": "...,...,...,...,.#.", " ": "...,...,...,...,...",
}  # fmt: skip


def large(figure: str) -> list[str]:
    """A figure five lines high, two blocks to a dot; signs without a drawing are left out.

    >>> print(large("1")[1])
    ████
    """
    drawn = [_DOTS[sign].split(",") for sign in figure if sign in _DOTS]
    rows = ("..".join(sign[i] for sign in drawn) for i in range(5))
    return ["".join("██" if dot == "#" else "  " for dot in row).rstrip() for row in rows]


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
