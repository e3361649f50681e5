"""The main job: every run of a sheet, its limits today, the verdict on its readings, and what to do next."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import Final, Literal

import msgspec

from rigging.errors import Refusal
from rigging.hardware import turnbuckle
from rigging.jobs.compare import Comparison, compare
from rigging.jobs.limit_line import limits_under
from rigging.judge.limits import Limits
from rigging.judge.temperatures import Condition
from rigging.judge.verdict import Verdict, Word, judge
from rigging.log.contents import REFUSED
from rigging.measure.card import dial_window, lbf_to_dial
from rigging.measure.reading import Tension, read_tension
from rigging.measure.uncertainty import combine
from rigging.sheet.circuit import Circuits
from rigging.sheet.readings import Reading, condition_of
from rigging.sheet.rig import Rig, Run
from rigging.told import degF, force, join, told

WithoutLimits = Literal["", "not given", "no temperature", "no result"]
_WITHOUT_LIMITS: Final[dict[WithoutLimits, str]] = {
    "not given": "find its limits first",
    "no temperature": "give the temperature of its structure",
    "no result": "read it again where limits can be given",
}
TURNS: Final = ("tighten", "loosen")
AFTER_ANY_TURN = (
    "After any turn of a turnbuckle: travel both ways, neutral, stops, friction, direction of movement, safetying; "
    "then a second person."
)
CAUTIONS = (
    "Tension in limits proves neither direction nor travel: stick right, which way does the right aileron go?",
    "Tension does not prove freedom from flutter.",
    "The aircraft's own data and local rules come first; a licensed or authorised person releases the work, never this program.",
)


class RunResult(msgspec.Struct, frozen=True):
    """One station of one run: what was read, what holds today, the verdict, and the next action.

    refusal: why no figure is given, empty where there is one. limits and tension may each be there
    without the other. uncertainty_lbf [lbf]: U at 95 % of the reading alone; verdict.guard_lbf also
    holds that of the limits. structure_degF [degF]: None where nobody gave it. without_limits: why there are none today,
    empty where there are.
    """

    run: Run
    station: str
    readings: tuple[Reading, ...]
    tension: Tension | None
    limits: Limits | None
    verdict: Verdict | None
    refusal: str
    action: str
    reasons: tuple[str, ...]
    structure_degF: float | None
    without_limits: WithoutLimits

    @property
    def word(self) -> Word:
        """The verdict's word; ``not measured`` where nothing was read or a figure was refused."""
        return self.verdict.word if self.verdict else Word.NOT_MEASURED

    @property
    def shown_word(self) -> str:
        """The same on a screen, where what was read and refused is told from what nobody read."""
        return REFUSED if self.refusal else self.word.value

    @property
    def tension_at_reference_lbf(self) -> float | None:
        """The reading brought to the reference temperature [lbf], zero where the cable hangs slack there."""
        if self.tension is None or self.limits is None:
            return None
        return self.limits.at_reference_lbf(self.tension.tension_lbf)


class CheckResult(msgspec.Struct, frozen=True):
    """All runs of a sheet at one occasion, and what the circuits make of the readings together."""

    rig: Rig
    today: dt.date
    runs: tuple[RunResult, ...]
    comparison: Comparison

    @property
    def word(self) -> Word:
        """The worst verdict of all runs: out before re-measure before not measured before in."""
        words = {r.word for r in self.runs}
        return next(w for w in (Word.OUT, Word.RE_MEASURE, Word.NOT_MEASURED, Word.IN) if w in words)


def check(rig: Rig, readings: Sequence[Reading], today: dt.date, at_degF: float | None = None) -> CheckResult:
    """Judge every run of the sheet on its readings; a run without readings is ``not measured``.

    at_degF [degF]: structure temperature for readings that name none. What one run is refused for does not stop the
    others. Reasons, actions and words of drag hold their quantities in US units and SI (``told``).
    """
    circuits = Circuits(rig)
    results: list[RunResult] = []
    for run in rig.runs:
        own = [r for r in readings if r.circuit == run.circuit and r.run == run.name]
        stations = list(dict.fromkeys([*(r.station for r in own), *run.entry.stations])) or [""]
        results += [_station(circuits, run, s, [r for r in own if r.station == s], today, at_degF) for s in stations]
    comparison = compare(circuits, results)
    return CheckResult(rig, today, tuple(_without_turn(r, comparison) for r in results), comparison)


def _without_turn(result: RunResult, comparison: Comparison) -> RunResult:
    """The same, but no turn is ordered on readings that a spring of the circuit contradicts."""
    against = comparison.springs_against(result.run.circuit)
    if not against or not result.action.startswith(TURNS):
        return result
    springs = " and ".join(dict.fromkeys(drag.second for drag in against))
    return msgspec.structs.replace(
        result,
        action=f"turn nothing yet: {springs} and the readings disagree; find out which is wrong, then read again",
    )


def _station(
    circuits: Circuits,
    run: Run,
    station: str,
    readings: Sequence[Reading],
    today: dt.date,
    at_degF: float | None,
) -> RunResult:
    rig = circuits.rig
    refusals: list[str] = []
    reasons: list[str] = []
    tension: Tension | None = None
    limits: Limits | None = None
    condition: Condition | None = None
    try:
        # a run that was not read has no temperature either, and that is no refusal
        if readings or at_degF is not None:
            condition = condition_of(readings, at_degF, rig.file.thermometer_half_width_degF)
            limits = _limits(circuits, run, condition)
    except Refusal as error:
        refusals.append(str(error))
    if readings:
        try:
            tension = _tension(rig, run, readings, today)
        except Refusal as error:
            refusals.append(str(error))
    refusal = join("; ", refusals)
    verdict = None
    if tension is not None and limits is not None:
        verdict = _verdict(tension, limits)
        reasons.append(verdict.reason)
        reasons += tension.notes
        if verdict.plain != verdict.word.value:
            reasons.append(f"plain comparison, without uncertainty: {verdict.plain}")
        if gaps := sign_off_gaps(tension, limits):
            reasons.append(told("cannot be accepted: {}", join(", ", gaps)))
            if verdict.word is Word.IN:
                verdict = msgspec.structs.replace(verdict, word=Word.RE_MEASURE)
    elif limits is not None and limits.may_hang_slack:
        reasons += limits.sign_off_gaps
    reasons += _slack_words(tension, limits)
    states = sorted({r.state for r in readings if r.state})
    if len(states) > 1:
        reasons.append(
            f"readings in different aircraft states ({', '.join(states)}) are mixed here: read again in one state"
        )
    threads = run.entry.turnbuckle.threads_showing if run.entry.turnbuckle else None
    remake = threads is not None and turnbuckle.too_many_threads(threads)
    if remake and threads is not None:
        reasons.append(
            f"{threads[0]:g} and {threads[1]:g} threads show, at most {turnbuckle.MOST_THREADS_SHOWING} may "
            f"({turnbuckle.MOST_THREADS_SHOWING_SOURCE}): {turnbuckle.REMAKE}"
        )
    without = "" if limits else _without_limits(run, condition)
    action = "remake it, then read again" if remake else _action(verdict, tension, limits, refusal, without)
    return RunResult(
        run=run,
        station=station,
        readings=tuple(readings),
        tension=tension,
        limits=limits,
        verdict=verdict,
        refusal=refusal,
        action=action,
        reasons=tuple(reasons),
        structure_degF=None if condition is None else condition.structure_degF,
        without_limits=without,
    )


def _slack_words(tension: Tension | None, limits: Limits | None) -> list[str]:
    """Whether a cable that was read hangs slack, now or at the reference temperature."""
    if tension is None:
        return []
    if tension.tension_lbf <= 0:
        return ["it hangs slack, and by how much no reading tells"]
    if limits is None or limits.at_reference_lbf(tension.tension_lbf) != 0:
        return []
    return [told("brought to {} it hangs slack", degF(limits.reference_degF))]


def _without_limits(run: Run, condition: Condition | None) -> WithoutLimits:
    if run.band is None and run.entry.chart is None:
        return "not given"
    return "no temperature" if condition is None else "no result"


def _limits(circuits: Circuits, run: Run, condition: Condition) -> Limits:
    limits = limits_under(circuits, run, condition)
    if limits is None:
        raise Refusal(
            "the sheet gives no limits for this run: ask the designer; a figure by cable size alone is unsafe"
        )
    return limits


def _tension(rig: Rig, run: Run, readings: Sequence[Reading], today: dt.date) -> Tension:
    serials = sorted({r.tensiometer for r in readings})
    risers = sorted({r.riser for r in readings})
    if len(serials) > 1:
        raise Refusal(
            f"readings of several tensiometers ({', '.join(serials)}) at one station are not averaged: keep one"
        )
    if len(risers) > 1:
        raise Refusal(
            f"readings with several risers ({', '.join(map(str, risers))}) at one station are not averaged: keep one"
        )
    return read_tension(rig.cards[serials[0]], risers[0], run.cable.size, [r.dial for r in readings], today, run.cable)


def _verdict(tension: Tension, limits: Limits) -> Verdict:
    both = combine((*tension.combined.components, *limits.components))
    return judge(
        tension.tension_lbf,
        limits.low_lbf,
        limits.high_lbf,
        both.standard_uncertainty,
        both.degrees_of_freedom,
        both.coverage_factor(),
    )


def sign_off_gaps(tension: Tension, limits: Limits) -> list[str]:
    """What keeps a figure from being accepted; empty where nothing does."""
    gaps = [*limits.sign_off_gaps]
    if not tension.card_in_date:
        gaps.append(f"card {tension.card.serial} is out of date")
    if not tension.card.source.acceptable:
        gaps.append(f"card {tension.card.serial} is from {tension.card.source.basis.value}")
    return gaps


def _action(
    verdict: Verdict | None, tension: Tension | None, limits: Limits | None, refusal: str, without: WithoutLimits
) -> str:
    if verdict is None or tension is None or limits is None:
        if not refusal:
            return "read this run"
        return _WITHOUT_LIMITS[without] if without and tension is not None else "mend what is refused, then read again"
    if verdict.word is Word.IN:
        return "leave as it is"
    if verdict.word is Word.RE_MEASURE and verdict.side is None:
        gaps = join(" and ", sign_off_gaps(tension, limits))
        return told("inside its limits as it stands, but not for sign-off: {}", gaps)
    if verdict.word is Word.RE_MEASURE:
        if not verdict.can_decide:
            return "use a better instrument or more readings: this one cannot decide this band"
        return (
            "cycle the controls, read three times again"
            if len(tension.dials) < 3
            else "set nearer the middle, or use a better instrument"
        )
    turn = TURNS[0] if verdict.side == "low" else TURNS[1]
    return told("{} to {}{}", turn, force(limits.target_lbf), _dial_words(tension, limits))


def _dial_words(tension: Tension, limits: Limits) -> str:
    column = tension.column
    try:
        low, high = dial_window(column, limits.low_lbf, limits.high_lbf, tension.card.division)
        aim = lbf_to_dial(column, limits.target_lbf)
    except Refusal:
        return ""
    return f": dial {aim:.0f} ({low:g} to {high:g}), riser {column.riser}"
