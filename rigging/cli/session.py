"""``rigging session``: a whole rigging job, one step at a time; every answer is in the log at once."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from rigging.cli import completion
from rigging.cli.options import LogPlace, OnDay, SheetFile, Si, Who, day

if TYPE_CHECKING:
    from rigging.cli.session_answers import Answers
    from rigging.log.store import Log
    from rigging.sheet.rig import Rig


def session(
    sheet: SheetFile,
    circuit: Annotated[
        list[str] | None,
        typer.Option(
            help="A circuit of the job; repeat for others. All of them where left out.",
            autocompletion=completion.circuits,
        ),
    ] = None,
    who: Who = None,
    script: Annotated[
        Path | None, typer.Option(help="Answers from a file, a line each, as they would be typed.", readable=False)
    ] = None,
    log_at: LogPlace = None,
    on: OnDay = None,
    si: Si = False,
) -> int:
    """A whole rigging job, one step at a time: condition, pins, tension, turns, travel, direction, safetying, second person, sign.

    It can be stopped at any moment: every answer is in the log at once, and the same command goes on from there.

    Exit code 0: signed. 1: stopped before that, or something is still open.

    Example: rigging session examples/reedling/sheet.yaml --circuit elevator --who "A. Finch" --script examples/reedling/session.txt --log-at job.riglog
    """
    import sys

    from rigging.cli.log_place import log_of, who_writes
    from rigging.cli.session_answers import Answers
    from rigging.cli.session_bench import Bench
    from rigging.cli.session_guide import Guide
    from rigging.errors import UsageError
    from rigging.sheet.load import load_rig

    if script is None and not sys.stdin.isatty():
        raise UsageError("run this at a terminal, or give the answers with --script FILE")
    if script is not None and (who is None or not who.strip()):
        raise UsageError("who writes this? Give the name with --who")
    today = day(on)
    rig = load_rig(sheet)
    answers = Answers(script)
    who = who_writes(who)
    with log_of(rig, log_at, create=True) as log:
        _begin(log, rig, circuit or [], who, answers)
        return Guide(Bench(log, sheet, rig, who, today, si, answers)).lead()


def _begin(log: Log, rig: Rig, circuits: list[str], who: str, answers: Answers) -> None:
    from rigging.cli.session_guide import HOW
    from rigging.errors import Refusal, nearest
    from rigging.jobs.entering import enter
    from rigging.jobs.session import begun
    from rigging.log.contents import sort_out

    for name in circuits:
        if name not in rig.file.circuits:
            raise Refusal(f"no circuit '{name}' in the sheet{nearest(name, rig.file.circuits)}")
    under_way = begun(sort_out(log.entries(aircraft=rig.names))[0])
    if under_way is not None:
        have = under_way.payload["given"]["circuits"]
        if circuits and set(circuits) != set(have):
            raise Refusal(
                f"a session of {', '.join(have)} is under way (#{under_way.sequence}): go on with it and leave --circuit "
                f"out, or withdraw it: rigging log add correction {rig.path} --corrects {under_way.sequence} --reason ..."
            )
        answers.say(f"going on with the session of {', '.join(have)}, begun by {under_way.who} (#{under_way.sequence})")
        return
    wanted = list(dict.fromkeys(circuits)) or list(rig.file.circuits)
    enter(log, rig, "session", "", {"circuits": wanted}, who, "session")
    answers.say(f"a session of {', '.join(wanted)} begins. {HOW}")
