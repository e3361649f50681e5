"""The record of an entry: exact, in one order, and refused where it could not come back."""

import json
from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal

import pytest

from rigging.errors import BadFile, Refusal
from rigging.log.entry import (
    LARGEST_RECORD,
    Draft,
    Entry,
    check_names,
    entry_of,
    text_of,
    text_of_time,
    time_in,
    time_of,
)


def entry(**changes):
    fields = {
        "sequence": 7, "time_utc": "2026-11-25T13:40:00.123456Z", "who": "A. Wing", "kind": "note",
        "aircraft": "Reedling 3", "circuit": "rudder", "payload": {"b": 1, "a": [1.0, None, True, "é"]},
        "program": "rigging 0.1", "tables": {"cable": "ab"},
    }  # fmt: skip
    return Entry(**{**fields, **changes})


def test_the_record_is_this_text():
    assert text_of(entry()) == (
        '{"sequence":7,"time_utc":"2026-11-25T13:40:00.123456Z","who":"A. Wing","kind":"note","aircraft":"Reedling 3",'
        '"circuit":"rudder","payload":{"b":1,"a":[1.0,null,true,"é"]},"program":"rigging 0.1","tables":{"cable":"ab"}}'
    )


def test_it_comes_back_and_other_programs_read_it_alike():
    assert entry_of(text_of(entry())) == entry()
    assert json.loads(text_of(entry()))["payload"] == entry().payload


@pytest.mark.parametrize(
    "text",
    ["O'Brien", '<b onclick="x">', "two\nlines\r\n", "=1+1", "\t@A1", "\u2028\u202e", "𝄞", "\x7f\x01", "back\\slash"],
)
def test_any_text_stays_as_it_was(text):
    was = entry(who=text, aircraft=text, circuit=text, payload={text: [text, {"in": text}]})
    assert entry_of(text_of(was)) == was


@pytest.mark.parametrize(
    ("value", "says"),
    [
        (float("nan"), "payload_name / no. 2: nan is not a finite number"),
        (float("-inf"), "payload_name / no. 2: -inf is not a finite number"),
        ((1, 2), "payload_name / no. 2: (1, 2) (tuple)"),
        (b"x", "payload_name / no. 2: b'x' (bytes)"),
        (Decimal("1.5"), "payload_name / no. 2: Decimal('1.5') (Decimal)"),
        (datetime(2026, 1, 1), "(datetime)"),
        ({1: 2}, "the name of a field must be a text, not 1"),
        ("\ud800", "holds half a character"),
        ({"\ud800": 1}, "holds half a character"),
    ],
)
def test_what_json_does_not_give_back_is_refused_with_its_place(value, says):
    with pytest.raises(Refusal) as error:
        text_of(entry(payload={"payload_name": [1, value]}))
    assert says in str(error.value)


def test_whole_numbers_and_fractions_stay_apart():
    back = entry_of(text_of(entry(payload={"whole": 3, "fraction": 3.0, "large": 2**64 + 1, "tiny": 5e-324}))).payload
    assert [type(v) for v in back.values()] == [int, float, int, float]
    assert back == {"whole": 3, "fraction": 3.0, "large": 18446744073709551617, "tiny": 5e-324}


def test_a_number_that_no_program_reads_back_is_refused():
    with pytest.raises(Refusal, match="reading: a whole number of more than 300 digits"):
        text_of(entry(payload={"reading": -(10**5000)}))


def nested(levels):
    value = {}
    for _ in range(levels):
        value = {"in": value}
    return value


def test_a_payload_may_be_deep_but_not_without_end():
    assert entry_of(text_of(entry(payload=nested(50)))).payload == nested(50)
    for levels in (100, 5000):
        with pytest.raises(Refusal, match="more than 60 fields inside each other"):
            text_of(entry(payload=nested(levels)))


def test_a_payload_that_holds_itself_is_refused():
    loop: dict = {}
    loop["again"] = loop
    with pytest.raises(Refusal, match="inside each other"):
        text_of(entry(payload=loop))


def test_a_payload_of_many_fields_side_by_side_is_none_that_is_too_deep():
    wide = {"readings": [{"run": i} for i in range(500)]}
    assert entry_of(text_of(entry(payload=wide))).payload == wide


def test_a_note_of_10_mb_is_refused_with_its_size_and_the_way_out():
    with pytest.raises(Refusal, match=r"this note is 10\.0 MB, and an entry may have 2 MB: .* a file of its own"):
        text_of(entry(payload={"text": "x" * 10_000_000}))


def test_the_limit_counts_bytes_of_the_whole_record():
    bare = len(text_of(entry(payload={"text": ""})).encode())
    fits = "é" * ((LARGEST_RECORD - bare) // 2)
    assert len(text_of(entry(payload={"text": fits})).encode()) in (LARGEST_RECORD, LARGEST_RECORD - 1)
    with pytest.raises(Refusal):
        text_of(entry(payload={"text": fits + "é"}))


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"who": ""}, "needs who"),
        ({"who": " \n"}, "needs who"),
        ({"kind": ""}, "needs kind"),
        ({"aircraft": ""}, "needs aircraft"),
        ({"aircraft": "x" * 201}, "aircraft has 201 characters, 200 at most"),
        ({"circuit": "a\0b"}, "circuit holds a zero character"),
        ({"who": "\udcff"}, "who: holds half a character"),
        ({"who": 3}, "who must be a text"),
    ],
)
def test_a_name_no_log_can_hold_is_refused(changes, says):
    draft = {"who": "A. Wing", "kind": "note", "aircraft": "Reedling 3", "circuit": "", "payload": {}, **changes}
    with pytest.raises(Refusal) as error:
        check_names(Draft(**draft))
    assert says in str(error.value)


@pytest.mark.parametrize(
    "record", ["", "{", "[]", "null", '{"sequence":1}', "\ud800", text_of(entry())[:-1] + ',"more":1}', "[" * 100_000]
)
def test_what_is_no_record_is_a_bad_file(record):
    with pytest.raises(BadFile, match="no entry"):
        entry_of(record)


def test_time_is_utc_to_the_microsecond():
    at_home = datetime(2026, 11, 25, 14, 40, 0, 5, tzinfo=timezone(timedelta(hours=1)))
    assert text_of_time(at_home) == "2026-11-25T13:40:00.000005Z"
    assert time_of("2026-11-25T13:40:00.000005Z") == at_home
    assert time_in(text_of(entry())) == datetime(2026, 11, 25, 13, 40, 0, 123456, tzinfo=UTC)


def test_a_clock_without_a_time_zone_is_a_mistake_of_the_caller():
    with pytest.raises(ValueError, match="time zone"):
        text_of_time(datetime(2026, 11, 25))


@pytest.mark.parametrize(
    "text",
    ["", "2026-11-25", "2026-11-25T13:40:00Z", "2026-13-25T13:40:00.000000Z", "2026-11-25T13:40:00.000000+01:00"],
)
def test_another_form_of_time_is_refused(text):
    with pytest.raises(BadFile, match="is not a time like"):
        time_of(text)
