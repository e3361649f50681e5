"""Where a figure comes from. No figure exists here without its status and its source."""

from __future__ import annotations

from collections.abc import Iterable
from enum import StrEnum

import msgspec


class Basis(StrEnum):
    """How far a figure can be trusted to be what its source says."""

    PUBLISHED = "published"  # read in the named document
    SECOND_HAND = "second-hand"  # seen only in a copy, quotation or training text
    MEMORY = "memory"  # recalled, not seen
    COMPUTED = "computed"  # by a model of ours
    PRACTICE = "practice"  # common practice, no source
    AIRCRAFT = "aircraft"  # the aircraft's own data
    MEASURED = "measured"  # read on this aircraft or instrument


NEVER_ACCEPTED = frozenset({Basis.MEMORY})
"""A figure on this basis may be shown, but no accepted verdict may rest on it."""


class Source(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """basis: its status. document, place: where it is printed. note: what the reader must know."""

    basis: Basis
    document: str = ""
    place: str = ""
    note: str = ""

    def __post_init__(self) -> None:
        if self.basis in (Basis.PUBLISHED, Basis.SECOND_HAND) and not self.document:
            raise ValueError(f"a {self.basis.value} figure needs its document")

    def __str__(self) -> str:
        where = ", ".join(part for part in (self.document, self.place) if part)
        return f"{self.basis.value}: {where}" if where else self.basis.value

    @property
    def acceptable(self) -> bool:
        """Whether an accepted verdict may rest on it."""
        return self.basis not in NEVER_ACCEPTED


class Figure(msgspec.Struct, frozen=True):
    """One number with its unit, its standard uncertainty (k=1, same unit) and its source."""

    value: float
    unit: str
    source: Source
    standard_uncertainty: float = 0.0

    def as_json(self) -> dict[str, object]:
        """value, unit, uncertainty (k=1), basis and source, as every ``--json`` shows a figure."""
        return {
            "value": self.value,
            "unit": self.unit,
            "standard_uncertainty": self.standard_uncertainty,
            "basis": self.source.basis.value,
            "source": str(self.source),
            "note": self.source.note,
        }


def resting_on(source: Source, *under: Source) -> Source:
    """The source of a figure worked out from others: where one of those is never accepted, neither is what comes of it.

    >>> resting_on(Source(Basis.COMPUTED), Source(Basis.MEMORY)).basis.value
    'memory'
    """
    recalled = next((s.basis for s in under if not s.acceptable), None)
    return source if recalled is None else msgspec.structs.replace(source, basis=recalled)


def acceptable(sources: Iterable[Source]) -> bool:
    """True where an accepted verdict may rest on all of these together."""
    return all(source.acceptable for source in sources)
