"""The sum of an entry once more, by a sheet: the one it went by, or the one of today."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

import msgspec

from rigging.jobs.check import CheckResult, check
from rigging.jobs.judged import Judged, judged
from rigging.log import kinds
from rigging.log.entry import Entry
from rigging.sheet.readings import Reading
from rigging.sheet.rig import Rig

if TYPE_CHECKING:
    from rigging.log.store import Log


def check_again(rig: Rig, entry: Entry) -> CheckResult:
    """The check of an entry, on the readings that it holds. Raises what ``check`` does."""
    given = entry.payload["given"]
    readings = [msgspec.convert(reading, Reading) for reading in given["readings"]]
    return check(rig, readings, dt.date.fromisoformat(given["on"]), given["at_degF"])


def judge_again(log: Log, rig: Rig, entry: Entry) -> Judged | None:
    """What an entry that a person wrote comes to; of a correction what stands instead, None where nothing does.

    Raises Refusal: a name the sheet does not know; BadFile: fields that this version of the program cannot read.
    """
    kind, given = entry.kind, entry.payload["given"]
    if kind == kinds.CORRECTION:
        if not given.get("instead"):
            return None
        kind, given = log.entry(int(given["corrects"])).kind, given["instead"]
    return judged(rig, kind, entry.circuit, kinds.read_given(kind, given, f"entry {entry.sequence}"))
