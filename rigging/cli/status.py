"""``rigging status``: what is open on an aircraft."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from rigging.cli.options import AsCsv, AsJson, LogPlace, Si, only_one, put_csv, put_json, talk


def status(
    sheets: Annotated[
        list[Path], typer.Argument(help="One rig sheet, or several: a hangar.", show_default=False, readable=False)
    ],
    log_at: LogPlace = None,
    as_json: AsJson = False,
    as_csv: AsCsv = False,
    si: Si = False,
) -> int:
    """What is open: what changed, what must be looked at again, and by whom; and what the programme has next.

    Exit code 0: nothing is open or overdue. 1: something is.

    Example: rigging status examples/harbour/sheet.yaml
    """
    from rigging.cli.log_place import log_of
    from rigging.jobs.retold import status_retold
    from rigging.jobs.standing import standing
    from rigging.report import log_data as view
    from rigging.sheet.load import load_rig

    only_one(as_json, as_csv)
    found = []
    broken = []
    for sheet in sheets:
        rig = load_rig(sheet)
        with log_of(rig, log_at) as log:
            state = standing(log, rig)
            found.append(status_retold(log, rig, state) if si else state)
            chain = log.verify()
            broken.append(not chain.intact)
            if not chain.intact:
                talk(f"{log.place}: BROKEN at entry {chain.first_bad_entry}: {chain.why}; nothing after it is proven")
    if as_json:
        shown = [view.status(s) for s in found]
        put_json(shown[0] if len(shown) == 1 else shown)
    elif as_csv:
        put_csv([row for s in found for row in view.open_rows(s)], view.OPEN)
    else:
        from rigging.report.text.console import console
        from rigging.report.text.log import show_status

        for one, breaks_off in zip(found, broken, strict=True):
            show_status(console(), one, si, breaks_off)
    return 1 if any(broken) or any(s.open or any(d.overdue for d in s.programme) for s in found) else 0
