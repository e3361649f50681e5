"""Waiting for a steady temperature, on a terminal."""

from __future__ import annotations

import math
from collections.abc import Iterator

from rich.console import Console
from rich.text import Text

from rigging.hardware.parts import MANUALS, MANUALS_SOURCE
from rigging.jobs.steady import Following, Steady, in_words, wait_words
from rigging.report.steady_data import ASSUMPTIONS
from rigging.report.text.console import listing, table
from rigging.told import shown, told
from rigging.units import show_difference


def show_steady(out: Console, result: Steady, si: bool = False) -> None:
    """The answer in words, every part, what it rests on."""
    out.print(Text(shown(in_words(result), si), style="bold green" if result.steady else "bold yellow"))
    wait = result.wait_h
    if wait and result.air_steady and result.question.by_clock:
        minutes = math.ceil(round((result.now_h + wait) * 60, 6) / 5) * 5 % (24 * 60)
        out.print(f"until {minutes // 60:02d}:{minutes % 60:02d}; then read it again, the structure and not the air")
    elif wait:
        out.print("then read it again, the structure and not the air")
    rows = table("part", "off the air", "time constant", "from", "wait", fixed=("part", "off the air"))
    for f in result.following:
        rows.add_row(*_cells(f, si))
    out.print(rows)
    listing(out, "Note", _notes(result, si), si=si)
    listing(out, "Rests on", ASSUMPTIONS, si=si)


def _cells(f: Following, si: bool) -> tuple[str, ...]:
    constant = "-" if f.time_constant_h is None else f"{60 * f.time_constant_h:.1f} min"
    if f.fitted is not None and f.basis == "its readings":
        constant += f"\n{_interval(f)}"
    wait = "?" if f.wait_h is None else "none" if f.wait_h == 0 else wait_words(f.wait_h)
    off = round(f.difference_degF, 1)
    return f.name, ("+" if off > 0 else "") + show_difference(off, si), constant, f.basis, wait


def _interval(f: Following) -> str:
    if f.fitted is None:
        return ""
    high = "or more" if math.isinf(f.fitted.high_h) else f"to {60 * f.fitted.high_h:.0f}"
    return f"{60 * f.fitted.low_h:.0f} {high} (95 %)"


def _notes(result: Steady, si: bool) -> Iterator[str]:
    if result.lag_degF is not None:
        yield f"while the air goes on like this, the slowest part stays {show_difference(round(result.lag_degF, 1), si)} behind it"
    for f in result.following:
        if f.note:
            yield told("{}: {}", f.name, f.note)
        if f.fitted is not None and f.basis != "its readings":
            yield (
                f"{f.name}: its readings give {60 * f.fitted.time_constant_h:.1f} min, {_interval(f)}; "
                "the longer time constant is held"
            )
    if result.slower:
        each = ", ".join(f"{p.name} ({p.what}): about {60 * p.time_constant_h:.0f} min" for p in result.slower)
        yield f"not looked at and slower: {each}"
    yield f"{MANUALS} ({MANUALS_SOURCE.basis.value})"
