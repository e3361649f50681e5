"""Where a guided session works: its log and its sheet as they stand now, and whoever answers.

What others write meanwhile is taken in, a sheet that cannot be read is waited for, and an entry that cannot be written is
kept and tried again.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from rigging.cli.session_answers import STOP, Answers, Left
from rigging.errors import Refusal, RiggingError
from rigging.told import shown, told

if TYPE_CHECKING:
    from rigging.log.entry import Entry
    from rigging.log.store import Log
    from rigging.sheet.rig import Rig

T = TypeVar("T")


class Bench:
    """The log, the sheet as it lies on the disk now, who writes, and where answers come from.

    on: the day of what is written, None where that goes along with the clock.
    """

    def __init__(
        self, log: Log, sheet: Path, rig: Rig, who: str, on: dt.date | None, si: bool, answers: Answers
    ) -> None:
        self.log, self.sheet, self.rig, self.who, self.on, self.si = log, sheet, rig, who, on, si
        self.answers = answers
        self.entries: list[Entry] = []

    def say(self, words: str, indent: str = "") -> None:
        """Words for the person, in the units asked for."""
        self.answers.say(shown(words, self.si), indent)

    def ask(self, question: str, key: str) -> str:
        """One answer in one line. Raises what ``Answers.ask`` does."""
        return self.answers.ask(shown(question, self.si), key)

    def refuse(self, why: str) -> None:
        """Say why an answer is none. Raises what ``Answers.refuse`` does."""
        self.answers.refuse(shown(why, self.si))

    def look(self) -> None:
        """Take in what was written since, and the sheet as it is now."""
        self.take_in()
        self.reload()

    def take_in(self) -> list[Entry]:
        """What was written since this was asked last."""
        from rigging.log.contents import sort_out

        start = self.entries[-1].sequence + 1 if self.entries else 1
        new = sort_out(self.log.entries(aircraft=self.rig.names, start=start), self.entries)[0]
        self.entries += new
        return new

    def reload(self) -> None:
        """The sheet as it is now; waits until it can be read."""
        from rigging.sheet.load import load_rig

        while True:
            try:
                rig = load_rig(self.sheet)
                if rig.aircraft != self.rig.aircraft:
                    raise Refusal(
                        f"{self.sheet} is the sheet of {rig.aircraft} now, the session is of {self.rig.aircraft}"
                    )
            except RiggingError as error:
                self.say(str(error))
                self.wait("  mend that and press Enter (or stop): ")
                continue
            self.rig = rig
            return

    def wait(self, question: str) -> None:
        """Wait for any answer but 'stop'."""
        try:
            self.ask(question, "wait")
        except Left as left:
            if str(left) == STOP:
                raise

    def keep_trying(self, write: Callable[[], T]) -> T:
        """Write; where that cannot be done, say why and try again: an answer that was given is not lost."""
        from rigging.log.store import Moved

        while True:
            try:
                return write()
            except Moved:
                raise
            except RiggingError as error:
                self.say(told("not written yet: {}", str(error)), "  ")
                self.wait("  Enter tries again (or stop): ")
                self.reload()
