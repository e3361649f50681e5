"""Answers of a guided session: typed at a terminal, or a line each from a file; wrong keys are asked again."""

from __future__ import annotations

import sys
import textwrap
from pathlib import Path
from typing import Final

from rigging.cli.options import talk

SKIP: Final = "skip"
STOP: Final = "stop"
AGAIN: Final = "again"
HELP: Final = "?"
LONGEST: Final = 2000  # characters of one answer


class Left(Exception):
    """The person wants to leave a step out, to do it again, or to stop."""


class ScriptEndsError(Exception):
    """The file has no more answers."""


class Answers:
    """Where answers come from. how: the words that ``?`` shows. Raises BadFile for a file that cannot be read."""

    def __init__(self, script: Path | None) -> None:
        from rigging.yamlfile import read_text

        self.script = script
        self.how = ""
        self._lines = None if script is None else iter(read_text(script).splitlines())

    def say(self, words: str, indent: str = "") -> None:
        """Words for the person, wrapped as on the screen."""
        for line in words.splitlines():
            wrapped = textwrap.fill(
                line, _width(), initial_indent=indent, subsequent_indent=f"{indent}  ", break_on_hyphens=False
            )
            talk(wrapped)

    def ask(self, question: str) -> str:
        """One answer in one line. Raises Left for the words that leave the step, ScriptEndsError, KeyboardInterrupt."""
        indent = question[: len(question) - len(question.lstrip())]
        *before, last = textwrap.wrap(
            question.strip(),
            _width() - 12,
            initial_indent=indent,
            subsequent_indent=f"{indent}  ",
            break_on_hyphens=False,
        )
        for line in before:
            talk(line)
        while True:
            text = self._line(f"{last} ")
            if problem := _problem(text):
                self.say(problem, "  ")
            elif text.lower() in (SKIP, STOP, AGAIN):
                raise Left(text.lower())
            elif text == HELP:
                self.say(self.how, "  ")
            else:
                return text

    def _line(self, question: str) -> str:
        from rigging.cli.ask import ask_line

        if self._lines is None:
            try:
                return ask_line(question)
            except UnicodeDecodeError:
                return "\ufffd"
        print(question, end="", file=sys.stderr, flush=True)
        answer = next(self._lines, None)
        if answer is None:
            raise ScriptEndsError(str(self.script))
        print(answer.strip(), file=sys.stderr)
        return answer.strip()


def _problem(text: str) -> str:
    """Why a line is no answer at all; empty where it may be one."""
    if len(text) > LONGEST:
        return f"an answer of {LONGEST} characters at most"
    # arrow and function keys arrive as such, and so does a letter in another encoding
    if any(not c.isprintable() for c in text) or "\ufffd" in text:
        return "that holds keys that are no letters: type it again"
    return ""


def _width() -> int:
    from rigging.report.text.console import console

    return max(console(stderr=True).width, 20)
