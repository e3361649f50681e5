"""The one clock: made where a command begins, and handed in to whatever needs the time or the day.

Nothing below ``rigging/cli`` reads the time of the machine, so that the same inputs come out the same on any day.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import NamedTuple

from rigging.errors import Refusal, UnitError


def parse_day(text: str) -> dt.date:
    """A day as typed. Raises UnitError.

    >>> parse_day("2026-11-25")
    datetime.date(2026, 11, 25)
    """
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        raise UnitError(f"'{text}' is not a date: write it like 2026-11-25") from None


class Clock(NamedTuple):
    """read: the moment now, which knows its time zone. zone: where days begin; None: where this machine is."""

    read: Callable[[], dt.datetime]
    zone: dt.tzinfo | None = None

    def now(self) -> dt.datetime:
        """The moment now [UTC]."""
        return self.read().astimezone(dt.UTC)

    def today(self) -> dt.date:
        """The day that it is here now."""
        return self.day_of(self.read())

    def day_of(self, moment: dt.datetime) -> dt.date:
        """The day that it was here at a moment."""
        return moment.astimezone(self.zone).date()

    def need_past(self, day: dt.date | None) -> None:
        """Raises Refusal for a day that has not come."""
        today = self.today()
        if day is not None and day > today:
            raise Refusal(
                f"{day} has not come, today is {today}: give the day on which it was read or done; where today is another "
                "day, set the clock or the time zone of this computer"
            )
