"""Tension without a tensiometer on a terminal: the figure first, then what it is made of and rests on."""

from __future__ import annotations

from rich.console import Console
from rich.text import Text

from rigging.jobs.best_pull import PULLS, BestPull
from rigging.jobs.check import CAUTIONS
from rigging.jobs.clamp import ClampEffect
from rigging.jobs.pluck import Pluck
from rigging.jobs.pluck_sound import Heard
from rigging.jobs.side_pull import SidePull
from rigging.jobs.stretch import Stretch
from rigging.judge.verdict import Word, judge
from rigging.measure.agree import Agreement
from rigging.measure.uncertainty import Combined
from rigging.physics.clamp import NEAREST_IN
from rigging.report.no_gauge_data import sound_notes
from rigging.report.text.console import listing, table
from rigging.told import shown
from rigging.units import NEWTON_PER_LBF, force_unit, in_to_mm, show_force, show_length

_STYLE = {Word.IN: "bold green", Word.OUT: "bold red", Word.RE_MEASURE: "bold yellow"}


def show_side_pull(
    out: Console, found: SidePull | None, best: BestPull | None, stretch: Stretch, si: bool = False
) -> None:
    """A tension from side pulls, and the pull recommended."""
    if found is not None:
        _figure(out, found, si)
        if found.odd:
            out.print(Text("the pulls do not agree with each other: pull again", style="bold yellow"))
        rows = table(
            "pull", "deflection", f"tension, {force_unit(si)}", f"raised by, {force_unit(si)}",
            f"plain F L / 4 d, {force_unit(si)}", fixed=("pull",),
        )  # fmt: skip
        for pull, each, rise, string in zip(
            found.pulls, found.each_lbf, found.rises_lbf, found.string_lbf, strict=True
        ):
            cells = (show_force(x, si, unit=False) for x in (each, rise, string))
            rows.add_row(_pull(pull.force_lbf, si), show_length(pull.deflection_in, si), *cells)
        out.print(rows)
        _parts(out, found.combined, si)
    if best is not None:
        show_best(out, best, si)
    tools = [] if found is None else [_tools(found, si)]
    listing(out, "Rests on", [*_stretch_words(stretch, si), *tools, _bending_words(found, si)], si=si)
    listing(out, "Cautions", ["Take the pull off before anything else: it strains the cable.", *CAUTIONS], si=si)


def show_best(out: Console, best: BestPull, si: bool = False) -> None:
    """The span and pull to take."""
    span, way = show_length(best.span_in, si), show_length(best.deflection_in, si)
    out.print(
        Text(f"pull {_pull(best.force_lbf, si)} at the middle of a {span} span: it gives way by {way}", style="bold")
    )
    share = f"{100 * best.relative:.0f} % uncertainty (95 %)"
    out.print(
        f"{PULLS} such pulls: {share}" + ("" if best.reaches else ", the best there is, and not what was asked for")
    )


def show_pluck(out: Console, found: Pluck, heard: Heard | None, si: bool = False) -> None:
    """A tension from modes, and what was heard in a recording."""
    _figure(out, found, si)
    if not (found.usable if heard is None else heard.usable):
        out.print(Text("not for sign-off", style="bold yellow"))
    rows = table("mode", "frequency, Hz", "+- (k=1)", f"as a plain string, {force_unit(si)}", fixed=("mode",))
    for mode, string in zip(found.modes, found.string_lbf, strict=True):
        cells = (f"{mode.frequency_Hz:.2f}", f"{mode.standard_uncertainty_Hz:.2f}", show_force(string, si, unit=False))
        rows.add_row(str(mode.number), *cells)
    out.print(rows)
    low, high = (_bending(x, si) for x in (found.bending_low_lbf_in2, found.bending_high_lbf_in2))
    out.print(f"bending stiffness {low} to {high} (95 %)")
    if found.line is not None:
        out.print(f"straight line through the modes, pinned ends: {show_force(found.line.tension_lbf, si)}")
    if heard is not None:
        looked = f"{show_force(heard.low_lbf, si, unit=False)}..{show_force(heard.high_lbf, si)}"
        out.print(f"{heard.file}: {heard.duration_s:.1f} s, {len(heard.peaks)} peaks, looked for {looked}")
        own = {m.frequency_Hz for m in found.modes}
        strange = [
            f"{p.frequency_Hz:.1f} Hz" + (f" (mains {p.mains:.0f} Hz)" if p.mains else "")
            for p in heard.peaks
            if p.frequency_Hz not in own
        ]
        listing(out, "Heard and not of this span", [", ".join(strange)], si=si)
    _parts(out, found.combined, si)
    weight = f"{found.weight.value * 14.8816:.1f} g/m" if si else f"{found.weight.value:g} lb/100 ft"
    listing(out, "Note", [*found.notes, *sound_notes(heard)], si=si)
    listing(
        out,
        "Rests on",
        [
            f"cable {found.cable.size} {found.cable.construction}, {weight}: {found.weight.source}",
            f"span {show_length(found.span_in, si)}, +-{show_length(found.span_within_in, si)}",
        ],
        si=si,
    )
    listing(out, "Cautions", CAUTIONS, si=si)


def show_agree(out: Console, found: Agreement, si: bool = False) -> None:
    """Several ways side by side, and together where they agree."""
    if found.agrees:
        figure = f"{show_force(found.tension_lbf, si)} +-{show_force(found.uncertainty_lbf, si)}"
        out.print(Text(f"{figure}, {len(found.methods)} ways that agree", style="bold green"))
    else:
        out.print(Text("they do not agree: no combined figure", style="bold red"))
        off = found.stands_off
        if off is None:
            out.print("of two nothing tells which is wrong: find the tension in a third way")
        else:
            apart = show_force(abs(off.difference_lbf), si)
            way = "above" if off.difference_lbf > 0 else "below"
            out.print(f"{off.name} stands off: {apart} {way} the others, {off.in_uncertainties:.1f} x their u together")
    unit = force_unit(si)
    rows = table("way", f"tension, {unit}", "u (k=1)", "from the others", "in u together")
    for m, a in zip(found.methods, found.apart, strict=True):
        cells = (show_force(x, si, unit=False) for x in (m.tension_lbf, m.standard_uncertainty_lbf, a.difference_lbf))
        rows.add_row(m.name, *cells, f"{a.in_uncertainties:.1f}")
    out.print(rows)
    out.print(
        f"chi-square {found.chi_square:.2f} with {found.degrees_of_freedom} degrees of freedom: chance alone spreads as "
        f"widely in {100 * found.probability:.2g} % of cases; Birge ratio {found.birge_ratio:.2f}"
    )
    listing(
        out,
        "Rests on",
        [
            "all of them on the same run, at the same temperature and state of the aircraft",
            "errors of their own: ways that share a spring scale, a tape or a table are one way",
        ],
        si=si,
    )


def show_clamp(out: Console, found: ClampEffect, si: bool = False) -> None:
    """What a gauge adds."""
    rise = f"{show_force(found.raise_lbf, si)} +-{show_force(found.combined.expanded(), si)}"
    if found.reading_lbf is None:
        out.print(Text(f"the gauge adds {rise} where it reads {_about(found.at_lbf, si)}", style="bold"))
        out.print("more where it reads less: a slack cable bends over a longer way")
    else:
        out.print(Text(f"the gauge adds {rise}", style="bold"))
    if found.reading_lbf is not None and found.free_lbf is not None and found.free is not None:
        free = f"{show_force(found.free_lbf, si)} +-{show_force(found.free.expanded(), si)}"
        out.print(f"read {show_force(found.reading_lbf, si)}, without the gauge {free}")
    if found.maybe_slack:
        out.print(Text("without the gauge the cable may as well hang slack: read on a longer run", style="bold yellow"))
    accuracy = f"its accuracy of {100 * found.accuracy:g} %"
    where = f"below {_about(found.counts_below_lbf, si)}"
    if found.counts_at_any_tension:
        where = "at any tension this cable may carry"
    below = f"{where} it may add more than {accuracy}"
    if found.counts:
        out.print(Text(f"{below}: correct for it, or read on a longer run", style="bold yellow"))
    else:
        out.print(below)
    _parts(out, found.combined, si)
    low, high = _bending(found.bending.loose_lbf_in2, si), _bending(found.bending.solid_lbf_in2, si)
    string, least, most = (show_force(x, si) for x in found.clamped.rise)
    listing(
        out,
        "Rests on",
        [
            f"deflection {show_length(found.deflection_in, si)} over {show_length(found.anvils_in, si)} between the anvils",
            *_stretch_words(found.stretch, si),
            f"bending stiffness anywhere from {low} (loose wires) to {high} (solid rod): {least} to {most}",
            f"without bending stiffness it would be {string}, which errs to the unsafe side: a stiff cable takes a longer "
            "way, the gauge adds more, and the tension without it is lower",
            f"the gauge hangs free, the cable turns over its anvils, and {show_length(NEAREST_IN, si)} or more are left "
            "to the next fitting, pulley or fairlead",
            "a card made with hanging weights, where the tension stays what it is; one made on a fixed cable has some "
            "of this in it already",
        ],
        si=si,
    )


def _figure(out: Console, found: SidePull | Pluck, si: bool) -> None:
    u_lbf = found.uncertainty_lbf
    out.print(Text(f"{show_force(found.tension_lbf, si)} +-{show_force(u_lbf, si)}", style="bold"))
    out.print(f"U at 95 %, {100 * found.relative:.0f} % of it, k {found.combined.coverage_factor():.2f}")
    if found.too_loose:
        out.print(Text(f"too loose to use: {found.too_loose}", style="bold yellow"))
    if found.band is not None:
        u, k = found.combined.standard_uncertainty, found.combined.coverage_factor()
        verdict = judge(found.tension_lbf, found.band.low_lbf, found.band.high_lbf, u, coverage_factor=k)
        out.print(Text(f"{verdict.word.value}: {shown(verdict.reason, si)}", style=_STYLE[verdict.word]))
        if found.band.reference_degF is not None:
            out.print("the band was taken as it stands: move it to today's temperature first (rigging limits)")


def _parts(out: Console, combined: Combined, si: bool) -> None:
    figures = [_small(c.standard_uncertainty, si) for c in combined.components]
    widest = max(map(len, figures), default=0)
    lines = [f"{figure:>{widest}}  {c.why}" for figure, c in zip(figures, combined.components, strict=True)]
    listing(out, "Uncertainty (k=1)", lines, si=si)


def _about(force_lbf: float, si: bool) -> str:
    """``about 370 lbf``: a bound that rests on the stiffness of wires is known no better than in its second digit."""
    value = float(f"{force_lbf * NEWTON_PER_LBF if si else force_lbf:.2g}")
    return f"about {value:.0f} {force_unit(si)}" if value >= 10 else f"about {value:g} {force_unit(si)}"


def _small(force_lbf: float, si: bool) -> str:
    return f"{force_lbf * NEWTON_PER_LBF:.1f} N" if si else f"{force_lbf:.2f} lbf"


def _pull(force_lbf: float, si: bool) -> str:
    """A pull is a pound or two: tenths are too coarse."""
    return f"{force_lbf * NEWTON_PER_LBF:.2f} N" if si else f"{force_lbf:.2f} lbf"


def _bending(bending_lbf_in2: float, si: bool) -> str:
    return (
        f"{bending_lbf_in2 * NEWTON_PER_LBF * (in_to_mm(1) / 1000) ** 2:.2g} N m2"
        if si
        else f"{bending_lbf_in2:.3g} lbf in2"
    )


def _stretch_words(stretch: Stretch, si: bool) -> list[str]:
    cable = f"cable {stretch.cable.size} {stretch.cable.construction} {stretch.cable.material}"
    length = "" if stretch.length_in is None else f", {show_length(stretch.length_in, si)} long"
    return [cable + length, stretch.words, f"stiffness {stretch.source}"]


def _tools(found: SidePull, si: bool) -> str:
    t = found.tools
    return (
        f"spring scale +-{100 * t.scale_share:g} % and a division of {_pull(t.scale_step_lbf, si)}, deflection "
        f"+-{show_length(t.ruler_in, si)}, span +-{show_length(t.span_within_in, si)}"
    )


def _bending_words(found: SidePull | None, si: bool) -> str:
    if found is None:
        return ""
    low, high = _bending(found.bending.loose_lbf_in2, si), _bending(found.bending.solid_lbf_in2, si)
    return f"bending stiffness anywhere from {low} (loose wires) to {high} (solid rod), ends pinned or clamped"
