"""The check on a terminal: verdicts and figures first, then reasons, then sources and cautions."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from rich.console import Console
from rich.text import Text

from rigging.jobs.check import AFTER_ANY_TURN, CAUTIONS, CheckResult, RunResult
from rigging.judge.limits import Limits
from rigging.judge.verdict import Word
from rigging.report.text.console import listing, marked, stacked, table
from rigging.report.text.strip import strip
from rigging.told import shown
from rigging.units import NEWTON_PER_LBF, force_unit, show_force, show_temperature, show_tension

_MARKS = {Word.IN: "✓", Word.OUT: "✗", Word.RE_MEASURE: "?", Word.NOT_MEASURED: "–"}
_ASCII_MARKS = {Word.IN: "+", Word.OUT: "X", Word.RE_MEASURE: "?", Word.NOT_MEASURED: "-"}
_STYLES = {Word.IN: "green", Word.OUT: "bold red", Word.RE_MEASURE: "yellow", Word.NOT_MEASURED: "yellow"}


# why there are no limits today, in a cell and in words
_CELLS = {"not given": "none given", "no temperature": "not known", "no result": "no result"}
_IN_WORDS = {
    "not given": "no limits given",
    "no temperature": "limits today not known: no structure temperature",
    "no result": "limits today: no result",
}


class _Printed(NamedTuple):
    """Limits as printed, and the temperature they hold at."""

    low_lbf: float
    high_lbf: float
    reference_degF: float


def _at_reference(r: RunResult) -> _Printed | None:
    """None where the sheet gives none, or a chart that says nothing without a temperature."""
    if r.limits is not None:
        return _Printed(r.limits.reference_low_lbf, r.limits.reference_high_lbf, r.limits.reference_degF)
    band = r.run.band
    return (
        None
        if band is None or band.reference_degF is None
        else _Printed(band.low_lbf, band.high_lbf, band.reference_degF)
    )


def show_check(out: Console, result: CheckResult, si: bool = False) -> None:
    """Print a whole check."""
    _heading(out, result, si)
    if stacked(out):
        _listed(out, result, si)
    else:
        _tabled(out, result, si)
    listing(out, "Why, and what to do", _reasons(result, si), si=si)
    listing(out, "Unexplained difference", (drag.words for drag in result.comparison.drag), si=si)
    listing(
        out,
        "Temperature",
        (*_directions(result, si), *dict.fromkeys(c for r in result.runs if r.limits for c in r.limits.cautions)),
        si=si,
    )
    listing(out, "Rests on", dict.fromkeys(a for r in result.runs if r.limits for a in r.limits.assumptions), si=si)
    listing(out, "Cautions", (AFTER_ANY_TURN, *CAUTIONS), si=si)


def _tabled(out: Console, result: CheckResult, si: bool) -> None:
    ascii_only = out.options.ascii_only
    rows = table(
        "verdict", "run", "tension", "limits", "where it lies", fixed=("verdict", "tension", "limits", "where it lies")
    )
    for r in result.runs:
        balanced = result.comparison.in_balance_lbf.get((r.run.circuit, r.run.name))
        figures = _tension(r, balanced, si), _limits(r, si), _strip(r, balanced, ascii_only, si)
        rows.add_row(_verdict(r, ascii_only), _name(r), *figures)
    out.print(rows)


def _listed(out: Console, result: CheckResult, si: bool) -> None:
    """A run after the other, in words: for a narrow screen, and for whoever has it read aloud."""
    for r in result.runs:
        word = r.shown_word
        side = f", {r.verdict.side}" if r.verdict and r.verdict.side else ""
        mark, ascii_mark = ("!", "!") if r.refusal else (_MARKS[r.word], _ASCII_MARKS[r.word])
        heading = marked(out, mark, ascii_mark, f"{word}{side}: {' '.join(_name(r).split())}")
        listing(out, heading, _figures(r, result.comparison.in_balance_lbf.get((r.run.circuit, r.run.name)), si))


def _figures(r: RunResult, balanced_lbf: float | None, si: bool) -> Iterator[str]:
    if r.tension is None:
        yield "no figure" if r.refusal else "not read"
    else:
        read, spread = show_force(r.tension.tension_lbf, si, unit=False), show_force(r.tension.uncertainty_lbf, si)
        yield f"tension {read} +-{spread}"
    if r.limits is None:
        yield _IN_WORDS[r.without_limits]
    else:
        low, high = show_force(r.limits.low_lbf, si, unit=False), show_force(r.limits.high_lbf, si)
        yield f"limits today {low} to {high}"
    printed = _at_reference(r)
    if printed is None:
        return
    there = f"at {show_temperature(printed.reference_degF, si)}"
    low, high = show_force(printed.low_lbf, si, unit=False), show_force(printed.high_lbf, si)
    brought = r.tension_at_reference_lbf
    yield f"{there} {f'{show_tension(brought, si)}, ' if brought is not None else ''}limits {low} to {high}"
    if balanced_lbf is not None and r.tension is not None:
        yield f"the circuit in balance would show {show_tension(balanced_lbf, si)}"


def _heading(out: Console, result: CheckResult, si: bool) -> None:
    file = result.rig.file
    out.print(Text(f"{file.aircraft.name}, registration {file.aircraft.registration}", style="bold"))
    today = sorted({r.structure_degF for r in result.runs if r.structure_degF is not None})
    steps = " and ".join(show_temperature(t, si) for t in today)
    out.print(
        f"{f'structure {steps}' if today else 'no structure temperature'}, reference {show_temperature(file.reference_degF, si)}; "
        f"tensions in {force_unit(si)}, +- is U at 95 %; {result.today}"
    )
    for card in result.rig.cards.values():
        out.print(f"tensiometer {card.serial}, card due {card.due}")


def _name(r: RunResult) -> str:
    return f"{r.run.label}\nat {r.station}" if r.station else r.run.label


def _verdict(r: RunResult, ascii_only: bool) -> Text:
    word = r.shown_word
    mark = "!" if r.refusal else (_ASCII_MARKS if ascii_only else _MARKS)[r.word]
    side = f"\n  {r.verdict.side}" if r.verdict and r.verdict.side else ""
    return Text(f"{mark} {word}{side}", style=_STYLES[r.word])


def _tension(r: RunResult, balanced_lbf: float | None, si: bool) -> str:
    """Today, at reference, and what the whole circuit in balance should show here."""
    if r.tension is None:
        return "no figure" if r.refusal else "not read"
    lines = [
        f"{show_force(r.tension.tension_lbf, si, unit=False)} +-{show_force(r.tension.uncertainty_lbf, si, unit=False)}"
    ]
    if r.tension_at_reference_lbf is None and _at_reference(r) is not None:
        lines.append("")  # the limits have a line there
    lines += [show_tension(x, si, unit=False) for x in (r.tension_at_reference_lbf, balanced_lbf) if x is not None]
    return "\n".join(lines)


def _limits(r: RunResult, si: bool) -> str:
    lines = [_band(r.limits.low_lbf, r.limits.high_lbf, si) if r.limits else _CELLS[r.without_limits]]
    printed = _at_reference(r)
    if printed is not None:
        lines.append(_band(printed.low_lbf, printed.high_lbf, si))
    return "\n".join(lines)


def _band(low_lbf: float, high_lbf: float, si: bool) -> str:
    return f"{show_force(low_lbf, si, unit=False)}..{show_force(high_lbf, si, unit=False)}"


def _strip(r: RunResult, balanced_lbf: float | None, ascii_only: bool, si: bool) -> str:
    """The strip, and below it what the further lines of the figures are."""
    balance = "in balance" if balanced_lbf is not None and r.tension is not None else ""
    printed = _at_reference(r)
    if printed is None:
        return f"\n{balance}".rstrip()
    band = ""
    if r.tension is not None and r.verdict is not None and r.limits is not None:
        band = strip(r.tension.tension_lbf, r.limits.low_lbf, r.limits.high_lbf, r.verdict.guard_lbf, ascii_only)
    return f"{band}\nat {show_temperature(printed.reference_degF, si)}\n{balance}".rstrip()


def _reasons(result: CheckResult, si: bool) -> Iterator[str]:
    for r in result.runs:
        where = f"{r.run.label} {r.station}".strip()
        why = "; ".join(shown(part, si) for part in (r.refusal, *r.reasons) if part)
        yield (
            f"{where}: {why}. {_capital(shown(r.action, si))}." if why else f"{where}: {_capital(shown(r.action, si))}."
        )


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _directions(result: CheckResult, si: bool) -> Iterator[str]:
    by_words: dict[str, list[str]] = {}
    for r in result.runs:
        if r.limits is not None:
            words = direction_words(r.limits, [a.name for _, a in r.run.parts], si)
            by_words.setdefault(words, []).append(r.run.label)
    for words, labels in by_words.items():
        yield words if len(by_words) == 1 else f"{words} ({', '.join(dict.fromkeys(labels))})"


def direction_words(limits: Limits, airframes: list[str], si: bool = False) -> str:
    """``spruce: colder is tighter; 16 F below reference: limits 6.4 lbf higher``."""
    colder = {"warmer is tighter": "colder is looser", "warmer is looser": "colder is tighter"}
    below = limits.temperature_degF < limits.reference_degF
    way = colder.get(limits.direction, limits.direction) if below else limits.direction
    slope = f"{limits.slope_lbf_per_degF * (1.8 * NEWTON_PER_LBF if si else 1):+.2f} {'N/C' if si else 'lbf/F'}"
    return f"{' and '.join(dict.fromkeys(airframes))}: {way}; {shown(limits.in_words, si)}; slope {slope}"
