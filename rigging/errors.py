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
from typing import Final, NamedTuple

MOST_PROBLEMS: Final = 100
"""Problems of a file that are shown: a file with more is the wrong one, or has one mistake that runs through it."""
MOST_KNOWN: Final = 40
LONGEST_WORD: Final = 80
LONGEST_MESSAGE: Final = 4000


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
        # a value that fills pages is not shown whole
        said = self.message if len(self.message) <= LONGEST_MESSAGE else f"{self.message[:LONGEST_MESSAGE]}…"
        return f"{place}: {self.path}: {said}" if self.path else f"{place}: {said}"


class BadFile(RiggingError):
    """A file that cannot be used as it is, with the problems found in it in file order, MOST_PROBLEMS at most."""

    exit_code = 3

    def __init__(self, problems: Sequence[Problem]) -> None:
        found = sorted(problems, key=lambda p: (p.file, p.line or 0))
        self.problems = found[:MOST_PROBLEMS]
        if len(found) > MOST_PROBLEMS:
            more = f"has more problems than these {MOST_PROBLEMS}: mend them first, or see whether it is the right file"
            self.problems.append(Problem(found[0].file, None, "", more))
        super().__init__("\n".join(str(p) for p in self.problems))

    @classmethod
    def one(cls, file: object, message: str, line: int | None = None, path: str = "") -> BadFile:
        """A file with a single problem."""
        return cls([Problem(str(file), line, path, message)])


def add_problem(problems: list[Problem], problem: Problem) -> None:
    """Add to the problems of a file. Raises BadFile once there are more than are shown: nothing is gained by looking on."""
    problems.append(problem)
    if len(problems) > MOST_PROBLEMS:
        raise BadFile(problems)


def nearest(word: str, known: Iterable[str]) -> str:
    """`` (did you mean 'stick'?)`` where a known word is close, else the list of known words, MOST_KNOWN at most."""
    words = [str(k) for k in known]
    # a name longer than LONGEST_WORD was not mistyped, and comparing such names takes long
    short = [w for w in words if len(w) <= LONGEST_WORD]
    close = get_close_matches(word, short, n=1) if len(word) <= LONGEST_WORD else []
    if close:
        return f" (did you mean '{close[0]}'?)"
    shown, more = short[:MOST_KNOWN], len(words) - len(short[:MOST_KNOWN])
    return f" (known: {', '.join(shown)}{f' and {more} more' if more else ''})" if shown else ""
