"""What comes again by the sheet's own programme."""

import datetime as dt

import pytest

from rigging.errors import Refusal
from rigging.jobs.circuit_history import history_of
from rigging.jobs.open_items import status
from rigging.jobs.programme import months_later

pytestmark = pytest.mark.dated

PROGRAMME = """
programme:
  - {task: tension of the rudder, circuit: rudder, every_months: 12, every_hours: 100, source: notes}
  - {task: look at the pulleys, season: before winter}
"""


@pytest.fixture
def book(dabchick, tmp_path):
    made = dabchick.Book(tmp_path, dabchick.SHEET + PROGRAMME)
    yield made
    made.log.close()


def due(book, today=None):
    return status(book.rig, history_of(book.log, book.rig), today).programme


def test_what_was_never_done_has_no_date(book):
    first, second = due(book)
    assert (first.on, first.at_hours, first.overdue) == (None, None, False)
    assert first.words == "never recorded; comes every 12 months or every 100 h"
    assert second.words == "never recorded; comes before winter"


def test_it_counts_from_the_entry_that_says_it_was_done(book):
    entry = book.add("task-done", {"task": "Tension of the  rudder", "airframe_hours": 1204.5}, circuit="")
    done = dt.date.fromisoformat(entry.time_utc[:10])
    first, _ = due(book, done)
    assert first.on == done.replace(year=done.year + 1)
    assert first.at_hours == 1304.5
    assert not first.overdue
    assert not due(book, first.on)[0].overdue
    late = due(book, first.on + dt.timedelta(days=1))[0]
    assert late.overdue
    assert "OVERDUE" in late.words


def test_what_is_written_down_later_counts_from_the_day_on_which_it_was_done(book):
    done = dt.date(2026, 2, 28)
    book.add("task-done", {"task": "tension of the rudder", "airframe_hours": 1204.5}, circuit="", on=done)
    first, _ = due(book)
    assert first.on == dt.date(2027, 2, 28)
    assert "last done 2026-02-28 by" in first.words
    # an older one that is found later takes nothing back
    older = {"task": "tension of the rudder", "airframe_hours": 1104.5}
    book.add("task-done", older, circuit="", on=dt.date(2025, 2, 20))
    assert due(book)[0].on == dt.date(2027, 2, 28)


def test_a_withdrawn_entry_counts_for_nothing(book):
    entry = book.add("task-done", {"task": "look at the pulleys"}, circuit="")
    assert due(book)[1].last is not None
    book.add("correction", {"corrects": entry.sequence, "reason": "not done"}, circuit="")
    assert due(book)[1].last is None


@pytest.mark.parametrize(
    ("given", "words"),
    [({"task": "tension of rudder"}, "did you mean"), ({"task": "tension of the rudder"}, "give 'airframe_hours'")],
)
def test_what_the_programme_does_not_know_is_refused(book, given, words):
    with pytest.raises(Refusal, match=words):
        book.add("task-done", given, circuit="")


@pytest.mark.parametrize(
    ("day", "months", "then"),
    [
        (dt.date(2026, 1, 31), 1, dt.date(2026, 2, 28)),
        (dt.date(2027, 12, 15), 1, dt.date(2028, 1, 15)),
        (dt.date(2026, 2, 28), 24, dt.date(2028, 2, 28)),
        (dt.date(2028, 2, 29), 12, dt.date(2029, 2, 28)),
        (dt.date(2026, 11, 30), 3, dt.date(2027, 2, 28)),
    ],
)
def test_months_are_those_of_the_calendar(day, months, then):
    assert months_later(day, months) == then
