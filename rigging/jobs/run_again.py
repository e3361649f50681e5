"""The sum of an entry once more, by a sheet: the one it went by, or the one of today."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rigging.jobs.check import CheckResult, check
from rigging.jobs.judged import judged
from rigging.jobs.judgement import Judged
from rigging.log import kinds
from rigging.log.contents import check_of, stands_instead, written_of
from rigging.log.entry import Entry
from rigging.sheet.rig import Rig

if TYPE_CHECKING:
    from rigging.log.store import Log


def check_again(rig: Rig, entry: Entry) -> CheckResult:
    """The check of an entry, on the readings that it holds. Raises what ``check`` does."""
    given = check_of(entry).given
    return check(rig, list(given.readings), given.on, given.at_degF)


def judge_again(log: Log, rig: Rig, entry: Entry) -> Judged | None:
    """What an entry that a person wrote comes to; of a correction what stands instead, None where nothing does.

    Raises Refusal: a name the sheet does not know; BadFile: fields that this version of the program cannot read.
    """
    told: Entry | None = entry
    if entry.kind == kinds.CORRECTION:
        told = stands_instead(entry, log.entry(int(entry.payload["given"]["corrects"])))
    if told is None:
        return None
    given = kinds.read_given(told.kind, written_of(told).given, f"entry {entry.sequence}")
    return judged(rig, told.kind, told.circuit, given)
