"""Closing a rigging job: refused while anything is open."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING

import msgspec

from rigging.errors import Refusal
from rigging.jobs.brief import Brief, briefs
from rigging.jobs.circuit_history import gather
from rigging.jobs.entering import write
from rigging.jobs.open_items import Status
from rigging.jobs.people import name_of
from rigging.jobs.session import next_step
from rigging.jobs.snapshot import keep
from rigging.jobs.standing import standing
from rigging.jobs.under_way import ends
from rigging.log.contents import sort_out
from rigging.log.entry import Entry
from rigging.log.kinds import SESSION, SIGNATURE
from rigging.sheet.rig import Rig

if TYPE_CHECKING:
    from rigging.log.store import Log

STATEMENT = (
    "The items recorded for these circuits are closed. This is no release to service: that is for the licensed or "
    "authorised person, by the aircraft's own data and local rules."
)


class StillOpen(Refusal):
    """Something is open: a finding, not a fault of the input. status: what."""

    exit_code = 1

    def __init__(self, status: Status) -> None:
        self.status = status
        count = len(status.open)
        super().__init__(f"not signed: {count} item{'s are' if count != 1 else ' is'} open on {status.aircraft}")


def sign(log: Log, rig: Rig, who: str, remark: str = "") -> Entry:
    """Sign what was recorded since the last signature.

    Raises StillOpen with what is open and for whom; Refusal where nothing was recorded, or another entry came in
    between; BadFile where the chain of the log is broken.
    """
    state = log.verify()
    if not state.intact:
        raise Refusal(f"not signed: the log is broken at entry {state.first_bad_entry}: {state.why}")
    entries, misfits = sort_out(log.entries(aircraft=rig.names))
    history = gather(briefs(entries, misfits))
    found = standing(log, rig, history)
    if history.session is not None and _may_end(rig, entries, history.session, found.unsigned, remark):
        found = msgspec.structs.replace(found, open=tuple(item for item in found.open if item.what != SESSION))
    if found.open:
        raise StillOpen(found)
    if not found.unsigned:
        since = f" since #{found.last_signature.sequence}" if found.last_signature else ""
        raise Refusal(f"nothing was recorded{since}: there is nothing to sign")
    given = {
        "circuits": list(found.unsigned),
        "without_record": list(found.without_record),
        "never_recorded": {name: list(words) for name, words in found.never.items() if name in found.unsigned},
        "statement": STATEMENT,
        "remark": remark,
        "closed_by": {item.label: r.sequence for item, r in found.closed if item.circuit in found.unsigned},
        "alone": sorted({r.who for r in found.closed_by.values() if r.alone}),
        "entries_before": state.entries,
        "head_before": state.head_hash,
    }
    return write(
        log, rig, SIGNATURE, "", name_of(who), {"given": given, "judged": {}}, keep(rig), after=state.head_hash
    )


def _may_end(rig: Rig, entries: Sequence[Entry], session: Brief, unsigned: Collection[str], remark: str) -> bool:
    """Whether a guided session keeps nothing from being signed: nothing but its signature is left of it, or it is about
    other circuits."""
    if remark == ends(session.sequence) or not set(session.payload.given.circuits) & set(unsigned):
        return True
    return next_step(rig, entries).kind == SIGNATURE
