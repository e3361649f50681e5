"""A check written in the log with everything it went by, and the same sum run again years later."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import msgspec

from rigging import __version__
from rigging.errors import Refusal, RiggingError
from rigging.jobs.check import CheckResult
from rigging.jobs.entering import plain_values, table_hashes, write
from rigging.jobs.kept import KeptRigs
from rigging.jobs.run_again import check_again, judge_again
from rigging.jobs.snapshot import Kept, keep
from rigging.log import kinds
from rigging.log.contents import misfit
from rigging.log.entry import Entry
from rigging.sheet.readings import Reading
from rigging.sheet.rig import Rig
from rigging.told import Amount, as_text, told
from rigging.units import lbf_to_newton, with_article
from rigging.yamlfile import read_bytes

if TYPE_CHECKING:
    from rigging.log.store import Log

View = Callable[[CheckResult], Mapping[str, Any]]
COMPARED = (
    "verdict", "side", "tension_lbf", "uncertainty_lbf", "low_lbf", "high_lbf", "tension_at_reference_lbf", "refusal",
)  # fmt: skip
CLOSE = 1e-6  # share; what another processor or version of numpy may make of the same sum


class Recomputed(msgspec.Struct, frozen=True):
    """The same sum run again. stands: whether its verdict and figures are those written down.

    differences: what is not, in words. notes: program or tables that are other ones now.
    """

    sequence: int
    stands: bool
    differences: tuple[str, ...]
    notes: tuple[str, ...]


def record_check(
    log: Log,
    rig: Rig,
    result: CheckResult,
    readings: Sequence[Reading],
    view: View,
    who: str,
    at_degF: float | None,
    readings_file: Path | None,
    steady_since: str,
    state: str,
) -> Entry:
    """Write a check in the log. view: the ``check`` contract of a result, which is what is kept of it.

    steady_since, state: since when the temperature is steady and the state of the aircraft, in the user's words.
    """
    kept = keep(rig)
    if readings_file is not None:
        text = read_bytes(readings_file).decode("utf-8")
        kept = Kept(kept.sheet, {**kept.texts, readings_file.name: text})
    given = {
        "readings": list(readings),
        "at_degF": at_degF,
        "on": result.today.isoformat(),
        "steady_since": steady_since,
        "state": state,
    }
    return write(log, rig, kinds.CHECK, "", who, {"given": given, "judged": view(result)}, kept, on=result.today)


def recompute(log: Log, sequence: int, view: View) -> Recomputed:
    """Run the sum of an entry again, from what the log holds of it. Raises Refusal where there is no sum in it."""
    return recomputing(log, view)(sequence)


def recomputing(log: Log, view: View) -> Callable[[int], Recomputed]:
    """The same for many entries: those that went by the same files share one sheet laid out and read."""
    rigs = KeptRigs(log)
    return lambda sequence: _recompute(log, sequence, view, rigs)


def _recompute(log: Log, sequence: int, view: View, rigs: KeptRigs) -> Recomputed:
    entry = log.entry(sequence)
    if "judged" not in entry.payload or entry.kind == kinds.SIGNATURE:
        raise Refusal(f"entry {sequence} is {with_article(entry.kind)}: there is no sum in it to run again")
    if why := misfit(entry):
        return Recomputed(sequence, False, (f"cannot be run again: {why}",), ())
    notes = []
    if entry.program != __version__:
        notes.append(f"written by version {entry.program}, run again by {__version__}")
    now = table_hashes()
    changed = sorted(name for name, sha256 in entry.tables.items() if now.get(name) != sha256)
    if changed:
        notes.append(f"handbook tables that have changed since: {', '.join(changed)}")
    try:
        rig = rigs.of(entry)
        again = _compare_check(rig, entry, view) if entry.kind == kinds.CHECK else _compare_judged(rig, log, entry)
    except RiggingError as error:
        return Recomputed(sequence, False, (f"cannot be run again: {error}",), tuple(notes))
    differences = tuple(again)
    return Recomputed(sequence, not differences, differences, tuple(notes))


def _compare_check(rig: Rig, entry: Entry, view: View) -> list[str]:
    new = plain_values(view(check_again(rig, entry)))
    old = entry.payload["judged"]
    differences = []
    if new["verdict"] != old["verdict"]:
        differences.append(f"the verdict was {old['verdict']}, it is {new['verdict']}")
    if len(new["runs"]) != len(old["runs"]):
        differences.append(f"{len(old['runs'])} stations were judged, now {len(new['runs'])}")
    for before, now in zip(old["runs"], new["runs"], strict=False):
        place = f"{before['circuit']} / {before['run']} {before['station']}".strip()
        differences += [
            told("{}: {} was {}, it is {}", place, _name(key), _told(key, before.get(key)), _told(key, now.get(key)))
            for key in COMPARED
            if not _same(before.get(key), now.get(key))
        ]
    return differences


def _compare_judged(rig: Rig, log: Log, entry: Entry) -> list[str]:
    again = judge_again(log, rig, entry)
    if again is None:
        return []
    new = msgspec.to_builtins(again, enc_hook=as_text)
    old = entry.payload["judged"]
    return [
        f"{key} was {_show(old.get(key))}, it is {_show(new.get(key))}"
        for key in ("verdict", "usable_for_sign_off")
        if old.get(key) != new.get(key)
    ]


def _same(a: Any, b: Any) -> bool:
    if isinstance(a, float | int) and isinstance(b, float | int):
        return abs(a - b) <= CLOSE * max(1.0, abs(a), abs(b))
    return bool(a == b)


def _name(key: str) -> Amount:
    return Amount(key, key.removesuffix("_lbf").replace("_", " "))


def _told(key: str, value: Any) -> object:
    """A value that is compared; forces to more digits than anywhere else, since that is where they may differ."""
    if not key.endswith("_lbf") or value is None:
        return _show(value)
    return Amount(_show(value), f"{lbf_to_newton(value):.6g} N")


def _show(value: Any) -> str:
    return f"{value:.6g}" if isinstance(value, float) else str(value)
