"""A circuit through the seasons on a terminal: the figures of three days, the picture, the reasons, the sources."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from rich.console import Console
from rich.text import Text

from rigging.jobs.check import CAUTIONS
from rigging.jobs.envelope_parts import DESIGNER, CircuitEnvelope, EnvelopeResult, RunEnvelope
from rigging.jobs.window import Edge, Window
from rigging.report.pictures.envelope import panel
from rigging.report.pictures.terminal import drawn
from rigging.report.text.console import PIPED_WIDTH, listing, marked, plain, stacked, table
from rigging.told import shown, told
from rigging.units import (
    NEWTON_PER_LBF,
    force_unit,
    show_force,
    show_temperature,
)


def show_envelope(out: Console, result: EnvelopeResult, si: bool = False) -> None:
    """Print every circuit, then the cautions once."""
    file = result.rig.file
    out.print(Text(f"{file.aircraft.name}, registration {file.aircraft.registration}", style="bold"))
    for circuit in result.circuits:
        _show_circuit(out, circuit, file.aircraft.name, si)
    for name, reason in result.refused.items():
        out.print(Text(f"{name}: refused", style="bold yellow"))
        listing(out, "Why", [reason], si=si)
    assumptions = dict.fromkeys(a for c in result.circuits for a in c.assumptions)
    listing(
        out, "Rests on", (*assumptions, "the tension set is taken as exact, the structure as at one temperature"), si=si
    )
    listing(out, "Cautions", (*dict.fromkeys(w for c in result.circuits for w in c.cautions), *CAUTIONS), si=si)


def _show_circuit(out: Console, c: CircuitEnvelope, aircraft: str, si: bool) -> None:
    out.print(
        f"{c.name}: {_temperature(c.coldest_degF, si)} to {_temperature(c.hottest_degF, si)}; "
        f"tensions in {force_unit(si)}, +- is U at 95 %"
    )
    if stacked(out):
        _listed(out, c, si)
    else:
        _tabled(out, c, si)
    for words, style in _slack_words(c, si):
        out.print(Text(words, style=style))
    if any(r.tensions_lbf for r in c.runs) and not plain(out):
        ascii_only, colour = out.options.ascii_only, out.color_system is not None
        picture = drawn(panel(c, aircraft, si), min(out.width, PIPED_WIDTH) - 1, ascii_only, colour)
        out.print(Text.from_ansi(picture))
    if c.window is not None:
        _show_window(out, c.window, si)
    listing(out, "Why", _reasons(c, si), si=si)


def _days(c: CircuitEnvelope) -> list[float]:
    return sorted({c.coldest_degF, c.reference_degF, c.hottest_degF})


def _listed(out: Console, c: CircuitEnvelope, si: bool) -> None:
    """A cable after the other, in words: for a narrow screen, and for whoever has it read aloud."""
    for r in c.runs:
        lines = []
        for t in _days(c):
            tension, limits = _cell(r, c.temperatures_degF.index(t), t == c.reference_degF, si).splitlines()
            set_there = ", where it is set" if t == c.reference_degF else ""
            lines.append(f"at {_temperature(t, si)}{set_there}: tension {tension}, limits {limits}")
        listing(out, f"{', '.join(str(_word(out, r)).splitlines())}: {r.run.name}", lines, si=si)


def _tabled(out: Console, c: CircuitEnvelope, si: bool) -> None:
    days = _days(c)
    headings = [f"{_temperature(t, si)}{' (set)' if t == c.reference_degF else ''}" for t in days]
    rows = table("result", "run", *headings, fixed=("result", *headings))
    for r in c.runs:
        cells = [_cell(r, c.temperatures_degF.index(t), t == c.reference_degF, si) for t in days]
        rows.add_row(_word(out, r), f"{r.run.name}\n  limits", *cells)
    out.print(rows)


def _temperature(temperature_degF: float, si: bool) -> str:
    return show_temperature(round(temperature_degF, 1), si)


def _word(out: Console, r: RunEnvelope) -> Text:
    if r.rigged_lbf is None:
        return Text(marked(out, "!", "!", "no tension"), style="yellow")
    words = [*(["slack"] if r.slack else []), *dict.fromkeys(f"out {o.side}" for o in r.out)]
    if words:
        return Text("\n".join(marked(out, "✗", "X", word) for word in words), style="bold red")
    if not r.limits.given:
        return Text(marked(out, "?", "?", "no limits"), style="yellow")
    if r.limits.open:
        return Text(marked(out, "?", "?", "no result"), style="yellow")
    return Text(marked(out, "✓", "+", "in limits"), style="green")


def _cell(r: RunEnvelope, i: int, at_reference: bool, si: bool) -> str:
    low, high = r.limits.low_lbf[i], r.limits.high_lbf[i]
    if low is None or high is None:
        limits = "no result" if r.limits.given else "none given"
    else:
        limits = f"{show_force(low, si, unit=False)}..{show_force(high, si, unit=False)}"
    if not r.tensions_lbf:
        return f"not known\n{limits}"
    tension = show_force(r.tensions_lbf[i], si, unit=False)
    spread = "" if at_reference else f" +-{show_force(r.uncertainties_lbf[i], si, unit=False)}"
    slack = r.tensions_lbf[i] <= 1e-6
    return f"{'slack' if slack else tension + spread}\n{limits}"


def _slack_words(c: CircuitEnvelope, si: bool) -> Iterator[tuple[str, str]]:
    if not any(r.tensions_lbf for r in c.runs):
        return
    first, last = c.temperatures_degF[0], c.temperatures_degF[-1]
    colder = max((s.to_degF for r in c.runs for s in r.perhaps_slack if s.from_degF == first), default=None)
    warmer = min((s.from_degF for r in c.runs for s in r.perhaps_slack if s.to_degF == last), default=None)
    for side, surely, perhaps in (("below", c.slack_below_degF, colder), ("above", c.slack_above_degF, warmer)):
        if surely is not None:
            already = (
                f"; within the uncertainty already {side} {_temperature(perhaps, si)}" if perhaps is not None else ""
            )
            yield f"hangs slack {side} {_temperature(surely, si)}{already}", "bold red"
        elif perhaps is not None:
            yield (
                f"tight, but within the uncertainty it may hang slack {side} {_temperature(perhaps, si)}",
                "bold yellow",
            )
    if c.slack_below_degF is None and c.slack_above_degF is None and colder is None and warmer is None:
        yield "no cable hangs slack on any of these days", "bold"


def _together(pairs: Iterable[tuple[str, str]]) -> Iterator[str]:
    """``left, right: words`` for names that share their words."""
    by_words: dict[str, list[str]] = {}
    for name, words in pairs:
        by_words.setdefault(words, []).append(name)
    for words, names in by_words.items():
        yield told("{}: {}", ", ".join(dict.fromkeys(names)), words)


def _reasons(c: CircuitEnvelope, si: bool) -> Iterator[str]:
    yield from _together((r.run.name, _rigged(r, c, si)) for r in c.runs)
    yield from _together((r.run.name, _direction(r, si)) for r in c.runs if r.slope_lbf_per_degF is not None)
    yield from _together(
        (
            r.run.name,
            f"{'above its high' if o.side == 'high' else 'below its low'} limit from {_temperature(o.from_degF, si)} to "
            f"{_temperature(o.to_degF, si)}, at worst by {show_force(o.worst_lbf, si)} at {_temperature(o.worst_at_degF, si)}",
        )
        for r in c.runs
        for o in r.out
    )
    yield from _together(
        (
            r.run.name,
            f"no limits can be given from {_temperature(o.span.from_degF, si)} to {_temperature(o.span.to_degF, si)}: {shown(o.reason, si)}",
        )
        for r in c.runs
        for o in r.limits.open
    )
    yield from _together((r.run.name, "the sheet gives no limits for it") for r in c.runs if not r.limits.given)
    yield from c.notes


def _rigged(r: RunEnvelope, c: CircuitEnvelope, si: bool) -> str:
    if r.rigged_lbf is None:
        return f"not drawn: {shown(r.rigged_by, si)}; --set 35lbf shows what a tension would do"
    return f"{show_force(r.rigged_lbf, si)} at {_temperature(c.reference_degF, si)}, {shown(r.rigged_by, si)}"


def _direction(r: RunEnvelope, si: bool) -> str:
    slope = (r.slope_lbf_per_degF or 0.0) * (1.8 * NEWTON_PER_LBF if si else 1.0)
    frames = " and ".join(dict.fromkeys(a.name for _, a in r.run.parts))
    return f"{r.run.cable.material} cable in {frames}, {r.direction}, {slope:+.2f} {'N/C' if si else 'lbf/F'} in this circuit"


def _show_window(out: Console, w: Window, si: bool) -> None:
    if w.empty:
        out.print(Text("no rigging tension meets these constraints", style="bold red"))
    else:
        out.print(Text(f"window of rigging tension by constraints alone: {_window_words(w, si)}", style="bold"))
    edges = []
    if w.low is None:
        edges.append("low edge: no tension keeps every cable tight through these days")
    else:
        edges.append(f"low edge {_edge(w.low, si)}: {shown(w.low.words, si)}")
    if w.exceeded:
        edges.append(f"no high edge: even rigged slack, {shown(w.high.words, si) if w.high else ''}")
    elif w.high is not None:
        edges.append(f"high edge {_edge(w.high, si)}: {shown(w.high.words, si)}")
    listing(
        out, "What makes the edges", [*edges, *(told("not looked at: {}", what) for what in w.without), DESIGNER], si=si
    )


def _window_words(w: Window, si: bool) -> str:
    low = _tensions(w.low, si) if w.low else "none"
    return f"{low} to {_tensions(w.high, si)}" if w.high else f"from {low}, no high edge known"


def _edge(edge: Edge, si: bool) -> str:
    return f"{_tensions(edge, si)} +-{show_force(edge.uncertainty_lbf, si)}"


def _tensions(edge: Edge, si: bool) -> str:
    """One figure where all cables share it, else each with its name."""
    figures = {name: show_force(t, si) for name, t in edge.tensions_lbf.items()}
    if len(set(figures.values())) == 1:
        return next(iter(figures.values()))
    return ", ".join(f"{name} {figure}" for name, figure in figures.items())
