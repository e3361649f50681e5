"""Figures and words as they stand on the page: both systems of units, and nothing of what a user wrote can do harm."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, Final

from rigging.report.hidden import shown
from rigging.units import (
    NEWTON_PER_LBF,
    show_angle,
    show_difference,
    show_force,
    show_length,
    show_temperature,
)

if TYPE_CHECKING:
    from markupsafe import Markup

NOTHING: Final = "–"
MARKS: Final = {"in": "✓", "out": "✗", "re-measure": "?", "not measured": "–", "refused": "!", "recorded": "•"}
_LONG_WORD: Final = 22  # characters
_LONG: Final = 20_000  # characters of one text; the rest is told by its count


def _slope(slope_lbf_per_degF: float, si: bool) -> str:
    return f"{slope_lbf_per_degF * NEWTON_PER_LBF * 1.8:+.2f} N/K" if si else f"{slope_lbf_per_degF:+.2f} lbf/F"


def _angle(angle_deg: float, si: bool) -> str:
    return show_angle(angle_deg)


_SHOWS: Final[dict[str, Callable[[float, bool], str]]] = {
    "force": show_force,
    "temperature": show_temperature,
    "difference": show_difference,
    "length": show_length,
    "slope": _slope,
    "angle": _angle,
}


def in_units(
    value: float | None, kind: str, to: float | None = None, plus_minus: float | None = None, si: bool = False
) -> str:
    """``36.4 lbf``, ``30.0 to 40.0 lbf`` with ``to``, ``36.4 ± 1.2 lbf`` with ``plus_minus``; a dash where there is none.

    kind: force [lbf], temperature, difference [degF], length [in], slope [lbf/degF] or angle [deg].
    """
    if value is None:
        return NOTHING
    show = _SHOWS[kind]
    number, unit = show(value, si).rsplit(" ", 1)
    if to is not None:
        number = f"{number} to {show(to, si).rsplit(' ', 1)[0]}"
    if plus_minus is not None:
        spread = show_difference if kind == "temperature" else show
        number = f"{number} ± {spread(plus_minus, si).rsplit(' ', 1)[0]}"
    return f"{number} {unit}"


def both(value: float | None, kind: str, to: float | None = None, plus_minus: float | None = None) -> Markup:
    """A figure in US units with SI behind it in brackets; an angle has only one."""
    from markupsafe import Markup

    if value is None:
        return Markup('<span class="none">{}</span>').format(NOTHING)
    us = in_units(value, kind, to, plus_minus)
    si = in_units(value, kind, to, plus_minus, si=True)
    if us == si:
        return Markup('<span class="q">{}</span>').format(us)
    return Markup('<span class="q">{} <span class="si">({})</span></span>').format(us, si)


def clean(text: object) -> str:
    """A text whose hidden and turning characters are shown by their numbers, cut where it is longer than a page holds.

    >>> clean("left" + chr(0x202E) + "thgir")
    'left[U+202E]thgir'
    """
    raw = str(text)
    if len(raw) > _LONG:
        raw = f"{raw[:_LONG]} … and {len(raw) - _LONG} more characters, which the log holds"
    return shown(raw)


def own(text: object) -> Markup:
    """What a user wrote: set apart, so that its direction and its length stay its own."""
    from markupsafe import Markup

    shown_text = clean(text)
    # a cell is as wide as its longest word, but for a word that no page is wide enough for
    long = any(len(word) > _LONG_WORD for word in shown_text.split())
    return Markup('<bdi class="long">{}</bdi>' if long else "<bdi>{}</bdi>").format(shown_text)


def when(time_utc: str) -> str:
    """``2026-11-25 13:40 UTC``."""
    return f"{time_utc[:10]} {time_utc[11:16]} UTC"


def verdict(word: str) -> Markup:
    """A verdict as a mark and its word, readable without colour."""
    from markupsafe import Markup

    known = word if word in MARKS else "other"
    return Markup('<span class="verdict v-{}"><span aria-hidden="true">{}</span> {}</span>').format(
        known.replace(" ", "-"), MARKS.get(word, "•"), word
    )


def typed(value: Any) -> str:
    """What was typed, in one line."""
    if isinstance(value, dict):
        return ", ".join(f"{k.replace('_', ' ')}: {typed(v)}" for k, v in value.items())
    if isinstance(value, list | tuple):
        return " and ".join(typed(v) for v in value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, float) else str(value)


def css_string(text: str) -> str:
    """A text as a string inside a style sheet: all but plain letters and digits by their numbers."""
    return "".join(c if c.isascii() and c.isalnum() else f"\\{ord(c):x} " for c in clean(text).replace("\n", " "))
