"""One step of a guided session after the other: shown, asked for, written, until it is signed.

Whatever cannot be written is asked for again or kept and tried again; only what is in the log is taken as done.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from rigging.cli.options import talk
from rigging.cli.session_answers import AGAIN, SKIP, STOP, Left, ScriptEndsError
from rigging.cli.session_fields import Fields
from rigging.errors import BadFile, Refusal
from rigging.told import quoting, told

if TYPE_CHECKING:
    from rigging.cli.session_bench import Bench
    from rigging.jobs.check import CheckResult
    from rigging.jobs.open_items import Status
    from rigging.jobs.session_step import Step

HOW: Final = (
    "An answer is asked for again until it can be read. 'again' begins a step anew, 'skip' leaves it out, with a reason; what it "
    "would have closed stays open. 'stop' ends here, and the same command goes on from there. '?' shows this."
)
GOES_ON: Final = "stopped; what was answered is in the log, and the same command goes on from here"


class Guide:
    """A session being led at a bench."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self.fields = Fields(bench)
        self.say, self.ask = bench.say, bench.ask
        bench.answers.how = HOW

    def lead(self) -> int:
        """All steps until the signature; returns the exit code."""
        while True:
            try:
                code = self._one()
            except KeyboardInterrupt:
                self.say(f"\n{GOES_ON}")
                return 130
            except ScriptEndsError as end:
                talk(f"{end}: {GOES_ON}, without --script or with the answers that are left")
                return 1
            except Left as left:
                if str(left) == STOP:
                    self.say(GOES_ON)
                    return 1
                raise
            if code is not None:
                return code

    def _one(self) -> int | None:
        """One step; the exit code where the session ends with it."""
        from rigging.jobs.session import begun, next_step
        from rigging.log.store import Moved

        self.bench.look()
        if begun(self.bench.entries) is None:
            self.say("this session was ended elsewhere: it is signed or withdrawn")
            return 1
        step = next_step(self.bench.rig, self.bench.entries)
        try:
            if self._too_old(step):
                return None
            return self._do(step)
        except Moved:
            self.say("someone else has written in this log meanwhile: looking again")
        except Left as left:
            if str(left) == SKIP:
                self._leave_out(step)
            elif str(left) == AGAIN:
                self._anew(step.again or (step.key,), "asked for by whoever rigs", step)
            else:
                raise
        return None

    def _too_old(self, step: Step) -> bool:
        """Whether the conditions must be written anew before this step, since they are of another time of the day."""
        from rigging.jobs.session import conditions_too_old

        if step.kind not in ("reading", "bridle"):
            return False
        why = conditions_too_old(self.bench.entries, self.bench.log.clock, self.bench.on)
        if not why:
            return False
        self.say(why)
        self._begin_again(("conditions",), why)
        return True

    def _begin_again(self, steps: tuple[str, ...], why: str) -> None:
        from rigging.jobs.session import do_again

        bench = self.bench
        bench.keep_trying(lambda: do_again(bench.log, bench.rig, steps, why, bench.who, bench.on))

    def _do(self, step: Step) -> int | None:
        from rigging.log.kinds import CHECK, SIGNATURE
        from rigging.report.text.console import console
        from rigging.report.text.session import hand_over, show_step

        if step.kind == CHECK:
            self._check(step)
            return None
        if step.kind == "inspection":
            hand_over(console(stderr=True))
        show_step(console(stderr=True), step, self.bench.si)
        if step.kind == SIGNATURE:
            return self._sign(step)
        if not step.kind:
            self.ask("  Enter looks again (or again, skip, stop): ", step.key)
            return None
        given, who = self.fields.ask(step)
        self._enter(step, given, who)
        return None

    def _enter(self, step: Step, given: dict[str, Any], who: str) -> None:
        from rigging.jobs.entering import enter, judge_given
        from rigging.log.kinds import kind_named

        circuit = step.circuit if kind_named(step.kind).of_circuit else ""
        try:
            _, came = judge_given(
                self.bench.log, self.bench.rig, step.kind, circuit, given, who, step.title, self.bench.on
            )
        except (Refusal, BadFile) as error:
            self._anew((step.key,), f"refused: {error}", step)
            self.bench.refuse(told("not written: {}", str(error)))
            return
        bench, kind = self.bench, step.kind
        entry = bench.keep_trying(
            lambda: enter(
                bench.log, bench.rig, kind, circuit, given, who, step.title, self._head_for(step), on=bench.on
            )
        )
        self.fields.unwritten.clear()
        judged = entry.payload["judged"]
        word = str(judged["verdict"])
        verdict = "" if word == "recorded" else f": {word.upper() if word == 'out' else word}"
        self.say(f"in the log: #{entry.sequence}{verdict}", "  ")
        for reason in judged["reasons"]:
            self.say(quoting(reason, came.reasons), "    ")

    def _head_for(self, step: Step) -> str:
        """The head of the log behind which this step is still the next. Raises Moved where another one is by now."""
        from rigging.jobs.session import begun, next_step
        from rigging.log.kinds import ANSWER, DOCUMENT
        from rigging.log.store import Moved

        head = self.bench.log.head().head_hash
        new = self.bench.take_in()
        if any(e.kind not in (ANSWER, DOCUMENT) for e in new):
            now = begun(self.bench.entries) and next_step(self.bench.rig, self.bench.entries)
            if not now or (now.key, now.after) != (step.key, step.after):
                raise Moved("")
        return head

    def _anew(self, steps: tuple[str, ...], reason: str, step: Step) -> None:
        """Begin steps anew; what was answered in them stays in the log and no longer counts."""
        begun = self.fields.begun(step)
        self.fields.unwritten.clear()
        if begun or steps != (step.key,):
            self._begin_again(steps, reason)

    def _leave_out(self, step: Step) -> None:
        from rigging.jobs.entering import enter
        from rigging.log.kinds import CHECK, SIGNATURE

        if step.kind in (CHECK, SIGNATURE):
            self.bench.refuse("this step cannot be left out")
            return
        try:
            reason = self.ask("  why is this step left out? (Enter: go back to it) ", f"{step.key}/left out")
        except Left as left:
            if str(left) == STOP:
                raise
            reason = ""
        if not reason:
            return
        given = {"step": step.key, "reason": reason}
        self.bench.keep_trying(
            lambda: enter(
                self.bench.log, self.bench.rig, "skipped", "", given, self.bench.who, step.title, on=self.bench.on
            )
        )
        self.fields.unwritten.clear()
        self.say("left out; what it would have closed stays open", "  ")

    def _check(self, step: Step) -> None:
        from rigging.jobs.check import check
        from rigging.jobs.recorded_check import record_check
        from rigging.jobs.session import session_readings, steady_since, withdraw_fallen
        from rigging.report import as_json as view
        from rigging.report.text.console import console
        from rigging.report.text.session import show_verdicts
        from rigging.sheet.readings import last_day

        readings = session_readings(self.bench.entries, step.circuit)
        since, state = steady_since(self.bench.entries), readings[0].state
        judged: list[CheckResult] = []

        def write() -> None:
            withdraw_fallen(self.bench.log, self.bench.rig, self.bench.entries, step.circuit, self.bench.who)
            self.bench.take_in()
            judged.append(check(self.bench.rig, readings, last_day(readings)))
            record_check(
                self.bench.log,
                self.bench.rig,
                judged[-1],
                readings,
                view.check,
                self.bench.who,
                None,
                None,
                since,
                state,
            )

        self.bench.keep_trying(write)
        show_verdicts(console(stderr=True), judged[-1], step.circuit, self.bench.si)

    def _sign(self, step: Step) -> int | None:
        from rigging.jobs.session import begun
        from rigging.jobs.sign import StillOpen, sign
        from rigging.jobs.under_way import ends
        from rigging.report.text.console import console
        from rigging.report.text.log import show_status

        session = begun(self.bench.entries)
        if session is None:
            return None
        asked = f"  sign as {self.bench.who}? (yes, again, stop): "
        while True:
            if self.ask(asked, step.key).lower() not in ("yes", "y"):
                self.bench.refuse("yes, again or stop")
                continue
            self.bench.answers.need_end()
            try:
                entry = sign(self.bench.log, self.bench.rig, self.bench.who, ends(session.sequence))
            except StillOpen as refused:
                show_status(console(stderr=True), self._in_units(refused.status), self.bench.si)
                self.say(str(refused))
                if step.again:
                    self.say(
                        "'again' takes up once more what is open in this session; write anything else with 'rigging log add'",
                        "  ",
                    )
                continue
            self.say(f"signed: #{entry.sequence} by {entry.who}. {entry.payload['given']['statement']}")
            return 0

    def _in_units(self, status: Status) -> Status:
        """What is open, in the units asked for: what the log quotes has its SI only once it is judged again."""
        from rigging.jobs.retold import status_retold

        return status_retold(self.bench.log, self.bench.rig, status) if self.bench.si else status
