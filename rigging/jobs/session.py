"""A guided rigging session: which step is next, read from the log alone.

Nothing else is remembered, so a session that was stopped, or whose computer was switched off, goes on where
the last answer was written. A change of a turnbuckle makes the steps it calls in question come again.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from typing import Any, Final

import msgspec

from rigging.errors import Refusal
from rigging.jobs.check import CAUTIONS
from rigging.jobs.circuit_history import brief
from rigging.jobs.judged import turnbuckles
from rigging.jobs.limit_line import limits_at
from rigging.jobs.open_items import status
from rigging.jobs.plan import plan
from rigging.log.entry import Entry
from rigging.log.kinds import CHECK, DOCUMENT, SIGNATURE, read_given
from rigging.measure.card import dial_window, lbf_to_dial
from rigging.sheet.circuit import Circuits
from rigging.sheet.readings import Reading
from rigging.sheet.rig import Rig, Run
from rigging.units import parse_temperature_degF, show_force, show_temperature

CYCLES: Final = 5  # practice


class Step(msgspec.Struct, frozen=True):
    """One step. key: its name, for leaving it out. kind: of the entry that answers it.

    figure: the figures of the step, to be drawn large. big: what to read from a distance. given: fields that are known. ask: fields to be asked for, in order; a kind
    that the program writes itself (a check, a signature) asks for nothing.
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


def begun(rig: Rig, entries: Sequence[Entry]) -> Entry | None:
    """The session that is not signed yet, None where there is none."""
    found = None
    for entry in entries:
        if entry.kind == "session":
            found = entry
        elif (
            entry.kind == SIGNATURE
            and found is not None
            and set(found.payload["given"]["circuits"]) <= set(entry.payload["given"]["circuits"])
        ):
            found = None
    return found


def next_step(rig: Rig, entries: Sequence[Entry], today: dt.date) -> Step | None:
    """The next step of the session under way; None where all of it is done. Raises Refusal where none was begun."""
    session = begun(rig, entries)
    if session is None:
        raise Refusal("no session is under way: begin one")
    return next(_Steps(rig, session, entries, today).steps(), None)


class _Steps:
    def __init__(self, rig: Rig, session: Entry, entries: Sequence[Entry], today: dt.date) -> None:
        self.rig, self.session, self.today = rig, session, today
        self.models = Circuits(rig)
        self.all = [e for e in entries if e.kind != DOCUMENT]
        self.circuits = [c for c in session.payload["given"]["circuits"] if c in rig.file.circuits]
        withdrawn = {int(e.payload["given"]["corrects"]) for e in self.all if e.kind == "correction"}
        self.entries = [e for e in self.all if e.sequence > session.sequence and e.sequence not in withdrawn]

    def last(self, kind: str, circuit: str = "", **fields: str) -> Entry | None:
        """The newest entry of a kind in this session whose fields are these."""
        for entry in reversed(self.entries):
            given = entry.payload.get("given", {})
            if (
                entry.kind == kind
                and entry.circuit == circuit
                and all(given.get(k, "") == v for k, v in fields.items())
            ):
                return entry
        return None

    def done(self, step: Step, after: int, **fields: str) -> bool:
        """Whether a step was answered, or left out, later than entry ``after``."""
        answered = self.last(step.kind, step.circuit, **fields)
        left_out = self.last("skipped", step=step.key)
        return max((e.sequence for e in (answered, left_out) if e is not None), default=0) > after

    def changed(self, circuit: str, turnbuckle: str | None = None) -> int:
        """The newest change of a circuit in this session, 0 where there is none."""
        return max(
            (
                e.sequence
                for e in self.entries
                if e.circuit == circuit
                and e.kind in ("adjustment", "cable-fitted")
                and turnbuckle in (None, e.payload["given"].get("turnbuckle"), e.payload["given"].get("cable"))
            ),
            default=0,
        )

    def steps(self) -> Iterator[Step]:
        """The steps that are still to be done, the first of them first."""
        step = Step("conditions", "conditions", "", "The aircraft before anything is read",
                    why=("wings, nose wheel, seats and loads as the manual says; structure temperature, not that of the air",),
                    ask=("state", "structure", "air", "steady_since"))  # fmt: skip
        if not self.done(step, 0):
            yield step
        for circuit in self.circuits:
            yield from self.rigging(circuit)
        for circuit in self.circuits:
            yield from self.whole(circuit)
        for circuit in self.circuits:
            yield from self.second(circuit)
        yield Step("sign", SIGNATURE, "", "Sign", why=CAUTIONS)

    def rigging(self, circuit: str) -> Iterator[Step]:
        """Condition, pins, neutral, tension, and what to turn."""
        entry = self.rig.file.circuits[circuit]
        for name in entry.cables:
            step = Step(f"{circuit}/condition/{name}", "condition", circuit, f"Condition of the cable {name}",
                        given={"part": name}, ask=("broken_wires", "worn", "internal_corrosion"))  # fmt: skip
            if not self.done(step, 0, part=name):
                yield step
        step = Step(f"{circuit}/pins", "pins", circuit, f"Rig pins of {circuit} in", big=("PINS IN",),
                    why=(f"held in the sheet: {', '.join(entry.hold)}",), given={"inserted": True})  # fmt: skip
        if self.last("pins", circuit) is None and not self.done(step, 0):
            yield step
        changed = self.changed(circuit)
        if changed:
            step = Step(f"{circuit}/cycle", "cycled", circuit, "Move the controls stop to stop",
                        big=(f"{CYCLES} TIMES",), figure=str(CYCLES), ask=("times",),
                        why=("pins out for it and in again afterwards; return to neutral",))  # fmt: skip
            if not self.done(step, changed):
                yield step
        for name in entry.surfaces:
            step = Step(f"{circuit}/neutral/{name}", "neutral", circuit, f"Neutral of {name}", given={"surface": name},
                        ask=("offset", "instrument"), why=("+ is as the sheet says for its sector",))  # fmt: skip
            if not self.done(step, changed, surface=name):
                yield step
        for run in (r for r in self.rig.runs if r.circuit == circuit):
            for station in run.entry.stations or [""]:
                step = self.reading(run, station)
                if not self.done(step, changed, run=run.name, station=station):
                    yield step
        yield from self.judge(circuit, changed)

    def reading(self, run: Run, station: str) -> Step:
        """Read one run at one station; in big what the dial should show."""
        cards = list(self.rig.cards.values())
        given: dict[str, Any] = {"run": run.name, "station": station}
        big: list[str] = []
        figure = ""
        ask = ["dial"]
        if len(cards) == 1:
            given["tensiometer"] = cards[0].serial
            risers = cards[0].risers(run.cable.size)
            if len(risers) == 1:
                given["riser"] = risers[0]
                big.append(f"RISER {risers[0]}")
            else:
                ask.insert(0, "riser")
        else:
            ask = ["tensiometer", "riser", "dial"]
        limits = self.limits(run)
        if limits is not None:
            low_lbf, target_lbf, high_lbf = limits
            if "riser" in given:
                try:
                    column = cards[0].column(given["riser"], run.cable.size)
                    low, high = dial_window(column, low_lbf, high_lbf, cards[0].division)
                    figure = f"{low:g} - {high:g}"
                    big.insert(0, f"DIAL {low:g} TO {high:g}, AIM FOR {lbf_to_dial(column, target_lbf):.0f}")
                except Refusal:
                    pass
            big.append(f"{show_force(low_lbf, unit=False)} TO {show_force(high_lbf)} TODAY")
        place = f"{run.name}, {station}" if station else run.name
        return Step(
            f"{run.circuit}/reading/{run.name}/{station}", "reading", run.circuit, f"Tension of {run.circuit} / {place}",
            tuple(big), figure, ("read three times, more than 6 in from fittings, pulleys and fairleads",), given, tuple(ask),
        )  # fmt: skip

    def limits(self, run: Run) -> tuple[float, float, float] | None:
        """Low, target and high limit today [lbf] for the big figures; None where there is none to give."""
        conditions = self.last("conditions")
        if conditions is None:
            return None
        structure_degF = parse_temperature_degF(conditions.payload["given"]["structure"])
        try:
            found = limits_at(self.models, run, structure_degF)
        except Refusal:
            return None
        if found is None:
            return None
        return found.low_lbf, found.target_lbf, found.high_lbf

    def readings(self, circuit: str, after: int = 0) -> list[Reading]:
        """Every reading of a circuit since its last change, as a check takes them."""
        conditions = self.last("conditions")
        if conditions is None:
            return []
        about = read_given("conditions", conditions.payload["given"], "conditions")
        newest: dict[tuple[str, str], Entry] = {}
        for entry in self.entries:
            if entry.kind == "reading" and entry.circuit == circuit and entry.sequence > after:
                newest[entry.payload["given"]["run"], entry.payload["given"].get("station", "")] = entry
        return [
            Reading(
                circuit, given["run"], given.get("station", ""), int(given["riser"]), float(dial), str(dial),
                given["tensiometer"], about.air_degF, about.structure_degF, None, about.state,  # type: ignore[attr-defined]
            )
            for given in (e.payload["given"] for e in newest.values())
            for dial in given["dial"]
        ]  # fmt: skip

    def judge(self, circuit: str, changed: int) -> Iterator[Step]:
        """The check, and the next turn of a plan where it found something."""
        readings = self.readings(circuit, changed)
        newest = max((e.sequence for e in self.entries if e.kind == "reading" and e.circuit == circuit), default=0)
        check = self.last(CHECK)
        if readings and self.judged_at(circuit) < newest:
            yield Step(f"{circuit}/check", CHECK, circuit, f"Verdicts of {circuit}")
            return
        if not readings or check is None:
            return
        open_now = [i for i in status(self.rig, map(brief, self.all)).of_circuit(circuit) if i.what == "tension"]
        if not open_now:
            return
        step = self.turn(circuit, readings, [f"{i.of}: {i.why}" for i in open_now])
        if not self.done(step, self.judged_at(circuit)):
            yield step

    def judged_at(self, circuit: str) -> int:
        """The newest check that took this circuit's readings."""
        for entry in reversed(self.entries):
            if entry.kind == CHECK and any(
                r["circuit"] == circuit and (r["tension_lbf"] is not None or r["refusal"])
                for r in entry.payload["judged"]["runs"]
            ):
                return entry.sequence
        return 0

    def turn(self, circuit: str, readings: Sequence[Reading], found: Sequence[str]) -> Step:
        """The first turn of a plan for the circuit; where there is none, the reason, to read again or leave it open."""
        key = f"{circuit}/turn"
        again = Step(key, "adjustment", circuit, f"{circuit}: nothing to turn by plan", why=tuple(found),
                     ask=("turnbuckle", "half_turns", "threads_showing"))  # fmt: skip
        try:
            result = plan(self.rig, circuit, readings, self.today, neutral_deg=self.neutrals(circuit))
        except Refusal as error:
            return msgspec.structs.replace(again, why=(*found, f"no plan: {error}"))
        why = (*found, *result.findings, *result.stopped_by)
        if not result.steps:
            return msgspec.structs.replace(again, why=why)
        first = result.steps[0]
        then = ", ".join(f"{name} {show_force(t)}" for name, t in first.tensions_lbf.items())
        count = f"{abs(first.half_turns)} HALF TURN{'S' * (abs(first.half_turns) != 1)}"
        return Step(
            key, "adjustment", circuit, f"Turn: step 1 of {len(result.steps)}",
            (f"{first.direction.upper()} the turnbuckle of {first.turnbuckle}: {count}",),
            f"{first.half_turns:+d}",
            (*why, f"then about: {then}", "same number of threads at both ends; say what was turned, also where it differs"),
            {"turnbuckle": first.turnbuckle, "half_turns": first.half_turns}, ("threads_showing",),
        )  # fmt: skip

    def neutrals(self, circuit: str) -> dict[str, float]:
        """Where the sectors of the surfaces rest [deg], as last seen."""
        entry = self.rig.file.circuits[circuit]
        found: dict[str, float] = {}
        for name, surface in entry.surfaces.items():
            seen = self.last("neutral", circuit, surface=name)
            if seen is not None and surface.sector in entry.sectors and surface.sector not in entry.hold:
                found[surface.sector] = read_given("neutral", seen.payload["given"], "neutral").offset_deg  # type: ignore[attr-defined]
        return found

    def whole(self, circuit: str) -> Iterator[Step]:
        """What the whole circuit must show once its tension stands."""
        entry = self.rig.file.circuits[circuit]
        changed = self.changed(circuit)
        pins = self.last("pins", circuit)
        step = Step(
            f"{circuit}/pins out",
            "pins",
            circuit,
            f"Rig pins of {circuit} out",
            ("PINS OUT",),
            given={"inserted": False},
        )
        out = pins is not None and not pins.payload["given"]["inserted"] and pins.sequence > changed
        if not out and not self.done(step, max(changed, pins.sequence if pins else 0)):
            yield step
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
                if not self.done(step, changed, surface=name):
                    yield step
        step = Step(f"{circuit}/friction", "friction", circuit, f"Friction of {circuit}", (), "",
                    ("spring scale at the grip, moved slowly one way and the other",), {},
                    ("pull_one", "pull_other", "where"))  # fmt: skip
        if not self.done(step, changed):
            yield step
        if entry.bridle is not None:
            step = Step(f"{circuit}/bridle", "bridle", circuit, f"Bridle {entry.bridle.name}", (entry.bridle.limits.text,), "",
                        ("main circuit first, then the bridle",), {},
                        ("tension", "uncertainty", "structure", "instrument"))  # fmt: skip
            if not self.done(step, changed):
                yield step
        for name in turnbuckles(entry):
            step = Step(f"{circuit}/safetying/{name}", "safetying", circuit, f"Secure the turnbuckle of {name}", (), "",
                        ("witness holes and threads looked at",), {"turnbuckle": name},
                        ("method", "wire", "threads_showing", "safe"))  # fmt: skip
            if not self.done(step, self.changed(circuit, name), turnbuckle=name):
                yield step

    def second(self, circuit: str) -> Iterator[Step]:
        """The second person's own look."""
        secured = [e.sequence for e in self.entries if e.circuit == circuit and e.kind == "safetying"]
        step = Step(
            f"{circuit}/inspection", "inspection", circuit, f"{circuit}: the second person", ("ANOTHER PERSON NOW",), "",
            ("hand over: what you see, not what the first wrote; alone=yes where there is nobody, with reason and pause",), {},
            ("alone", "reason", "pause", "seen", "secured", "free_over_full_travel", "tools_removed"),
        )  # fmt: skip
        if not self.done(step, max([self.changed(circuit), *secured])):
            yield step


def session_readings(rig: Rig, entries: Sequence[Entry], circuit: str, today: dt.date) -> list[Reading]:
    """The readings that the check of a circuit takes, out of the log. Raises Refusal where no session is under way."""
    session = begun(rig, entries)
    if session is None:
        raise Refusal("no session is under way")
    steps = _Steps(rig, session, entries, today)
    return steps.readings(circuit, steps.changed(circuit))


def conditions_of(rig: Rig, entries: Sequence[Entry]) -> str:
    """The conditions of the session under way in one line, empty where none are written yet."""
    session = begun(rig, entries)
    newest = [e for e in entries if e.kind == "conditions" and session is not None and e.sequence > session.sequence]
    if not newest:
        return ""
    given = newest[-1].payload["given"]
    structure = show_temperature(parse_temperature_degF(given["structure"]))
    return f"structure {structure}, steady since {given['steady_since']}, {given['state']}"
