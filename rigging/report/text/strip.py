"""A small strip that shows where a reading lies in its band."""

from __future__ import annotations

WIDTH = 17


def strip(
    tension_lbf: float, low_lbf: float, high_lbf: float, guard_lbf: float, ascii_only: bool = False, width: int = WIDTH
) -> str:
    """``···|--====o==--|···``: limits, guard bands inside them, the reading; an arrow where it is off the strip.

    The strip runs half a band beyond each limit. ``=`` is where a reading would be accepted, ``-`` where
    it lies too near a limit.
    """
    outside, guard, accept, edge, mark, left, right = ".-=|o<>" if ascii_only else "·-=|●◀▶"
    band = high_lbf - low_lbf
    start, span = low_lbf - band / 2, 2 * band

    def cell(value_lbf: float) -> int:
        return round((value_lbf - start) / span * (width - 1))

    cells = []
    for i in range(width):
        here = start + i / (width - 1) * span
        if not low_lbf <= here <= high_lbf:
            cells.append(outside)
        else:
            cells.append(accept if low_lbf + guard_lbf <= here <= high_lbf - guard_lbf else guard)
    cells[cell(low_lbf)] = cells[cell(high_lbf)] = edge
    at = cell(tension_lbf)
    if at < 0:
        cells[0] = left
    elif at >= width:
        cells[-1] = right
    else:
        cells[at] = mark
    return "".join(cells)
