"""``rigging sign``: close a rigging job."""

from __future__ import annotations

from typing import Annotated

import typer

from rigging.cli.options import AsJson, LogPlace, SheetFile, Who, explain, put_json, talk


def sign(
    sheet: SheetFile,
    who: Who = None,
    remark: Annotated[str, typer.Option(help="Words beside the signature.")] = "",
    log_at: LogPlace = None,
    as_json: AsJson = False,
) -> int:
    """Sign what was recorded since the last signature; refused while anything is open.

    Exit code 0: signed. 1: not signed, and what is open is shown, with who must close it.

    Example: rigging sign examples/harbour/sheet.yaml --who "R. Tern"
    """
    from rigging.cli.log_place import log_of, who_writes
    from rigging.jobs.sign import StillOpen
    from rigging.jobs.sign import sign as close
    from rigging.report import log_data as view
    from rigging.sheet.load import load_rig

    rig = load_rig(sheet)
    name = who_writes(who)
    with log_of(rig, log_at) as log:
        try:
            entry = close(log, rig, name, remark)
        except StillOpen as refused:
            if as_json:
                put_json({"signed": False, **view.status(refused.status)})
            else:
                from rigging.report.text.console import console
                from rigging.report.text.log import show_status

                show_status(console(), refused.status)
                talk(str(refused))
            return refused.exit_code
    if as_json:
        put_json({"signed": True, **view.entry(entry)})
    else:
        talk(f"signed: #{entry.sequence} by {entry.who}, for {', '.join(entry.payload['given']['circuits'])}")
        for circuit, words in entry.payload["given"]["never_recorded"].items():
            explain(f"nothing is recorded of {circuit}: {', '.join(words)}")
        explain(entry.payload["given"]["statement"])
    return 0
