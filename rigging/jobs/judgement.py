"""What an entry comes to, as a value, and the rules that hold for every kind of entry."""

from __future__ import annotations

from typing import Any, Final, Literal

import msgspec

from rigging.judge.verdict import Verdict, Word
from rigging.sheet.circuit_entry import SurfaceEntry
from rigging.source import NEVER_ACCEPTED, Basis

RECORDED: Final = "recorded"


def closing(verdict: str, usable_for_sign_off: bool) -> bool:
    """Whether a verdict, or a plain record, closes what it is about."""
    return usable_for_sign_off and verdict in (Word.IN.value, RECORDED)


class Judged(msgspec.Struct, frozen=True):
    """What an entry comes to.

    verdict: the words of a reading, or ``recorded`` where there is nothing to judge by. usable_for_sign_off: whether
    an item may be closed with it. figures: what it was judged by.
    """

    verdict: Literal["in", "out", "re-measure", "not measured", "recorded"]
    reasons: tuple[str, ...] = ()
    usable_for_sign_off: bool = True
    figures: dict[str, Any] = {}

    @property
    def closes(self) -> bool:
        """Whether what the entry is about needs no further look."""
        return closing(self.verdict, self.usable_for_sign_off)


def worst(words: list[str]) -> Any:
    """The worst of several verdicts, for which the whole must stand."""
    order = (Word.OUT.value, Word.RE_MEASURE.value, Word.NOT_MEASURED.value, RECORDED, Word.IN.value)
    return next((w for w in order if w in words), Word.NOT_MEASURED.value)


def plain(words: str) -> str:
    """Words as compared: without capitals and doubled blanks."""
    return " ".join(words.casefold().split())


def figures_of(verdict: Verdict) -> dict[str, Any]:
    """What of a verdict is kept beside its figures."""
    return {
        "verdict": verdict.word.value,
        "plain": verdict.plain,
        "probability_in_limits": verdict.probability_in_limits,
    }


def with_source(word: Any, reasons: list[str], surface: SurfaceEntry, figures: dict[str, Any]) -> Judged:
    """A verdict by the figures of a surface, and whose figures they are."""
    about = {"basis": surface.basis.value, "source": surface.source}
    return on_basis(surface.basis, word, reasons, {**figures, **about})


def on_basis(basis: Basis, word: Any, reasons: list[str], figures: dict[str, Any]) -> Judged:
    """A verdict by figures of a basis: one that no accepted verdict may rest on turns ``in`` into ``re-measure``."""
    if basis not in NEVER_ACCEPTED:
        return Judged(word, tuple(reasons), True, figures)
    word = Word.RE_MEASURE.value if word == Word.IN.value else word
    return Judged(word, (*reasons, f"cannot be accepted: the limits are from {basis.value}"), False, figures)
