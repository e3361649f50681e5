"""Whether the threads that show at a turnbuckle are those that its logged turns leave."""

from __future__ import annotations

from typing import Final

import msgspec

EITHER_WAY: Final = 1.0  # threads, both ends together: each is counted to half a thread (practice)


class Threads(msgspec.Struct, frozen=True):
    """Threads showing at both ends together, as an entry has them."""

    together: float
    sequence: int


def threads_of(showing: object, sequence: int) -> Threads | None:
    """What an entry says of them; None where it says nothing that can be read."""
    if not isinstance(showing, list | tuple) or len(showing) != 2:
        return None
    first, second = showing
    if not isinstance(first, int | float) or not isinstance(second, int | float):
        return None
    return Threads(float(first) + float(second), sequence)


def contradiction(before: Threads | None, now: Threads | None, half_turns: int) -> str:
    """Why the threads showing now are not those of before after so many half turns tighter; empty where they may be.

    A half turn tighter draws half a thread into the barrel at each end.
    """
    if before is None or now is None:
        return ""
    expected = before.together - half_turns
    if abs(now.together - expected) <= EITHER_WAY:
        return ""
    turned = (
        f" and {abs(half_turns)} half turn{'s' * (abs(half_turns) != 1)} {'tighter' if half_turns > 0 else 'looser'}"
    )
    return (
        f"{now.together:g} threads show at both ends together, and by #{before.sequence}{turned if half_turns else ''} "
        f"{max(expected, 0.0):g} should: a turn that nobody logged, or a wrong count; correct the entry that is wrong"
    )
