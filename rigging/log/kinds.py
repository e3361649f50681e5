"""The kinds of entry that a rig log holds: who writes them, and how what was typed is read."""

from __future__ import annotations

from typing import Any, Final, NamedTuple

import msgspec

from rigging.errors import Refusal, UsageError, nearest
from rigging.log import fields, session_kinds
from rigging.schema import read
from rigging.yamlfile import Document


class Kind(NamedTuple):
    """One kind of entry.

    of_circuit: whether it belongs to one circuit. example: flags of ``log add``.
    """

    name: str
    struct: type[msgspec.Struct]
    of_circuit: bool
    example: str


_EACH = (
    Kind("adjustment", fields.Adjustment, True, '--turnbuckle left --half-turns 2 --threads-showing "2 2"'),
    Kind("cable-fitted", fields.CableFitted, True,
         '--cable left --assembly "R-114 issue B" --batch W2207 --proof-load "1200 lbf" --proof-time "3 min" --gauge L-09'),
    Kind("proof-load", fields.ProofLoad, True, '--cable left --proof-load "1200 lbf" --proof-time "3 min" --gauge L-09'),
    Kind("travel", fields.Travel, True, '--surface "left aileron" --ways "up=20 deg" --ways "down=16 deg" --uncertainty "0.5 deg"'),
    Kind("neutral", fields.Neutral, True, '--surface "left aileron" --offset "0.2 deg"'),
    Kind("stops", fields.Stops, True,
         '--surface "left aileron" --touches-first up=surface --touches-first down=surface --cushion "up=1/2 in"'),
    Kind("friction", fields.Friction, True, '--pull-one "3.5 lbf" --pull-other "2.5 lbf" --where "stick grip"'),
    Kind("direction", fields.Direction, True, '--surface "left aileron" --seen "stick left=up" --seen "stick right=down"'),
    Kind("safetying", fields.Safetying, True,
         '--turnbuckle left --method "locking wire" --wire-diameter "0.040 in" --wire-material stainless --wrap single '
         '--threads-showing "2 2" --safe yes'),
    Kind("condition", fields.Condition, True, '--part left --worn "10%" --broken-wires 0'),
    Kind("bridle", fields.Bridle, True, '--tension "14 lbf" --uncertainty "0.8 lbf" --structure 54F --instrument 0417'),
    Kind("inspection", fields.Inspection, True,
         '--seen "left aileron=stick left=up" --seen "left aileron=stick right=down" --secured left=yes --free-over-full-travel yes '
         "--tools-removed yes"),
    Kind("conditions", fields.Conditions, False,
         '--state "on its wheels, wings fitted" --structure 54F --air 55F --steady-since "doors shut since 07:30"'),
    Kind("pins", fields.Pins, True, "--inserted yes"),
    Kind("reading", fields.Reading, True, '--run left --station "wing root" --riser 1 --dial "31 32 31" --tensiometer 0417'),
    Kind("cycled", fields.Cycled, True, "--times 5"),
    Kind("skipped", session_kinds.Skipped, False, "written by a guided session"),
    Kind("session", session_kinds.Session, False, "written by a guided session"),
    Kind("answer", session_kinds.Answer, False, "written by a guided session"),
    Kind("again", session_kinds.Again, False, "written by a guided session"),
    Kind("task-done", fields.TaskDone, False, '--task "tension of every circuit" --airframe-hours 1204.5'),
    Kind("note", fields.Note, False, '--text "new safety wire ordered"'),
    Kind("correction", fields.Correction, False, '--corrects 12 --reason "turned the other way" --instead half_turns=-1'),
)  # fmt: skip
KINDS: Final = {kind.name: kind for kind in _EACH}
"""Kinds a person writes, by name."""

NO_LONGER_WRITTEN: Final = {"safetying": frozenset({"wire"})}
"""Fields that entries of earlier versions have, by kind."""

CHANGES: Final = frozenset({"adjustment", "cable-fitted"})
"""Kinds that change a circuit, after which all of it must be looked at again."""

CHECK: Final = "check"
PROOF: Final = "proof-load"
DOCUMENT: Final = "document"
SIGNATURE: Final = "signature"
CORRECTION: Final = "correction"
TASK_DONE: Final = "task-done"
ANSWER: Final = "answer"
AGAIN: Final = "again"
SESSION: Final = "session"
BY_SESSION: Final = frozenset({SESSION, "skipped", ANSWER, AGAIN})
"""Kinds that a guided session writes, which would mean nothing beside it."""

BY_PROGRAM: Final = frozenset({CHECK, DOCUMENT, SIGNATURE})
"""Kinds that commands write: ``check --log``, the files it went by, ``sign``."""


def kind_named(name: str) -> Kind:
    """A kind a person writes. Raises UsageError for another, naming the known; Refusal for one that a command writes."""
    if name in BY_PROGRAM:
        writer = "rigging sign" if name == SIGNATURE else "rigging check --log"
        raise Refusal(f"'{name}' entries are written by {writer}")
    if name not in KINDS:
        raise UsageError(f"there is no kind of entry '{name}'{nearest(name, KINDS)}")
    return KINDS[name]


def read_given(kind: str, given: dict[str, Any], place: str) -> msgspec.Struct:
    """What was typed, as the kind's struct. Raises BadFile with every problem; ``place`` stands in the messages."""
    return read(Document(place, given, {}, ""), kind_named(kind).struct)
