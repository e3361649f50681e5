"""Everything that can go wrong on purpose, in one tree.

::

    RiggingError                 exit code
    ├── UsageError               2   the command was typed in a way that cannot be right
    │   └── UnitError            2   a quantity without its unit, or with the wrong one
    ├── Refusal                  3   the question is clear, but no honest figure exists for it
    └── BadFile                  3   a file the user gave has one or more Problems

A ``Problem`` is a value, not an exception, so that all problems of one file are shown together.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from difflib import get_close_matches
from typing import NamedTuple


class RiggingError(Exception):
    """An expected error: its text is one clear line for the user."""

    exit_code = 2


class UsageError(RiggingError):
    """The command line itself is wrong."""


class UnitError(UsageError):
    """A text that should be a quantity is none; the message holds a right spelling."""


class Refusal(RiggingError):
    """A model, table or card does not cover what was asked; guessing would be worse than no answer."""

    exit_code = 3

    def __str__(self) -> str:
        # as it was given: its words may hold themselves in SI too
        return self.args[0] if self.args and isinstance(self.args[0], str) else super().__str__()


class Problem(NamedTuple):
    """One thing wrong in a user's file: where it is, what it is, and the way out."""

    file: str
    line: int | None
    path: str
    message: str

    def __str__(self) -> str:
        place = self.file if self.line is None else f"{self.file}:{self.line}"
        return f"{place}: {self.path}: {self.message}" if self.path else f"{place}: {self.message}"


class BadFile(RiggingError):
    """A file that cannot be used as it is, with every problem found in it, in file order."""

    exit_code = 3

    def __init__(self, problems: Sequence[Problem]) -> None:
        self.problems = sorted(problems, key=lambda p: (p.file, p.line or 0))
        super().__init__("\n".join(str(p) for p in self.problems))

    @classmethod
    def one(cls, file: object, message: str, line: int | None = None, path: str = "") -> BadFile:
        """A file with a single problem."""
        return cls([Problem(str(file), line, path, message)])


def nearest(word: str, known: Iterable[str]) -> str:
    """`` (did you mean 'stick'?)`` where a known word is close, else the list of known words."""
    words = [str(k) for k in known]
    close = get_close_matches(word, words, n=1)
    if close:
        return f" (did you mean '{close[0]}'?)"
    return f" (known: {', '.join(words)})" if words else ""
