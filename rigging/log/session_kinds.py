"""The fields of the entries that a guided session writes as it goes, and which mean nothing beside it."""

from __future__ import annotations

from typing import Any

import msgspec


class Skipped(msgspec.Struct, frozen=True):
    """A step of a guided session that was left out, and why; what it would have closed stays open."""

    step: str
    reason: str

    def __post_init__(self) -> None:
        if not self.reason.strip():
            raise ValueError("say why this step is left out")


class Session(msgspec.Struct, frozen=True):
    """A guided rigging session of these circuits begins."""

    circuits: list[str]


class Answer(msgspec.Struct, frozen=True):
    """One answer in a step of a guided session that is not finished; the entry of the step repeats it and counts.

    field: the name of the field, and below it that of the way, input or turnbuckle. value: empty where it was left out.
    """

    step: str
    field: list[str]
    value: Any = None


class Again(msgspec.Struct, frozen=True):
    """Steps of a guided session that are to be done anew, and why; what was answered in them no longer counts there."""

    steps: list[str]
    reason: str = ""
