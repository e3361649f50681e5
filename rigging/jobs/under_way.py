"""When a guided session ends: by a signature that covers all its circuits, or by the one that it made itself."""

from __future__ import annotations

from collections.abc import Collection


def ends(session: int) -> str:
    """What a signature says beside it that ends the session of an entry number."""
    return f"ends the guided session #{session}"


def is_ended(session: int, circuits: Collection[str], signed: Collection[str], remark: object) -> bool:
    """Whether a signature of these circuits, with this remark, ends a session."""
    return set(circuits) <= set(signed) or remark == ends(session)
