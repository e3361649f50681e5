"""What an entry comes to against its sheet: the same sum when it is written and when it is looked at years later."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

import msgspec

from rigging.errors import Refusal, nearest
from rigging.hardware import turnbuckle
from rigging.jobs.judged_surfaces import (
    judge_direction,
    judge_inspection,
    judge_neutral,
    judge_stops,
    judge_travel,
    need_turnbuckle,
)
from rigging.jobs.judgement import RECORDED, Judged, figures_of, on_basis, plain, worst
from rigging.jobs.parts import pulley_part
from rigging.jobs.proof import proof_gaps
from rigging.judge.condition import faults, held_to, not_looked_at
from rigging.judge.travel import judge_friction
from rigging.judge.verdict import judge
from rigging.log import fields
from rigging.measure.card import dial_to_lbf
from rigging.physics.friction import circuit_friction_lbf
from rigging.physics.thermal import check_temperature
from rigging.sheet.rig import Rig, Run
from rigging.told import degF, lbf, told

_OTHER_WIRE: Final = (
    "where the aircraft's own data name another wire, write it as method 'other' with those data as its remark"
)
COVERAGE: Final = 2.0  # U of an instrument stated at 95 %


def judged(rig: Rig, kind: str, circuit: str, given: msgspec.Struct) -> Judged:
    """What an entry of a kind comes to. Raises Refusal: a name the sheet does not know, a temperature no limits hold at."""
    if isinstance(given, fields.TaskDone):
        return _task_done(rig, given)
    if isinstance(given, fields.Conditions):
        check_temperature(given.structure_degF, "structure temperature")
    if kind not in _JUDGES:
        return Judged(RECORDED)
    if circuit not in rig.file.circuits:
        raise Refusal(f"no circuit '{circuit}' in the sheet{nearest(circuit, rig.file.circuits)}")
    return _JUDGES[kind](rig, circuit, given)


def _threads(threads: tuple[float, float] | None) -> list[str]:
    if threads is None or not turnbuckle.too_many_threads(threads):
        return []
    return [
        f"{threads[0]:g} and {threads[1]:g} threads show, at most {turnbuckle.MOST_THREADS_SHOWING} may "
        f"({turnbuckle.MOST_THREADS_SHOWING_SOURCE}): {turnbuckle.REMAKE}"
    ]


def _task_done(rig: Rig, given: fields.TaskDone) -> Judged:
    task = next((t for t in rig.file.programme if plain(t.task) == plain(given.task)), None)
    if task is None:
        raise Refusal(
            f"no task '{given.task}' in the programme{nearest(given.task, [t.task for t in rig.file.programme])}"
        )
    if task.every_hours is not None and given.airframe_hours is None:
        raise Refusal(f"'{task.task}' comes again by hours: give 'airframe_hours'")
    return Judged(RECORDED)


def _adjustment(rig: Rig, circuit: str, given: fields.Adjustment) -> Judged:
    need_turnbuckle(rig.file.circuits[circuit], circuit, given.turnbuckle)
    too_many = _threads(given.threads_showing)
    return Judged("out" if too_many else RECORDED, tuple(too_many))


def _run_of(rig: Rig, circuit: str, name: str) -> Run:
    run = rig.run(circuit, name)
    if run is None:
        raise Refusal(f"no cable '{name}' in circuit {circuit}{nearest(name, rig.file.circuits[circuit].cables)}")
    return run


def _cable_fitted(rig: Rig, circuit: str, given: fields.CableFitted) -> Judged:
    run = _run_of(rig, circuit, given.cable)
    too_many = _threads(given.threads_showing)
    gaps = proof_gaps(run.cable, given)
    return Judged("out" if too_many else RECORDED, (*too_many, *gaps), True, {"proof_gaps": gaps})


def _proof_load(rig: Rig, circuit: str, given: fields.ProofLoad) -> Judged:
    gaps = proof_gaps(_run_of(rig, circuit, given.cable).cable, given)
    return Judged("not measured" if gaps else "in", gaps, not gaps)


def _friction(rig: Rig, circuit: str, given: fields.Friction) -> Judged:
    entry = rig.file.circuits[circuit]
    friction_lbf = circuit_friction_lbf(given.pull_one_lbf, given.pull_other_lbf)
    figures: dict[str, Any] = {"friction_lbf": friction_lbf}
    if entry.friction_limit_lbf is None:
        return Judged(
            RECORDED, (told("friction {}; the sheet gives no limit for it", lbf(friction_lbf)),), True, figures
        )
    verdict = judge_friction(friction_lbf, entry.friction_limit_lbf, given.uncertainty_lbf)
    return on_basis(
        entry.friction_basis,
        verdict.word.value,
        [verdict.reason],
        {
            **figures,
            "high_lbf": entry.friction_limit_lbf,
            "basis": entry.friction_basis.value,
            "source": entry.friction_source,
            **figures_of(verdict),
        },
    )


def _safetying(rig: Rig, circuit: str, given: fields.Safetying) -> Judged:
    need_turnbuckle(rig.file.circuits[circuit], circuit, given.turnbuckle)
    faults = _threads(given.threads_showing)
    if not given.safe:
        faults.append(f"the turnbuckle of {given.turnbuckle} is not secured")
    words, reasons, figures = ["out" if faults else "in"], faults, {}
    if given.method == "locking wire":
        word, why = _wire(rig.file.circuits[circuit].cables[given.turnbuckle].size, given)
        words, reasons = [*words, word], [*faults, *filter(None, (why,))]
        source = turnbuckle.locking_wire_source()
        figures = {"basis": source.basis.value, "source": str(source)}
    verdict = worst(words)
    return Judged(verdict, tuple(reasons), verdict != "not measured", figures)


def _wire(size: str, given: fields.Safetying) -> tuple[str, str]:
    """The verdict on a safety wire by the printed table, and why it is not in."""
    if given.wire_diameter_in is None or given.wire_material is None or given.wrap is None:
        return "not measured", "diameter, material and wrap of the wire are not recorded"
    accepted = turnbuckle.accepted_wires(size)
    if not accepted:
        return "not measured", f"the printed table has no safety wire for {size} cable: {_OTHER_WIRE}"
    if turnbuckle.row_for_wire(size, given.wrap, given.wire_diameter_in, given.wire_material) is not None:
        return "in", ""
    return "out", told(
        "{} {} of {} does not secure the turnbuckle of a {} cable. These do: {} ({}); {}",
        given.wrap, given.wire_material, turnbuckle.wire_size(given.wire_diameter_in), size, accepted,
        turnbuckle.locking_wire_source(), _OTHER_WIRE,
    )  # fmt: skip


def _condition(rig: Rig, circuit: str, given: fields.Condition) -> Judged:
    if not given.pulley_part:
        given = msgspec.structs.replace(given, pulley_part=pulley_part(rig, circuit, given.part))
    found = faults(given)
    reasons = [told("{} ({})", fault.words, fault.source) for fault in found]
    left = not_looked_at(given)
    if left:
        reasons.append(f"not looked at: {', '.join(left)}")
    recalled = [source for source in held_to(given) if not source.acceptable]
    reasons += [f"cannot be accepted: a rule it was held to is from {source.basis.value}" for source in recalled[:1]]
    figures = {"replace": True} if any(fault.action == "replace" for fault in found) else {}
    return Judged("out" if found else RECORDED, tuple(reasons), not recalled, figures)


def _bridle(rig: Rig, circuit: str, given: fields.Bridle) -> Judged:
    bridle = rig.file.circuits[circuit].bridle
    if bridle is None:
        raise Refusal(f"the sheet names no bridle in circuit {circuit}: add 'bridle' to it")
    band = bridle.limits
    reference_degF = rig.file.reference_degF if band.reference_degF is None else band.reference_degF
    away_degF = abs(given.structure_degF - reference_degF)
    if away_degF > 2 * rig.file.thermometer_half_width_degF:
        why = told(
            "the limits of {} hold at {} and the sheet says nothing to move them by: read it there",
            bridle.name,
            degF(reference_degF),
        )
        return Judged("re-measure", (why,), False)
    verdict = judge(
        given.tension_lbf, band.low_lbf, band.high_lbf, given.uncertainty_lbf / COVERAGE, coverage_factor=COVERAGE
    )
    figures = {
        "tension_lbf": given.tension_lbf,
        "low_lbf": band.low_lbf,
        "high_lbf": band.high_lbf,
        "basis": bridle.basis.value,
        "source": bridle.source,
        **figures_of(verdict),
    }
    reasons = [verdict.reason]
    if given.instrument not in rig.cards:
        reasons.append(f"no card of '{given.instrument}' is in the sheet: its uncertainty is taken as it was stated")
    return on_basis(bridle.basis, verdict.word.value, reasons, figures)


def _reading(rig: Rig, circuit: str, given: fields.Reading) -> Judged:
    """Only whether the card covers it and the cable bears it: pounds and verdict are the check's."""
    run = rig.run(circuit, given.run)
    if run is None:
        raise Refusal(
            f"no run '{given.run}' in circuit {circuit}{nearest(given.run, rig.file.circuits[circuit].cables)}"
        )
    if run.entry.stations and given.station not in run.entry.stations:
        raise Refusal(f"no station '{given.station}' on {run.label}{nearest(given.station, run.entry.stations)}")
    if given.tensiometer not in rig.cards:
        raise Refusal(f"no card for tensiometer '{given.tensiometer}'{nearest(given.tensiometer, rig.cards)}")
    column = rig.cards[given.tensiometer].column(given.riser, run.cable.size)
    readings_lbf = [dial_to_lbf(column, float(d)) for d in given.dial]
    run.cable.check_rigging_load(max(readings_lbf), "a reading")
    return Judged(RECORDED, figures={"readings_lbf": readings_lbf})


_JUDGES: Final[dict[str, Callable[..., Judged]]] = {
    "adjustment": _adjustment,
    "cable-fitted": _cable_fitted,
    "proof-load": _proof_load,
    "travel": judge_travel,
    "neutral": judge_neutral,
    "stops": judge_stops,
    "friction": _friction,
    "direction": judge_direction,
    "safetying": _safetying,
    "condition": _condition,
    "bridle": _bridle,
    "inspection": judge_inspection,
    "reading": _reading,
}
