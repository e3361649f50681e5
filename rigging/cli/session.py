"""``rigging session``: a whole rigging job, one step at a time; every answer is in the log at once."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Final

import typer

from rigging.cli.options import LogPlace, OnDay, SheetFile, Si, Who, day, explain, talk

if TYPE_CHECKING:
    from rigging.jobs.session import Step
    from rigging.log.entry import Entry
    from rigging.log.store import Log
    from rigging.sheet.rig import Rig

SKIP: Final = "skip"
STOP: Final = "stop"
HELP: Final = "?"
HOW: Final = (
    "An answer is asked again until it can be read. 'skip' leaves a step out, with a reason; what it would have closed stays open. "
    "'stop' ends here; the same command goes on from this step."
)

GOES_ON: Final = "stopped; every finished step is in the log, and the same command goes on from here"


class Left(Exception):
    """The person wants to leave a step out, or stop."""


def session(
    sheet: SheetFile,
    circuit: Annotated[
        list[str] | None, typer.Option(help="A circuit of the job; repeat for others. All of them where left out.")
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
    from rigging.errors import BadFile, UsageError
    from rigging.jobs.session import begun, next_step
    from rigging.sheet.load import load_rig

    if script is None and not sys.stdin.isatty():
        raise UsageError("run this at a terminal, or give the answers with --script FILE")
    today = day(on)
    rig = load_rig(sheet)
    if script is not None:
        try:
            sys.stdin = script.open(encoding="utf-8")
        except OSError as error:
            raise BadFile.one(script, f"cannot be read ({error.strerror})") from None
    who = who_writes(who)
    with log_of(rig, log_at, create=True) as log:
        _begin(log, rig, circuit or [], who)
        while True:
            entries = list(log.entries(aircraft=rig.aircraft))
            if begun(rig, entries) is None:
                return 0
            step = next_step(rig, entries, today)
            if step is None:
                return 0
            try:
                if not _do(log, rig, step, entries, who, today, si):
                    return 1
            except Left as left:
                if str(left) == STOP:
                    talk(GOES_ON)
                    return 1
                _leave_out(log, rig, step, who)
            except KeyboardInterrupt:
                talk(f"\n{GOES_ON}")
                return 130


def _begin(log: Log, rig: Rig, circuits: list[str], who: str) -> None:
    from rigging.errors import Refusal, nearest
    from rigging.jobs.entering import enter
    from rigging.jobs.session import begun

    for name in circuits:
        if name not in rig.file.circuits:
            raise Refusal(f"no circuit '{name}' in the sheet{nearest(name, rig.file.circuits)}")
    under_way = begun(rig, list(log.entries(aircraft=rig.aircraft)))
    if under_way is not None:
        have = under_way.payload["given"]["circuits"]
        if circuits and set(circuits) != set(have):
            raise Refusal(
                f"a session of {', '.join(have)} is under way (#{under_way.sequence}): end it first, or leave --circuit out"
            )
        talk(f"going on with the session of {', '.join(have)}, begun by {under_way.who} (#{under_way.sequence})")
        return
    wanted = circuits or list(rig.file.circuits)
    enter(log, rig, "session", "", {"circuits": wanted}, who, "session")
    explain(f"a session of {', '.join(wanted)} begins. {HOW}")


def _do(log: Log, rig: Rig, step: Step, entries: list[Entry], who: str, today: dt.date, si: bool) -> bool:
    """One step; False where the session ends with something open."""
    from rigging.log.kinds import CHECK, SIGNATURE
    from rigging.report.text.console import console
    from rigging.report.text.session import show_step

    if step.kind == CHECK:
        _check(log, rig, step, entries, who, today, si)
        return True
    show_step(console(stderr=True), step)
    if step.kind == SIGNATURE:
        return _sign(log, rig, who)
    given = _answers(rig, step)
    if step.kind == "inspection" and not given.get("alone"):
        who = _ask("  name of the second person: ")
    _enter(log, rig, step, given, who)
    return True


def _check(log: Log, rig: Rig, step: Step, entries: list[Entry], who: str, today: dt.date, si: bool) -> None:
    from rigging.jobs.check import check
    from rigging.jobs.recorded_check import record_check
    from rigging.jobs.session import conditions_of, session_readings
    from rigging.report import as_json as view
    from rigging.report.text.console import console
    from rigging.report.text.session import show_verdicts

    readings = session_readings(rig, entries, step.circuit, today)
    result = check(rig, readings, today)
    about = conditions_of(rig, entries)
    state = readings[0].state if readings else ""
    record_check(log, rig, result, readings, view.check, who, None, None, about, state)
    show_verdicts(console(stderr=True), result, step.circuit, si)


def _sign(log: Log, rig: Rig, who: str) -> bool:
    from rigging.jobs.sign import StillOpen, sign
    from rigging.report.text.console import console
    from rigging.report.text.log import show_status

    try:
        answer = _ask("  sign as " + who + "? (yes, stop): ")
        if answer.lower() not in ("yes", "y"):
            raise Left(STOP)
        entry = sign(log, rig, who)
    except StillOpen as refused:
        show_status(console(stderr=True), refused.status)
        talk(str(refused))
        return False
    explain(f"signed: #{entry.sequence} by {entry.who}. {entry.payload['given']['statement']}")
    return True


def _answers(rig: Rig, step: Step) -> dict[str, Any]:
    """Ask for the fields of a step, one by one."""
    from rigging.cli.questions import questions
    from rigging.log.kinds import kind_named

    kind = kind_named(step.kind)
    given = dict(step.given)
    if not step.ask:
        answer = _ask("  done? (yes, skip, stop): ")
        while answer.lower() not in ("yes", "y", "done"):
            answer = _ask("  yes, skip or stop: ")
        return given
    for question in questions(kind, step.ask, given, rig, step.circuit):
        question.answer(given, _ask)
    return given


def _enter(log: Log, rig: Rig, step: Step, given: dict[str, Any], who: str) -> None:
    from rigging.errors import BadFile, Refusal
    from rigging.jobs.entering import enter
    from rigging.log.kinds import kind_named

    of_circuit = kind_named(step.kind).of_circuit
    try:
        entry = enter(log, rig, step.kind, step.circuit if of_circuit else "", given, who, step.title)
    except (Refusal, BadFile) as error:
        # nothing was written: the same step comes again
        talk(f"  not written: {error}")
        return
    judged = entry.payload["judged"]
    talk(f"  in the log: #{entry.sequence}{'' if judged['verdict'] == 'recorded' else ', ' + judged['verdict']}")
    for reason in judged["reasons"]:
        explain(reason, "    ")


def _leave_out(log: Log, rig: Rig, step: Step, who: str) -> None:
    from rigging.jobs.entering import enter

    while not (reason := _ask("  why is this step left out? ", plain=True)):
        pass
    enter(log, rig, "skipped", "", {"step": step.key, "reason": reason}, who, step.title)
    talk("  left out; what it would have closed stays open")


def _ask(question: str, plain: bool = False) -> str:
    from rigging.cli.ask import ask_line

    while True:
        text = ask_line(question)
        if not plain and text.lower() in (SKIP, STOP):
            raise Left(text.lower())
        if text == HELP:
            explain(HOW, "  ")
            continue
        return text
