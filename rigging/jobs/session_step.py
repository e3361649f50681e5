"""One step of a guided session, as it is shown and asked for."""

from __future__ import annotations

from typing import Any

import msgspec

from rigging.sheet.rig import Rig, Run


class Step(msgspec.Struct, frozen=True):
    """One step.

    key: its name, for leaving it out. kind: of the entry that answers it, empty where nothing can be written; a check
    and a signature the program writes itself. figure: the figures of the step, to be drawn large. big: what to read
    from a distance. given: fields that are known. ask: fields to be asked for, in order. suggested: what Enter takes.
    answered: answers that are in the log already. after: the entry behind which an answer counts. again: the steps that
    are meant by doing it again, this one where empty. not_by: who cannot answer it.
    """

    key: str
    kind: str
    circuit: str
    title: str
    big: tuple[str, ...] = ()
    figure: str = ""
    why: tuple[str, ...] = ()
    given: dict[str, Any] = {}
    ask: tuple[str, ...] = ()
    suggested: dict[str, Any] = {}
    answered: dict[tuple[str, ...], Any] = {}
    after: int = 0
    again: tuple[str, ...] = ()
    not_by: tuple[str, ...] = ()


def reading_key(run: Run, station: str) -> str:
    """The key of the step that reads a run at a station."""
    return f"{run.circuit}/reading/{run.name}/{station}"


def reading_keys(rig: Rig, circuit: str, only: str = "") -> list[str]:
    """The keys of all steps that read a circuit, or one cable of it."""
    runs = [r for r in rig.runs if r.circuit == circuit and only in ("", r.name)]
    return [reading_key(r, station) for r in runs for station in r.entry.stations or [""]]
