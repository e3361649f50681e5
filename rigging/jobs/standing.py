"""How an aircraft stands by its log and its sheet as it is today: what a changed sheet makes of what was closed."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import msgspec

from rigging.errors import RiggingError
from rigging.jobs.circuit_history import DRAG, TENSION, History, Result, history_of
from rigging.jobs.open_items import Item, Status, status
from rigging.jobs.run_again import check_again, judge_again
from rigging.log import kinds
from rigging.log.contents import misfit
from rigging.log.entry import Entry
from rigging.sheet.rig import Rig

if TYPE_CHECKING:
    from rigging.log.store import Log


def standing(log: Log, rig: Rig, history: History | None = None) -> Status:
    """What is open, with everything that was closed under another sheet judged again by the one of today.

    history: of the rig's aircraft, read from the log where it is not at hand. A log that lies beside the sheet under its name should hold this aircraft alone. Raises BadFile for a damaged log.
    """
    others = [name for name in log.aircraft() if name not in rig.names] if _own(log, rig) else []
    found = status(rig, history_of(log, rig) if history is None else history, log.clock.today(), others)
    again = _Again(log, rig)
    fallen = [(item, result, why) for item, result in found.closed if (why := again.why_not(item, result))]
    if not fallen:
        return found
    gone = {item.label for item, _, _ in fallen}
    items = [msgspec.structs.replace(item, why=why, since=result.sequence) for item, result, why in fallen]
    closed = tuple(pair for pair in found.closed if pair[0].label not in gone)
    return msgspec.structs.replace(found, open=(*found.open, *items), closed=closed)


def _own(log: Log, rig: Rig) -> bool:
    return "://" not in log.place and Path(log.place).with_suffix("") == Path(rig.path).with_suffix("")


class _Again:
    """Entries judged once more by today's sheet, each once however many items it closed."""

    def __init__(self, log: Log, rig: Rig) -> None:
        self.rig = rig
        self.log = log
        self.entry = cache(log.entry)
        self.check = cache(lambda sequence: check_again(rig, self.entry(sequence)))

    def why_not(self, item: Item, result: Result) -> str:
        """Why what closed an item does not close it by today's sheet; empty where it does."""
        entry = self.entry(result.sequence)
        if why := misfit(entry):
            return f"this version cannot read #{entry.sequence}: {why}"
        documents = entry.payload.get("documents", {})
        if documents.get(entry.payload.get("sheet")) == self.rig.sha256 or item.what == DRAG:
            return ""
        try:
            why = self._tension(item, entry) if entry.kind == kinds.CHECK else self._written(item, entry)
        except RiggingError as error:
            why = str(error)
        return f"#{entry.sequence} went by another sheet; by today's: {why}" if why else ""

    def _tension(self, item: Item, entry: Entry) -> str:
        result = self.check(entry.sequence)
        runs = [r for r in result.runs if (r.run.circuit, r.run.name) == (item.circuit, item.of) and r.readings]
        if item.what != TENSION or (runs and all(r.word.value == "in" for r in runs)):
            return ""
        return "; ".join(r.verdict.reason if r.verdict else r.refusal or r.action for r in runs) or "not read"

    def _written(self, item: Item, entry: Entry) -> str:
        came = judge_again(self.log, self.rig, entry)
        if came is None:
            return ""
        if item.what == kinds.PROOF and (gaps := came.figures.get("proof_gaps")):
            return "; ".join(gaps)
        return "" if came.closes else "; ".join(came.reasons) or came.verdict
