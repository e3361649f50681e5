"""Characters that a reader does not see, or that steer a terminal or the direction of a text, shown by their numbers."""

from __future__ import annotations

import unicodedata
from typing import Final

from rigging.told import Told

# what would turn the direction of the words around it, or hide in them; shown by its number instead
_HIDDEN: Final = frozenset("\u200b\u200e\u200f\u061c\u2028\u2029\u2060\ufeff\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")  # fmt: skip


def shown(text: str) -> str:
    """A text in which hidden, steering and turning characters stand as their numbers, like ``[U+001B]``; in SI too."""
    if isinstance(text, Told):
        return Told(_all_shown(f"{text}"), _all_shown(text.si))
    return _all_shown(text)


def _all_shown(text: str) -> str:
    return text if text.isascii() and text.isprintable() else "".join(_shown(c) for c in text)


def _shown(character: str) -> str:
    if character in "\n\t":
        return character
    if character in _HIDDEN or unicodedata.category(character) in ("Cc", "Cs"):
        return f"[U+{ord(character):04X}]"
    return character
