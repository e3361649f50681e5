"""A step of a guided session: big figures first, to be read with cold hands from a ladder."""

from __future__ import annotations

import textwrap
from typing import Final

from rich.console import Console
from rich.text import Text

from rigging.jobs.check import CheckResult
from rigging.jobs.session import Step
from rigging.judge.limits import RIGID
from rigging.report.text.console import listing, marked, plain
from rigging.told import shown
from rigging.units import show_force

MARKS = {"in": ("✓", "+"), "out": ("✗", "X"), "re-measure": ("?", "?"), "not measured": ("-", "-")}


def show_step(out: Console, step: Step, si: bool = False) -> None:
    """Print a step: its title, what to read from a distance, why."""
    out.print()
    for line in textwrap.wrap(shown(step.title, si), out.width):
        out.print(Text(line, style="bold"))
    # drawn letters are noise in a file and to a screen reader; the words below say the same
    if step.figure and not plain(out) and out.is_terminal and not out.is_dumb_terminal and not out.options.ascii_only:
        drawn = next((d for d in (large(step.figure), large(step.figure, 1)) if max(map(len, d)) + 4 <= out.width), [])
        for line in ("", *drawn, ""):
            out.print(Text(f"    {line}".rstrip(), style="bold"))
    for big in step.big:
        for line in textwrap.wrap(shown(big, si), out.width, initial_indent="  ", subsequent_indent="    "):
            out.print(Text(line, style="bold"))
    for why in step.why:
        for line in textwrap.wrap(shown(why, si), out.width - 2, initial_indent="  ", subsequent_indent="    "):
            out.print(line)


# five rows of three dots for each sign
_DOTS: Final = {
    "0": "###,#.#,#.#,#.#,###", "1": ".#.,##.,.#.,.#.,###", "2": "###,..#,###,#..,###", "3": "###,..#,.##,..#,###",
    "4": "#.#,#.#,###,..#,..#", "5": "###,#..,###,..#,###", "6": "###,#..,###,#.#,###", "7": "###,..#,..#,..#,..#",
    "8": "###,#.#,###,#.#,###", "9": "###,#.#,###,..#,###", "-": "...,...,###,...,...", "+": "...,.#.,###,.#.,...",
    ".": "...,...,...,...,.#.", " ": "...,...,...,...,...",
}  # fmt: skip


def hand_over(out: Console) -> None:
    """Push what the first person wrote off the screen: the second looks for themselves."""
    if out.is_terminal:
        out.print("\n" * out.height)


def large(figure: str, wide: int = 2) -> list[str]:
    """A figure five lines high, ``wide`` blocks to a dot; signs without a drawing are left out.

    >>> print(large("1")[1])
    ████
    """
    drawn = [_DOTS[sign].split(",") for sign in figure if sign in _DOTS]
    rows = ("..".join(sign[i] for sign in drawn) for i in range(5))
    return ["".join(("█" if dot == "#" else " ") * wide for dot in row).rstrip() for row in rows]


def show_verdicts(out: Console, result: CheckResult, circuit: str, si: bool = False) -> None:
    """Print the verdicts of one circuit, and what explains them."""
    out.print()
    for run in (r for r in result.runs if r.run.circuit == circuit):
        tension = "" if run.tension is None else f" {show_force(run.tension.tension_lbf, si)}"
        place = f"{run.run.name} {run.station}".strip()
        listing(
            out,
            marked(out, *MARKS[run.word.value], f"{place}:{tension} {run.shown_word}"),
            (run.refusal, *run.reasons, run.action),
            si,
        )
    moved = [run.limits for run in result.runs if run.run.circuit == circuit and run.limits is not None]
    listing(out, "Rests on", [RIGID] if any(RIGID in limits.assumptions for limits in moved) else [], si)
    listing(
        out, "Unexplained difference", [drag.words for drag in result.comparison.drag if drag.circuit == circuit], si
    )
