"""The steps of a guided session in the order of the bench, each until the log says that it was done."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from typing import Any, Final

import msgspec

from rigging.errors import Refusal
from rigging.jobs.check import CAUTIONS
from rigging.jobs.circuit_history import brief
from rigging.jobs.judged import turnbuckles
from rigging.jobs.limit_line import limits_under
from rigging.jobs.open_items import Item, status
from rigging.jobs.plan import plan
from rigging.jobs.session_log import Told
from rigging.judge.limits import Condition, Limits
from rigging.log.kinds import CHECK, SIGNATURE, read_given
from rigging.measure.card import Card, dial_window, lbf_to_dial
from rigging.sheet.circuit import Circuits
from rigging.sheet.readings import Reading
from rigging.sheet.rig import Rig, Run
from rigging.units import show_force

CYCLES: Final = 5  # practice


class Step(msgspec.Struct, frozen=True):
    """One step.

    key: its name, for leaving it out. kind: of the entry that answers it, empty where nothing can be written; a check
    and a signature the program writes itself. figure: the figures of the step, to be drawn large. big: what to read
    from a distance. given: fields that are known. ask: fields to be asked for, in order. suggested: what Enter takes.
    answered: answers that are in the log already. after: the entry behind which an answer counts. again: the steps that
    are meant by doing it again, this one where empty. not_by: who cannot answer it.
    """

    key: str
    kind: str
    circuit: str
    title: str
    big: tuple[str, ...] = ()
    figure: str = ""
    why: tuple[str, ...] = ()
    given: dict[str, Any] = {}
    ask: tuple[str, ...] = ()
    suggested: dict[str, Any] = {}
    answered: dict[tuple[str, ...], Any] = {}
    after: int = 0
    again: tuple[str, ...] = ()
    not_by: tuple[str, ...] = ()


class Steps:
    """The steps of a session on a sheet, as its log stands."""

    def __init__(self, rig: Rig, told: Told, today: dt.date, si: bool) -> None:
        self.rig, self.told, self.today, self.si = rig, told, today, si
        self.models = Circuits(rig)
        self.circuits = [c for c in told.circuits if c in rig.file.circuits]

    def unless_done(self, step: Step, after: int, **fields: str) -> Iterator[Step]:
        """The step, unless it was answered or left out later than entry ``after`` and than its being asked for anew."""
        after = max(after, self.told.again(step.key))
        if self.told.ended(step.key, step.kind, step.circuit, **fields) <= after:
            yield msgspec.structs.replace(step, after=after, answered=self.told.answers(step.key, after))

    def steps(self) -> Iterator[Step]:
        """The steps that are still to be done, the first of them first."""
        before = self.told.conditions[-1:]
        step = Step("conditions", "conditions", "", "The aircraft before anything is read",
                    why=("wings, nose wheel, seats and loads as the manual says; structure temperature, not that of the air",),
                    ask=("state", "structure", "air", "steady_since"),
                    suggested={"state": before[0].given["state"]} if before else {})  # fmt: skip
        yield from self.unless_done(step, 0)
        for circuit in self.circuits:
            yield from self.rigging(circuit)
        for circuit in self.circuits:
            yield from self.whole(circuit)
        for circuit in self.circuits:
            yield from self.second(circuit)
        yield Step("sign", SIGNATURE, "", "Sign", why=CAUTIONS, again=self.to_reopen())

    def rigging(self, circuit: str) -> Iterator[Step]:
        """Condition, pins, neutral, tension, and what to turn."""
        entry = self.rig.file.circuits[circuit]
        for name in entry.cables:
            step = Step(f"{circuit}/condition/{name}", "condition", circuit, f"Condition of the cable {name}",
                        given={"part": name}, ask=("broken_wires", "worn", "internal_corrosion"))  # fmt: skip
            yield from self.unless_done(step, self.told.fitted(circuit, name), part=name)
        changed, opened = self.told.changed(circuit), self.told.opened(circuit)
        pins = self.told.last("pins", circuit)
        if pins is None or (not pins.payload["given"].get("inserted") and changed > pins.sequence):
            step = Step(f"{circuit}/pins", "pins", circuit, f"Rig pins of {circuit} in", big=("PINS IN",),
                        why=(f"held in the sheet: {', '.join(entry.hold)}",), given={"inserted": True})  # fmt: skip
            yield from self.unless_done(step, changed if pins else 0)
        if changed:
            yield from self.rest_of_plan(circuit, changed)
            step = Step(f"{circuit}/cycle", "cycled", circuit, "Move the controls stop to stop",
                        big=(f"{CYCLES} TIMES",), figure=str(CYCLES), ask=("times",),
                        why=("pins out for it and in again afterwards; return to neutral",))  # fmt: skip
            yield from self.unless_done(step, changed)
        for name in entry.surfaces:
            step = Step(f"{circuit}/neutral/{name}", "neutral", circuit, f"Neutral of {name}", given={"surface": name},
                        ask=("offset", "instrument"), why=("+ is as the sheet says for its sector",))  # fmt: skip
            yield from self.unless_done(step, opened, surface=name)
        for run in (r for r in self.rig.runs if r.circuit == circuit):
            for station in run.entry.stations or [""]:
                yield from self.unless_done(self.reading(run, station), changed, run=run.name, station=station)
        yield from self.judge(circuit, changed)

    def reading(self, run: Run, station: str) -> Step:
        """Read one run at one station; in big what the dial should show, for each riser that is on a card."""
        given: dict[str, Any] = {"run": run.name, "station": station}
        choices = [(card, riser) for card in self.rig.cards.values() for riser in card.risers(run.cable.size)]
        if len(self.rig.cards) == 1:
            given["tensiometer"] = next(iter(self.rig.cards))
            if len(choices) == 1:
                given["riser"] = choices[0][1]
        limits = self.limits(run)
        shown = [self.dial(card, riser, run, limits) for card, riser in choices]
        figure = shown[0][0] if len(shown) == 1 else ""
        big = [line for _, line in shown]
        if limits is not None:
            low, high = show_force(limits.low_lbf, self.si, unit=False), show_force(limits.high_lbf, self.si)
            big.append(f"{low} TO {high} TODAY")
        place = f"{run.name}, {station}" if station else run.name
        return Step(
            _reading_key(run, station), "reading", run.circuit, f"Tension of {run.circuit} / {place}", tuple(big), figure,
            ("read three times, more than 6 in from fittings, pulleys and fairleads",), given,
            tuple(key for key in ("tensiometer", "riser", "dial") if key not in given),
        )  # fmt: skip

    def dial(self, card: Card, riser: int, run: Run, limits: Limits | None) -> tuple[str, str]:
        """The dial window of one riser: as a figure, and in words."""
        which = f"{card.serial}, " if len(self.rig.cards) > 1 else ""
        if limits is None:
            return "", f"{which}RISER {riser}"
        try:
            column = card.column(riser, run.cable.size)
            low, high = dial_window(column, limits.low_lbf, limits.high_lbf, card.division)
            aim = f"AIM FOR {lbf_to_dial(column, limits.target_lbf):.0f}"
        except Refusal:
            return "", f"{which}RISER {riser}: TODAY'S LIMITS LIE OUTSIDE ITS CARD"
        return f"{low:g} - {high:g}", f"{which}RISER {riser}: DIAL {low:g} TO {high:g}, {aim}"

    def limits(self, run: Run) -> Limits | None:
        """The limits of a run under the newest conditions, as a check takes them; None where there are none to give."""
        if not self.told.conditions:
            return None
        about: Any = read_given("conditions", self.told.conditions[-1].given, "conditions")
        condition = Condition(about.structure_degF, self.rig.file.thermometer_half_width_degF, None, about.air_degF)
        try:
            return limits_under(self.models, run, condition)
        except Refusal:
            return None

    def judge(self, circuit: str, changed: int) -> Iterator[Step]:
        """The check, and the next turn of a plan where it found something."""
        readings = self.told.readings(circuit, changed)
        if not readings:
            return
        judged_at = self.told.judged_at(circuit)
        if judged_at < self.told.read_at(circuit, changed):
            yield Step(f"{circuit}/check", CHECK, circuit, f"Verdicts of {circuit}")
            return
        found = [f"{i.of}: {i.why}" for i in self.open_in(circuit) if i.what == "tension"] + self.neutrals_out(circuit)
        key = f"{circuit}/turn"
        if found and self.told.ended(key, "adjustment", circuit) <= max(judged_at, self.told.again(key)):
            yield from self.unless_done(self.turn(circuit, readings, found, judged_at), judged_at)

    def rest_of_plan(self, circuit: str, changed: int) -> Iterator[Step]:
        """The next turn of a plan of which nothing but its own turns were given so far, until the controls are moved."""
        judged_at = self.told.judged_at(circuit)
        turned = [e for e in self.told.changes(circuit) if e.sequence > judged_at]
        moved = max(self.told.ended(f"{circuit}/{k}", "cycled", circuit) for k in ("cycle", "turn"))
        if not judged_at or moved > changed or any(e.kind != "adjustment" for e in turned):
            return
        given = [e.payload["given"] for e in turned]
        readings = self.told.readings(circuit, self.told.changed(circuit, before=judged_at))
        step = self.turn(circuit, readings, (), judged_at, [(g["turnbuckle"], g["half_turns"]) for g in given])
        if step.suggested:
            yield from self.unless_done(step, changed)

    def turn(
        self,
        circuit: str,
        readings: Sequence[Reading],
        found: Sequence[str],
        judged_at: int,
        turned: Sequence[tuple[str, int]] = (),
    ) -> Step:
        """The next turn of a plan from these readings; where there is none, the reason, to read again or leave it open.

        turned: turns that were given since; where they are not those of the plan, there is no next one.
        """
        again = tuple(
            _reading_key(r, s) for r in self.rig.runs if r.circuit == circuit for s in r.entry.stations or [""]
        )
        ways_out = "'again' reads this circuit once more; 'skip' leaves it open"
        key = f"{circuit}/turn"
        if not turnbuckles(self.rig.file.circuits[circuit]):
            why = (*found, "the sheet names no turnbuckle in this circuit", ways_out)
            return Step(key, "", circuit, f"{circuit}: nothing to turn", why=why, again=again)
        ask = ("turnbuckle", "half_turns", "threads_showing")
        title = f"{circuit}: nothing to turn by plan"
        by_hand = Step(key, "adjustment", circuit, title, why=tuple(found), ask=ask, again=again)
        try:
            rig = self.with_threads(circuit, judged_at)
            result = plan(rig, circuit, readings, self.today, neutral_deg=self.neutrals(circuit))
        except Refusal as error:
            return msgspec.structs.replace(by_hand, why=(*found, f"no plan: {error}", ways_out))
        why = (*found, *result.findings, *result.stopped_by)
        done = len(turned)
        if done >= len(result.steps) or [(s.turnbuckle, s.half_turns) for s in result.steps[:done]] != list(turned):
            return msgspec.structs.replace(by_hand, why=(*why, ways_out))
        now = result.steps[done]
        then = ", ".join(f"{name} {show_force(t, self.si)}" for name, t in now.tensions_lbf.items())
        count = f"{abs(now.half_turns)} HALF TURN{'S' * (abs(now.half_turns) != 1)}"
        showing = now.threads_showing
        threads = (f"threads showing afterwards: {showing[0]:g} and {showing[1]:g}",) if showing else ()
        return msgspec.structs.replace(
            by_hand,
            title=f"Turn: step {done + 1} of {len(result.steps)}",
            big=(f"{now.direction.upper()} the turnbuckle of {now.turnbuckle}: {count}",),
            figure=f"{now.half_turns:+d}",
            why=(
                *why, f"then about: {then}", *threads, "same number of threads at both ends; Enter takes what is planned, "
                "type what was turned where it differs",
            ),
            suggested={"turnbuckle": now.turnbuckle, "half_turns": now.half_turns},
        )  # fmt: skip

    def with_threads(self, circuit: str, before: int) -> Rig:
        """The sheet with the threads that showed at an entry."""
        showing = self.told.threads(circuit, before)

        def now(run: Run) -> Run:
            own = run.entry.turnbuckle
            if run.circuit != circuit or own is None or run.name not in showing:
                return run
            entry = msgspec.structs.replace(
                run.entry, turnbuckle=msgspec.structs.replace(own, threads_showing=showing[run.name])
            )
            return msgspec.structs.replace(run, entry=entry)

        return msgspec.structs.replace(self.rig, runs=tuple(now(run) for run in self.rig.runs))

    def free_surfaces(self, circuit: str) -> Iterator[tuple[str, str, dict[str, Any]]]:
        """Each surface that its cables can move, the sector it sits on, and the entry of its neutral."""
        entry = self.rig.file.circuits[circuit]
        for name, surface in entry.surfaces.items():
            seen = self.told.last("neutral", circuit, surface=name)
            if seen is not None and surface.sector in entry.sectors and surface.sector not in entry.hold:
                yield name, surface.sector, seen.payload

    def neutrals(self, circuit: str) -> dict[str, float]:
        """Where the sectors of the surfaces rest [deg], as last seen."""
        found: dict[str, float] = {}
        for _, sector, payload in self.free_surfaces(circuit):
            given: Any = read_given("neutral", payload["given"], "neutral")
            found[sector] = given.offset_deg
        return found

    def neutrals_out(self, circuit: str) -> list[str]:
        """Surfaces that rest off their mark, in words."""
        return [
            f"{name}: neutral is out: {'; '.join(payload['judged']['reasons'])}"
            for name, _, payload in self.free_surfaces(circuit)
            if payload["judged"]["verdict"] == "out"
        ]

    def whole(self, circuit: str) -> Iterator[Step]:
        """What the whole circuit must show once its tension stands."""
        entry = self.rig.file.circuits[circuit]
        changed, opened = self.told.changed(circuit), self.told.opened(circuit)
        pins = self.told.last("pins", circuit)
        out = pins is not None and not pins.payload["given"].get("inserted") and pins.sequence > changed
        if not out:
            step = Step(f"{circuit}/pins out", "pins", circuit, f"Rig pins of {circuit} out", ("PINS OUT",),
                        given={"inserted": False})  # fmt: skip
            yield from self.unless_done(step, max(changed, pins.sequence if pins else 0))
        for name, surface in entry.surfaces.items():
            bands = tuple(f"{way.upper()} {band.text}" for way, band in surface.travel.items())
            for step in (
                Step(f"{circuit}/travel/{name}", "travel", circuit, f"Travel of {name}", bands, "",
                     ("from neutral, each way to its stop",), {"surface": name}, ("ways", "instrument")),
                Step(f"{circuit}/stops/{name}", "stops", circuit, f"Stops of {name}: which touches first", (), "",
                     (surface.stops,) if surface.stops else (), {"surface": name}, ("touches_first", "cushion")),
                Step(f"{circuit}/direction/{name}", "direction", circuit, f"Direction of movement: {name}", (), "",
                     ("look at the surface itself, never at how the cables lie",), {"surface": name}, ("seen",)),
            ):  # fmt: skip
                if not (surface.moves if step.kind == "direction" else surface.travel):
                    lacks = "how it must move ('moves')" if step.kind == "direction" else "its 'travel'"
                    why = (f"the sheet does not give {lacks}: add it there, with its source, and press Enter",)
                    step = msgspec.structs.replace(step, kind="", why=why)  # noqa: PLW2901
                yield from self.unless_done(step, opened, surface=name)
        step = Step(f"{circuit}/friction", "friction", circuit, f"Friction of {circuit}", (), "",
                    ("spring scale at the grip, moved slowly one way and the other",), {},
                    ("pull_one", "pull_other", "where"))  # fmt: skip
        yield from self.unless_done(step, opened)
        if entry.bridle is not None:
            step = Step(f"{circuit}/bridle", "bridle", circuit, f"Bridle {entry.bridle.name}", (entry.bridle.limits.text,), "",
                        ("main circuit first, then the bridle",), {},
                        ("tension", "uncertainty", "structure", "instrument"))  # fmt: skip
            yield from self.unless_done(step, opened)
        for name in turnbuckles(entry):
            step = Step(f"{circuit}/safetying/{name}", "safetying", circuit, f"Secure the turnbuckle of {name}", (), "",
                        ("witness holes and threads looked at",), {"turnbuckle": name},
                        ("method", "wire", "remark", "threads_showing", "safe"))  # fmt: skip
            yield from self.unless_done(step, self.told.opened(circuit, name), turnbuckle=name)

    def second(self, circuit: str) -> Iterator[Step]:
        """The second person's own look."""
        secured = [e.sequence for e in self.told.entries if e.circuit == circuit and e.kind == "safetying"]
        step = Step(
            f"{circuit}/inspection", "inspection", circuit, f"{circuit}: the second person", ("ANOTHER PERSON NOW",), "",
            ("hand over: what you see, not what the first wrote; alone=yes where there is nobody, with reason and pause",), {},
            ("alone", "reason", "pause", "seen", "secured", "free_over_full_travel", "tools_removed"),
            not_by=tuple(self.told.history(circuit).workers.values()),
        )  # fmt: skip
        yield from self.unless_done(step, max([self.told.opened(circuit), *secured]))

    def open_in(self, circuit: str) -> tuple[Item, ...]:
        """What is open in a circuit now."""
        return status(self.rig, map(brief, self.told.all)).of_circuit(circuit)

    def to_reopen(self) -> tuple[str, ...]:
        """The steps that could close what is open in the circuits of the session."""
        found: list[str] = []
        for circuit in self.circuits:
            runs = [r for r in self.rig.runs if r.circuit == circuit]
            for item in self.open_in(circuit):
                if item.what in ("tension", "drag"):
                    read = [r for r in runs if item.of in ("", r.name)]
                    found += [_reading_key(r, s) for r in read for s in r.entry.stations or [""]]
                elif item.what not in ("threads", "circuit"):
                    found.append(f"{circuit}/{item.what}/{item.of}" if item.of else f"{circuit}/{item.what}")
        return tuple(dict.fromkeys(found))


def _reading_key(run: Run, station: str) -> str:
    return f"{run.circuit}/reading/{run.name}/{station}"
