"""The steps of a guided session in the order of the bench, each until the log says that it was done."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import Final

import msgspec

from rigging.hardware.turnbuckle import accepted_wires
from rigging.jobs.check import CAUTIONS
from rigging.jobs.circuit_history import DRAG, PINS, TENSION
from rigging.jobs.judged_surfaces import turnbuckles
from rigging.jobs.open_items import PER_SURFACE, Item, status
from rigging.jobs.retold import check_retold
from rigging.jobs.session_log import Told
from rigging.jobs.session_readings import limits_now, reading_step
from rigging.jobs.session_step import Step, reading_keys
from rigging.jobs.session_turns import Turns
from rigging.log.kinds import CHECK, PROOF, SIGNATURE
from rigging.sheet.circuit import Circuits
from rigging.sheet.rig import Rig
from rigging.told import quoting, told

CYCLES: Final = 5  # practice
PINS_OUT: Final = "pins out"


def _wires(size: str) -> tuple[str, ...]:
    """The safety wires that may be used on a cable size, where the printed table has any."""
    accepted = accepted_wires(size)
    return (told("safety wire on {}: {}", size, accepted),) if accepted else ()


class Steps:
    """The steps of a session on a sheet, as its log stands."""

    def __init__(self, rig: Rig, log: Told) -> None:
        self.rig, self.log = rig, log
        self.models, self.turns = Circuits(rig), Turns(rig, log)
        self.circuits = [c for c in log.circuits if c in rig.file.circuits]

    def unless_done(self, step: Step, after: int, **fields: str) -> Iterator[Step]:
        """The step, unless it was answered or left out later than entry ``after`` and than its being asked for anew."""
        after = max(after, self.log.again(step.key))
        if self.log.ended(step.key, step.kind, step.circuit, **fields) <= after:
            yield msgspec.structs.replace(step, after=after, answered=self.log.answers(step.key, after))

    def steps(self) -> Iterator[Step]:
        """The steps that are still to be done, the first of them first."""
        before = self.log.conditions[-1:]
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
            yield from self.unless_done(step, self.log.fitted(circuit, name), part=name)
            proof = self.log.history(circuit).results.get((PROOF, name))
            if proof is not None and not proof.closes:
                step = Step(f"{circuit}/{PROOF}/{name}", PROOF, circuit, f"Proof load of the cable {name}", why=proof.reasons,
                            given={"cable": name}, ask=("certificate", "proof_load", "proof_time", "gauge"))  # fmt: skip
                yield from self.unless_done(step, self.log.fitted(circuit, name), cable=name)
        changed, opened = self.log.changed(circuit), self.log.opened(circuit)
        pins = self.log.last("pins", circuit)
        if pins is None or (not pins.payload["given"].get("inserted") and changed > pins.sequence):
            step = Step(f"{circuit}/pins", "pins", circuit, f"Rig pins of {circuit} in", big=("PINS IN",),
                        why=(f"held in the sheet: {', '.join(entry.hold) or 'nothing but its springs'}",), given={"inserted": True})  # fmt: skip
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
                step = reading_step(self.rig, run, station, limits_now(self.rig, self.models, self.log, run))
                yield from self.unless_done(step, changed, run=run.name, station=station)
        yield from self.judge(circuit, changed)

    def judge(self, circuit: str, changed: int) -> Iterator[Step]:
        """The check, and the next turn of a plan where it found something."""
        readings = self.log.readings(circuit, changed)
        if not readings:
            return
        judged_at = self.log.judged_at(circuit)
        if judged_at < self.log.read_at(circuit, changed):
            yield Step(f"{circuit}/check", CHECK, circuit, f"Verdicts of {circuit}")
            return
        found = [*self.out_of_limits(circuit, judged_at), *self.turns.neutrals_out(circuit)]
        key = f"{circuit}/turn"
        if found and self.log.ended(key, "adjustment", circuit) <= max(judged_at, self.log.again(key)):
            yield from self.unless_done(self.turns.step(circuit, readings, found, judged_at), judged_at)

    def out_of_limits(self, circuit: str, judged_at: int) -> list[str]:
        """Cables whose tension is open since the check that judged them, in words."""
        items = [i for i in self.open_in(circuit) if i.what == "tension"]
        # the log keeps the words of the check in US units alone
        made = [s for e in self.log.all if items and e.sequence == judged_at for s in check_retold(self.rig, e)]
        return [told("{}: {}", i.of, quoting(i.why, made)) for i in items]

    def rest_of_plan(self, circuit: str, changed: int) -> Iterator[Step]:
        """The next turn of a plan of which nothing but its own turns were given so far, until the controls are moved."""
        judged_at = self.log.judged_at(circuit)
        turned = [e for e in self.log.changes(circuit) if e.sequence > judged_at]
        moved = max(self.log.ended(f"{circuit}/{k}", "cycled", circuit) for k in ("cycle", "turn"))
        if not judged_at or moved > changed or any(e.kind != "adjustment" for e in turned):
            return
        given = [e.payload["given"] for e in turned]
        readings = self.log.readings(circuit, self.log.changed(circuit, before=judged_at))
        step = self.turns.step(circuit, readings, (), judged_at, [(g["turnbuckle"], g["half_turns"]) for g in given])
        if step.suggested:
            yield from self.unless_done(step, changed)

    def whole(self, circuit: str) -> Iterator[Step]:
        """What the whole circuit must show once its tension stands."""
        entry = self.rig.file.circuits[circuit]
        changed, opened = self.log.changed(circuit), self.log.opened(circuit)
        pins = self.log.last("pins", circuit)
        out = pins is not None and not pins.payload["given"].get("inserted") and pins.sequence > changed
        if not out:
            step = Step(f"{circuit}/{PINS_OUT}", "pins", circuit, f"Rig pins of {circuit} out", ("PINS OUT",),
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
            step = Step(f"{circuit}/bridle", "bridle", circuit, f"Bridle {entry.bridle.name}", (told("{}", entry.bridle.limits.told),), "",
                        ("main circuit first, then the bridle",), {},
                        ("tension", "uncertainty", "structure", "instrument"))  # fmt: skip
            yield from self.unless_done(step, opened)
        for name in turnbuckles(entry):
            step = Step(f"{circuit}/safetying/{name}", "safetying", circuit, f"Secure the turnbuckle of {name}", (), "",
                        ("witness holes and threads looked at", *_wires(entry.cables[name].size)), {"turnbuckle": name},
                        ("method", "wire_diameter", "wire_material", "wrap", "remark", "threads_showing", "safe"))  # fmt: skip
            yield from self.unless_done(step, self.log.opened(circuit, name), turnbuckle=name)

    def second(self, circuit: str) -> Iterator[Step]:
        """The second person's own look."""
        secured = [e.sequence for e in self.log.entries if e.circuit == circuit and e.kind == "safetying"]
        step = Step(
            f"{circuit}/inspection", "inspection", circuit, f"{circuit}: the second person", ("ANOTHER PERSON NOW",), "",
            ("hand over: what you see, not what the first wrote; alone=yes where there is nobody, with reason and pause",), {},
            ("alone", "reason", "pause", "seen", "secured", "free_over_full_travel", "tools_removed"),
            not_by=tuple(self.log.history(circuit).workers.values()),
        )  # fmt: skip
        yield from self.unless_done(step, max([self.log.opened(circuit), *secured]))

    def open_in(self, circuit: str) -> tuple[Item, ...]:
        """What is open in a circuit now."""
        return status(self.rig, self.log.whole_history).of_circuit(circuit)

    def to_reopen(self) -> tuple[str, ...]:
        """The steps that could close what is open in the circuits of the session."""
        found: list[str] = []
        for circuit in self.circuits:
            entry = self.rig.file.circuits[circuit]
            # an item that no step of the session asks for is left out: done again it would only come back here
            asked: dict[str, Collection[str]] = {
                "condition": entry.cables, PROOF: entry.cables, "safetying": entry.cables, **dict.fromkeys(PER_SURFACE, entry.surfaces),
                "friction": ("",), "bridle": ("",), "inspection": ("",),
            }  # fmt: skip
            for item in self.open_in(circuit):
                if item.what in (TENSION, DRAG):
                    found += reading_keys(self.rig, circuit, item.of)
                elif item.what == PINS:
                    found.append(f"{circuit}/{PINS_OUT}")
                elif item.of in asked.get(item.what, ()):
                    found.append(f"{circuit}/{item.what}/{item.of}" if item.of else f"{circuit}/{item.what}")
        return tuple(dict.fromkeys(found))
