"""``rigging session``: a whole rigging job, one step at a time; every answer is in the log at once."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from rigging.cli import completion
from rigging.cli.options import LogPlace, OnDay, SheetFile, Si, Who, day_given

if TYPE_CHECKING:
    import datetime as dt

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
        Path | None,
        typer.Option(
            help="Answers from a file, a line each: QUESTION: ANSWER, e.g. conditions/structure: 54F.", readable=False
        ),
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
    of_day = day_given(on)
    rig = load_rig(sheet)
    answers = Answers(script)
    if None not in (of_day, answers.on) and of_day != answers.on:
        raise UsageError(f"--on says {of_day}, {script} says {answers.on}: keep the right one")
    of_day = of_day or answers.on
    who = who_writes(who)
    with log_of(rig, log_at, create=True) as log:
        of_day = _begin(log, rig, circuit or [], who, of_day, answers)
        return Guide(Bench(log, sheet, rig, who, of_day, si, answers)).lead()


def _begin(log: Log, rig: Rig, circuits: list[str], who: str, on: dt.date | None, answers: Answers) -> dt.date | None:
    """Begin a session, or go on with the one under way; returns the day gone by that it is of, None where it has none."""
    from rigging.cli.session_guide import HOW
    from rigging.errors import Refusal, nearest
    from rigging.jobs.entering import enter
    from rigging.jobs.session import begun
    from rigging.jobs.session_day import day_to_begin, day_to_go_on
    from rigging.log.contents import sort_out

    for name in circuits:
        if name not in rig.file.circuits:
            raise Refusal(f"no circuit '{name}' in the sheet{nearest(name, rig.file.circuits)}")
    entries = sort_out(log.entries(aircraft=rig.names))[0]
    under_way = begun(entries)
    if under_way is not None:
        have = under_way.payload["given"]["circuits"]
        if circuits and set(circuits) != set(have):
            raise Refusal(
                f"a session of {', '.join(have)} is under way (#{under_way.sequence}): go on with it and leave --circuit "
                f"out, or withdraw it: rigging log add correction {rig.path} --corrects {under_way.sequence} --reason ..."
            )
        answers.goes_on = True
        on = day_to_go_on(entries, under_way, on, log.clock)
        answers.say(f"going on with the session of {', '.join(have)}, begun by {under_way.who} (#{under_way.sequence})")
    else:
        wanted = list(dict.fromkeys(circuits)) or list(rig.file.circuits)
        on = day_to_begin(entries, wanted, on, log.clock)
        enter(log, rig, "session", "", {"circuits": wanted}, who, "session", on=on)
        answers.say(f"a session of {', '.join(wanted)} begins. {HOW}")
    if on is not None:
        answers.say(f"all of it is written down as read and done on {on}, and not today")
    return on
