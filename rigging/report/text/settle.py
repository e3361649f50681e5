"""Settling on a terminal: the answer in words, the readings, the picture, then what it rests on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rich.console import Console
from rich.text import Text

from rigging.jobs.check import AFTER_ANY_TURN, CAUTIONS
from rigging.jobs.settle import LOOK_FOR, Refused, Settled
from rigging.report.pictures.settle import panel
from rigging.report.pictures.terminal import drawn
from rigging.report.text.console import listing, plain, table
from rigging.told import lbf_per_degF, lbf_per_in, shown
from rigging.told import told as say
from rigging.units import force_unit, show_force, show_temperature, show_tension


def show_settled(out: Console, result: Settled, aircraft: str, si: bool = False) -> None:
    """Print one run."""
    told = result.story
    where = f" at {told.station}" if told.station else ""
    out.print(Text(f"{aircraft}: {told.run.label}{where}", style="bold"))
    listing(out, _headline(result, si), _answer(result, si), si=si)
    rows = table("reading", "hours" if told.by == "hours" else "cycles", "structure", "tension", "at reference", "")
    marked = result.anomaly.reading if result.anomalous else None
    for i, p in enumerate(told.points):
        rows.add_row(
            f"{p.time:%Y-%m-%d %H:%M}", f"{p.elapsed:.4g}", show_temperature(p.structure_degF, si), show_force(p.tension_lbf, si),
            show_tension(p.at_reference_lbf, si), "here" if i == marked else "",
        )  # fmt: skip
    out.print(rows)
    ascii_only = out.options.ascii_only
    if told.points[-1].elapsed > 0 and not plain(out):
        out.print(drawn(panel(result, aircraft, si), out.width - 1, ascii_only), soft_wrap=True)
    listing(out, "Note", (*told.notes, *_notes(result, si)), si=si)
    listing(out, "Rests on", _rests(result, si), si=si)
    wood = dict.fromkeys(airframe.caution for _, airframe in told.run.parts)
    turned = (AFTER_ANY_TURN,) if told.turns or result.set_now is not None else ()
    listing(out, "Cautions", (*wood, *turned, *CAUTIONS), si=si)


def show_refused(out: Console, refused: Sequence[Refused], si: bool = False) -> None:
    """Runs that have no answer, and why."""
    if refused:
        out.print(Text("refused", style="bold yellow"))
        listing(out, "Why", dict.fromkeys(r.reason for r in refused), si=si)


def _headline(result: Settled, si: bool) -> str:
    if result.anomalous:
        return f"not settling: {show_force(abs(result.anomaly.size_lbf), si)} {result.anomaly.kind} before the reading marked"
    if result.settled:
        return f"settled, {100 * result.probability_settled:.0f} % sure"
    low, high = (show_force(x, si, unit=False) for x in result.remaining_interval_lbf)
    return f"still settling: {show_force(result.remaining_lbf, si)} to go ({low} to {high})"


def _answer(result: Settled, si: bool) -> Iterator[str]:
    if result.anomalous:
        yield LOOK_FOR[result.anomaly.kind] + "; until it is found, no forecast of this run may be used"
        return
    told, unit = result.story, force_unit(si)
    low, high = (show_tension(x, si, unit=False) for x in result.final_interval_lbf)
    figures = (
        "slack" if high == "slack" else f"at {show_tension(result.final_lbf, si, unit=False)} ({low} to {high}) {unit}"
    )
    ends = f"ends {figures} at {show_temperature(told.reference_degF, si)}"
    if result.limits_lbf is None:
        yield f"{ends}; without limits nobody can say whether that is right"
    else:
        band = "..".join(show_force(x, si, unit=False) for x in (result.limits_lbf[0], result.limits_lbf[2]))
        odds = f"{100 * (result.probability_in_limits or 0.0):.0f} % sure"
        yield f"{ends}, {'inside' if result.ends_inside else 'not surely inside'} {band} ({odds})"
    if result.set_now is not None and result.set_today_lbf is not None:
        last = told.points[-1]
        today = f"{show_tension(result.set_today_lbf, si)} at {show_temperature(last.structure_degF, si)}"
        if result.set_today_lbf <= 0:
            today += ": set it at a temperature nearer to the reference"
        dial = "" if result.dial is None else f", dial {result.dial:.0f} of {last.instrument}, riser {last.riser}"
        capped = "; the high limit holds it down, so it ends below target: come back" if result.set_now.capped else ""
        yield f"to end on target set {show_force(result.set_now.tension_lbf, si)} now, that is {today}{dial}{capped}"
    again = result.next_check
    unit_of = "h" if told.by == "hours" else "control cycles"
    yield (
        "no further look is worth making for settling"
        if again is None
        else f"look again after about {_two_digits(again)} {unit_of}"
    )


def _two_digits(value: float) -> str:
    """``190`` or ``3.4``: a forecast of time is worth no more."""
    return f"{float(f'{value:.2g}'):g}"


def _notes(result: Settled, si: bool) -> Iterator[str]:
    finals = ", ".join(f"{law} {show_tension(value, si, unit=False)}" for law, value in result.laws.finals_lbf.items())
    if result.laws.disagree:
        yield f"the laws disagree about the end in {force_unit(si)} ({finals}): the more cautious one, {result.laws.cautious}, sets what to do"
    if len(result.story.points) > 1 and not result.anomalous:
        yield _slip_words(result, si)
    if result.gaps:
        yield f"figures shown, not for sign-off: {'; '.join(shown(gap, si) for gap in result.gaps)}"
    if len(result.story.points) < 3:
        yield "fewer than three readings: the answer is mostly what is expected of such a cable"


def _slip_words(result: Settled, si: bool) -> str:
    """How large a slip of a terminal would have shown."""
    if result.least_step_lbf is None:
        return (
            "no slip before the last reading, however large short of slack, could be surely told from settling: these "
            "readings say nothing of the terminals, look at them"
        )
    least = show_force(result.least_step_lbf, si)
    return (
        f"a terminal that slipped by {least} before the last reading would have shown in 95 of 100 cases; a smaller slip "
        "may hide in settling: look at the terminals too"
    )


def _rests(result: Settled, si: bool) -> Iterator[str]:
    told, prior = result.story, result.story.prior
    low, high = (show_force(x, si, unit=False) for x in (prior.drop_low_lbf, prior.drop_high_lbf))
    yield (
        f"{told.history_words}: {low} to {high} {force_unit(si)} to be lost in all, {told.prior_source}"
        + (f"; {told.prior_source.note}" if told.prior_source.note else "")
    )
    unit = "h" if told.by == "hours" else "cycles"
    yield f"time to bed in {prior.elapsed_low:g} to {prior.elapsed_high:g} {unit}, horizon {prior.horizon:g} {unit}: practice"
    yield f"what the instrument can see: {show_force(result.visible_lbf, si)}, U of one reading"
    slope, stiffness = lbf_per_degF(prior.slope_lbf_per_degF), lbf_per_in(prior.stiffness_lbf_per_in, ".0f")
    yield say("slope {} of the run in its circuit, stiffness {}", slope, stiffness)
    laws = ", ".join(f"{law} {100 * p:.0f} %" for law, p in result.fit.law_probability().items())
    yield f"laws by evidence: {laws}"
