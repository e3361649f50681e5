"""Closing a rigging job: refused while anything is open."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rigging.errors import Refusal
from rigging.jobs.entering import write
from rigging.jobs.open_items import Status
from rigging.jobs.people import name_of
from rigging.jobs.snapshot import keep
from rigging.jobs.standing import standing
from rigging.log.entry import Entry
from rigging.log.kinds import SIGNATURE
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
    found = standing(log, rig)
    if found.open:
        raise StillOpen(found)
    if not found.unsigned:
        since = f" since #{found.last_signature.sequence}" if found.last_signature else ""
        raise Refusal(f"nothing was recorded{since}: there is nothing to sign")
    given = {
        "circuits": list(found.unsigned),
        "without_record": list(found.without_record),
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
