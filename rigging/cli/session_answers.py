"""Answers of a guided session: typed at a terminal, where wrong ones are asked again, or from a file, which must fit."""

from __future__ import annotations

import sys
import textwrap
from pathlib import Path
from typing import TYPE_CHECKING, Final, NamedTuple

from rigging.cli.options import talk

if TYPE_CHECKING:
    import datetime as dt

    from rigging.errors import BadFile

SKIP: Final = "skip"
STOP: Final = "stop"
AGAIN: Final = "again"
HELP: Final = "?"
LONGEST: Final = 2000  # characters of one answer


class Left(Exception):
    """The person wants to leave a step out, to do it again, or to stop."""


class ScriptEndsError(Exception):
    """The file has no answer to the question that is asked."""


class Line(NamedTuple):
    """A line of a file of answers, by its number."""

    number: int
    text: str

    def answer(self, key: str) -> str | None:
        """What it answers to the question of a key; None where it answers another one."""
        rest = self.text.removeprefix(key).lstrip()
        return rest[1:].strip() if self.text.startswith(key) and rest.startswith(":") else None


class Answers:
    """Where answers come from: a person at a terminal, or a file in which each stands behind the key of its question.

    how: the words that ``?`` shows. on: the day that the file says it is of. goes_on: whether a session is under way.
    Raises BadFile for a file that cannot be read.
    """

    def __init__(self, script: Path | None) -> None:
        self.script = script
        self.how = ""
        self.on: dt.date | None = None
        self.goes_on = False
        self._lines: list[Line] = []
        # the question that was asked last, and the line and answer that were taken for it
        self._asked, self._taken, self._answer = "", Line(0, ""), ""
        if script is not None:
            self._lines = self._read(script)

    def _read(self, script: Path) -> list[Line]:
        from rigging.clock import parse_day
        from rigging.errors import BadFile, UnitError
        from rigging.yamlfile import read_text

        lines = [Line(i, text.strip()) for i, text in enumerate(read_text(script).splitlines(), 1)]
        lines = [line for line in lines if line.text and not line.text.startswith("#")]
        for line in lines:
            if ":" not in line.text:
                raise BadFile.one(
                    script, f"'{line.text:.60}' names no question: write it like conditions/structure: 54F", line.number
                )
        if lines and (on := lines[0].answer("on")) is not None:
            try:
                self.on = parse_day(on)
            except UnitError as error:
                raise BadFile.one(script, str(error), lines[0].number) from None
            return lines[1:]
        return lines

    def say(self, words: str, indent: str = "") -> None:
        """Words for the person, wrapped as on the screen."""
        for line in words.splitlines():
            wrapped = textwrap.fill(
                line, _width(), initial_indent=indent, subsequent_indent=f"{indent}  ", break_on_hyphens=False
            )
            talk(wrapped)

    def ask(self, question: str, key: str) -> str:
        """One answer in one line. key: by which a file of answers has it.

        Raises Left for the words that leave the step, ScriptEndsError, BadFile where the file answers another question,
        KeyboardInterrupt.
        """
        self._asked = " ".join(question.split()).rstrip(": ")
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
            text = self._line(f"{last} ", key)
            if problem := _problem(text):
                self.refuse(problem)
            elif text.lower() in (SKIP, STOP, AGAIN):
                raise Left(text.lower())
            elif text == HELP:
                self.say(self.how, "  ")
                self.say(f"in a file of answers this one is '{key}: ...'", "  ")
            else:
                return text

    def refuse(self, why: str) -> None:
        """Say why an answer is none, to be asked again. Raises BadFile where it comes from a file."""
        again = self._lines and self._lines[0].text == self._taken.text  # as it would be typed once more
        if self.script is None or again:
            self.say(why, "  ")
            return
        raise self._stop(
            f"the answer '{self._answer}' does not fit the question '{self._asked}': {why}", self._taken.number
        )

    def need_end(self) -> None:
        """Raises BadFile where the file has lines that answer nothing."""
        # a signature that is refused may be followed by what the file says to that
        if self._lines and self._lines[0].answer("sign") not in (AGAIN, STOP):
            line = self._lines[0]
            raise self._stop(f"'{line.text}' is left over where all is answered, and nothing was signed", line.number)

    def _line(self, question: str, key: str) -> str:
        from rigging.cli.ask import ask_line

        if self.script is None:
            try:
                return ask_line(question)
            except UnicodeDecodeError:
                return "\ufffd"
        print(question, end="", file=sys.stderr, flush=True)
        if not self._lines:
            talk("")
            raise ScriptEndsError(f"{self.script} ends before the question '{self._asked}' ({key})")
        line = self._lines[0]
        answer = line.answer(key)
        if answer is None:
            talk("")
            held = "; leave out what the session under way has" if self.goes_on and not self._taken.number else ""
            raise self._stop(
                f"'{line.text}' does not answer the question '{self._asked}': that line begins with '{key}:'{held}",
                line.number,
            )
        self._taken, self._answer = self._lines.pop(0), answer
        talk(answer)
        return answer

    def _stop(self, why: str, number: int) -> BadFile:
        from rigging.errors import BadFile

        return BadFile.one(str(self.script), f"{why}. Stopped there; what was answered before is in the log", number)


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
