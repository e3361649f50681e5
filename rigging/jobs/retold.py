"""The sentences of a log entry made once more: a record keeps them in US units, and these hold themselves in SI too."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import msgspec

from rigging.errors import RiggingError
from rigging.jobs.check import CheckResult
from rigging.jobs.kept import KeptRigs
from rigging.jobs.open_items import Status
from rigging.jobs.run_again import check_again, judge_again
from rigging.log.contents import misfit
from rigging.log.entry import Entry
from rigging.log.kinds import CHECK, SIGNATURE
from rigging.sheet.rig import Rig
from rigging.told import quoting

if TYPE_CHECKING:
    from rigging.log.store import Log


def sentences_of(result: CheckResult) -> list[str]:
    """Every sentence of a check that a record keeps."""
    runs = [sentence for r in result.runs for sentence in (r.refusal, *r.reasons, r.action)]
    return [*runs, *(drag.words for drag in result.comparison.drag)]


def check_retold(rig: Rig, check: Entry) -> list[str]:
    """The sentences that a check comes to by a sheet; none where they cannot be made again."""
    try:
        return sentences_of(check_again(rig, check))
    except RiggingError:
        return []


def retold(log: Log, entry: Entry, rig_of: Callable[[Entry], Rig]) -> list[str]:
    """The sentences that an entry comes to by a sheet, like the one it went by (``KeptRigs(log).of``); none where they cannot
    be made again."""
    if "judged" not in entry.payload or entry.kind == SIGNATURE or misfit(entry):
        return []
    try:
        rig = rig_of(entry)
        if entry.kind == CHECK:
            return check_retold(rig, entry)
        again = judge_again(log, rig, entry)
    except RiggingError:
        return []
    return [] if again is None else list(again.reasons)


def status_retold(log: Log, rig: Rig, status: Status) -> Status:
    """What is open, with the sentences that it quotes of the log in SI too."""
    numbers = {item.since for item in status.open if item.since is not None}
    entries = {n: log.entry(n) for n in numbers}
    went_by = KeptRigs(log).of
    made = {n: [*retold(log, e, went_by), *retold(log, e, lambda _: rig)] for n, e in entries.items()}
    items = [msgspec.structs.replace(i, why=quoting(i.why, made.get(i.since or 0, ()))) for i in status.open]
    return msgspec.structs.replace(status, open=tuple(items))
