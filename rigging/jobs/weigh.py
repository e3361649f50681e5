"""A tensiometer held to its stated accuracy by hanging weights, and the corrected card that comes of it."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Sequence
from pathlib import Path

import msgspec

from rigging.bands import Band
from rigging.errors import Refusal, UsageError
from rigging.judge.verdict import Verdict, Word, judge
from rigging.measure.card import Card, CardFile
from rigging.measure.weigh import (
    BUOYANCY_SHARE,
    GRAVITY_SHARE,
    LARGEST_SHARE,
    Load,
    Weighing,
    column_accuracy,
    measured_column,
    need_loads,
    weigh,
)
from rigging.schema import read
from rigging.sheet.newfile import write_new
from rigging.source import Basis
from rigging.told import force, told
from rigging.yamlfile import loads

IN_WORDS = {Word.IN: "in", Word.OUT: "out", Word.RE_MEASURE: "cannot be decided"}


class Weighed(msgspec.Struct, frozen=True):
    """One load with its verdict: allowed_lbf [lbf], how far the stated accuracy lets the reading lie from the load."""

    weighing: Weighing
    verdict: Verdict
    word: Word
    allowed_lbf: float
    reason: str


class WeighResult(msgspec.Struct, frozen=True):
    """A whole check: every load light to heavy, the word for all of them, and whether they bracket the band asked about.

    brackets: None where no band was given.
    """

    card: Card
    riser: int
    size: str
    today: dt.date
    weight_accuracy: float
    loads: tuple[Weighed, ...]
    word: Word
    band: Band | None
    brackets: bool | None
    notes: tuple[str, ...]

    @property
    def worst(self) -> Weighing:
        """The load at which the card is furthest off, as a share."""
        return max((w.weighing for w in self.loads), key=lambda weighing: abs(weighing.share))

    @property
    def finding(self) -> bool:
        """Whether anything but a good instrument where it matters came of it."""
        return self.word is not Word.IN or self.brackets is False

    @property
    def assumptions(self) -> list[str]:
        """What the figures rest on."""
        return [
            f"weights known within {100 * self.weight_accuracy:g} %, everything below the gauge weighed with them: "
            "hanger, fitting and cable",
            f"a pound pulls one pound-force within {100 * GRAVITY_SHARE:.2f} % anywhere on earth: local gravity (computed)",
            f"air bears iron up by {100 * BUOYANCY_SHARE:.3f} %, water in a can by 0.12 % (computed): not counted",
            "the cable is led over nothing, of the size and construction that the card's column names, and hangs still",
            f"held to {100 * self.card.accuracy:g} % of the load, as stated on the card; that accuracy is the limit here "
            "and no part of the uncertainty",
        ]


def weigh_instrument(
    card: Card, riser: int, size: str, loads: Sequence[Load], weight_accuracy: float, band: Band | None, today: dt.date
) -> WeighResult:  # fmt: skip
    """Hold an instrument to its stated accuracy at three loads or more, with the guard band of every verdict here.

    weight_accuracy: share. Raises Refusal: fewer than three loads, no such column, weights known worse than 20 %.
    Raises UsageError where a load is given twice.
    """
    if not 0 < weight_accuracy <= LARGEST_SHARE:
        raise Refusal(
            f"weights known within {100 * weight_accuracy:g} % check nothing: "
            f"weigh them, the limit is {100 * LARGEST_SHARE:g} %"
        )
    ordered = need_loads(loads)
    weighed = tuple(_judged(card, weigh(card, riser, size, load, weight_accuracy, today)) for load in ordered)
    words = {w.word for w in weighed}
    word = Word.OUT if Word.OUT in words else Word.IN if words == {Word.IN} else Word.RE_MEASURE
    brackets = None if band is None else _brackets(ordered, band)
    return WeighResult(
        card, riser, size, today, weight_accuracy, weighed, word, band, brackets,
        tuple(_notes(weighed, ordered, band, brackets)),
    )  # fmt: skip


def _brackets(ordered: Sequence[Load], band: Band) -> bool:
    slack = 1e-6  # a load typed in newton on the edge of a band in pounds is on the edge
    return (
        ordered[0].load_lbf <= band.low_lbf * (1 + slack) and ordered[-1].load_lbf >= band.high_lbf * (1 - slack)
    )  # fmt: skip


def _judged(card: Card, weighing: Weighing) -> Weighed:
    load_lbf, combined = weighing.load.load_lbf, weighing.combined
    allowed_lbf = card.accuracy * load_lbf
    verdict = judge(
        weighing.tension.tension_lbf, load_lbf - allowed_lbf, load_lbf + allowed_lbf,
        combined.standard_uncertainty, combined.degrees_of_freedom, combined.coverage_factor(),
    )  # fmt: skip
    word, reason = verdict.word, verdict.reason
    allowed, uncertainty = force(allowed_lbf), force(weighing.uncertainty_lbf)
    if word is Word.RE_MEASURE:
        stands = "inside" if verdict.plain == "in" else "outside"
        reason = (
            told("the difference lies {} the stated {}, by less than its uncertainty {}", stands, allowed, uncertainty)
            if verdict.can_decide
            else told(
                "the uncertainty {} is more than the stated {}: no reading here could be accepted", uncertainty, allowed
            )
        )
    if weighing.outside is not None:
        end = force(weighing.tension.tension_lbf)
        beyond = told("the dial lies beyond the card, {} {}", weighing.outside, end)
        # beyond the card the true figure is still further off, so only what it is already out by is certain
        certain = word is Word.OUT and (verdict.side == "low") == (weighing.outside == "under")
        word = Word.OUT if certain else Word.RE_MEASURE
        out_by = told(", and is out by more than {}", force(abs(weighing.difference_lbf)))
        reason = told("{}{}", beyond, out_by if certain else ": no figure is given there")
    return Weighed(weighing, verdict, word, allowed_lbf, reason)


def _notes(
    weighed: Sequence[Weighed], ordered: Sequence[Load], band: Band | None, brackets: bool | None
) -> list[str]:  # fmt: skip
    notes: dict[str, None] = {}
    span = told("{}..{}", force(ordered[0].load_lbf, unit=False), force(ordered[-1].load_lbf))
    if brackets is False and band is not None:
        rest = "nothing is known of the rest, hang lighter or heavier ones"
        notes[told("the loads {} do not bracket {}: {}", span, band.text, rest)] = None
    elif band is None:
        why = "with --band it is told whether they bracket the tension that matters"
        notes[told("the loads run {}: {}", span, why)] = None
    if band is not None and band.reference_degF is not None:
        notes["the band was taken as it stands: move it to today's temperature first (rigging limits)"] = None
    for w in weighed:
        for note in w.weighing.tension.notes:
            own = note.startswith("card ")
            notes[note if own else told("at {}: {}", force(w.weighing.load.load_lbf), note)] = None
    if any(not w.verdict.can_decide for w in weighed):
        notes["to decide more: heavier loads, more readings each, and a dial read to less than a division"] = None
    return list(notes)


def new_card(result: WeighResult, who: str, due: dt.date | None) -> CardFile:
    """The instrument's card as its weights say: the one column that was checked, basis ``measured``.

    due: until when it may be used; the old card's day where left out, since no interval is invented.
    Raises Refusal where the dial does not rise with the loads, UsageError where no day is left.
    """
    card, hung = result.card, [w.weighing.load for w in result.loads]
    column = measured_column(result.riser, result.size, hung)
    until = due or card.due
    if until <= result.today:
        given = "--due" if due else f"the card was due on {card.due}"
        raise UsageError(
            f"{given}: give the day until which the new card may be used, like --due 2027-11-25, after {result.today}"
        )
    each = ", ".join(f"{load.load_lbf:g}" for load in hung)
    try:
        return CardFile(
            tensiometer_card=1,
            serial=card.serial,
            calibrated=result.today,
            due=until,
            accuracy=column_accuracy(column, hung, card.division, result.weight_accuracy, card.accuracy),
            columns=[column],
            division=card.division,
            basis=Basis.MEASURED,
            source=f"hanging weights of {each} lbf, within {100 * result.weight_accuracy:g} %, {result.today} by {who}",
        )
    except ValueError as error:
        raise Refusal(f"no card can be made: {error}") from None


def card_text(file: CardFile, old: Card) -> str:
    """A card as YAML, with what was left out said at its top."""
    column = file.columns[0]
    left_out = [c.label for c in old.columns if c.label != column.label]
    said = f"# Left out, because they were not checked: {'; '.join(left_out)}.\n" if left_out else ""
    points = ", ".join(f"[{dial:.3f}, {tension_lbf:.3f}]" for dial, tension_lbf in column.points)
    # a JSON string is a YAML string, whatever a name or a serial is made of
    return (
        f"# Measured with hanging weights; it takes the place of the card calibrated {old.calibrated}.\n{said}"
        "tensiometer_card: 1\n"
        f"serial: {json.dumps(file.serial, ensure_ascii=False)}\n"
        f"calibrated: {file.calibrated}\n"
        f"due: {file.due}\n"
        f"accuracy: {100 * file.accuracy:.1f}%   # of the reading; its worst point, and never better than stated before\n"
        f"division: {file.division:.6g}\n"
        "unit: lbf\n"
        f"basis: {file.basis.value}\n"
        f"source: {json.dumps(file.source, ensure_ascii=False)}\n"
        "columns:\n"
        f"  - {{riser: {column.riser}, cable: {column.cable}, points: [{points}]}}\n"
    )


def write_card(path: Path, result: WeighResult, who: str, due: dt.date | None) -> CardFile:
    """Write the corrected card to a file that must not exist yet, and return it.

    Raises UsageError where a file is in the way or no day is left, BadFile where it cannot be written, Refusal where no
    card can be made.
    """
    file = new_card(result, who, due)
    text = card_text(file, result.card)
    read(loads(text, str(path)), CardFile)  # what cannot be read back is not written
    write_new({path: text})
    return file
