"""A circuit under load on a terminal: rules and figures first, then tensions day by day, then what they rest on."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from rich.console import Console
from rich.text import Text

from rigging.jobs.check import CAUTIONS
from rigging.jobs.load_days import LoadDay, Pull
from rigging.jobs.load_rules import Kept, Rule
from rigging.jobs.loads import LoadsResult
from rigging.report.text.console import listing, marked, stacked, table
from rigging.told import shown
from rigging.units import force_unit, in_to_mm, show_force, show_temperature

_MARKS = {Kept.MET: ("✓", "+", "green"), Kept.NOTED: ("·", ".", ""), Kept.BROKEN: ("✗", "X", "bold red")}
_OPEN = ("?", "?", "yellow")


def show_loads(out: Console, result: LoadsResult, si: bool = False) -> None:
    """Print a whole circuit under load."""
    file, pilot = result.rig.file, result.pilot
    out.print(Text(f"{file.aircraft.name}: {result.model.name} under limit force", style="bold"))
    lever = f"{in_to_mm(pilot.lever_in):.0f} mm" if si else f"{pilot.lever_in:g} in"
    out.print(f"{show_force(result.force.value, si)} at the hand, {lever} from the pivot of {pilot.sector}")
    for way in ("+", "-"):
        arm_in = result.model.entry.sectors[pilot.sector].arm(1 if way == "+" else -1)
        if names := result.pulled(way):
            pull = show_force(result.moment_in_lbf / arm_in, si)
            out.print(f"{pilot.sector} {way} pulls {' and '.join(names)}: {pull} alone")
    every = result.rules()
    rows = table("verdict", "rule", "figures", fixed=("verdict",))
    for rule in every:
        rows.add_row(_mark(out, rule), rule.what, shown(rule.words, si))
    out.print(rows)
    if not result.usable:
        out.print(Text("rests on a figure from memory: not for sign-off", style="bold yellow"))
    out.print(_tensions(result, si, stacked(out)))
    listing(out, "Friction", _friction(result, si), si=si)
    listing(out, "Note", result.notes, si=si)
    listing(out, "Rests on", result.assumptions, si=si)
    listing(out, "Rules", dict.fromkeys(f"{rule.what}: {rule.source}" for rule in every if rule.source), si=si)
    listing(out, "Cautions", CAUTIONS, si=si)


def _mark(out: Console, rule: Rule) -> Text:
    mark, ascii_mark, style = _MARKS.get(rule.kept, _OPEN)
    # a long word in two lines of its column, in one where rows are listed
    words = rule.kept.value if stacked(out) else rule.kept.value.replace(" for ", "\n  for ")
    return Text(marked(out, mark, ascii_mark, words), style=style)


def _tensions(result: LoadsResult, si: bool, in_a_list: bool) -> object:
    days, sector = result.days, result.pilot.sector
    headings = [f"{show_temperature(day.temperature_degF, si)}\n{day.day}" for day in days]
    unit = force_unit(si)
    rows = table("" if in_a_list else f"tension, {unit}", "", *headings)

    def line(name: str, state: str, cell: Callable[[LoadDay], str]) -> None:
        rows.add_row(name, state, *(cell(day) for day in days))

    for run in result.model.runs:
        name = f"tension of {run.name}, {unit}" if in_a_list else run.name
        line(name, "at rest", lambda day, name=run.name: _tension(day.rest_lbf[name], si))  # type: ignore[misc]
        for i, way in enumerate(("+", "-")):
            line(
                "",
                f"{sector} {way}",
                lambda day, name=run.name, i=i: _tension(day.pulls[i].tension_lbf.get(name), si),  # type: ignore[misc]
            )
        if any(len(day.pulls) > 2 for day in days):
            line("", "most, one alone", lambda day, name=run.name: _tension(_most_alone(day, name), si))  # type: ignore[misc]
    for i, way in enumerate(("+", "-")):
        slack = f"first slack from, {unit} at the hand" if in_a_list else "first slack from"
        line(slack if i == 0 else "", f"{sector} {way}", lambda day, i=i: _first(day.pulls[i], si))  # type: ignore[misc]
    for i, way in enumerate(("+", "-")):
        line("turns by, deg" if i == 0 else "", f"{sector} {way}", lambda day, i=i: _turns(day.pulls[i]))  # type: ignore[misc]
    return rows


def _tension(tension_lbf: float | None, si: bool) -> str:
    if tension_lbf is None:
        return "-"
    return "slack" if tension_lbf <= 0 else show_force(tension_lbf, si, unit=False)


def _most_alone(day: LoadDay, run: str) -> float | None:
    """The highest tension of a run with one surface alone held, either way [lbf]."""
    return max((pull.tension_lbf[run] for pull in day.pulls[2:] if pull.tension_lbf), default=None)


def _first(pull: Pull, si: bool) -> str:
    if not pull.tension_lbf:
        return "-"
    return "never" if pull.slack_force_lbf is None else show_force(pull.slack_force_lbf, si, unit=False)


def _turns(pull: Pull) -> str:
    return "-" if pull.movement_deg is None else f"{pull.movement_deg:.1f}"


def _friction(result: LoadsResult, si: bool) -> Iterator[str]:
    for cable in result.cables:
        bends = len(cable.run.entry.pulleys) + len(cable.run.entry.fairleads)
        if bends:
            yield (
                f"{cable.run.name}: readings at its two ends may differ by {show_force(cable.spread_lbf, si)} "
                f"at rest, over {bends} bend{'s' if bends > 1 else ''}; more means drag"
            )
