"""The rules a circuit must keep under limit load: no slack, control stretch, strength, pulleys, fairleads."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from enum import StrEnum
from typing import Final

import msgspec

from rigging.errors import Refusal
from rigging.hardware import pulley
from rigging.jobs.load_days import LoadDay
from rigging.physics import friction
from rigging.physics.loads import ULTIMATE_FACTOR, pulley_load_lbf, strength_margin
from rigging.sheet.cable_entry import PulleyEntry
from rigging.sheet.circuit import CircuitModel
from rigging.sheet.circuit_entry import PilotEntry
from rigging.sheet.rig import Run
from rigging.source import Figure, Source
from rigging.told import Amount, force, join, lbf, temperature, told

ALIKE_TO: Final = 6  # decimals of a pound or degree, far finer than any of them is known
STATICS: Final = "computed: balance of the circuit, without friction"


class Kept(StrEnum):
    """How a rule stands, as scripts read it."""

    MET = "met"
    BROKEN = "broken"
    RE_MEASURE = "re-measure"  # nearer to the rule than the figures are known
    NOTED = "noted"  # no rule, but worth knowing
    NOT_KNOWN = "not known"
    NOT_FOR_SIGN_OFF = "not for sign-off"  # met, but by a figure that was only recalled


class CableLoad(msgspec.Struct, frozen=True):
    """One cable: its highest tension over all days and both ways [lbf], and the margin on its strength.

    margin [1]: None where no table gives a strength; missing then says why. friction_ratio [1]: highest over lowest
    tension along the run by the friction of all its bends. spread_lbf [lbf]: how far readings at its two ends
    may differ for that, at rest at reference.
    """

    run: Run
    most_lbf: float
    strength: Figure | None
    margin: float | None
    missing: str
    friction_ratio: float
    spread_lbf: float


class Bend(msgspec.Struct, frozen=True):
    """A pulley or fairlead of a cable: what it turns [deg], its highest load [lbf] and what it may carry.

    load_lbf [lbf]: None for a fairlead. rating: None where not known; missing then says why. fits: whether
    the part is made for the cable's size; None where not known.
    """

    cable: str
    kind: str
    name: str
    angle_deg: float
    load_lbf: float | None
    rating: Figure | None
    missing: str
    fits: bool | None


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


def cable_loads(model: CircuitModel, days: Sequence[LoadDay]) -> Iterator[CableLoad]:
    """Every cable at its highest tension, at rest or pulled."""
    reference = next(day for day in days if day.day == "reference")
    for run in model.runs:
        every = [day.rest_lbf[run.name] for day in days]
        every += [pull.tension_lbf[run.name] for day in days for pull in day.pulls if pull.tension_lbf]
        most_lbf = max(every)
        strength = run.cable.breaking_strength
        bends = _friction_bends(run)
        yield CableLoad(
            run=run,
            most_lbf=most_lbf,
            strength=strength,
            margin=None if strength is None else strength_margin(strength.value, most_lbf),
            missing="" if strength is not None else run.cable.missing["breaking_strength_lbf"],
            friction_ratio=friction.tension_ratio(bends),
            spread_lbf=friction.spread_lbf(reference.rest_lbf[run.name], bends),
        )


def _friction_bends(run: Run) -> list[friction.Bend]:
    bends = [friction.Bend(pulley.pulley_friction(p.bearing).value, p.wrap_deg) for p in run.entry.pulleys]
    return bends + [friction.Bend(pulley.fairlead_friction().value, f.bend_deg) for f in run.entry.fairleads]


def bends_of(model: CircuitModel, cables: Sequence[CableLoad]) -> Iterator[Bend]:
    """Every pulley and fairlead under the highest tension of its cable."""
    for run, cable in zip(model.runs, cables, strict=True):
        for i, entry in enumerate(run.entry.pulleys, 1):
            load_lbf = pulley_load_lbf(cable.most_lbf, entry.wrap_deg)
            name = entry.name or f"pulley {i}"
            rating, missing = _rating(entry)
            fits = pulley.fits_cable(entry.part, run.cable.size) if pulley.known_part(entry.part) else None
            yield Bend(run.name, "pulley", name, entry.wrap_deg, load_lbf, rating, missing, fits)
        for i, lead in enumerate(run.entry.fairleads, 1):
            yield Bend(run.name, "fairlead", lead.name or f"fairlead {i}", lead.bend_deg, None, None, "", None)


def _rating(entry: PulleyEntry) -> tuple[Figure | None, str]:
    if not entry.part:
        return None, "rating not known: the sheet names no part"
    try:
        return pulley.pulley_rating(entry.part), ""
    except Refusal as reason:
        return None, f"rating not known: {reason}"


def rules(
    pilot: PilotEntry,
    limit_force: Figure,
    days: Sequence[LoadDay],
    cables: Sequence[CableLoad],
    bends: Sequence[Bend],
    usable: bool = True,
) -> Iterator[Rule]:
    """Every rule with its figures in words. usable: whether the tensions may be accepted."""
    of_tensions = [_rest(days), _slack(pilot, limit_force, days), _stretch(pilot, days)]
    of_tensions += [_strength(cable) for cable in cables]
    for rule in of_tensions:
        yield rule if usable else rule.recalled("a figure behind the tensions is")
    for bend in bends:
        if bend.kind == "fairlead":
            yield _fairlead(bend)
        else:
            yield _pulley(bend) if usable else _pulley(bend).recalled("a figure behind the tensions is")


def _rest(days: Sequence[LoadDay]) -> Rule:
    hanging = [told("{} at {}", ", ".join(day.slack_at_rest), _when(day)) for day in days if day.slack_at_rest]
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
        "first {}, {} pulled to {}, from {} at the hand at {}",
        _and(pull.first_slack),
        pilot.sector,
        pull.way,
        force(least_lbf),
        _when(day),
    )
    pulled = force(limit_force.value)
    under = {name for _, p in pulls for name in p.slack}
    if under:
        names = _and([name for name in day.rest_lbf if name in under])
        # a loop is rigged far below half the limit force: the slack side is usual, and what it may jump off is not
        words = told("{} under {} at the hand; {}; see that it cannot leave its pulleys", names, pulled, where)
        return Rule(what, Kept.NOTED, words, STATICS)
    return Rule(what, Kept.MET, told("none up to {} at the hand; {}", pulled, where), STATICS)


def _stretch(pilot: PilotEntry, days: Sequence[LoadDay]) -> Rule:
    most = pulley.most_control_stretch()
    moves = [(p, d) for d in days for p in d.pulls if p.movement_deg is not None]
    pull, day = max(moves, key=lambda one: round(one[0].movement_deg or 0.0, ALIKE_TO))
    moved_deg, least_deg, most_deg = (
        pull.movement_deg or 0.0,
        pull.movement_least_deg or 0.0,
        pull.movement_most_deg or 0.0,
    )
    where = told("{} {} at {}", pilot.sector, pull.way, _when(day))
    if pilot.travel_deg is None:
        words = told("{:.1f} deg, {}: add 'travel' to the pilot block to see its share", moved_deg, where)
        return Rule("control stretch", Kept.NOT_KNOWN, words, str(most.source))
    share, low, high = (100 * x / pilot.travel_deg for x in (moved_deg, least_deg, most_deg))
    words = told(
        "{}; {}; {} as far as the stiffness is known",
        f"{share:.0f} %, {moved_deg:.1f} of {pilot.travel_deg:g} deg from stop to stop, at most {most.value:g} %",
        where,
        f"{low:.0f} to {high:.0f} %",
    )
    kept = _kept(share <= most.value)
    if share <= most.value < high:
        kept = Kept.RE_MEASURE
        words = told("{}: measure it, the surfaces held", words)
    return _by(most.source, Rule("control stretch", kept, words, str(most.source)))


def _strength(cable: CableLoad) -> Rule:
    what = f"strength of {cable.run.name}"
    if cable.strength is None or cable.margin is None:
        return Rule(what, Kept.NOT_KNOWN, cable.missing, "")
    margin = "unloaded" if math.isinf(cable.margin) else f"margin {cable.margin:+.2f}"
    factor = f"{ULTIMATE_FACTOR:g}"
    words = told("{}: {} x {} against {}", margin, _load(cable.most_lbf), factor, _load(cable.strength.value))
    rule = Rule(what, _kept(cable.margin >= 0), words, str(cable.strength.source))
    return _by(cable.strength.source, rule, "the strength is")


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


def _when(day: LoadDay) -> str:
    return told("{} ({})", temperature(day.temperature_degF), day.day)


def _and(names: Sequence[str]) -> str:
    return " and ".join(names)


def _load(force_lbf: float) -> Amount:
    """Loads far above any rigging tension: whole pounds."""
    return lbf(force_lbf, ",.0f")
