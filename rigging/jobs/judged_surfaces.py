"""What was seen of the surfaces of a circuit against the sheet: travel, neutral, stops, direction, the second person's look."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from rigging.errors import Refusal, nearest
from rigging.jobs.judgement import RECORDED, Judged, figures_of, plain, with_source, worst
from rigging.judge.travel import judge_angle
from rigging.judge.verdict import Word
from rigging.log import fields
from rigging.sheet.circuit_entry import CircuitEntry, SurfaceEntry
from rigging.sheet.rig import Rig

NEUTRAL_TOLERANCE_DEG: Final = 0.5  # practice; the sheet's own figure comes first


def surface_of(rig: Rig, circuit: str, name: str) -> SurfaceEntry:
    """A surface of a circuit. Raises Refusal where the sheet has none of that name."""
    surfaces = rig.file.circuits[circuit].surfaces
    if name not in surfaces:
        raise Refusal(f"no surface '{name}' in circuit {circuit}{nearest(name, surfaces)}")
    return surfaces[name]


def turnbuckles(entry: CircuitEntry) -> list[str]:
    """The cables of a circuit that have a turnbuckle."""
    return [name for name, cable in entry.cables.items() if cable.turnbuckle is not None]


def need_turnbuckle(entry: CircuitEntry, circuit: str, name: str) -> None:
    """Raises Refusal where a circuit has no cable of that name with a turnbuckle."""
    have = turnbuckles(entry)
    if name not in have:
        raise Refusal(f"no cable '{name}' with a turnbuckle in circuit {circuit}{nearest(name, have)}")


def judge_travel(rig: Rig, circuit: str, given: fields.Travel) -> Judged:
    """The travel of a surface, each way against its limits. Raises Refusal: an unknown surface or way."""
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
            **figures_of(verdict),
        }
    return with_source(worst(words), reasons, surface, figures)


def judge_neutral(rig: Rig, circuit: str, given: fields.Neutral) -> Judged:
    """Where a surface rests, against the sheet or the usual tolerance. Raises Refusal: an unknown surface."""
    surface = surface_of(rig, circuit, given.surface)
    if surface.neutral is not None:
        low_deg, high_deg = surface.neutral.low_deg, surface.neutral.high_deg
    else:
        sector = rig.file.circuits[circuit].sectors.get(surface.sector)
        high_deg = sector.neutral_tolerance_deg if sector else NEUTRAL_TOLERANCE_DEG
        low_deg = -high_deg
    verdict = judge_angle(given.offset_deg, low_deg, high_deg, given.uncertainty_deg)
    figures = {"offset_deg": given.offset_deg, "low_deg": low_deg, "high_deg": high_deg, **figures_of(verdict)}
    return with_source(verdict.word.value, [verdict.reason], surface, figures)


def judge_stops(rig: Rig, circuit: str, given: fields.Stops) -> Judged:
    """Which stop touches first each way, against the sheet. Raises Refusal: an unknown surface."""
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


def judge_direction(rig: Rig, circuit: str, given: fields.Direction) -> Judged:
    """How a surface was seen to move, against the sheet. Raises Refusal: an unknown surface or input."""
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
    return with_source(worst(words), reasons, surface, {"expected": dict(surface.moves)})


def judge_inspection(rig: Rig, circuit: str, given: fields.Inspection) -> Judged:
    """The second person's own observations against the sheet; what they left out is not measured."""
    entry = rig.file.circuits[circuit]
    words: list[str] = []
    reasons: list[str] = []
    usable = True
    for name in given.seen:
        surface_of(rig, circuit, name)
    for name in given.secured:
        need_turnbuckle(entry, circuit, name)
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
