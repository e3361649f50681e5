"""How much longer a cable gets for good once it works, by what was done to it before: bedding-in as a share of length."""

from __future__ import annotations

import math
from typing import Final

import msgspec

from rigging.errors import Refusal, nearest
from rigging.source import Basis, Figure, Source


class BeddingIn(msgspec.Struct, frozen=True):
    """Bedding-in still to come, low to high, as a share of the cable's length [1]; source: its status."""

    history: str
    low_share: float
    high_share: float
    source: Source

    @property
    def figure(self) -> Figure:
        """The middle of the range with its rectangular uncertainty."""
        middle, half_width = (self.low_share + self.high_share) / 2, (self.high_share - self.low_share) / 2
        return Figure(middle, "1", self.source, half_width / math.sqrt(3))

    @property
    def words(self) -> str:
        """``0.01 to 0.1 % of length``."""
        if self.high_share == 0:
            return "none to come"
        return f"{100 * self.low_share:g} to {100 * self.high_share:g} % of length"


# No printed source gives these for aircraft cable at rigging load; a rope maker's 0.125 % for a lightly
# loaded steel-core rope (second-hand) lies just above the range.
_PRIOR: Final = "a prior without a printed source"
HISTORIES: Final = {
    "new": BeddingIn("new", 1e-4, 1e-3, Source(Basis.PRACTICE, note=f"{_PRIOR}, cable never proof-loaded")),
    "proof-loaded": BeddingIn("proof-loaded", 0.0, 1e-4, Source(Basis.PRACTICE, note=f"{_PRIOR}, proof-loaded cable")),
    "in-service": BeddingIn("in-service", 0.0, 0.0, Source(Basis.PRACTICE, note="a cable that has long worked")),
}


def bedding_in(history: str) -> BeddingIn:
    """Bedding-in still to come for a cable's history: new, proof-loaded or in-service. Raises Refusal for another word."""
    found = HISTORIES.get(history)
    if found is None:
        raise Refusal(f"unknown history of a cable '{history}'{nearest(history, HISTORIES)}")
    return found
