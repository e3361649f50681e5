"""The day that a guided session is of: its work may be typed in on a later one."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from rigging.clock import Clock
from rigging.errors import Refusal
from rigging.jobs.brief import briefs
from rigging.jobs.circuit_history import gather
from rigging.log.contents import day_of, is_dated_back
from rigging.log.entry import Entry
from rigging.log.kinds import DOCUMENT


def day_to_begin(entries: Sequence[Entry], circuits: Sequence[str], on: dt.date | None, clock: Clock) -> dt.date | None:
    """The day gone by that a new session is of; None where it goes along with the clock.

    Raises Refusal: a day to come, or one before a change that is logged, after which readings of it say nothing.
    """
    clock.need_past(on)
    if on is None or on == clock.today():
        return None
    history = gather(briefs(entries))
    for name in circuits:
        change = history.circuit(name).changed
        if change is not None and change.day > on:
            raise Refusal(
                f"{on} lies before {change.words} ({change.day}, #{change.sequence}): a session of that day could close "
                f"nothing of {name}; begin it with --on {change.day} or later, or leave --on out"
            )
    return on


def day_to_go_on(entries: Sequence[Entry], session: Entry, on: dt.date | None, clock: Clock) -> dt.date | None:
    """The same for a session under way: the day it began with, or for one that goes along with the clock one since then."""
    clock.need_past(on)
    own = day_of(session)
    way_out = f"leave --on out, or withdraw the session (#{session.sequence})"
    if is_dated_back(session):
        if on not in (None, own):
            raise Refusal(f"the session under way is of {own}, --on says {on}: {way_out}")
        return own
    last = max(day_of(e) for e in entries if e.sequence >= session.sequence and e.kind != DOCUMENT)
    if on is not None and on < last:
        raise Refusal(f"the session under way holds what was done on {last}, after --on {on}: {way_out}")
    return None if on == clock.today() else on
