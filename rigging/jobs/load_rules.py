"""The rules a circuit must keep under limit load: no slack, control stretch, strength, pulleys, fairleads."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from enum import StrEnum
from typing import Final

import msgspec

from rigging.hardware import pulley
from rigging.jobs.load_days import LoadDay, Pull
from rigging.jobs.load_parts import ALIKE_TO, Bend, CableLoad, listed, when, when_pulled
from rigging.physics.loads import ULTIMATE_FACTOR
from rigging.sheet.circuit_entry import PilotEntry
from rigging.source import Figure, Source
from rigging.told import Amount, force, join, lbf, told

STATICS: Final = "computed: balance of the circuit, without friction"


class Kept(StrEnum):
    """How a rule stands, as scripts read it."""

    MET = "met"
    BROKEN = "broken"
    RE_MEASURE = "re-measure"  # nearer to the rule than the figures are known
    NOTED = "noted"  # no rule, but worth knowing
    NOT_KNOWN = "not known"
    NOT_FOR_SIGN_OFF = "not for sign-off"  # met, but by a figure that was only recalled


class Rule(msgspec.Struct, frozen=True):
    """A rule, how it stands, the figures in words, and whose rule it is."""

    what: str
    kept: Kept
    words: str
    source: str

    @property
    def finding(self) -> bool:
        """Whether something needs doing: all but met, noted and not known."""
        return self.kept not in (Kept.MET, Kept.NOTED, Kept.NOT_KNOWN)

    def recalled(self, what: str) -> Rule:
        """The same rule where what it was found met by is only recalled."""
        if self.kept is not Kept.MET:
            return self
        return msgspec.structs.replace(
            self, kept=Kept.NOT_FOR_SIGN_OFF, words=told("{}; {} from memory", self.words, what)
        )


def _kept(met: bool) -> Kept:
    return Kept.MET if met else Kept.BROKEN


def rules(
    kind: str | None,
    pilot: PilotEntry,
    limit_force: Figure,
    days: Sequence[LoadDay],
    cables: Sequence[CableLoad],
    bends: Sequence[Bend],
    usable: bool = True,
) -> Iterator[Rule]:
    """Every rule with its figures in words. kind: of the aircraft. usable: whether the tensions may be accepted."""
    of_tensions = [_rest(days), _slack(pilot, limit_force, days), _stretch(kind, pilot, days)]
    of_tensions += [_strength(cable) for cable in cables]
    for rule in of_tensions:
        yield rule if usable else rule.recalled("a figure behind the tensions is")
    for bend in bends:
        if bend.kind == "fairlead":
            yield _fairlead(bend)
        else:
            yield _pulley(bend) if usable else _pulley(bend).recalled("a figure behind the tensions is")


def _rest(days: Sequence[LoadDay]) -> Rule:
    hanging = [told("{} at {}", ", ".join(day.slack_at_rest), when(day)) for day in days if day.slack_at_rest]
    words = join("; ", hanging) if hanging else "no cable hangs slack at rest on any day"
    return Rule("slack at rest", _kept(not hanging), words, STATICS)


def _slack(pilot: PilotEntry, limit_force: Figure, days: Sequence[LoadDay]) -> Rule:
    what = "slack under limit force"
    pulls = [(day, pull) for day in days for pull in day.pulls if pull.tension_lbf]
    known = [(d, p, p.slack_force_lbf) for d, p in pulls if p.slack_force_lbf is not None]
    if not known:
        return Rule(what, Kept.MET, "no cable goes slack, however hard the pilot pulls", STATICS)
    # both ways of a circuit of equal arms are alike, and no last bit decides which is named
    day, pull, least_lbf = min(known, key=lambda one: round(one[2], ALIKE_TO))
    where = told(
        "first {}, from {} at the hand, {}",
        listed(pull.first_slack),
        force(least_lbf),
        when_pulled(pilot, pull, day),
    )
    pulled = force(limit_force.value)
    under = {name for _, p in pulls for name in p.slack}
    if under:
        names = listed([name for name in day.rest_lbf if name in under])
        # a loop is rigged far below half the limit force: the slack side is usual, and what it may jump off is not
        words = told("{} under {} at the hand; {}; see that it cannot leave its pulleys", names, pulled, where)
        return Rule(what, Kept.NOTED, words, STATICS)
    return Rule(what, Kept.MET, told("none up to {} at the hand; {}", pulled, where), STATICS)


def _stretch(kind: str | None, pilot: PilotEntry, days: Sequence[LoadDay]) -> Rule:
    """How far the control gives way with the surfaces held, of what it moves one way from neutral."""
    what, most = "control stretch", pulley.most_control_stretch()
    moves = [
        (p.movement_deg / (_one_way_deg(pilot, p) or 1.0), p, d)
        for d in days
        for p in d.pulls
        if p.movement_deg is not None
    ]
    _, pull, day = max(moves, key=lambda one: round(one[0], ALIKE_TO))
    moved_deg, where = pull.movement_deg or 0.0, when_pulled(pilot, pull, day)
    one_way_deg = _one_way_deg(pilot, pull)
    if one_way_deg is None:
        words = told("{:.1f} deg, {}: add 'travel_plus' and 'travel_minus' to the pilot block", moved_deg, where)
        return Rule(what, Kept.NOT_KNOWN, words, str(most.source))
    share, low, high = (
        100 * (x or 0.0) / one_way_deg for x in (moved_deg, pull.movement_least_deg, pull.movement_most_deg)
    )
    halved = pilot.travel_deg is not None
    words = told(
        "{}; {}; {} as far as the stiffness is known",
        f"{share:.0f} %, {moved_deg:.1f} of {one_way_deg:g} deg one way from neutral"
        f"{f' (half of {pilot.travel_deg:g} from stop to stop)' if halved else ''}, at most {most.value:g} %",
        where,
        f"{low:.0f} to {high:.0f} %",
    )
    if kind == "airplane":
        # the rule is not for this aircraft, whatever the figure
        return Rule(what, Kept.NOTED, told("{}; guidance: a rule for sailplanes", words), str(most.source))
    kept = _kept(share <= most.value)
    if share <= most.value < high:
        kept, words = Kept.RE_MEASURE, told("{}: measure it, the surfaces held", words)
    elif share <= most.value and halved:
        # the shorter way may be less than half
        kept, words = Kept.NOT_KNOWN, told("{}: give 'travel_plus' and 'travel_minus', from neutral each way", words)
    if kind is None:
        words = told("{}; a rule for sailplanes: if this is none, write kind: airplane under aircraft", words)
    return _by(most.source, Rule(what, kept, words, str(most.source)))


def _one_way_deg(pilot: PilotEntry, pull: Pull) -> float | None:
    if pilot.travel_deg is not None:
        return pilot.travel_deg / 2
    return pilot.travel_plus_deg if pull.way == "+" else pilot.travel_minus_deg


def _strength(cable: CableLoad) -> Rule:
    what = f"strength of {cable.run.name}"
    left_out = f"not counted: {' and '.join(cable.not_counted)}" if cable.not_counted else ""
    if cable.weakest is None or cable.margin is None:
        return Rule(what, Kept.NOT_KNOWN, f"{left_out} ({cable.not_counted['cable']})", "")
    strength = cable.strengths[cable.weakest]
    margin = "unloaded" if math.isinf(cable.margin) else f"margin {cable.margin:+.2f}"
    words = told(
        "{}: {} x {} against {} of the {}, {}",
        margin,
        _load(cable.most_lbf),
        f"{ULTIMATE_FACTOR:g}",
        _load(strength.value),
        cable.weakest,
        cable.where,
    )
    if left_out:
        words = told("{}; {}", words, left_out)
    kept = _kept(cable.margin >= 0)
    if kept is Kept.MET and "cable" in cable.not_counted:
        return Rule(what, Kept.NOT_KNOWN, told("{} ({})", words, cable.not_counted["cable"]), str(strength.source))
    rule = Rule(what, kept, words, str(strength.source))
    # a recalled strength may be the weaker one in truth
    recalled = [part for part, figure in cable.strengths.items() if not figure.source.acceptable]
    return rule.recalled(f"the strength of the {listed(recalled)} is") if recalled else rule


def _pulley(bend: Bend) -> Rule:
    what = f"{bend.name} on {bend.cable}"
    load = told("{} over {:g} deg", _load(bend.load_lbf or 0.0), bend.angle_deg)
    if bend.rating is None:
        kept = Kept.BROKEN if bend.fits is False else Kept.NOT_KNOWN
        return Rule(what, kept, told("{}; {}{}", load, bend.missing, _misfit(bend)), "")
    words = told("{}, rated {}{}", load, _load(bend.rating.value), _misfit(bend))
    met = (bend.load_lbf or 0.0) <= bend.rating.value and bend.fits is not False
    return _by(bend.rating.source, Rule(what, _kept(met), words, str(bend.rating.source)), "the rating is")


def _misfit(bend: Bend) -> str:
    return "; the part is made for other cable sizes" if bend.fits is False else ""


def _fairlead(bend: Bend) -> Rule:
    most = pulley.most_fairlead_bend()
    words = f"bends the cable by {bend.angle_deg:g} deg, at most {most.value:g}"
    rule = Rule(f"{bend.name} on {bend.cable}", _kept(bend.angle_deg <= most.value), words, str(most.source))
    return _by(most.source, rule)


def _by(source: Source, rule: Rule, what: str = "that limit is") -> Rule:
    """A rule held to a figure of a source: not for sign-off where that was only recalled."""
    return rule if source.acceptable else rule.recalled(what)


def _load(force_lbf: float) -> Amount:
    """Loads far above any rigging tension: whole pounds."""
    return lbf(force_lbf, ",.0f")
