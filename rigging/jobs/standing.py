"""How an aircraft stands by its log and its sheet as it is today: what a changed sheet makes of what was closed."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING

import msgspec

from rigging.errors import BadFile, RiggingError
from rigging.jobs.check import check
from rigging.jobs.circuit_history import DRAG, TENSION, Brief, Result
from rigging.jobs.judged import judged
from rigging.jobs.open_items import Item, Status, status
from rigging.log import kinds
from rigging.log.entry import Entry
from rigging.sheet.readings import Reading
from rigging.sheet.rig import Rig

if TYPE_CHECKING:
    from rigging.log.store import Log


def standing(log: Log, rig: Rig, today: dt.date | None = None) -> Status:
    """What is open, with everything that was closed under another sheet judged again by the one of today.

    A log that lies beside the sheet under its name should hold this aircraft alone. Raises BadFile for a damaged log.
    """
    others = [name for name in log.aircraft() if name not in rig.names] if _own(log, rig) else []
    found = status(rig, log.in_brief(Brief, aircraft=rig.names), today, others)
    fallen = [(item, result, why) for item, result in found.closed if (why := _fallen(log, rig, item, result))]
    if not fallen:
        return found
    gone = {item.label for item, _, _ in fallen}
    items = [msgspec.structs.replace(item, why=why, since=result.sequence) for item, result, why in fallen]
    closed = tuple(pair for pair in found.closed if pair[0].label not in gone)
    return msgspec.structs.replace(found, open=(*found.open, *items), closed=closed)


def _own(log: Log, rig: Rig) -> bool:
    return "://" not in log.place and Path(log.place).with_suffix("") == Path(rig.path).with_suffix("")


def _fallen(log: Log, rig: Rig, item: Item, result: Result) -> str:
    """Why what closed an item does not close it by today's sheet; empty where it does."""
    entry = log.entry(result.sequence)
    documents = entry.payload.get("documents", {})
    if documents.get(entry.payload.get("sheet")) == rig.sha256 or item.what == DRAG:
        return ""
    try:
        why = _again(log, rig, item, entry)
    except RiggingError as error:
        why = str(error)
    return f"#{entry.sequence} went by another sheet; by today's: {why}" if why else ""


def _again(log: Log, rig: Rig, item: Item, entry: Entry) -> str:
    given = entry.payload["given"]
    if entry.kind == kinds.CHECK:
        readings = [msgspec.convert(reading, Reading) for reading in given["readings"]]
        result = check(rig, readings, dt.date.fromisoformat(given["on"]), given["at_degF"])
        runs = [r for r in result.runs if (r.run.circuit, r.run.name) == (item.circuit, item.of) and r.readings]
        if item.what != TENSION or (runs and all(r.word.value == "in" for r in runs)):
            return ""
        return "; ".join(r.verdict.reason if r.verdict else r.refusal or r.action for r in runs) or "not read"
    kind = entry.kind
    if kind == kinds.CORRECTION:
        kind, given = log.entry(int(given["corrects"])).kind, given["instead"]
    try:
        came = judged(rig, kind, item.circuit, kinds.read_given(kind, given, f"entry {entry.sequence}"))
    except BadFile as error:
        return str(error)
    return "" if came.closes else "; ".join(came.reasons) or came.verdict
