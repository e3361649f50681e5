"""The day of what an entry tells and the time of its writing are two facts: what closes what goes by the day, then by order."""

from __future__ import annotations

import datetime as dt

import pytest

from rigging.clock import Clock, parse_day
from rigging.errors import Refusal, UnitError
from rigging.jobs.recorded_check import recompute
from rigging.jobs.sign import StillOpen, sign
from rigging.log.contents import day_of, is_dated_back
from rigging.log.entry import Draft
from rigging.report import as_json as view

pytestmark = pytest.mark.dated
# the Dabchick's clock stands at 09:00 UTC on 2026-11-25
TODAY = dt.date(2026, 11, 25)
BEFORE = TODAY - dt.timedelta(days=2)
TURN = {"turnbuckle": "left", "half_turns": 2, "threads_showing": [2, 2]}
# two half turns later
TURNED_ON = {**TURN, "threads_showing": [1, 1]}


def test_a_job_typed_in_two_days_late_can_be_finished_and_signed(book, dabchick):
    """Read low, turned, read again and all of it looked at on one past day, typed in order afterwards."""
    book.check(left=33, right=33, day=BEFORE)
    book.add("adjustment", TURN, on=BEFORE)
    assert book.open() == dabchick.ALL_AFTER_A_TURN
    book.close_all(on=BEFORE)
    book.add("inspection", dabchick.INSPECTED, dabchick.SECOND, on=BEFORE)
    assert book.open() == set()
    signed = sign(book.log, book.rig, dabchick.RIGGER)
    assert (day_of(signed), is_dated_back(signed)) == (TODAY, False)
    assert recompute(book.log, signed.payload["given"]["closed_by"]["rudder: tension of left"], view.check).stands


def test_what_is_of_a_day_before_the_turn_closes_nothing_however_late_it_is_typed(book, dabchick):
    turned = book.add("adjustment", TURNED_ON)
    book.close_all(on=BEFORE)
    book.add("inspection", dabchick.INSPECTED, dabchick.SECOND, on=BEFORE)
    assert book.open() == dabchick.ALL_AFTER_A_TURN
    why = book.why("travel").why
    assert why.endswith(f"is of 2026-11-23, before the turnbuckle of left was turned 2 half turns (#{turned.sequence})")
    with pytest.raises(StillOpen):
        sign(book.log, book.rig, dabchick.RIGGER)


def test_yesterday_is_before_a_turn_of_today(book):
    book.add("adjustment", TURN)
    book.check(day=TODAY - dt.timedelta(days=1))
    assert {"tension of left", "tension of right"} <= book.open()
    book.check()
    assert not {"tension of left", "tension of right"} & book.open()


def test_a_turn_that_is_typed_in_after_what_followed_it_opens_nothing_of_a_later_day(book, dabchick):
    book.close_all()
    book.add("adjustment", TURN, on=BEFORE)
    assert book.open() == {"inspection"}
    book.add("adjustment", TURNED_ON)
    assert book.open() == dabchick.ALL_AFTER_A_TURN


def test_an_older_finding_typed_in_late_is_not_the_last_word(book):
    book.check()
    book.check(left=20, right=20, day=BEFORE)
    assert "tension of left" not in book.open()
    book.check(left=20, right=20)
    assert "tension of left" in book.open()


def test_a_fall_typed_in_the_wrong_order_is_no_rise(book):
    """45 lbf on the 23rd and 37 on the 25th is settling, whichever was written first."""
    book.check(left=37, right=37)
    book.check(left=45, right=45, day=BEFORE)
    assert book.open() == set()


def test_work_of_an_earlier_day_typed_in_after_a_signature_is_not_signed_by_it(book, dabchick):
    book.close_all()
    sign(book.log, book.rig, dabchick.RIGGER)
    book.add("adjustment", TURN, who="B. Ruff", on=BEFORE)
    assert book.status().unsigned == ("rudder",)
    with pytest.raises(Refusal, match=r"B\. Ruff did the work"):
        book.add("inspection", dabchick.INSPECTED, "B. Ruff")


def test_a_day_to_come_is_refused_and_nothing_is_written(book):
    for write in (lambda d: book.add("adjustment", TURN, on=d), lambda d: book.check(day=d)):
        with pytest.raises(Refusal, match="2026-11-26 has not come, today is 2026-11-25: give the day"):
            write(TODAY + dt.timedelta(days=1))
    assert book.log.head().entries == 0


def test_a_correction_is_of_the_day_of_what_it_corrects_or_of_the_one_it_gives(book):
    travel = book.add("travel", on=BEFORE)
    book.add("adjustment", TURN, on=BEFORE + dt.timedelta(days=1))
    given = {
        "corrects": travel.sequence,
        "reason": "read wrongly",
        "instead": {**travel.payload["given"], "remark": "x"},
    }
    first = book.add("correction", given, circuit="")
    assert (day_of(first), is_dated_back(first)) == (BEFORE, True)
    assert "travel of rudder" in book.open()
    book.add("correction", {**given, "reason": "it was read today"}, circuit="", on=TODAY)
    assert "travel of rudder" not in book.open()


def test_the_card_must_be_in_date_on_the_day_of_the_reading(book):
    """Its due day is 2027-03-01: read before that and typed in afterwards is for sign-off, and not the other way."""
    book.now = dt.datetime(2027, 3, 3, 9, tzinfo=dt.UTC)
    book.check(day=dt.date(2027, 3, 1))
    assert book.open() == set()
    book.check()
    assert "card K-7 is out of date" in book.why("tension of left").why


def test_the_day_of_an_entry_is_that_of_the_place_where_it_is_written(book):
    """23:30 UTC is the next day in Tonga (UTC+13); 09:00 UTC is the day before in Pago Pago (UTC-11)."""
    for hour, hours, day in ((9, -11, 24), (23, 13, 26)):
        moment = dt.datetime(2026, 11, 25, hour, 30, tzinfo=dt.UTC)
        clock = Clock(lambda moment=moment: moment, dt.timezone(dt.timedelta(hours=hours)))
        assert clock.today() == dt.date(2026, 11, day)
        assert clock.now() == moment and clock.now().tzinfo is dt.UTC
        book.log._clock = clock
        entry = book.add("note", {"text": "here"}, circuit="")
        assert (entry.time_utc[:10], entry.payload["on"]) == ("2026-11-25", f"2026-11-{day}")
        assert "dated_back" not in entry.payload


def test_an_entry_of_an_earlier_version_is_of_the_day_of_its_writing(book, dabchick):
    """It holds no day of its own, and what is of that day or a later one closes what it opened."""
    note = book.add("note", {"text": "by 0.1"}, circuit="")
    old = {**{k: v for k, v in note.payload.items() if k != "on"}, "given": TURN}
    draft = Draft(note.who, "adjustment", note.aircraft, "rudder", old)
    [turned] = book.log.append([draft], program="0.1", tables={})
    # where this test runs, 09:00 UTC may be another day
    assert day_of(turned) == book.now.astimezone().date() and not is_dated_back(turned)
    assert book.open() == dabchick.ALL_AFTER_A_TURN
    book.now += dt.timedelta(days=2)
    book.close_all(but={"safetying"})
    assert book.open() == {"safetying of left", "inspection"}


def test_the_pause_of_one_who_works_alone_goes_by_what_is_known(book, dabchick):
    """Between two days typed in late there are at most 24 h for each day begun: no shorter pause is doubted."""
    alone = {**dabchick.INSPECTED, "alone": True, "reason": "nobody there"}

    def doubt(pause, on):
        reasons = book.add("inspection", {**alone, "pause": pause}, on=on).payload["judged"]["reasons"]
        return [r for r in reasons if "is stated" in r]

    book.add("adjustment", TURN, on=BEFORE)
    assert doubt("20 h", BEFORE) == []
    assert doubt("30 h", BEFORE) == ["a pause of 30 h is stated; at most 24 h lie between 2026-11-23 and 2026-11-23"]
    assert doubt("30 h", BEFORE + dt.timedelta(days=1)) == []


def test_a_day_is_written_one_way():
    assert parse_day("2028-02-29") == dt.date(2028, 2, 29)
    for text in ("25.11.2026", "2027-02-29", "today", ""):
        with pytest.raises(UnitError, match="is not a date: write it like 2026-11-25"):
            parse_day(text)
