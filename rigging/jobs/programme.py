"""What comes again, by the sheet's own programme: by months, by hours in the air, or in a season; nothing is invented."""

from __future__ import annotations

import calendar
import datetime as dt

import msgspec

from rigging.jobs.brief import Brief
from rigging.sheet.schema import TaskEntry


class Due(msgspec.Struct, frozen=True):
    """When a task comes next.

    last: the entry that says it was done, None where none does. on: the date, where it comes by months and was done.
    at_hours: airframe hours [h], where it comes by hours and was done. overdue: its date has passed.
    """

    task: TaskEntry
    last: Brief | None
    on: dt.date | None
    at_hours: float | None
    overdue: bool

    @property
    def words(self) -> str:
        """When, in words."""
        if self.last is None:
            return f"never recorded; comes {self.every}"
        parts = []
        if self.on is not None:
            parts.append(f"{'OVERDUE since' if self.overdue else 'by'} {self.on}")
        if self.at_hours is not None:
            parts.append(f"at {self.at_hours:g} h")
        if self.task.season:
            parts.append(self.task.season)
        return f"{', or '.join(parts)}; last done {self.last.day} by {self.last.who} (#{self.last.sequence})"

    @property
    def every(self) -> str:
        """How often, in words."""
        parts = []
        if self.task.every_months is not None:
            parts.append(f"every {self.task.every_months} months")
        if self.task.every_hours is not None:
            parts.append(f"every {self.task.every_hours:g} h")
        if self.task.season:
            parts.append(self.task.season)
        return " or ".join(parts)


def next_due(task: TaskEntry, last: Brief | None, today: dt.date | None) -> Due:
    """When a task comes next after it was last done."""
    on = None
    if last is not None and task.every_months is not None:
        on = months_later(last.day, task.every_months)
    at_hours = None
    if last is not None and task.every_hours is not None and last.payload.given.airframe_hours is not None:
        at_hours = last.payload.given.airframe_hours + task.every_hours
    return Due(task, last, on, at_hours, on is not None and today is not None and on < today)


def months_later(day: dt.date, months: int) -> dt.date:
    """The same day of a later month, or its last day.

    >>> months_later(dt.date(2026, 8, 31), 6)
    datetime.date(2027, 2, 28)
    """
    year, month = divmod(day.month - 1 + months, 12)
    year, month = day.year + year, month + 1
    return dt.date(year, month, min(day.day, calendar.monthrange(year, month)[1]))
