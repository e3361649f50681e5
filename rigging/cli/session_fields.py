"""The answers of one step of a guided session: asked for one by one, each in the log before the next question."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from rigging.cli.questions import Question
    from rigging.cli.session_bench import Bench
    from rigging.jobs.session_step import Step

SECOND: Final = ("second person",)
DONE: Final = ("done",)
LONGEST_NAME: Final = 100


def _key(step: Step, path: tuple[str, ...]) -> str:
    """By which a file of answers has a field of a step."""
    return "/".join(filter(None, (*step.key.split("/"), *path)))


class Fields:
    """The fields that are asked for, and what of them is not in the log yet."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        # steps of which this run wrote an answer
        self.kept: set[tuple[str, int]] = set()
        # answers that could not be written yet, by the step and the entry behind which it stands
        self.unwritten: dict[tuple[str, int], dict[tuple[str, ...], Any]] = {}

    def begun(self, step: Step) -> bool:
        """Whether an answer of this step is in the log."""
        return bool(step.answered) or (step.key, step.after) in self.kept

    def ask(self, step: Step) -> tuple[dict[str, Any], str]:
        """Ask for what is not answered yet; each answer is written before the next question, the last with its step."""
        import copy

        from rigging.cli.questions import put, questions

        given = copy.deepcopy(step.given)
        place = (step.key, step.after)
        for key in [k for k in self.unwritten if k != place]:
            self.bench.say("someone else answered that meanwhile: yours was not written")
            del self.unwritten[key]
        held = self.unwritten.setdefault(place, {})
        answered = {**step.answered, **held}
        for path, value in answered.items():
            if path not in (SECOND, DONE):
                put(given, path, value)
        if not step.ask and DONE not in answered:
            while self.bench.ask("  done? (yes, skip, stop): ", step.key).lower() not in ("yes", "y", "done"):
                self.bench.refuse("yes, skip or stop")
            held[DONE] = True
        while True:
            question = self._next(step, given, answered, questions)
            who = str(answered.get(SECOND, self.bench.who))
            if question is None:
                return given, who
            for path, value in list(held.items()):
                self._keep(step, path, value, who)
                del held[path]
            if question.path == SECOND:
                value = self._second(step)
            else:
                value = question.answer(
                    given, partial(self.bench.ask, key=_key(step, question.path)), self.bench.refuse
                )
            answered[question.path] = held[question.path] = value

    def _keep(self, step: Step, path: tuple[str, ...], value: Any, who: str) -> None:
        from rigging.jobs.session import keep_answer

        self.bench.keep_trying(
            lambda: keep_answer(self.bench.log, self.bench.rig, step, path, value, who, self.bench.on)
        )
        self.kept.add((step.key, step.after))

    def _next(
        self, step: Step, given: dict[str, Any], answered: dict[tuple[str, ...], Any], questions: Any
    ) -> Question | None:
        """The next question of a step; None where all are answered."""
        from rigging.cli.questions import Question
        from rigging.log.kinds import kind_named

        asked = questions(kind_named(step.kind), step.ask, given, self.bench.rig, step.circuit, step.suggested)
        for question in asked:
            if question.path in answered:
                continue
            # whoever writes is named before they write
            first = step.kind == "inspection" and question.path != ("alone",) and not given.get("alone")
            return Question("", SECOND, str, True) if first and SECOND not in answered else question
        return None

    def _second(self, step: Step) -> str:
        from rigging.errors import Refusal
        from rigging.jobs.people import is_one_of, name_of

        own = not is_one_of(self.bench.who, step.not_by)
        while True:
            asked = f"  name of the second person{f' [Enter: {self.bench.who}]' if own else ''}: "
            name = self.bench.ask(asked, _key(step, SECOND))
            if not any(c.isalnum() for c in name) and (name or not own):
                self.bench.refuse("a name is needed here")
                continue
            try:
                name = name_of(name or self.bench.who)
            except Refusal as refused:
                self.bench.refuse(str(refused))
                continue
            if len(name) > LONGEST_NAME:
                self.bench.refuse(f"a name of {LONGEST_NAME} letters at most")
            elif is_one_of(name, step.not_by):
                self.bench.refuse(
                    f"{name} did the work on {step.circuit} (write both names in full where they are alike): another name, or "
                    "'again' and then alone=yes"
                )
            else:
                return name
