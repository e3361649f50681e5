"""Writing in the log: what was typed is read, judged against the sheet, and kept with the files it was judged by."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Mapping
from functools import cache
from typing import TYPE_CHECKING, Any

import msgspec

from rigging import __version__, tables
from rigging.errors import Refusal, UsageError, nearest
from rigging.jobs.circuit_history import history_of
from rigging.jobs.judged import judged
from rigging.jobs.judgement import Judged
from rigging.jobs.kept import kept_files
from rigging.jobs.parts import need_part
from rigging.jobs.people import is_one_of, name_of
from rigging.jobs.snapshot import Kept, keep, sha256_of
from rigging.log import fields, kinds
from rigging.log.contents import day_of, misfit
from rigging.log.entry import Draft, Entry, hours_between
from rigging.sheet.rig import Rig
from rigging.told import as_text
from rigging.units import with_article

if TYPE_CHECKING:
    from rigging.log.store import Log


def enter(
    log: Log,
    rig: Rig,
    kind: str,
    circuit: str,
    given: dict[str, Any],
    who: str,
    place: str,
    after: str | None = None,
    clock_is_right: bool = False,
    on: dt.date | None = None,
) -> Entry:
    """Write one entry of a kind that people write.

    given: the fields as typed, with their units. place: where they come from, for messages. after: the head of the log
    that it rests on, where it rests on one. clock_is_right: although the last entry lies ahead of it. on: the day of what
    it tells; that of its writing where left out, or of the entry that it corrects. Raises BadFile with every problem of
    what was typed, Refusal: a circuit or part the sheet does not know, an inspection by the same person, a day to come;
    Moved: someone else wrote after that head.
    """
    circuit, result = judge_given(log, rig, kind, circuit, given, who, place, on)
    if on is None and kind == kinds.CORRECTION:
        on = day_of(log.entry(int(given["corrects"])))
    payload = {"given": given, "judged": result}
    return write(log, rig, kind, circuit, who, payload, keep(rig), after, clock_is_right, on)


def judge_given(
    log: Log,
    rig: Rig,
    kind: str,
    circuit: str,
    given: dict[str, Any],
    who: str,
    place: str,
    on: dt.date | None = None,
) -> tuple[str, Judged]:
    """The circuit of an entry and what it would come to, without writing it. Raises as ``enter`` does."""
    log.clock.need_past(on)
    needed = kinds.kind_named(kind)
    if needed.of_circuit and not circuit:
        raise UsageError(
            f"{with_article(kind)} entry belongs to a circuit: name it with --circuit{nearest('', rig.file.circuits)}"
        )
    if circuit and circuit not in rig.file.circuits:
        raise Refusal(f"no circuit '{circuit}' in the sheet{nearest(circuit, rig.file.circuits)}")
    read = kinds.read_given(kind, given, place)
    if isinstance(read, fields.Correction):
        circuit, result = _correction(log, rig, read, place)
    else:
        result = _judged_now(rig, kind, circuit, read)
    if isinstance(read, fields.Inspection):
        result = _independent(log, rig, circuit, read, who, result, on or log.clock.today())
    return circuit, result


def write(
    log: Log,
    rig: Rig,
    kind: str,
    circuit: str,
    who: str,
    payload: Mapping[str, Any],
    kept: Kept,
    after: str | None = None,
    clock_is_right: bool = False,
    on: dt.date | None = None,
) -> Entry:
    """Append an entry, and before it whichever of the kept files the log does not hold yet; all of it or nothing.

    on: the day of what it tells, that of its writing where left out. Raises Refusal: a day to come.
    """
    who = name_of(who)
    log.clock.need_past(on)
    today = log.clock.today()
    dated: dict[str, Any] = {"on": on or today, **({"dated_back": True} if on not in (None, today) else {})}
    have = {kept.payload.sha256 for kept in kept_files(log, rig.names)}
    drafts = [
        Draft(who, kinds.DOCUMENT, rig.aircraft, "", {"name": name, "sha256": sha256_of(text), "text": text})
        for name, text in kept.texts.items()
        if sha256_of(text) not in have
    ]
    whole = {**plain_values({**payload, **dated}), "sheet": kept.sheet, "documents": kept.hashes}
    drafts.append(Draft(who, kind, rig.aircraft, circuit, whole))
    written = log.append(drafts, program=__version__, tables=table_hashes(), after=after, clock_is_right=clock_is_right)
    return written[-1]


def plain_values(payload: Mapping[str, Any]) -> dict[str, Any]:
    """Structs, words and dates as JSON has them; an infinity becomes null. Raises Refusal for half a character."""
    try:
        return msgspec.json.decode(msgspec.json.encode(payload, enc_hook=as_text), type=dict[str, Any])
    except (UnicodeEncodeError, OverflowError, msgspec.MsgspecError) as error:
        raise Refusal(f"this cannot be kept as it is ({error}): type it again") from None


@cache
def table_hashes() -> dict[str, str]:
    """SHA-256 of every handbook table this program brought."""
    folder = tables.folder()
    return {name: hashlib.sha256((folder / f"{name}.yaml").read_bytes()).hexdigest() for name in tables.table_ids()}


def _correction(log: Log, rig: Rig, read: fields.Correction, place: str) -> tuple[str, Judged]:
    wrong = log.entry(read.corrects)
    if wrong.aircraft not in rig.names:
        raise Refusal(f"entry {read.corrects} is of {wrong.aircraft}, the sheet of {rig.aircraft}")
    if wrong.kind in (kinds.DOCUMENT, kinds.SIGNATURE) and not misfit(wrong):
        raise Refusal(f"entry {read.corrects} is {with_article(wrong.kind)}: it stands as it is")
    if read.instead is None:
        return wrong.circuit, Judged("recorded")
    if wrong.kind in kinds.BY_PROGRAM or wrong.kind == "correction":
        raise Refusal(
            f"entry {read.corrects} is {with_article(wrong.kind)}: withdraw it, and write it again by its own command"
        )
    given = kinds.read_given(wrong.kind, read.instead, f"{place}: instead")
    if isinstance(given, fields.Inspection):
        raise Refusal("an inspection is not corrected in part: withdraw it, and let the second person write a new one")
    return wrong.circuit, _judged_now(rig, wrong.kind, wrong.circuit, given)


def _judged_now(rig: Rig, kind: str, circuit: str, read: msgspec.Struct) -> Judged:
    """What something comes to that is written now; what was written before parts were held to the sheet stays readable."""
    if isinstance(read, fields.Condition):
        need_part(rig, circuit, read.part)
    if isinstance(read, fields.Safetying) and read.wire and not read.names_wire:
        raise Refusal(fields.WIRE_NEEDED)
    return judged(rig, kind, circuit, read)


def _independent(
    log: Log, rig: Rig, circuit: str, read: fields.Inspection, who: str, result: Judged, on: dt.date
) -> Judged:
    history = history_of(log, rig).circuits.get(circuit)
    workers = history.workers if history else {}
    if is_one_of(who, workers.values()) and not read.alone:
        raise Refusal(
            f"{name_of(who)} did the work on {circuit}: the inspection is for another person (write both names in full where they "
            "are alike); where there is none, write it as alone, with the reason and the pause before looking again"
        )
    if not read.alone:
        return result
    reasons = [*result.reasons, f"inspected alone, by {name_of(who)}: {read.reason}"]
    changed = history.changed if history else None
    if changed is not None and read.pause_h is not None:
        if changed.dated_back or on != log.clock.today():
            # only the days are known
            apart_h = 24.0 * ((on - changed.day).days + 1)
            apart = f"at most {apart_h:.0f} h lie between {changed.day} and {on}"
        else:
            apart_h = hours_between(changed.time_utc, log.clock.now().isoformat())
            apart = f"{apart_h:.1f} h lie between this entry and that of the change"
        if apart_h < read.pause_h:
            reasons.append(f"a pause of {read.pause_h:.3g} h is stated; {apart}")
    return msgspec.structs.replace(result, reasons=tuple(reasons))
