"""One step of a guided session after the other: shown, asked for, written, until it is signed.

Whatever cannot be written is asked for again or kept and tried again; only what is in the log is taken as done.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, TypeVar

from rigging.cli.session_answers import AGAIN, SKIP, STOP, Answers, Left, ScriptEndsError
from rigging.errors import BadFile, Refusal, RiggingError

if TYPE_CHECKING:
    from rigging.cli.questions import Question
    from rigging.jobs.session import Step
    from rigging.log.entry import Entry
    from rigging.log.store import Log
    from rigging.sheet.rig import Rig

T = TypeVar("T")

HOW: Final = (
    "An answer is asked for again until it can be read. 'again' begins a step anew, 'skip' leaves it out, with a reason; what it "
    "would have closed stays open. 'stop' ends here, and the same command goes on from there. '?' shows this."
)
GOES_ON: Final = "stopped; what was answered is in the log, and the same command goes on from here"
SECOND: Final = ("second person",)
DONE: Final = ("done",)
LONGEST_NAME: Final = 100


class Guide:
    """A session being led: its log, its sheet as it lies on the disk now, and who answers."""

    def __init__(self, log: Log, sheet: Path, rig: Rig, who: str, today: dt.date, si: bool, answers: Answers) -> None:
        self.log, self.sheet, self.rig, self.who, self.today, self.si = log, sheet, rig, who, today, si
        self.answers = answers
        self.say, self.ask = answers.say, answers.ask
        answers.how = HOW
        self.entries: list[Entry] = []
        # steps of which this run wrote an answer
        self.kept: set[tuple[str, int]] = set()
        # answers that could not be written yet, by the step and the entry behind which it stands
        self.unwritten: dict[tuple[str, int], dict[tuple[str, ...], Any]] = {}

    def lead(self) -> int:
        """All steps until the signature; returns the exit code."""
        while True:
            try:
                code = self._one()
            except KeyboardInterrupt:
                self.say(f"\n{GOES_ON}")
                return 130
            except ScriptEndsError as end:
                self.say(f"\nthe answers of {end} end here: {GOES_ON}")
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

        self._look()
        if begun(self.entries) is None:
            self.say("this session was ended elsewhere: it is signed or withdrawn")
            return 1
        step = next_step(self.rig, self.entries, self.today, self.si)
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

    def _look(self) -> None:
        """Take in what was written since, and the sheet as it is now."""
        self._take_in()
        self._reload()

    def _take_in(self) -> list[Entry]:
        start = self.entries[-1].sequence + 1 if self.entries else 1
        new = list(self.log.entries(aircraft=self.rig.names, start=start))
        self.entries += new
        return new

    def _reload(self) -> None:
        from rigging.sheet.load import load_rig

        while True:
            try:
                rig = load_rig(self.sheet)
                if rig.aircraft != self.rig.aircraft:
                    raise Refusal(
                        f"{self.sheet} is the sheet of {rig.aircraft} now, the session is of {self.rig.aircraft}"
                    )
            except RiggingError as error:
                self.say(str(error))
                self._wait("  mend that and press Enter (or stop): ")
                continue
            self.rig = rig
            return

    def _wait(self, question: str) -> None:
        try:
            self.ask(question)
        except Left as left:
            if str(left) == STOP:
                raise

    def _keep_trying(self, write: Callable[[], T]) -> T:
        """Write; where that cannot be done, say why and try again: an answer that was given is not lost."""
        from rigging.log.store import Moved

        while True:
            try:
                return write()
            except Moved:
                raise
            except RiggingError as error:
                self.say(f"not written yet: {error}", "  ")
                self._wait("  Enter tries again (or stop): ")
                self._reload()

    def _too_old(self, step: Step) -> bool:
        """Whether the conditions must be written anew before this step, since they are of another time of the day."""
        from rigging.jobs.session import conditions_age_h, do_again
        from rigging.jobs.session_log import CONDITIONS_HOLD

        if step.kind not in ("reading", "bridle"):
            return False
        age_h = conditions_age_h(self.entries, dt.datetime.now(dt.UTC))
        if age_h is None or age_h <= CONDITIONS_HOLD:
            return False
        why = f"the conditions were written {age_h:.1f} h ago: temperature has moved since"
        self.say(why)
        self._keep_trying(lambda: do_again(self.log, self.rig, ("conditions",), why, self.who))
        return True

    def _do(self, step: Step) -> int | None:
        from rigging.log.kinds import CHECK, SIGNATURE
        from rigging.report.text.console import console
        from rigging.report.text.session import hand_over, show_step

        if step.kind == CHECK:
            self._check(step)
            return None
        if step.kind == "inspection":
            hand_over(console(stderr=True))
        show_step(console(stderr=True), step)
        if step.kind == SIGNATURE:
            return self._sign(step)
        if not step.kind:
            self.ask("  Enter looks again (or again, skip, stop): ")
            return None
        given, who = self._fields(step)
        self._enter(step, given, who)
        return None

    def _fields(self, step: Step) -> tuple[dict[str, Any], str]:
        """Ask for what is not answered yet; each answer is written before the next question, the last with its step."""
        import copy

        from rigging.cli.questions import put, questions

        given = copy.deepcopy(step.given)
        place = (step.key, step.after)
        for key in [k for k in self.unwritten if k != place]:
            self.say("someone else answered that meanwhile: yours was not written")
            del self.unwritten[key]
        held = self.unwritten.setdefault(place, {})
        answered = {**step.answered, **held}
        for path, value in answered.items():
            if path not in (SECOND, DONE):
                put(given, path, value)
        if not step.ask and DONE not in answered:
            while self.ask("  done? (yes, skip, stop): ").lower() not in ("yes", "y", "done"):
                self.say("yes, skip or stop", "  ")
            held[DONE] = True
        while True:
            question = self._next(step, given, answered, questions)
            who = str(answered.get(SECOND, self.who))
            if question is None:
                return given, who
            for path, value in list(held.items()):
                self._keep(step, path, value, who)
                del held[path]
            if question.path == SECOND:
                value = self._second(step)
            else:
                value = question.answer(given, self.ask, lambda words: self.say(words, "  "))
            answered[question.path] = held[question.path] = value

    def _keep(self, step: Step, path: tuple[str, ...], value: Any, who: str) -> None:
        from rigging.jobs.session import keep_answer

        self._keep_trying(lambda: keep_answer(self.log, self.rig, step, path, value, who))
        self.kept.add((step.key, step.after))

    def _next(
        self, step: Step, given: dict[str, Any], answered: dict[tuple[str, ...], Any], questions: Any
    ) -> Question | None:
        """The next question of a step; None where all are answered."""
        from rigging.cli.questions import Question
        from rigging.log.kinds import kind_named

        asked = questions(kind_named(step.kind), step.ask, given, self.rig, step.circuit, step.suggested)
        for question in asked:
            if question.path in answered:
                continue
            # whoever writes is named before they write
            first = step.kind == "inspection" and question.path != ("alone",) and not given.get("alone")
            return Question("", SECOND, str, True) if first and SECOND not in answered else question
        return None

    def _second(self, step: Step) -> str:
        from rigging.jobs.judged import plain

        own = plain(self.who) not in map(plain, step.not_by)
        while True:
            name = self.ask(f"  name of the second person{f' [Enter: {self.who}]' if own else ''}: ")
            name = " ".join(name.split()) or (self.who if own else "")
            if not name:
                self.say("a name is needed here", "  ")
            elif len(name) > LONGEST_NAME:
                self.say(f"a name of {LONGEST_NAME} letters at most", "  ")
            elif plain(name) in map(plain, step.not_by):
                self.say(f"{name} did the work on {step.circuit}: another name, or 'again' and then alone=yes", "  ")
            else:
                return name

    def _enter(self, step: Step, given: dict[str, Any], who: str) -> None:
        from rigging.jobs.entering import enter, judge_given
        from rigging.log.kinds import kind_named

        circuit = step.circuit if kind_named(step.kind).of_circuit else ""
        try:
            judge_given(self.log, self.rig, step.kind, circuit, given, who, step.title)
        except (Refusal, BadFile) as error:
            self.say(f"not written: {error}", "  ")
            self._anew((step.key,), f"refused: {error}", step)
            return
        entry = self._keep_trying(
            lambda: enter(self.log, self.rig, step.kind, circuit, given, who, step.title, self._head_for(step))
        )
        self.unwritten.clear()
        judged = entry.payload["judged"]
        word = str(judged["verdict"])
        verdict = "" if word == "recorded" else f": {word.upper() if word == 'out' else word}"
        self.say(f"in the log: #{entry.sequence}{verdict}", "  ")
        for reason in judged["reasons"]:
            self.say(reason, "    ")

    def _head_for(self, step: Step) -> str:
        """The head of the log behind which this step is still the next. Raises Moved where another one is by now."""
        from rigging.jobs.session import begun, next_step
        from rigging.log.kinds import ANSWER, DOCUMENT
        from rigging.log.store import Moved

        head = self.log.head().head_hash
        new = self._take_in()
        if any(e.kind not in (ANSWER, DOCUMENT) for e in new):
            now = begun(self.entries) and next_step(self.rig, self.entries, self.today, self.si)
            if not now or (now.key, now.after) != (step.key, step.after):
                raise Moved("")
        return head

    def _anew(self, steps: tuple[str, ...], reason: str, step: Step) -> None:
        """Begin steps anew; what was answered in them stays in the log and no longer counts."""
        from rigging.jobs.session import do_again

        kept = step.answered or (step.key, step.after) in self.kept
        self.unwritten.clear()
        if kept or steps != (step.key,):
            self._keep_trying(lambda: do_again(self.log, self.rig, steps, reason, self.who))

    def _leave_out(self, step: Step) -> None:
        from rigging.jobs.entering import enter
        from rigging.log.kinds import CHECK, SIGNATURE

        if step.kind in (CHECK, SIGNATURE):
            self.say("this step cannot be left out", "  ")
            return
        try:
            reason = self.ask("  why is this step left out? (Enter: go back to it) ")
        except Left as left:
            if str(left) == STOP:
                raise
            reason = ""
        if not reason:
            return
        given = {"step": step.key, "reason": reason}
        self._keep_trying(lambda: enter(self.log, self.rig, "skipped", "", given, self.who, step.title))
        self.unwritten.clear()
        self.say("left out; what it would have closed stays open", "  ")

    def _check(self, step: Step) -> None:
        from rigging.jobs.check import check
        from rigging.jobs.recorded_check import record_check
        from rigging.jobs.session import conditions_of, session_readings, withdraw_fallen
        from rigging.report import as_json as view
        from rigging.report.text.console import console
        from rigging.report.text.session import show_verdicts

        readings = session_readings(self.entries, step.circuit)
        about, state = conditions_of(self.entries), readings[0].state

        def write() -> None:
            withdraw_fallen(self.log, self.rig, self.entries, step.circuit, self.who)
            self._take_in()
            result = check(self.rig, readings, self.today)
            record_check(self.log, self.rig, result, readings, view.check, self.who, None, None, about, state)

        self._keep_trying(write)
        shown = check(self.rig, readings, self.today, si=self.si)
        show_verdicts(console(stderr=True), shown, step.circuit, self.si)

    def _sign(self, step: Step) -> int | None:
        from rigging.jobs.session import begun, ends
        from rigging.jobs.sign import StillOpen, sign
        from rigging.report.text.console import console
        from rigging.report.text.log import show_status

        session = begun(self.entries)
        if session is None:
            return None
        asked = f"  sign as {self.who}? (yes, again, stop): "
        while True:
            if self.ask(asked).lower() not in ("yes", "y"):
                self.say("yes, again or stop", "  ")
                continue
            try:
                entry = sign(self.log, self.rig, self.who, ends(session))
            except StillOpen as refused:
                show_status(console(stderr=True), refused.status)
                self.say(str(refused))
                if step.again:
                    self.say(
                        "'again' takes up once more what is open in this session; write anything else with 'rigging log add'",
                        "  ",
                    )
                continue
            self.say(f"signed: #{entry.sequence} by {entry.who}. {entry.payload['given']['statement']}")
            return 0
