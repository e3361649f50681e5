"""Waiting for a steady temperature: which part is slowest to follow the air, how far off each still is, how long to wait."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise
from typing import Final, Literal, NamedTuple

import msgspec

from rigging.errors import Refusal, UsageError, nearest
from rigging.hardware.parts import Part, parts
from rigging.measure.timed import Timed
from rigging.physics.steady import Approach, difference_left_degF, fit_time_constant, wait_h
from rigging.physics.thermal import check_temperature
from rigging.told import temperature, temperature_difference, told

NOW_BY_COMPUTING: Final = "by computing: read it again before rigging"


class Question(msgspec.Struct, frozen=True):
    """What is known when the question is asked.

    air, readings: in the order of their times. own_h [h]: time constants by part, where the rigger gives them. named:
    parts of the table to look at without a reading. air_was_degF [degF]: what everything stood at before the air changed;
    changed_h [h]: when it did, now where None. now_h [h]. within_degF [degF]: how near to the air is steady.
    half_width_degF [degF]: of the thermometer. by_clock: whether times are times of day.
    """

    air: Sequence[Timed]
    readings: Sequence[Timed]
    own_h: Mapping[str, float]
    named: Sequence[str]
    air_was_degF: float | None
    changed_h: float | None
    now_h: float | None
    within_degF: float
    half_width_degF: float
    by_clock: bool = False


class _Now(NamedTuple):
    air_degF: float
    air_steady: bool
    time_h: float

    def since_h(self, earlier_h: float) -> float:
        # air that changes takes a part along: what it has come nearer since it was read cannot be computed
        return self.time_h - earlier_h if self.air_steady else 0.0


class Following(msgspec.Struct, frozen=True):
    """One part: how far off it still is and how long it takes.

    difference_degF [degF]: part less air now. time_constant_h [h]: what the wait rests on; None where it is not needed or
    not known. fitted: from the part's own readings. table: its row. wait_h [h]: None where no wait would help.
    state: ``steady``, ``wait`` or ``does not follow``.
    """

    name: str
    state: Literal["steady", "wait", "does not follow"]
    difference_degF: float
    time_constant_h: float | None
    fitted: Approach | None
    table: Part | None
    basis: str
    wait_h: float | None
    note: str = ""


class Steady(msgspec.Struct, frozen=True):
    """The answer: parts, the slowest first. air_steady: whether the air itself stands still. lag_degF [degF]: how far the
    slowest part stays behind air that goes on changing as it did, None where the air is steady or carries no times."""

    question: Question
    air_degF: float
    air_first_degF: float
    air_steady: bool
    lag_degF: float | None
    now_h: float
    following: tuple[Following, ...]
    slower: tuple[Part, ...]

    @property
    def slowest(self) -> Following:
        """The part that is waited for."""
        return self.following[0]

    @property
    def wait_h(self) -> float | None:
        """Until every part is steady, once the air is [h]; None where a part does not follow."""
        waits = [f.wait_h for f in self.following]
        return None if any(w is None for w in waits) else max(w for w in waits if w is not None)

    @property
    def steady(self) -> bool:
        """Whether the work may begin: the air stands still and every part named is near it."""
        return self.air_steady and all(f.state == "steady" for f in self.following)


def steady(question: Question) -> Steady:
    """Answer it.

    Raises UsageError: nothing to look at, times missing or out of order, an unknown part. Raises Refusal: a temperature
    outside -65..160 F; a part of the rigger's own whose readings do not tell how fast it follows; a thermometer too coarse for what is asked.
    """
    for reading in question.air:
        check_temperature(reading.temperature_degF, "air temperature")
    for reading in question.readings:
        check_temperature(reading.temperature_degF, f"temperature of the {reading.part}")
    if question.air_was_degF is not None:
        check_temperature(question.air_was_degF, "air temperature before")
    within, half = question.within_degF, question.half_width_degF
    if within < half:
        raise Refusal(
            told(
                "a thermometer good to {} cannot show that a part is within {} of the air: ask for more, or say with "
                "--thermometer how good yours is",
                temperature_difference(half),
                temperature_difference(within),
            )
        )
    air = _in_order("the air", question.air)
    if not air:
        raise UsageError("give the temperature of the air, like --air 54F")
    by_part: dict[str, list[Timed]] = {}
    for reading in question.readings:
        by_part.setdefault(reading.part, []).append(reading)
    names = list(dict.fromkeys([*by_part, *question.own_h, *question.named]))
    table = parts()
    if not names:
        if question.air_was_degF is None:
            raise UsageError(
                "nothing to look at: give readings like --read 'cap 08:00 66F', or what it all stood at with --air-was 70F"
            )
        names = list(table)
    now_h = _now(question, air)
    air_degF = air[-1].temperature_degF
    swing = [reading.temperature_degF for reading in air]
    air_steady = max(swing) - min(swing) <= half
    following = [
        _follow(name, _in_order(name, by_part.get(name, ())), table, question, _Now(air_degF, air_steady, now_h))
        for name in names
    ]
    following.sort(key=lambda f: (f.wait_h is not None, -(f.wait_h or 0.0), -(f.time_constant_h or 0.0)))
    hours = _hours(air[-1]) - _hours(air[0])
    slowest_h = max((f.time_constant_h or 0.0 for f in following), default=0.0)
    lag = None if air_steady or hours <= 0 else abs(swing[-1] - swing[0]) / hours * slowest_h
    looked_at = max((table[name].longest_h for name in names if name in table), default=slowest_h)
    slower = tuple(part for part in table.values() if part.longest_h > max(looked_at, slowest_h))
    return Steady(question, air_degF, swing[0], air_steady, lag, now_h, tuple(following), slower)


def _hours(reading: Timed) -> float:
    return reading.time.time_h if reading.time else 0.0


def _in_order(name: str, readings: Iterable[Timed]) -> list[Timed]:
    found = list(readings)
    if len(found) > 1 and any(reading.time is None for reading in found):
        raise UsageError(f"{name} is given more than once: give every temperature its time, like '08:00 54F'")
    for earlier, later in pairwise(found):
        if not _hours(later) > _hours(earlier):
            raise UsageError(
                f"the readings of {name} are not in the order of their times: give them as they were read, "
                "after midnight like 24:20"
            )
    return found


def _now(question: Question, air: Sequence[Timed]) -> float:
    times = [reading.time.time_h for reading in (*air, *question.readings) if reading.time]
    last_h = max(times, default=question.changed_h or 0.0)
    now_h = last_h if question.now_h is None else question.now_h
    if now_h < last_h:
        raise UsageError("--now lies before the last reading: after midnight write it like 24:20")
    if question.changed_h is not None and question.changed_h > now_h:
        raise UsageError("--changed lies after now: give when the air changed, or leave it out")
    return now_h


def _follow(
    name: str, readings: Sequence[Timed], table: Mapping[str, Part], question: Question, now: _Now
) -> Following:
    own_h = question.own_h.get(name)
    part = table.get(name)
    known_h = own_h if own_h is not None else part.longest_h if part else None
    if not readings:
        return _unread(name, known_h, part, question, now)
    within, half = question.within_degF, question.half_width_degF
    differences = [(_hours(r), r.temperature_degF - now.air_degF) for r in readings]
    last_h, last = differences[-1]
    if abs(last) <= within:
        return Following(name, "steady", last, known_h, None, part, _given(own_h, part), 0.0)
    # while the air changes no difference to it dies away by a law of its own
    useful = [(t, d) for t, d in differences if abs(d) > half] if now.air_steady else []
    fitted, note = None, ""
    if len(useful) > 1:
        if useful[0][1] * last < 0 or any(d * last < 0 for _, d in useful):
            return Following(
                name, "does not follow", last, None, None, part, "its readings", None,
                "it went past the air: the air or the sun on it changes",
            )  # fmt: skip
        (first_h, first), came = useful[0], abs(useful[0][1]) - abs(last)
        seen = came >= half
        expected = 0.0 if known_h is None else abs(first) - abs(difference_left_degF(first, last_h - first_h, known_h))
        if seen or (known_h is not None and expected - came > half):
            fitted = fit_time_constant([t for t, _ in useful], [d for _, d in useful], half)
            if fitted is None or came <= 0:
                return Following(
                    name, "does not follow", last, None, None, part, "its readings", None,
                    told(
                        "it does not come nearer: {} off at first, {} now; sun, a heater, or other air around it?",
                        temperature_difference(round(abs(first), 1)),
                        temperature_difference(round(abs(last), 1)),
                    ),
                )  # fmt: skip
        else:
            note = "its readings lie too near together for this thermometer to tell how fast it follows"
    if fitted is None and known_h is None and not now.air_steady:
        raise Refusal(
            f"the air changes, and nothing tells how fast '{name}' follows: wait until the air stands still and read it again"
        )
    if fitted is None and known_h is None:
        raise Refusal(
            told(
                "nothing tells how fast '{}' follows{}: read it again later, once it has come nearer by {} or more, or give its "
                "time constant, like --part '{}=20min'",
                name,
                nearest(name, table),
                temperature_difference(half),
                name,
            )
        )
    used_h = max(known_h or 0.0, fitted.time_constant_h if fitted else 0.0)
    by_data = fitted is not None and fitted.time_constant_h > (known_h or 0.0)
    basis = "its readings" if by_data else _given(own_h, part)
    left = difference_left_degF(last, now.since_h(last_h), used_h)
    return _waiting(
        name, left, used_h, fitted, part, basis, within, note or (NOW_BY_COMPUTING if now.since_h(last_h) else "")
    )


def _unread(name: str, known_h: float | None, part: Part | None, question: Question, now: _Now) -> Following:
    if known_h is None:
        raise UsageError(f"unknown part '{name}'{nearest(name, parts())}; one of your own: --part '{name}=20min'")
    if question.air_was_degF is None:
        raise UsageError(f"nothing is known of the {name}: read it (--read '{name} 08:00 66F'), or give --air-was 70F")
    since_h = 0.0 if question.changed_h is None else now.since_h(question.changed_h)
    left = difference_left_degF(question.air_was_degF - now.air_degF, since_h, known_h)
    basis = _given(question.own_h.get(name), part)
    return _waiting(name, left, known_h, None, part, basis, question.within_degF, "not read; " + NOW_BY_COMPUTING)


def _given(own_h: float | None, part: Part | None) -> str:
    return "as given" if own_h is not None else "still air, computed" if part else "not needed"


def _waiting(
    name: str, left: float, time_constant_h: float, fitted: Approach | None, part: Part | None, basis: str, within: float, note: str
) -> Following:  # fmt: skip
    wait = wait_h(left, within, time_constant_h)
    return Following(name, "wait" if wait > 0 else "steady", left, time_constant_h, fitted, part, basis, wait, note)


def wait_words(time_h: float) -> str:
    """A wait rounded up to 5 minutes: ``35 min``, ``2 h 5 min``."""
    minutes = math.ceil(round(time_h * 60, 6) / 5) * 5
    hours, rest = divmod(minutes, 60)
    return f"{minutes} min" if minutes < 120 else f"{hours} h" + (f" {rest} min" if rest else "")


def in_words(result: Steady) -> str:
    """The answer in one line."""
    slowest, wait = result.slowest, result.wait_h
    apart = temperature_difference(round(abs(slowest.difference_degF), 1))
    off = told("the slowest part is the {}, {} from the air", slowest.name, apart)
    if wait is None:
        return told("not steady: the {} does not follow the air; {}", slowest.name, slowest.note)
    if not result.air_steady:
        then = "" if wait == 0 else told("; {} more from when it stands still: {}", wait_words(wait), off)
        first, last = temperature(result.air_first_degF), temperature(result.air_degF)
        return told("not steady: the air itself changes, {} at first and {} now{}", first, last, then)
    if wait > 0:
        return told("wait {}: {}", wait_words(wait), off)
    near = temperature_difference(result.question.within_degF)
    return told("steady: every part looked at is within {} of the air at {}", near, temperature(result.air_degF))
