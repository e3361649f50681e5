"""What an entry comes to against its sheet: the same sum when it is written and when it is looked at years later."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final, Literal

import msgspec

from rigging.errors import Refusal, nearest
from rigging.hardware import turnbuckle
from rigging.judge.condition import faults, held_to, not_looked_at
from rigging.judge.travel import judge_angle, judge_friction
from rigging.judge.verdict import Verdict, Word, judge
from rigging.log import kinds
from rigging.measure.card import dial_to_lbf
from rigging.physics.friction import circuit_friction_lbf
from rigging.sheet.rig import Rig
from rigging.sheet.schema import CircuitEntry, SurfaceEntry
from rigging.source import NEVER_ACCEPTED, Basis
from rigging.told import degF, lbf, told

RECORDED: Final = "recorded"
COVERAGE: Final = 2.0  # U of an instrument stated at 95 %


def closing(verdict: str, usable_for_sign_off: bool) -> bool:
    """Whether a verdict, or a plain record, closes what it is about."""
    return usable_for_sign_off and verdict in (Word.IN.value, RECORDED)


class Judged(msgspec.Struct, frozen=True):
    """What an entry comes to.

    verdict: the words of a reading, or ``recorded`` where there is nothing to judge by. usable_for_sign_off: whether
    an item may be closed with it. figures: what it was judged by.
    """

    verdict: Literal["in", "out", "re-measure", "not measured", "recorded"]
    reasons: tuple[str, ...] = ()
    usable_for_sign_off: bool = True
    figures: dict[str, Any] = {}

    @property
    def closes(self) -> bool:
        """Whether what the entry is about needs no further look."""
        return closing(self.verdict, self.usable_for_sign_off)


def judged(rig: Rig, kind: str, circuit: str, given: msgspec.Struct) -> Judged:
    """What an entry of a kind comes to. Raises Refusal: a name the sheet does not know."""
    if isinstance(given, kinds.TaskDone):
        return _task_done(rig, given)
    if kind not in _JUDGES:
        return Judged(RECORDED)
    if circuit not in rig.file.circuits:
        raise Refusal(f"no circuit '{circuit}' in the sheet{nearest(circuit, rig.file.circuits)}")
    return _JUDGES[kind](rig, circuit, given)


def worst(words: list[str]) -> Any:
    """The worst of several verdicts, for which the whole must stand."""
    order = (Word.OUT.value, Word.RE_MEASURE.value, Word.NOT_MEASURED.value, RECORDED, Word.IN.value)
    return next((w for w in order if w in words), Word.NOT_MEASURED.value)


def surface_of(rig: Rig, circuit: str, name: str) -> SurfaceEntry:
    """A surface of a circuit. Raises Refusal where the sheet has none of that name."""
    surfaces = rig.file.circuits[circuit].surfaces
    if name not in surfaces:
        raise Refusal(f"no surface '{name}' in circuit {circuit}{nearest(name, surfaces)}")
    return surfaces[name]


def turnbuckles(entry: CircuitEntry) -> list[str]:
    """The cables of a circuit that have a turnbuckle."""
    return [name for name, cable in entry.cables.items() if cable.turnbuckle is not None]


def _turnbuckle(entry: CircuitEntry, circuit: str, name: str) -> None:
    have = turnbuckles(entry)
    if name not in have:
        raise Refusal(f"no cable '{name}' with a turnbuckle in circuit {circuit}{nearest(name, have)}")


def _threads(threads: tuple[float, float] | None) -> list[str]:
    if threads is None or not turnbuckle.too_many_threads(threads):
        return []
    return [
        f"{threads[0]:g} and {threads[1]:g} threads show, at most {turnbuckle.MOST_THREADS_SHOWING} may "
        f"({turnbuckle.MOST_THREADS_SHOWING_SOURCE}): {turnbuckle.REMAKE}"
    ]


def _task_done(rig: Rig, given: kinds.TaskDone) -> Judged:
    task = next((t for t in rig.file.programme if plain(t.task) == plain(given.task)), None)
    if task is None:
        raise Refusal(
            f"no task '{given.task}' in the programme{nearest(given.task, [t.task for t in rig.file.programme])}"
        )
    if task.every_hours is not None and given.airframe_hours is None:
        raise Refusal(f"'{task.task}' comes again by hours: give 'airframe_hours'")
    return Judged(RECORDED)


def _adjustment(rig: Rig, circuit: str, given: kinds.Adjustment) -> Judged:
    _turnbuckle(rig.file.circuits[circuit], circuit, given.turnbuckle)
    too_many = _threads(given.threads_showing)
    return Judged("out" if too_many else RECORDED, tuple(too_many))


def _cable_fitted(rig: Rig, circuit: str, given: kinds.CableFitted) -> Judged:
    run = rig.run(circuit, given.cable)
    if run is None:
        raise Refusal(
            f"no cable '{given.cable}' in circuit {circuit}{nearest(given.cable, rig.file.circuits[circuit].cables)}"
        )
    reasons = _threads(given.threads_showing)
    if given.proof_load_lbf is None:
        reasons.append("no proof load is recorded: it will bed in as a cable that was not proof-loaded")
    elif run.cable.proof_load is not None and given.proof_load_lbf < run.cable.proof_load.value:
        reasons.append(
            told(
                "the proof load {} is below the usual {} of this cable ({})",
                lbf(given.proof_load_lbf, ".4g"),
                lbf(run.cable.proof_load.value, ".0f"),
                run.cable.proof_load.source,
            )
        )
    return Judged("out" if _threads(given.threads_showing) else RECORDED, tuple(reasons))


def _travel(rig: Rig, circuit: str, given: kinds.Travel) -> Judged:
    surface = surface_of(rig, circuit, given.surface)
    if not surface.travel:
        return Judged(
            "not measured", (f"the sheet gives no travel for {given.surface}: add its limits, then judge",), False
        )
    unknown = [way for way in given.ways if way not in surface.travel]
    if unknown:
        raise Refusal(f"{given.surface} has no way '{unknown[0]}'{nearest(unknown[0], surface.travel)}")
    words, reasons, figures = [], [], {}
    for way, band in surface.travel.items():
        if way not in given.ways:
            words.append(Word.NOT_MEASURED.value)
            reasons.append(f"{way}: not measured")
            continue
        verdict = judge_angle(given.ways[way], band.low_deg, band.high_deg, given.uncertainty_deg)
        words.append(verdict.word.value)
        reasons.append(f"{way}: {verdict.reason}")
        figures[way] = {
            "travel_deg": given.ways[way],
            "low_deg": band.low_deg,
            "high_deg": band.high_deg,
            **_of(verdict),
        }
    return _with_source(worst(words), reasons, surface, figures)


def _neutral(rig: Rig, circuit: str, given: kinds.Neutral) -> Judged:
    surface = surface_of(rig, circuit, given.surface)
    if surface.neutral is not None:
        low_deg, high_deg = surface.neutral.low_deg, surface.neutral.high_deg
    else:
        sector = rig.file.circuits[circuit].sectors.get(surface.sector)
        high_deg = sector.neutral_tolerance_deg if sector else NEUTRAL_TOLERANCE_DEG
        low_deg = -high_deg
    verdict = judge_angle(given.offset_deg, low_deg, high_deg, given.uncertainty_deg)
    figures = {"offset_deg": given.offset_deg, "low_deg": low_deg, "high_deg": high_deg, **_of(verdict)}
    return _with_source(verdict.word.value, [verdict.reason], surface, figures)


NEUTRAL_TOLERANCE_DEG: Final = 0.5  # practice; the sheet's own figure comes first


def _stops(rig: Rig, circuit: str, given: kinds.Stops) -> Judged:
    surface = surface_of(rig, circuit, given.surface)
    missing = [way for way in surface.travel if way not in given.touches_first]
    reasons = [f"{way}: not looked at" for way in missing]
    wrong = [way for way, stop in given.touches_first.items() if not _same_stop(stop, surface.stops)]
    reasons += [f"{way}: {given.touches_first[way]} touches first, the sheet says: {surface.stops}" for way in wrong]
    return Judged("out" if wrong else "not measured" if missing else RECORDED, tuple(reasons))


def _same_stop(seen: str, expected: str) -> bool:
    """Whether the words share the stop's name; a sheet that says nothing expects nothing."""
    words = {w for w in plain(expected).split() if w not in ("at", "the", "on", "in", "stop", "stops", "first")}
    return not words or bool(words & set(plain(seen).split()))


def _friction(rig: Rig, circuit: str, given: kinds.Friction) -> Judged:
    entry = rig.file.circuits[circuit]
    friction_lbf = circuit_friction_lbf(given.pull_one_lbf, given.pull_other_lbf)
    figures: dict[str, Any] = {"friction_lbf": friction_lbf}
    if entry.friction_limit_lbf is None:
        return Judged(
            RECORDED, (told("friction {}; the sheet gives no limit for it", lbf(friction_lbf)),), True, figures
        )
    verdict = judge_friction(friction_lbf, entry.friction_limit_lbf, given.uncertainty_lbf)
    return _on(
        entry.friction_basis,
        verdict.word.value,
        [verdict.reason],
        {**figures, "high_lbf": entry.friction_limit_lbf, "basis": entry.friction_basis.value, **_of(verdict)},
    )


def _direction(rig: Rig, circuit: str, given: kinds.Direction) -> Judged:
    surface = surface_of(rig, circuit, given.surface)
    return compare_moves(given.surface, surface, given.seen)


def compare_moves(name: str, surface: SurfaceEntry, seen: Mapping[str, str]) -> Judged:
    """How a surface was seen to move, against how the sheet says it must. Raises Refusal for an unknown input."""
    if not surface.moves:
        return Judged("not measured", (f"the sheet does not say how {name} must move: add 'moves' to it",), False)
    unknown = [i for i in seen if i not in surface.moves]
    if unknown:
        raise Refusal(f"{name} has no input '{unknown[0]}'{nearest(unknown[0], surface.moves)}")
    words, reasons = [], []
    for control, expected in surface.moves.items():
        way = seen.get(control)
        if way is None:
            words.append(Word.NOT_MEASURED.value)
            reasons.append(f"{control}: not looked at")
        elif plain(way) == plain(expected):
            words.append(Word.IN.value)
        else:
            words.append(Word.OUT.value)
            reasons.append(f"{control}: {name} goes {way}, it must go {expected}: REVERSED or not moving")
    return _with_source(worst(words), reasons, surface, {"expected": dict(surface.moves)})


def plain(words: str) -> str:
    """Words as compared: without capitals and doubled blanks."""
    return " ".join(words.casefold().split())


def _safetying(rig: Rig, circuit: str, given: kinds.Safetying) -> Judged:
    _turnbuckle(rig.file.circuits[circuit], circuit, given.turnbuckle)
    reasons = _threads(given.threads_showing)
    if not given.safe:
        reasons.append(f"the turnbuckle of {given.turnbuckle} is not secured")
    return Judged("out" if reasons else "in", tuple(reasons))


def _condition(rig: Rig, circuit: str, given: kinds.Condition) -> Judged:
    found = faults(given)
    reasons = [f"{fault.words} ({fault.source})" for fault in found]
    left = not_looked_at(given)
    if left:
        reasons.append(f"not looked at: {', '.join(left)}")
    recalled = [source for source in held_to(given) if not source.acceptable]
    reasons += [f"cannot be accepted: a rule it was held to is from {source.basis.value}" for source in recalled[:1]]
    return Judged("out" if found else RECORDED, tuple(reasons), not recalled)


def _bridle(rig: Rig, circuit: str, given: kinds.Bridle) -> Judged:
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
    figures = {"tension_lbf": given.tension_lbf, "low_lbf": band.low_lbf, "high_lbf": band.high_lbf, **_of(verdict)}
    return _on(bridle.basis, verdict.word.value, [verdict.reason], figures)


def _inspection(rig: Rig, circuit: str, given: kinds.Inspection) -> Judged:
    """The second person's own observations against the sheet; what they left out is not measured."""
    entry = rig.file.circuits[circuit]
    words: list[str] = []
    reasons: list[str] = []
    usable = True
    for name in given.seen:
        surface_of(rig, circuit, name)
    for name in given.secured:
        _turnbuckle(entry, circuit, name)
    for name, surface in entry.surfaces.items():
        found = compare_moves(name, surface, given.seen.get(name, {}))
        words.append(found.verdict)
        # how the sheet says it must move may itself be only recalled
        usable = usable and found.usable_for_sign_off
        reasons += [r if name in r else f"{name}: {r}" for r in found.reasons]
    for name in turnbuckles(entry):
        secured = given.secured.get(name)
        words.append(Word.NOT_MEASURED.value if secured is None else Word.IN.value if secured else Word.OUT.value)
        if not secured:
            reasons.append(f"turnbuckle of {name}: {'not looked at' if secured is None else 'NOT secured'}")
    for seen, what in (
        (given.free_over_full_travel, "the control does not move freely over its full travel"),
        (given.tools_removed, "tools and rig pins are not out"),
    ):
        words.append(Word.IN.value if seen else Word.OUT.value)
        reasons += [] if seen else [what]
    return Judged(worst(words), tuple(reasons), usable)


def _reading(rig: Rig, circuit: str, given: kinds.Reading) -> Judged:
    """Only whether the card covers it: pounds and verdict are the check's."""
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
    return Judged(RECORDED, figures={"readings_lbf": [dial_to_lbf(column, float(d)) for d in given.dial]})


def _of(verdict: Verdict) -> dict[str, Any]:
    return {
        "verdict": verdict.word.value,
        "plain": verdict.plain,
        "probability_in_limits": verdict.probability_in_limits,
    }


def _with_source(word: Any, reasons: list[str], surface: SurfaceEntry, figures: dict[str, Any]) -> Judged:
    about = {"basis": surface.basis.value, "source": surface.source}
    return _on(surface.basis, word, reasons, {**figures, **about})


def _on(basis: Basis, word: Any, reasons: list[str], figures: dict[str, Any]) -> Judged:
    """A verdict by figures of a basis: one that no accepted verdict may rest on turns ``in`` into ``re-measure``."""
    if basis not in NEVER_ACCEPTED:
        return Judged(word, tuple(reasons), True, figures)
    word = Word.RE_MEASURE.value if word == Word.IN.value else word
    return Judged(word, (*reasons, f"cannot be accepted: the limits are from {basis.value}"), False, figures)


_JUDGES: Final[dict[str, Callable[..., Judged]]] = {
    "adjustment": _adjustment,
    "cable-fitted": _cable_fitted,
    "travel": _travel,
    "neutral": _neutral,
    "stops": _stops,
    "friction": _friction,
    "direction": _direction,
    "safetying": _safetying,
    "condition": _condition,
    "bridle": _bridle,
    "inspection": _inspection,
    "reading": _reading,
}
