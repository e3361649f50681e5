"""A cable to cut, and the friction of a circuit, on a terminal."""

from __future__ import annotations

from collections.abc import Iterator

from rich.console import Console
from rich.text import Text

from rigging.hardware.turnbuckle import MOST_THREADS_SHOWING, MOST_THREADS_SHOWING_SOURCE
from rigging.jobs.cut import Cut
from rigging.jobs.cut_parts import MOST_THREADS_INSIDE, MOST_THREADS_INSIDE_SOURCE
from rigging.judge.limits import rests_on
from rigging.physics.friction import CircuitFriction
from rigging.report.cut_data import FRICTION_SOURCE
from rigging.report.text.console import listing, table
from rigging.units import force_unit, in_to_mm, show_difference, show_force, show_temperature, with_article


def show_friction(
    out: Console, pull_one_lbf: float, pull_other_lbf: float, other_side: bool, found: CircuitFriction, si: bool = False
) -> None:
    """Friction of a circuit, how it comes about, and how to pull."""
    out.print(Text(f"friction {show_force(found.friction_lbf, si)}", style="bold"))
    sign = "+" if other_side else "-"
    one, other = show_force(pull_one_lbf, si, unit=False), show_force(pull_other_lbf, si, unit=False)
    out.print(f"half of {one} {sign} {other}, the scale for the second pull on the {_side(other_side)}")
    out.print(f"load without friction {show_force(abs(found.load_lbf), si)}{_load(found)}")
    out.print(FRICTION_SOURCE)
    listing(
        out,
        "Note",
        (
            "move the control slowly and steadily past the same position both ways, the aircraft in one state",
            "" if other_side else "what the scale shows unloaded falls out of the friction, but not out of the load",
            "no limit is published for all aircraft: compare it with the aircraft's own data and its last figure",
        ),
        si=si,
    )


def _side(other_side: bool) -> str:
    return "other side" if other_side else "same side"


def _load(found: CircuitFriction) -> str:
    if found.load_lbf == 0:
        return ""
    return ", against the first pull" if found.load_lbf > 0 else (
        ", with the first pull"
    )  # fmt: skip


def show_cut(out: Console, found: Cut, si: bool = False) -> None:
    """The length to make, the thread left on each day, and what both rest on."""
    order = found.order
    out.print(Text(f"make it {_long(found.length_in, si)} +-{_short(found.uncertainty_in, si)}", style="bold"))
    out.print(
        f"finished, unloaded, at {show_temperature(order.measured_degF, si)}; from the far pin to its end in the turnbuckle"
    )
    words = "something runs out or may: see below" if found.findings else "thread enough on every day looked at"
    out.print(Text(words, style="bold"))
    if not found.usable:
        out.print(Text("rests on a figure from memory: not for sign-off", style="bold yellow"))
    rows = table("day", "structure", f"wanted, {force_unit(si)}", "threads showing, new", "bedded in", "+- (95 %)")
    for day in found.days:
        bedded = f"{day.least:.1f} to {day.most:.1f}" if day.most - day.least > 0.05 else f"{day.most:.1f}"
        rows.add_row(
            day.day,
            show_temperature(day.temperature_degF, si),
            "slack" if day.slack else show_force(day.tension_lbf, si, unit=False),
            *(("-", "-", "-") if day.slack else (f"{day.new:.1f}", bedded, f"{day.uncertainty:.1f}")),
        )
    out.print(rows)
    out.print(
        f"each end alike, below zero sunk in the barrel; {show_force(order.tension_lbf, si)} at "
        f"{show_temperature(order.reference_degF, si)} moves with the structure as check moves limits"
    )
    listing(out, "Finding", found.findings, si=si)
    listing(out, "Why", _reasons(found, si), si=si)
    listing(out, "Note", found.notes, si=si)
    listing(out, "Rests on", _rests(found, si), si=si)


def _reasons(found: Cut, si: bool) -> Iterator[str]:
    order = found.order
    yield (
        f"elastic stretch {_short(found.stretch_in, si)} at {show_force(order.tension_lbf, si)}, "
        f"which holds at {show_temperature(order.reference_degF, si)}"
    )
    bedding = order.bedding_in
    low, high = _short(found.bedding_in_low_in, si), _short(found.bedding_in_high_in, si)
    grown = f": {low} to {high} longer" if bedding.high_share else ""
    yield f"bedding-in of {with_article(bedding.history)} cable, {bedding.words}{grown}"
    yield f"one turn of the barrel takes up {_short(2 * found.pitch_in, si)}, half of it at each end"
    if found.start_low is not None and found.start_high is not None:
        yield (
            f"nothing runs out from {found.start_low:.1f} to {found.start_high:.1f} threads showing at first rigging: "
            f"a cable of {_long(found.length_for_in(found.start_high), si)} to {_long(found.length_for_in(found.start_low), si)}"
        )


def _rests(found: Cut, si: bool) -> Iterator[str]:
    order = found.order
    yield from rests_on([order.cable], [order.airframe], rigid=True)
    yield f"bedding-in: {order.bedding_in.source}, {order.bedding_in.source.note}"
    yield f"pin to pin +-{_short(order.pin_to_pin_half_width_in, si)}, temperature +-{show_difference(order.half_width_degF, si)}"
    yield (
        f"threads: {MOST_THREADS_SHOWING_SOURCE}: at most {MOST_THREADS_SHOWING} showing; {MOST_THREADS_INSIDE_SOURCE.place}: "
        f"at first rigging the terminals sunk at most {MOST_THREADS_INSIDE:g} threads below the end of the barrel, the others engaged"
    )


def _short(length_in: float, si: bool) -> str:
    return f"{in_to_mm(length_in):.1f} mm" if si else f"{length_in:.3f} in"


def _long(length_in: float, si: bool) -> str:
    if si:
        return f"{in_to_mm(length_in):.1f} mm"
    feet, inches = divmod(round(length_in, 2), 12)
    return f"{length_in:.2f} in ({feet:.0f} ft {inches:.2f} in)" if feet else f"{length_in:.2f} in"
