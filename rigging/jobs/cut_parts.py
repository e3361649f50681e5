"""What a cable to make is to be, its threads on one day, and what runs out: the turnbuckle's window of threads."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import msgspec

from rigging.hardware import turnbuckle
from rigging.hardware.airframe import Airframe
from rigging.hardware.bedding_in import BeddingIn
from rigging.hardware.cable import Cable
from rigging.source import Basis, Source
from rigging.told import degF, inches, lbf, told

MOST_THREADS_INSIDE: Final = 4.0  # how deep a terminal may be sunk below the end of the barrel, at first rigging alone
MOST_THREADS_INSIDE_SOURCE: Final = Source(Basis.PUBLISHED, "FAA AC 43.13-1B", "7-166")
_AT_FIRST: Final = f"at first rigging at most {{}} threads deep ({MOST_THREADS_INSIDE_SOURCE})"
_BARREL_ENDS: Final = "once the cable has bedded in, and at {} they meet in it: the barrel runs out and nothing is left but to remake the cable"


class Order(msgspec.Struct, frozen=True):
    """What is to be made.

    pin_to_pin_in [in]: at neutral, measured to +-pin_to_pin_half_width_in at measured_degF +-half_width_degF.
    turnbuckle_in [in]: from its pin to the end of the cable, terminals flush with the barrel.
    threads_showing [count]: at each end at first rigging. most_inside [count]: how deep the terminals can go below the
    end of the barrel before they meet in it; None where that was not measured.
    tension_lbf [lbf]: target at rest, at reference_degF. coldest_degF, hottest_degF [degF]: None where not asked.
    """

    cable: Cable
    airframe: Airframe
    bedding_in: BeddingIn
    thread: str
    pin_to_pin_in: float
    pin_to_pin_half_width_in: float
    turnbuckle_in: float
    threads_showing: float
    tension_lbf: float
    measured_degF: float
    half_width_degF: float
    reference_degF: float
    coldest_degF: float | None = None
    hottest_degF: float | None = None
    most_inside: float | None = None


class ThreadsOnDay(msgspec.Struct, frozen=True):
    """Threads showing at each end [count] at one temperature, the cable at the tension wanted there.

    tension_lbf [lbf]: the target moved with temperature; tension_uncertainty_lbf [lbf]: its U at 95 %. slack: the target
    would be below zero. new: before bedding-in. least, most: bedded in by the most and by the least that is expected.
    uncertainty: U at 95 % [count].
    """

    day: str
    temperature_degF: float
    tension_lbf: float
    tension_uncertainty_lbf: float
    slack: bool
    new: float
    least: float
    most: float
    uncertainty: float


def window(
    order: Order, days: tuple[ThreadsOnDay, ...], pitch_in: float
) -> tuple[tuple[str, ...], tuple[float, float] | None]:
    """What runs out, in words, and the threads to start with so that nothing does."""
    every = days
    most_showing = float(turnbuckle.MOST_THREADS_SHOWING)
    # on a day without a tension to set, nobody sets one
    days = tuple(day for day in days if not day.slack) or days
    highest = max(days, key=lambda d: d.new + d.uncertainty)
    deepest = min(days, key=lambda d: d.new - d.uncertainty)
    lowest = min(days, key=lambda d: d.least - d.uncertainty)
    low = order.threads_showing - MOST_THREADS_INSIDE - (deepest.new - deepest.uncertainty)
    if order.most_inside is not None:
        low = max(low, order.threads_showing - order.most_inside - (lowest.least - lowest.uncertainty))
    high = order.threads_showing + most_showing - (highest.new + highest.uncertainty)
    start = (low, high) if low <= high else None
    if start is None:
        better = "no start fits both ends: proof-load the cable first, or take a longer turnbuckle"
    else:
        better = f"start with {start[0]:.1f} to {start[1]:.1f} threads showing"
    findings = list(_slack(every))
    if highest.new > most_showing:
        short_in = 2 * pitch_in * (highest.new - most_showing)
        findings.append(
            told(
                "too short: {} threads would show on the {} day, at most {} may ({}): make it at least {} longer; {}",
                f"{highest.new:.1f}",
                highest.day,
                f"{most_showing:g}",
                turnbuckle.MOST_THREADS_SHOWING_SOURCE,
                inches(short_in, ".2f"),
                better,
            )
        )
    elif highest.new + highest.uncertainty > most_showing:
        findings.append(
            f"may be too short: {highest.new:.1f} +-{highest.uncertainty:.1f} threads show on the {highest.day} day, at most "
            f"{most_showing:g} may: measure pin to pin better; {better}"
        )
    findings += _too_deep(deepest, deepest.new, MOST_THREADS_INSIDE, _AT_FIRST, pitch_in, better)
    if order.most_inside is not None:
        findings += _too_deep(lowest, lowest.least, order.most_inside, _BARREL_ENDS, pitch_in, better)
    return tuple(findings), start


def _too_deep(day: ThreadsOnDay, threads: float, most: float, rule: str, pitch_in: float, better: str) -> Iterator[str]:
    """Terminals sunk deeper below the end of the barrel than a rule lets them, or nearer to it than is known."""
    rule = rule.format(f"{most:g}")
    if threads < -most:
        yield told(
            "too long: the terminals would be sunk {} threads below the end of the barrel on the {} day, {}; make it at least {} shorter; {}",
            f"{-threads:.1f}",
            day.day,
            rule,
            inches(2 * pitch_in * (-most - threads), ".2f"),
            better,
        )
    elif threads - day.uncertainty < -most:
        yield (
            f"may be too long: the terminals are sunk {-threads:.1f} +-{day.uncertainty:.1f} threads below the end of the barrel "
            f"on the {day.day} day, {rule}: measure pin to pin better; {better}"
        )


def _slack(days: tuple[ThreadsOnDay, ...]) -> Iterator[str]:
    for day in days:
        if day.slack or day.tension_lbf <= day.tension_uncertainty_lbf:
            yield told(
                "on the {} day, at {}, the cable {}, by the rigid model, an upper bound: ask for the aircraft's own chart of tensions",
                day.day,
                degF(day.temperature_degF),
                "hangs slack"
                if day.slack
                else told(
                    "may hang slack: {} +-{}", lbf(day.tension_lbf), lbf(day.tension_uncertainty_lbf, unit=False)
                ),
            )


def notes_of(order: Order, days: tuple[ThreadsOnDay, ...]) -> list[str]:
    """What the answer says nothing of, and what to see to."""
    notes = []
    missing = [w for w, t in (("coldest", order.coldest_degF), ("hottest", order.hottest_degF)) if t is None]
    if missing:
        notes.append(
            f"no {' and no '.join(missing)} day was named (--coldest, --hottest): the window says nothing of it"
        )
    deepest = min((day.least - day.uncertainty for day in days if not day.slack), default=0.0)
    if order.most_inside is None and deepest < 0:
        notes.append(
            f"once bedded in the terminals may be sunk {-deepest:.1f} threads below the end of the barrel; how deep they can go "
            "before they meet in it is not known: measure it (--most-inside)"
        )
    if order.bedding_in.history == "new":
        notes.append(
            "a cable that is proof-loaded after cutting grows by its bedding-in there: measure it again before the last end"
        )
    if order.airframe.caution:
        notes.append(order.airframe.caution)
    return notes
