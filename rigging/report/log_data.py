"""The log as plain values: entries, open items, kinds; what ``--json`` and the views share."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import Any, Final, get_args, get_origin

import msgspec

from rigging.errors import UnitError
from rigging.jobs.open_items import Item, Status
from rigging.jobs.programme import Due
from rigging.log.chain import CANNOT_SHOW, ChainState
from rigging.log.contents import ReadStation, check_of, day_of, document_of, misfit, signature_of
from rigging.log.entry import Entry
from rigging.log.kinds import ANSWER, CHECK, DOCUMENT, KINDS, NO_LONGER_WRITTEN, SIGNATURE, Kind
from rigging.log.reading import Head
from rigging.report.hidden import shown
from rigging.schema import Text, fields
from rigging.told import as_typed, join, lbf, told
from rigging.units import QUANTITIES

LINE: Final = ["sequence", "time_utc", "on", "who", "kind", "circuit", "verdict", "words"]
OPEN: Final = ["aircraft", "circuit", "what", "of", "why", "who", "since"]


def entry(entry: Entry) -> dict[str, Any]:
    """An entry with its contents."""
    own = msgspec.structs.asdict(entry)
    payload = own.pop("payload")
    program, tables = own.pop("program"), own.pop("tables")
    # what another hand wrote may bear any name
    contents = {key: value for key, value in payload.items() if key not in (*own, "program", "tables", "misfit")}
    why = misfit(entry)
    return {**own, **contents, "program": program, "tables": tables, **({"misfit": why} if why else {})}


def line(entry: Entry) -> dict[str, Any]:
    """An entry in a line."""
    return {
        "sequence": entry.sequence,
        "time_utc": entry.time_utc,
        "on": None if entry.kind == DOCUMENT or misfit(entry) else day_of(entry),
        "who": entry.who,
        "kind": entry.kind,
        "circuit": entry.circuit,
        "verdict": verdict(entry),
        "words": shown(in_words(entry)),
    }


def verdict(entry: Entry) -> str:
    """The verdict of an entry, empty where it has none; of a check that of what was read."""
    if misfit(entry):
        return ""
    if entry.kind == CHECK:
        return check_of(entry).judged.shown_word
    return str(entry.payload.get("judged", {}).get("verdict", ""))


def in_words(entry: Entry) -> str:
    """What an entry says, in one line."""
    if why := misfit(entry):
        return f"cannot be read ({why}): {msgspec.json.encode(entry.payload).decode()}"
    if entry.kind == DOCUMENT:
        kept = document_of(entry)
        return f"{kept.name}, SHA-256 {kept.sha256[:12]}"
    if entry.kind == CHECK:
        judged = check_of(entry).judged
        words = [told("{} / {} {}{}", r.circuit, r.run, _read(r), r.shown_word) for r in judged.runs if r.was_read]
        return join("; ", [*words, *([not_read(judged.unread)] if judged.unread else [])])
    if entry.kind == SIGNATURE:
        return f"signed for {', '.join(signature_of(entry).given.circuits)}"
    given = entry.payload["given"]
    path = given["field"] if entry.kind == ANSWER else []
    words = [
        told("{} {}", key.replace("_", " "), _plain(value, str(path[0]) if path and key == "value" else key))
        for key, value in given.items()
        if value != ""
    ]
    return join(", ", words)


def not_read(runs: int) -> str:
    """How many runs nobody read."""
    return f"{runs} run{'s' if runs > 1 else ''} not read"


def _read(run: ReadStation) -> str:
    return "" if run.tension_lbf is None else told("{} ", lbf(run.tension_lbf))


def _plain(value: Any, field: str) -> str:
    """The value of a field as it was typed, and in SI where the field holds a quantity."""
    if isinstance(value, dict):
        # what stands instead of a wrong entry has fields of its own
        return join("; ", [told("{}: {}", k, _plain(v, k if field == "instead" else field)) for k, v in value.items()])
    if isinstance(value, list):
        return join(" and ", [_plain(v, field) for v in value])
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:g}"
    for quantity in _quantities().get(field, ()):
        try:
            return told("{}", as_typed(quantity, str(value)))
        except UnitError:
            continue  # of another kind that has a field of this name
    return str(value)


@cache
def _quantities() -> dict[str, list[str]]:
    """The quantities that a field of this name may hold, over all kinds."""
    found: dict[str, list[str]] = {}
    for kind in KINDS.values():
        for key, (_, hint, _) in fields(kind.struct).items():
            leaf = next((a for a in _leaves(hint) if isinstance(a, Text)), None)
            if leaf is not None and leaf.name in QUANTITIES:
                found.setdefault(key, []).append(leaf.name)
    return found


def _leaves(hint: Any) -> Iterator[Any]:
    yield hint
    for inner in get_args(hint):
        yield from _leaves(inner)


def item(item: Item) -> dict[str, Any]:
    """An open item."""
    return {
        "circuit": item.circuit,
        "what": item.what,
        "of": item.of,
        "why": item.why,
        "who": item.who,
        "since": item.since,
    }


def status(status: Status) -> dict[str, Any]:
    """What is open and what closed the rest."""
    signed = status.last_signature
    return {
        "aircraft": status.aircraft,
        "open": [item(i) for i in status.open],
        "closed_by": {
            label: {"sequence": r.sequence, "who": r.who, "alone": r.alone} for label, r in status.closed_by.items()
        },
        "circuits_without_record": status.without_record,
        "never_recorded": status.never,
        "circuits_not_signed": status.unsigned,
        "programme": [due(d) for d in status.programme],
        "last_signature": None
        if signed is None
        else {"sequence": signed.sequence, "who": signed.who, "time_utc": signed.time_utc},
    }


def due(due: Due) -> dict[str, Any]:
    """A task of the programme, and when it comes next."""
    return {
        "task": due.task.task,
        "circuit": due.task.circuit,
        "every": due.every,
        "on": due.on,
        "at_hours": due.at_hours,
        "overdue": due.overdue,
        "last_entry": None if due.last is None else due.last.sequence,
        "source": due.task.source,
    }


def open_rows(status: Status) -> list[dict[str, Any]]:
    """Open items as rows."""
    return [{"aircraft": status.aircraft, **item(i)} for i in status.open]


def verified(state: ChainState) -> dict[str, Any]:
    """The ``log verify`` contract."""
    return {
        "entries": state.entries,
        "head_hash": state.head_hash,
        "intact": state.intact,
        "first_bad_entry": state.first_bad_entry,
        "why": state.why,
        "cannot_show": CANNOT_SHOW,
    }


def head(head: Head) -> dict[str, Any]:
    """Count and head hash."""
    return {"entries": head.entries, "head_hash": head.head_hash}


def kind(kind: Kind) -> dict[str, Any]:
    """A kind with its fields, and what each is written like."""
    return {
        "kind": kind.name,
        "means": " ".join((kind.struct.__doc__ or "").split("\n\n")[0].split()).replace("``", "'"),
        "belongs_to_a_circuit": kind.of_circuit,
        "fields": [
            {"name": key, "needed": required, "written": written(hint)}
            for key, (_, hint, required) in fields(kind.struct).items()
            if key not in NO_LONGER_WRITTEN.get(kind.name, ())
        ],
        "example": kind.example,
    }


def written(hint: Any) -> str:
    """How a field is written, in words."""
    args = get_args(hint)
    leaf = next((a for a in args if isinstance(a, Text)), None)
    if leaf is not None:
        return f"{leaf.name}, like {leaf.example}"
    origin = get_origin(hint)
    if origin is dict and args[1] is Any:
        return "name=value for each field that differs, written as in an entry of its kind"
    if origin is dict:
        return f"name=value for each; value: {written(args[1])}"
    if origin is list:
        return "one or more names"
    if origin is tuple and Ellipsis in args:
        return "one or more, like 31 32 31"
    if origin is tuple:
        return f"{len(args)} numbers, like 2 2"
    if any(a is type(None) for a in args):
        return written(next(a for a in args if a is not type(None)))
    if args and all(isinstance(a, str) for a in args):
        return " or ".join(args)
    return {bool: "yes or no", int: "a whole number", float: "a number"}.get(hint, "words")
