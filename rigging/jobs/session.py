"""A guided rigging session: which step is next, read from the log alone.

Nothing else is remembered, so a session that was stopped, or whose computer was switched off, goes on where
the last answer was written. A change of a turnbuckle makes the steps it calls in question come again.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from rigging.clock import Clock
from rigging.errors import Refusal
from rigging.jobs.entering import enter, write
from rigging.jobs.session_log import Told, begun
from rigging.jobs.session_step import Step
from rigging.jobs.session_steps import Steps
from rigging.jobs.snapshot import keep
from rigging.log.entry import Entry
from rigging.log.kinds import AGAIN, ANSWER, CORRECTION
from rigging.sheet.readings import Reading
from rigging.sheet.rig import Rig

if TYPE_CHECKING:
    from rigging.log.store import Log

__all__ = [
    "Step",
    "begun",
    "conditions_too_old",
    "do_again",
    "keep_answer",
    "next_step",
    "session_readings",
    "steady_since",
    "withdraw_fallen",
]  # fmt: skip


def next_step(rig: Rig, entries: Sequence[Entry]) -> Step:
    """The next step of the session under way; the last of them is to sign. Raises Refusal where none is under way."""
    return next(Steps(rig, Told(entries)).steps())


def session_readings(entries: Sequence[Entry], circuit: str) -> list[Reading]:
    """The readings that the check of a circuit takes, out of the log. Raises Refusal where no session is under way."""
    told = Told(entries)
    return told.readings(circuit, told.changed(circuit))


def withdraw_fallen(log: Log, rig: Rig, entries: Sequence[Entry], circuit: str, who: str) -> list[Entry]:
    """Withdraw the checks of a circuit that rest on what was corrected since, before it is judged anew.

    A wrong reading that stayed in a check would make the right one look like a rise of tension that nobody logged.
    """
    return [
        enter(
            log, rig, CORRECTION, "", {"corrects": check, "reason": f"rests on #{wrong}, which was corrected"}, who, "check"
        )
        for check, wrong in Told(entries).fallen_checks(circuit).items()
    ]  # fmt: skip


def steady_since(entries: Sequence[Entry]) -> str:
    """Since when the temperature is steady in the session under way, as it was typed; empty where nobody wrote it yet."""
    conditions = Told(entries).conditions
    return str(conditions[-1].given["steady_since"]) if conditions else ""


def conditions_too_old(entries: Sequence[Entry], clock: Clock, on: dt.date | None) -> str:
    """Why the conditions of the session do not hold for what is read now, or was on a day gone by; empty where they do."""
    return Told(entries).conditions_too_old(clock, on)


def keep_answer(
    log: Log, rig: Rig, step: Step, field: Sequence[str], value: Any, who: str, on: dt.date | None = None
) -> Entry:
    """Write one answer of a step that is not finished yet, so that a kill does not lose it."""
    given = {"step": step.key, "field": list(field), "value": value}
    return write(log, rig, ANSWER, "", who, {"given": given}, keep(rig), on=on)


def do_again(log: Log, rig: Rig, steps: Sequence[str], reason: str, who: str, on: dt.date | None = None) -> Entry:
    """Write that steps are to be done anew. Raises Refusal where there is none."""
    if not steps:
        raise Refusal("there is no step of this session that could be done again for it")
    return write(log, rig, AGAIN, "", who, {"given": {"steps": list(steps), "reason": reason}}, keep(rig), on=on)
