"""Readings typed at a terminal, one run after the other; a wrong answer is asked again and nothing is lost."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from rigging.cli.options import talk
from rigging.errors import RiggingError, UsageError
from rigging.sheet.readings import Reading
from rigging.sheet.rig import Rig
from rigging.units import parse_temperature_degF

T = TypeVar("T")


def taken_readings(rig: Rig, file: Path | None, at_degF: float | None, circuit: str | None = None) -> list[Reading]:
    """Readings from a file, or typed at a terminal. Raises UsageError where there is neither."""
    from rigging.sheet.readings import load_readings

    if file is not None:
        return load_readings(file, rig)
    if not sys.stdin.isatty():
        raise UsageError("give the readings as a CSV file, or run this at a terminal to type them")
    return ask_readings(rig, at_degF, circuit)


def ask_readings(rig: Rig, at_degF: float | None, circuit: str | None = None) -> list[Reading]:
    """Ask for the structure temperature, then for the dial readings of every run and station."""
    if not rig.cards:
        raise UsageError("the sheet names no tensiometer: add its card, like tensiometers: [card-0417.yaml]")
    structure_degF = (
        at_degF if at_degF is not None else _again("Structure temperature (like 54F): ", parse_temperature_degF)
    )
    air_degF = _again(
        "Air temperature (like 54F; Enter where not read): ", lambda t: parse_temperature_degF(t) if t else None
    )
    serials = list(rig.cards)
    serial = serials[0] if len(serials) == 1 else choose("Serial of the tensiometer in hand", serials)
    card = rig.cards[serial]
    talk("Dial readings of each run, separated by spaces; Enter where a run was not read.")
    readings: list[Reading] = []
    for run in (r for r in rig.runs if circuit in (None, r.circuit)):
        for station in run.entry.stations or [""]:
            place = f"{run.label} {station}".strip()
            risers = card.risers(run.cable.size)
            if not risers:
                talk(f"  {place}: card {card.serial} has no column for cable {run.cable.size}: left out")
                continue
            riser = risers[0] if len(risers) == 1 else int(choose(f"  {place}, riser", [str(r) for r in risers]))
            dials = _again(f"  {place}, riser {riser}, dial: ", _dials)
            readings += [
                Reading(run.circuit, run.name, station, riser, float(t), t, serial, air_degF, structure_degF)
                for t in dials
            ]
    return readings


def ask_line(question: str) -> str:
    """One answer at the terminal; the question goes to stderr, so that stdout stays data."""
    try:
        print(question, end="", file=sys.stderr, flush=True)
        answer = input().strip()
    except EOFError:
        raise KeyboardInterrupt from None
    if not sys.stdin.isatty():
        print(answer, file=sys.stderr)  # a terminal shows what is typed, a file does not
    return answer


def _again(question: str, parser: Callable[[str], T]) -> T:
    while True:
        answer = ask_line(question)
        try:
            return parser(answer)
        except RiggingError as error:
            talk(f"  {error}")


def choose(what: str, options: list[str]) -> str:
    """One of the options, asked for until it is one."""

    def parser(text: str) -> str:
        if text not in options:
            raise UsageError(f"'{text}' is none of {', '.join(options)}")
        return text

    return _again(f"{what} ({', '.join(options)}): ", parser)


def _dials(text: str) -> list[str]:
    from rigging.sheet.cells import dial_problem

    words = text.split()
    for word in words:
        if problem := dial_problem(word):
            raise UsageError(problem)
    return words
