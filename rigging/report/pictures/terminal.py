"""A picture made of characters, for a terminal."""

from __future__ import annotations

import math
import textwrap
from typing import Any, Final

from rigging.report.pictures.panel import Axis, Panel

HEIGHT: Final = 20
# for each line of the picture in turn; told apart by shape, so that colour says nothing new
MARKS: Final = "●x◆+▲*"
ASCII_MARKS: Final = "ox#+^*"
DOTS: Final = "·:'~"  # of the limits
ASCII_DOTS: Final = ".:'~"
COLOURS: Final = ("blue", "magenta", "green", "cyan")
KEY_GAP: Final = "   "
PLAIN: Final = "default"  # white would vanish on a light terminal
_FRAME: Final = str.maketrans("─│┌┐└┘├┤┬┴┼", "-|+++++++++") | {ord("°"): None}


def drawn(panel: Panel, width: int, ascii_only: bool = False, colour: bool = False, height: int = HEIGHT) -> str:
    """The picture as lines of at most ``width`` characters, with a key below; colour codes only where asked for."""
    import plotext

    figure = plotext.figure
    figure.clear()
    plotext.terminal.limit(False, False)
    figure.plot_size(width, height)
    figure.theme("colorless")
    figure.legend(False)
    left, right = panel.lines[0].x[0], panel.lines[0].x[-1]
    top = _round_up(panel.top)
    figure.ruler("x").lim(left, right)
    figure.ruler("y").lim(0.0, top)
    _ticks(figure, "x", panel.x, left, right)
    _ticks(figure, "y", panel.y, 0.0, top)

    def marker(symbol: str, name: str) -> Any:
        return plotext.marker(symbol).fill(plotext.pixel(foreground=name)) if colour else plotext.marker(symbol)

    def line(x: Any, y: Any, symbol: str, name: str) -> None:
        figure.draw(figure.signal(list(x), list(y), marker=marker(symbol, name)).lines().density("full"))

    symbols, dots, shade, upright = (ASCII_MARKS, ASCII_DOTS, "/", "|") if ascii_only else (MARKS, DOTS, "░", "│")
    dot = "@" if ascii_only else "◯"
    for span in panel.shades:
        figure.draw(figure.rectangle((span.start, span.end), (0.0, top), marker=marker(shade, "red")))
    for i, limit in enumerate(panel.limits):
        for x, low, high in limit.pieces():
            line(x, low, dots[i % len(dots)], PLAIN)
            line(x, high, dots[i % len(dots)], PLAIN)
    for mark in panel.marks:
        line((mark.x, mark.x), (0.0, top), upright, PLAIN)
    for i, one in enumerate(panel.lines):
        line(one.x, one.y, symbols[i % len(symbols)], COLOURS[i % len(COLOURS)])
    for some in panel.dots:
        figure.draw(figure.signal(list(some.x), list(some.y), marker=marker(dot, PLAIN)))
    rows = figure.build().string(colorless=not colour).strip("\n").splitlines()
    figure.clear()
    keys = [f"{symbols[i % len(symbols)]} {one.label}" for i, one in enumerate(panel.lines)]
    keys += [f"{dots[i % len(dots)] * 2} {limit.label}" for i, limit in enumerate(panel.limits)]
    keys += [f"{dot} {some.label}" for some in panel.dots]
    keys += [f"{shade} {span.label}" for span in panel.shades]
    keys += [f"{upright} {mark.label}" for mark in panel.marks]
    picture = "\n".join((f"{panel.title} ({panel.y.label})", *(row.rstrip() for row in rows), *_filled(keys, width)))
    return picture.translate(_FRAME) if ascii_only else picture


def _filled(keys: list[str], width: int) -> list[str]:
    """The key in as few lines as it needs; what belongs together stays together where it can."""
    lines: list[str] = []
    for key in keys:
        for part in textwrap.wrap(key, width):
            if lines and len(lines[-1]) + len(KEY_GAP) + len(part) <= width:
                lines[-1] += KEY_GAP + part
            else:
                lines.append(part)
    return lines


def _ticks(figure: Any, axis: str, shown: Axis, low: float, high: float) -> None:
    step = _step(high - low)
    at = [i * step for i in range(math.ceil(low / step), math.floor(high / step) + 1)]
    figure.ruler(axis).ticks(at, [f"{v:g}" for v in at])
    if axis == "x":
        figure.label(shown.label, axis)


def _step(span: float) -> float:
    """A round step that divides a span into five to ten."""
    power = 10.0 ** math.floor(math.log10(span))
    return next(share * power for share in (0.1, 0.2, 0.5, 1.0) if span / (share * power) <= 10)


def _round_up(value: float) -> float:
    step = _step(value)
    return math.ceil(value / step) * step
