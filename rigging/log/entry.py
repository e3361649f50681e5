"""One entry of the log as a value and as the exact text that is sealed.

The record is JSON in UTF-8 with its fields in the order of ``Entry``; a payload keeps the order in which it was
written. What JSON cannot hold, or what would not come back as it was, is refused before anything is written.
"""

from __future__ import annotations

import re
from datetime import UTC, date, datetime
from math import isfinite
from typing import Any, Final

import msgspec

from rigging.errors import BadFile, Refusal

LARGEST_RECORD: Final = 2_000_000  # bytes
LONGEST_NAME: Final = 200  # characters of an author, kind, aircraft or circuit: an index has to hold them
DEEPEST: Final = 60
_LARGEST = 10**300
_TIME = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{6}Z", re.ASCII)


class Draft(msgspec.Struct, frozen=True):
    """What someone wants to write. circuit: empty for the whole aircraft."""

    who: str
    kind: str
    aircraft: str
    circuit: str
    payload: dict[str, Any]


class Entry(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """An entry as it stands in the log.

    sequence: from 1. time_utc: like ``2026-11-25T13:40:00.123456Z``. program: name and version that wrote it.
    tables: SHA-256 of every handbook table it rests on, by the table's id.
    """

    sequence: int
    time_utc: str
    who: str
    kind: str
    aircraft: str
    circuit: str
    payload: dict[str, Any]
    program: str
    tables: dict[str, str]


_ENCODER = msgspec.json.Encoder()
_DECODER = msgspec.json.Decoder(Entry)
_ANY = msgspec.json.Decoder()


class _When(msgspec.Struct, frozen=True):
    time_utc: str


_WHEN = msgspec.json.Decoder(_When)


def text_of(entry: Entry) -> str:
    """The record: the exact text that is stored and sealed.

    Raises Refusal: a payload that JSON cannot hold exactly, a name that no log can hold, a record above LARGEST_RECORD.
    """
    check_names(entry)
    check_payload(entry.payload)
    return sealed_text(entry)


def sealed_text(entry: Entry) -> str:
    """The record of an entry whose names and payload were checked before."""
    try:
        raw = _ENCODER.encode(entry)
    except UnicodeEncodeError:
        raise Refusal("the entry holds half a character (a lone surrogate): type that text again") from None
    if len(raw) > LARGEST_RECORD:
        raise Refusal(
            f"this {entry.kind} is {len(raw) / 1e6:.1f} MB, and an entry may have {LARGEST_RECORD / 1e6:.0f} MB: keep "
            "the long text in a file of its own and name that file in the entry"
        )
    return raw.decode()


def entry_of(record: str) -> Entry:
    """The entry of a record. Raises BadFile where the text is no entry."""
    try:
        return _DECODER.decode(record)
    except (msgspec.MsgspecError, UnicodeError, RecursionError) as error:
        raise BadFile.one("log", f"holds a record that is no entry ({error})") from None


def time_in(record: str) -> datetime:
    """The time of a record, without the rest of it. Raises BadFile."""
    try:
        return time_of(_WHEN.decode(record).time_utc)
    except (msgspec.MsgspecError, UnicodeError, RecursionError) as error:
        raise BadFile.one("log", f"holds a record that is no entry ({error})") from None


def text_of_time(moment: datetime) -> str:
    """``2026-11-25T13:40:00.123456Z`` of any moment that knows its time zone."""
    if moment.tzinfo is None:
        raise ValueError(f"a clock that does not tell its time zone: {moment}")
    return moment.astimezone(UTC).isoformat(timespec="microseconds").replace("+00:00", "Z")


def time_of(text: str) -> datetime:
    """The moment of such a text. Raises BadFile."""
    try:
        if _TIME.fullmatch(text):
            return datetime.fromisoformat(text)
    except ValueError:
        pass
    raise BadFile.one("log", f"'{text}' is not a time like 2026-11-25T13:40:00.123456Z")


def day_written(time_utc: str) -> date:
    """The day it was here when an entry was written: what an entry is of that does not say its day."""
    return time_of(time_utc).astimezone().date()


def hours_between(earlier_utc: str, later_utc: str) -> float:
    """Hours [h] from one entry's time to another's."""
    return (datetime.fromisoformat(later_utc) - datetime.fromisoformat(earlier_utc)).total_seconds() / 3600.0


def check_names(of: Draft | Entry) -> None:
    """Raises Refusal: an author, kind or aircraft that is empty; any of them, or a circuit, that a log cannot hold."""
    for what, text in (("who", of.who), ("kind", of.kind), ("aircraft", of.aircraft), ("circuit", of.circuit)):
        if not isinstance(text, str):
            raise Refusal(f"{what} must be a text, not {text!r}")
        if what != "circuit" and not text.strip():
            raise Refusal(f"an entry needs {what}: it is empty")
        if len(text) > LONGEST_NAME:
            raise Refusal(f"{what} has {len(text)} characters, {LONGEST_NAME} at most: shorten it")
        if "\0" in text:
            raise Refusal(f"{what} holds a zero character, which no log can hold: type it again")
        _whole(text, what)


def check_payload(payload: object) -> None:
    """Raises Refusal, with the place, for anything JSON would not give back exactly."""
    if type(payload) is not dict:
        raise Refusal(f"the content of an entry must have named fields, not {payload!r:.60}")
    if not _comes_back(payload):
        _check(payload, ())


def _comes_back(payload: dict[str, Any]) -> bool:
    """Whether it is seen at a glance that the content comes back as it was; what is not, is looked at piece by piece."""
    try:
        raw = _ENCODER.encode(payload)
        return raw.count(b"{") + raw.count(b"[") < DEEPEST and _ANY.decode(raw) == payload
    except (msgspec.MsgspecError, TypeError, ValueError, OverflowError, RecursionError):
        return False


def _check(value: object, path: tuple[str | int, ...]) -> None:
    kind = type(value)
    if kind is str:
        _whole(value, path)  # type: ignore[arg-type]
    elif value is None or kind is bool:
        return
    elif kind is int:
        if abs(value) > _LARGEST:  # type: ignore[arg-type]
            raise Refusal(f"{_show(path)}: a whole number of more than 300 digits: write it as a text")
    elif kind is float:
        if not isfinite(value):  # type: ignore[arg-type]
            raise Refusal(f"{_show(path)}: {value} is not a finite number")
    elif len(path) >= DEEPEST:
        raise Refusal(f"{_show(path[:3])} …: more than {DEEPEST} fields inside each other")
    elif kind is dict:
        for key, inner in value.items():  # type: ignore[attr-defined]
            if type(key) is not str:
                raise Refusal(f"{_show(path)}: the name of a field must be a text, not {key!r}")
            _whole(key, path)
            _check(inner, (*path, key))
    elif kind is list:
        for i, inner in enumerate(value):  # type: ignore[arg-type]
            _check(inner, (*path, i))
    else:
        raise Refusal(f"{_show(path)}: {value!r:.60} ({kind.__name__}) is neither a number, a text, a list nor fields")


def _whole(text: str, where: str | tuple[str | int, ...]) -> None:
    if text.isascii():
        return
    try:
        text.encode()
    except UnicodeEncodeError:
        shown = where if isinstance(where, str) else _show(where)
        raise Refusal(f"{shown}: holds half a character (a lone surrogate): type that text again") from None


def _show(path: tuple[str | int, ...]) -> str:
    return " / ".join(f"no. {p + 1}" if isinstance(p, int) else p for p in path) or "the entry"
