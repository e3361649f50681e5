"""Readings typed at a terminal, one run after the other; a wrong answer is asked again and nothing is lost."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from rigging.cli.options import talk
from rigging.errors import RiggingError, UsageError
from rigging.measure.card import Card
from rigging.sheet.load import Rig, Run
from rigging.sheet.readings import Reading
from rigging.units import parse_temperature_degF

T = TypeVar("T")


def ask_readings(rig: Rig, at_degF: float | None) -> list[Reading]:
    """Ask for the structure temperature, then for the dial readings of every run and station."""
    if not rig.cards:
        raise UsageError("the sheet names no tensiometer: add its card, like tensiometers: [card-0417.yaml]")
    structure_degF = (
        at_degF if at_degF is not None else _again("Structure temperature (like 54F): ", parse_temperature_degF)
    )
    air_degF = _again(
        "Air temperature (like 54F; Enter where not read): ", lambda t: parse_temperature_degF(t) if t else None
    )
    card = next(iter(rig.cards.values()))
    if len(rig.cards) > 1:
        card = _again(f"Serial of the tensiometer in hand ({', '.join(rig.cards)}): ", lambda t: _card(rig, t))
    talk("Dial readings of each run, separated by spaces; Enter where a run was not read.")
    readings: list[Reading] = []
    for run in rig.runs:
        for station in run.entry.stations or [""]:
            place = f"{run.label} {station}".strip()
            risers = card.risers(run.cable.size)
            if not risers:
                talk(f"  {place}: card {card.serial} has no column for cable {run.cable.size}: left out")
                continue
            riser = (
                risers[0]
                if len(risers) == 1
                else _again(f"  {place}, riser {risers}: ", lambda t, r=risers: _riser(t, r))
            )  # type: ignore[misc]
            dials = _again(f"  {place}, riser {riser}, dial: ", _dials)
            readings += [_reading(run, station, riser, typed, card, structure_degF, air_degF) for typed in dials]
    return readings


def _again(question: str, parser: Callable[[str], T]) -> T:
    while True:
        try:
            talk_prompt = input(question)
        except EOFError:
            raise KeyboardInterrupt from None
        try:
            return parser(talk_prompt.strip())
        except RiggingError as error:
            talk(f"  {error}")


def _card(rig: Rig, serial: str) -> Card:
    if serial not in rig.cards:
        raise UsageError(f"no card for tensiometer '{serial}' in the sheet: no card may be lent")
    return rig.cards[serial]


def _riser(text: str, risers: list[int]) -> int:
    if text not in map(str, risers):
        raise UsageError(f"'{text}' is none of the risers {risers}")
    return int(text)


def _dials(text: str) -> list[str]:
    from rigging.sheet.readings import dial_problem

    words = text.split()
    for word in words:
        if problem := dial_problem(word):
            raise UsageError(problem)
    return words


def _reading(
    run: Run, station: str, riser: int, typed: str, card: Card, structure_degF: float, air_degF: float | None
) -> Reading:  # fmt: skip
    return Reading(run.circuit, run.name, station, riser, float(typed), typed, card.serial, air_degF, structure_degF)
